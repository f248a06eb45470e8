"""A climate: a place's heat and frosts, with what the dates of a season rest on. Two kinds share what is here."""

from __future__ import annotations

import hashlib
from abc import ABC, abstractmethod
from datetime import date
from functools import cached_property
from typing import Callable, Hashable

from .calendar import NORTH, SeasonDays, common_number, season_days, season_of, spring_year
from .chances import ChanceCurve, deviation_of, season_spread
from .days import Days
from .frost import FreezeDates, FrostEstimate
from .kept import Kept, Made
from .record import CELSIUS
from .rules import Rules
from .traces import Traces, millionths

#: Of the text that tells climates apart: hexadecimal digits.
DIGITS = 16
#: Heat from midwinter to a shoot's first leaf [°C·day]: 7 leaves on 7 June in Miyagi, a leaf each 3.7 days, so the
#: first about 16 May, with some 200 °C·day there by its usual temperatures (derived); less, to be on the safe side.
FIRST_LEAF_HEAT = 150.0
_THINGS_KEPT, _CURVES_KEPT, _TRACES_KEPT = 2048, 256, 256


class Climate(ABC):
    """What is known of a place's weather, under one set of rules. Immutable; derived things are kept once made.

    Of a daily record (:mod:`.daily`) or of monthly normals (:mod:`.monthly`), and from one another by :meth:`at`,
    :meth:`with_frost` and :meth:`until`. ``str(climate)`` is a short text that changes with anything that went in.
    days : of a daily record, ``None`` for normals. estimate : a typed first freeze, in place of the record's.
    """

    is_climate = True
    days: Days | None = None

    def __init__(
        self, rules: Rules, hemisphere: str, estimate: FrostEstimate | None = None, open_place: Climate | None = None
    ) -> None:
        """Hold what all climates have.

        open_place : the climate that a position's, or one with a typed estimate, was made from; itself where not given.
        """
        self.rules = rules
        self.hemisphere = hemisphere
        self.estimate = estimate
        self.open_place = self if open_place is None else open_place
        self._traces = Kept(_TRACES_KEPT)
        self._curves = Kept(_CURVES_KEPT)
        self._kept = Kept(_THINGS_KEPT)

    def __str__(self) -> str:
        return self._text

    __repr__ = __str__

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Climate) and self._text == other._text

    def __hash__(self) -> int:
        return hash(self._text)

    @cached_property
    def _text(self) -> str:
        digest = hashlib.sha256(repr((self.rules, self.hemisphere, self.estimate)).encode())
        if self.open_place is not self:
            digest.update(str(self.open_place).encode())
        return f"{self._made_of(digest.update)} · {digest.hexdigest()[:DIGITS]}"

    @abstractmethod
    def _made_of(self, add: Callable[[bytes], None]) -> str:
        """Return in few words what the climate is made of, and hand over all of it as bytes."""

    @property
    def unit(self) -> str:
        """The unit of temperatures and heat units, "C" or "F"."""
        return self.rules.unit

    def keep(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """Return what ``make`` gives, kept under a key once made."""
        return self._kept.made(key, make)

    # -- climates from this one ---------------------------------------------------------------------------

    @abstractmethod
    def at(self, warmer_high: float, warmer_low: float) -> Climate:
        """Return the climate of a position whose highs and lows differ by so many degrees.

        A typed frost estimate moves by the days that the mean low needs to fall by the gain.
        """

    @abstractmethod
    def with_frost(self, estimate: FrostEstimate) -> Climate:
        """Return the climate with a typed estimate of the first freeze in place of the record's."""

    @abstractmethod
    def until(self, day: date) -> Climate:
        """Return the climate as it was known on the morning of a day; normals are not dated and stay."""

    # -- what is derived from it --------------------------------------------------------------------------

    @abstractmethod
    def _make_traces(self, season: int) -> Traces: ...

    @abstractmethod
    def heat_between(self, start: date, end: date) -> float:
        """Return the heat from start (counted) to end (not counted) [millionths].

        Days not recorded are the mean of the past years' same day, of all years' where no past year has it.
        """

    @abstractmethod
    def freezes(self, first: bool, at: float | None = None) -> FreezeDates:
        """Return the first (or last) freezes of all usable freeze years, as day numbers.

        First freezes are counted in the year in which the freeze year begins; last ones in the year of its spring.
        """

    def traces(self, season: int) -> Traces:
        """Return the traces of a season; raises :class:`Unanswerable` where the climate has none."""
        return self._traces.made(season, lambda: self._make_traces(season))

    def first_leaf(self, season: int) -> int:
        """Return the number of the day before which shoots have no leaves, by the middle trace."""

        def make() -> int:
            heat = millionths(FIRST_LEAF_HEAT * (1.0 if self.unit == CELSIUS else 1.8))
            traces = self.traces(season)
            return traces.days_of_heat(0, heat)[(len(traces) - 1) // 2]

        return self.keep(("first leaf", season), make)

    def curve(self, season: int, need: float, need_spread: float) -> ChanceCurve:
        """Return the chances of ripe figs in a season for a heat need [heat units] and its spread, made once and kept.

        How much seasons differ is the open place's own: so a warmer position never has a worse chance.
        """
        key = season, need, need_spread
        return self._curves.made(key, lambda: ChanceCurve(self.traces(season), millionths(need), self.deviation(*key)))

    def deviation(self, season: int, need: float, need_spread: float) -> float:
        """Return the standard deviation that the need and the fewness of the seasons add [millionths]."""
        heat = millionths(need)
        return deviation_of(heat, need_spread, self._season_spread(season, heat), len(self.traces(season)))

    def _season_spread(self, season: int, need: int) -> float:
        if self.open_place is not self:
            return self.open_place._season_spread(season, need)
        return self.keep(("season spread", season, need), lambda: season_spread(self.traces(season), need))

    # -- its calendar -------------------------------------------------------------------------------------

    def season_of(self, day: date) -> int:
        """Return the season in whose growing year a day lies."""
        return season_of(day, self.hemisphere)

    def season_days(self, season: int) -> SeasonDays:
        """Return the days of a season."""
        return season_days(season, self.hemisphere)

    def autumn_number(self, day: date) -> int:
        """Return a day's number in a common year, as first freezes are counted.

        The last two months of winter still belong to the autumn before; from spring on, days look to the next autumn.
        """
        if self.hemisphere == NORTH:
            return common_number(day) + (365 if day.month <= 2 else 0)
        return common_number(day) - (365 if day.month >= 9 else 0)

    def is_cold_half(self, day: date) -> bool:
        """Return whether a day lies where a first freeze can: from late summer to the end of winter."""
        cold = (8, 9, 10, 11, 12, 1, 2) if self.hemisphere == NORTH else (2, 3, 4, 5, 6, 7, 8)
        return day.month in cold

    def spring_year(self, season: int) -> int:
        """Return the calendar year of a season's spring."""
        return spring_year(season, self.hemisphere)
