"""A climate: a place's heat and frosts, with what a season's dates are reckoned from."""

from __future__ import annotations

import hashlib
import math
from dataclasses import replace
from datetime import date
from typing import Any, Callable, Hashable, Sequence, TypeVar

from .calendar import (
    NORTH,
    SOUTH,
    SeasonDays,
    common_number,
    day_number,
    season_days,
    season_of,
    spring_year,
)
from .chances import ChanceCurve, deviation_of, season_spread
from .days import MILLIONTHS, NOT_KNOWN, UNKNOWN, Days, Rules, cut_out, rounding_of
from .errors import Unanswerable
from .frost import FreezeDates, FreezeYear, FrostEstimate, freezes_at_position, freezes_of_years
from .normals import daily_from_monthly
from .record import Record
from .traces import Traces, millionths, traces_of_days, traces_of_normals

#: Fewer complete seasons than this give no chances worth the name (judgement).
FEWEST_SEASONS = 3
#: No season is complete with fewer days: its growing part, April to November.
SHORTEST_SEASON = 240
#: Of the text that tells climates apart: hexadecimal digits.
DIGITS = 16
_THINGS_KEPT = 64
_CURVES_KEPT = 256

Made = TypeVar("Made")


class Climate:
    """What is known of a place's weather, under one set of rules. Immutable; derived things are kept once made.

    Made by :func:`climate_of_record` or :func:`climate_of_normals`, and from one another by :meth:`at`,
    :meth:`with_frost` and :meth:`until`. ``str(climate)`` is a short text that changes with anything that went in.
    """

    is_climate = True

    def __init__(
        self,
        rules: Rules,
        days: Days | None = None,
        monthly: tuple[tuple[float, ...], tuple[float, ...]] | None = None,
        hemisphere: str = NORTH,
        estimate: FrostEstimate | None = None,
        open_place: Climate | None = None,
    ) -> None:
        """Hold what the makers below give.

        open_place : the climate that a position's, or one with a typed estimate, was made from; itself where not given.
        """
        self.rules = rules
        self.days = days
        self.monthly = monthly
        self.hemisphere = days.hemisphere if days is not None else hemisphere
        self.estimate = estimate
        self.open_place = self if open_place is None else open_place
        self._traces: dict[int, Traces] = {}
        self._freezes: dict[tuple[bool, float], FreezeDates] = {}
        self._mean_heat: dict[tuple[int, int], float] | None = None
        self._curves: dict[tuple[int, float, float], ChanceCurve] = {}
        self._kept: dict[Hashable, Any] = {}
        self._text = self._make_text()

    def __str__(self) -> str:
        return self._text

    __repr__ = __str__

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Climate) and self._text == other._text

    def __hash__(self) -> int:
        return hash(self._text)

    @property
    def unit(self) -> str:
        """The unit of temperatures and heat units, "C" or "F"."""
        return self.rules.unit

    def _make_text(self) -> str:
        digest = hashlib.sha256(repr((self.rules, self.hemisphere, self.estimate, self.monthly)).encode())
        if self.open_place is not self:
            digest.update(str(self.open_place).encode())
        if self.days is None:
            return f"12 monthly normals · {digest.hexdigest()[:DIGITS]}"
        record = self.days.record
        filled = record.filled_lows, record.filled_highs
        digest.update(repr((record.first, record.refused, filled, record.repeated)).encode())
        digest.update(record.lows.tobytes())
        digest.update(record.highs.tobytes())
        complete = self.days.complete
        span = f" {complete[0]}–{complete[-1]}" if complete else ""
        return f"{len(complete)} season{'' if len(complete) == 1 else 's'}{span} · {digest.hexdigest()[:DIGITS]}"

    def keep(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """Return what ``make`` gives, kept under a key for the next who asks; where much is kept, all goes first."""
        found = self._kept.get(key)
        if found is None:
            found = make()
            if len(self._kept) >= _THINGS_KEPT:
                self._kept.clear()
            self._kept[key] = found
        return found  # type: ignore[no-any-return]

    # -- climates from this one ---------------------------------------------------------------------------

    def at(self, warmer_high: float, warmer_low: float) -> Climate:
        """Return the climate of a position whose highs and lows differ by so many degrees.

        A typed frost estimate moves by the days that the mean low needs to fall by the gain.
        """
        estimate = self.estimate
        if estimate is not None and warmer_low:
            estimate = FrostEstimate(self._moved(estimate.centre, warmer_low), estimate.spread)
        if self.days is not None:
            days = Days(self.days.record.warmer(warmer_high, warmer_low), self.rules, self.hemisphere)
            return Climate(self.rules, days, estimate=estimate, open_place=self.open_place)
        lows, highs = self.monthly  # type: ignore[misc]
        shifted = tuple(low + warmer_low for low in lows)
        monthly = shifted, tuple(max(high + warmer_high, low) for high, low in zip(highs, shifted))
        open_place = self.open_place if self.estimate is not None else None
        return Climate(self.rules, None, monthly, self.hemisphere, estimate, open_place)

    def with_frost(self, estimate: FrostEstimate) -> Climate:
        """Return the climate with a typed estimate of the first freeze in place of the record's."""
        # Normals have no frosts of their own, so no seasons that differ but by the estimate's.
        open_place = None if self.days is None else self.open_place if self.estimate is not None else self
        return Climate(self.rules, self.days, self.monthly, self.hemisphere, estimate, open_place)

    def until(self, day: date) -> Climate:
        """Return the climate as it was known on the morning of a day; normals are not dated and stay."""
        if self.days is None:
            return self
        open_place = None if self.open_place is self else self.open_place.until(day)
        return Climate(self.rules, self.days.until(day), estimate=self.estimate, open_place=open_place)

    def _moved(self, number: float, warmer_low: float) -> float:
        """Return the day number at which the mean low has fallen by a gain since a day number; infinity if never."""
        monthly = self.monthly[0] if self.monthly else self.days.monthly_means(self.days.record.lows)  # type: ignore[union-attr]
        if monthly is None or math.isinf(number):
            return number
        lows = daily_from_monthly(monthly)

        def low(at: float) -> float:
            whole = math.floor(at)
            here, after = lows[(whole - 1) % 365], lows[whole % 365]
            return here + (after - here) * (at - whole)

        goal = low(number) - warmer_low
        step = 0.25 if warmer_low > 0 else -0.25
        for steps in range(1, 4 * 200):
            at = number + step * steps
            if (low(at) <= goal) if warmer_low > 0 else (low(at) >= goal):
                return at
        if warmer_low > 0:
            # The mean low never falls that far: there is no frost to reckon with.
            return math.inf
        # No frost comes before the warmest day.
        return number + step * max(range(800), key=lambda steps: low(number + step * steps))

    # -- what the functions ask ---------------------------------------------------------------------------

    def season_of(self, day: date) -> int:
        """Return the season in whose growing year a day lies."""
        return season_of(day, self.hemisphere)

    def season_days(self, season: int) -> SeasonDays:
        """Return the days of a season here."""
        return season_days(season, self.hemisphere)

    def traces(self, season: int) -> Traces:
        """Return the traces of a season; raises :class:`Unanswerable` where the climate has none."""
        traces = self._traces.get(season)
        if traces is None:
            if self.days is not None:
                ranked_by = self.open_place.days
                traces = traces_of_days(self.days, self.season_days(season), self.estimate, ranked_by)
            else:
                traces = self._traces_of_normals(season)
            self._traces[season] = traces
        return traces

    def _traces_of_normals(self, season: int) -> Traces:
        if self.estimate is None:
            raise Unanswerable("monthly normals know no frost, wanted frost estimates (CLIMATE_WITH_FROST)")
        days = self.season_days(season)
        heat, means = self._normal_days(days)
        heat_units = [millionths(units) for units in heat]
        return traces_of_normals(days, heat_units, means, self.rules.stall_at, self.estimate)

    def curve(self, season: int, need: float, need_spread: float) -> ChanceCurve:
        """Return the chances of ripe figs in a season for a heat need [heat units] and its spread, made once and kept.

        How much seasons differ is the open place's own: so a warmer position never has a worse chance.
        """
        key = season, need, need_spread
        found = self._curves.get(key)
        if found is None:
            if len(self._curves) >= _CURVES_KEPT:
                self._curves.clear()
            found = self._curves[key] = ChanceCurve(self.traces(season), millionths(need), self.deviation(*key))
        return found

    def deviation(self, season: int, need: float, need_spread: float) -> float:
        """Return the standard deviation that the need and the fewness of the seasons add [millionths]."""
        heat = millionths(need)
        return deviation_of(heat, need_spread, self._season_spread(season, heat), self.traces(season).seasons)

    def _season_spread(self, season: int, need: int) -> float:
        if self.open_place is not self:
            return self.open_place._season_spread(season, need)
        return self.keep(("season spread", season, need), lambda: season_spread(self.traces(season), need))

    def _normal_days(self, days: SeasonDays) -> tuple[list[float], list[float]]:
        """Return the heat units and the mean of each day of a season from the normals."""
        lows, highs = (self._laid(values, days) for values in self.monthly)  # type: ignore[union-attr]
        heat_of = self.rules.heat_function()
        next_lows: Sequence[float | None] = [*lows[1:], None]
        heat = [heat_of(min(low, high), high, after) for low, high, after in zip(lows, highs, next_lows)]
        return heat, [(low + high) / 2 for low, high in zip(lows, highs)]

    def _laid(self, monthly: Sequence[float], days: SeasonDays) -> list[float]:
        """Return a value for each day of a season from monthly normals; 29 February counts as 28 February."""
        daily = daily_from_monthly(monthly)
        laid = []
        for index in range(days.count):
            day = days.day(index)
            laid.append(daily[58 if (day.month, day.day) == (2, 29) else common_number(day) - 1])
        return laid

    def heat_between(self, start: date, end: date) -> float:
        """Return the heat from start (counted) to end (not counted) [millionths].

        Days not recorded are the mean of the past years' same day, of all years' where no past year has it.
        """
        if self.days is None:
            means = self._calendar_heat()
        else:
            recorded = self.days.heat_of_recorded(start, end)
            if recorded is not None:
                return recorded
            if self._mean_heat is None:
                self._mean_heat = self.days.mean_heat_by_day()
            means = self._mean_heat
        total = 0.0
        for ordinal in range(start.toordinal(), end.toordinal()):
            heat = UNKNOWN if self.days is None else self.days.heat_on(ordinal)
            if heat != UNKNOWN:
                total += heat
                continue
            day = date.fromordinal(ordinal)
            past = None if self.days is None else self.days.mean_heat_before(day)
            if past is None and (day.month, day.day) not in means:
                raise Unanswerable(f"weather has no day {day.month:02}-{day.day:02} in any year")
            total += means[day.month, day.day] if past is None else past
        return total

    def _calendar_heat(self) -> dict[tuple[int, int], float]:
        """Return the heat [millionths] of each (month, day) from the normals."""
        if self._mean_heat is None:
            days = season_days(2000, NORTH)  # any leap year
            heat, _ = self._normal_days(days)
            self._mean_heat = {}
            for index in range(366):
                day = days.day(index)
                self._mean_heat[day.month, day.day] = heat[index] * MILLIONTHS
        return self._mean_heat

    # -- freezes ------------------------------------------------------------------------------------------

    def freezes(self, first: bool, at: float | None = None) -> FreezeDates:
        """Return the first (or last) freezes of all usable freeze years, as day numbers.

        First freezes are counted in the year in which the freeze year begins; last ones in the year of its spring.
        """
        if self.days is None:
            raise Unanswerable("monthly normals know no single lows, wanted a daily record or a typed first freeze")
        limit = self.rules.freeze_limit(at)
        key = first, limit
        found = self._freezes.get(key)
        if found is None:
            station: Days = self.open_place.days  # type: ignore[assignment]
            years = self._freeze_years(station, first)
            gain = gain_of(station.record.lows, self.days.record.lows)
            found = freezes_at_position(years, limit, gain) if gain else freezes_of_years(years, limit)
            self._freezes[key] = found
        return found

    def _freeze_years(self, days: Days, first: bool) -> list[FreezeYear]:
        """Return the freeze years of a record, for the first freezes or the last ones."""
        seasons = range(days.first_season() - 1, days.last_season() + 1)
        return [
            freeze_year_of(days.record, season_days(season, self.hemisphere), first, self._counted_from(season, first))
            for season in seasons
        ]

    def _counted_from(self, season: int, first: bool) -> int:
        """Return the calendar year in which a freeze year's first (last) freezes are counted."""
        return season if first or self.hemisphere == SOUTH else season + 1

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

    # -- the record in words ------------------------------------------------------------------------------

    def left_out(self) -> tuple[tuple[int, date, int], ...]:
        """Return the incomplete seasons but the present one: (season, first missing day, missing days)."""
        if self.days is None:
            return ()
        days = self.days
        gaps = []
        last_day = date.fromordinal(max(days.record.end - 1, days.record.first))
        for season in range(days.first_season(), days.last_season() + 1):
            if season in days.complete:
                continue
            missing = days.gaps_in_growing_part(season)
            growing_end = season_days(season, self.hemisphere).growing[1]
            running = season == days.last_season() and last_day < self.season_days(season).day(growing_end - 1)
            if missing and not (running and missing[0] > last_day):
                gaps.append((season, missing[0], len(missing)))
        return tuple(gaps)


def climate_of_record(record: Record, rules: Rules, hemisphere: str | None = None) -> Climate:
    """Return the climate of a daily record; raises :class:`Unanswerable` with fewer than 3 complete seasons."""
    if record.days_known < FEWEST_SEASONS * SHORTEST_SEASON:
        raise Unanswerable(
            f"weather holds {record.days_known} day{'' if record.days_known == 1 else 's'}, "
            f"wanted {FEWEST_SEASONS} whole seasons or more"
        )
    rules = replace(rules, rounding=rounding_of(record, rules.unit))
    days = Days(record, rules, hemisphere)
    if len(days.complete) < FEWEST_SEASONS:
        seasons = f"{len(days.complete)} complete season{'' if len(days.complete) == 1 else 's'}"
        raise Unanswerable(f"weather holds {seasons} (spring to end of autumn), wanted {FEWEST_SEASONS} or more")
    return Climate(rules, days)


def climate_of_normals(
    lows: Sequence[float], highs: Sequence[float], rules: Rules, hemisphere: str | None = None
) -> Climate:
    """Return the climate of 12 monthly mean lows and highs, January first."""
    for month, (low, high) in enumerate(zip(lows, highs), start=1):
        if low > high:
            raise Unanswerable(f"weather has low {low:g} above high {high:g} in month {month}")
    if hemisphere is None:
        warm = sum(lows[3:9]) + sum(highs[3:9])
        cold = sum(lows) + sum(highs) - warm
        hemisphere = NORTH if warm >= cold else SOUTH
    return Climate(rules, monthly=(tuple(lows), tuple(highs)), hemisphere=hemisphere)


def freeze_year_of(record: Record, year: SeasonDays, first: bool, counted_in: int) -> FreezeYear:
    """Return a freeze year of a record, for its first freeze or its last one; days are numbered in a calendar year."""
    start = year.first.toordinal() + year.freeze_start
    end = year.first.toordinal() + year.count
    lows = cut_out(record.lows, start - record.first, end - record.first, NOT_KNOWN)
    number = day_number(date.fromordinal(start), counted_in)
    return FreezeYear(lows, number, 1) if first else FreezeYear(lows[::-1], number + len(lows) - 1, -1)


def gain_of(station: Sequence[float], position: Sequence[float]) -> float:
    """Return by how much the nights of a position are warmer than its station's [°]; 0 where nothing is known."""
    return next((here - there for there, here in zip(station, position) if there == there and here == here), 0.0)
