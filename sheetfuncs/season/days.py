"""The daily side of a climate: each recorded day's heat and mean, and seasons side by side by calendar day."""

from __future__ import annotations

from array import array
from datetime import date
from functools import cached_property, lru_cache, partial
from itertools import repeat
from math import isnan
from operator import add, truediv
from typing import Any, Callable, Hashable, Iterable, Iterator, TypeVar

from .calendar import NORTH, SOUTH, SeasonDays, day_number, is_leap, season_days, season_of
from .errors import Unanswerable
from .frost import FreezeYear
from .kept import Kept, Made
from .overlay import UNKNOWN, Ending, Overlay
from .record import LONGEST_FILLED_GAP, Record
from .rules import Rules

#: Heat is summed in whole millionths of a degree-day, so that sums are exact and two ways to one answer agree.
MILLIONTHS = 1_000_000
#: A temperature that was not recorded.
NOT_KNOWN = float("nan")
_THINGS_KEPT = 512

Number = TypeVar("Number", int, float)


class Days:
    """A record with each day's heat under given rules."""

    def __init__(
        self,
        record: Record,
        rules: Rules,
        hemisphere: str | None,
        heat: array[int] | None = None,
        means: array[float] | None = None,
        whole: Days | None = None,
    ) -> None:
        """Hold a record.

        heat, means : of its days where they are known already. whole : the longer record that this one was cut from.
        """
        self.record = record
        self.rules = rules
        self.means = _means_of_days(record) if means is None else means
        self.hemisphere = hemisphere or self._warm_half()
        self._whole = whole
        self._kept = Kept(_THINGS_KEPT)
        if heat is not None:
            self.heat = heat
        self._unsettled = self._first_unsettled()
        self.complete = tuple(self._complete_seasons())

    @cached_property
    def heat(self) -> array[int]:
        """Each day's heat [millionths], ``UNKNOWN`` for a missing one; found when first wanted."""
        return _heat_of_days(self.record, self.rules)

    def until(self, day: date) -> Days:
        """Return the days before a day, as they were known on its morning."""
        record = self.record.until(day)
        kept = len(record.lows)
        heat = self.heat[:kept]
        # What the last days were given by later ones was not known: filled values, and the next day's low.
        late = max(0, kept - LONGEST_FILLED_GAP - 1)
        last_days = Record(record.first + late, record.lows[late:], record.highs[late:])
        heat[late:] = _heat_of_days(last_days, self.rules)
        means = self.means[:kept]
        means[late:] = _means_of_days(last_days)
        return Days(record, self.rules, self.hemisphere, heat, means, self._whole or self)

    def since(self, day: date) -> Days:
        """Return the days from a day on."""
        skipped = max(0, day.toordinal() - self.record.first)
        return Days(self.record.since(day), self.rules, self.hemisphere, self.heat[skipped:], self.means[skipped:])

    # -- seasons ------------------------------------------------------------------------------------------

    def first_season(self) -> int:
        """Return the season of the first recorded day."""
        return season_of(date.fromordinal(self.record.first), self.hemisphere)

    def last_season(self) -> int:
        """Return the season of the last recorded day."""
        return season_of(date.fromordinal(max(self.record.end - 1, self.record.first)), self.hemisphere)

    def freeze_years(self, first: bool) -> dict[int, FreezeYear]:
        """Return the freeze years that the record reaches into by season, for their first freezes or their last ones.

        First freezes are counted in the season's year, last ones in the year of the spring.
        """
        seasons = range(self.first_season() - 1, self.last_season() + 1)
        key = "freeze year", first
        return {one: self.of_season(one, key, partial(Days._freeze_year, season=one, first=first)) for one in seasons}

    def _freeze_year(self, season: int, first: bool) -> FreezeYear:
        year = season_days(season, self.hemisphere)
        start, end = (year.first.toordinal() + index for index in (year.freeze_start, year.count))
        lows = cut_out(self.record.lows, start - self.record.first, end - self.record.first, NOT_KNOWN)
        counted_in = season if first or self.hemisphere == SOUTH else season + 1
        number = day_number(date.fromordinal(start), counted_in)
        return FreezeYear(lows, number, 1) if first else FreezeYear(lows[::-1], number + len(lows) - 1, -1)

    def missing(self, start: int, end: int) -> list[int]:
        """Return the days from start (counted) to end (not counted) whose heat is not known; all are ordinals."""
        return [day for day, heat in self._heat(start, end) if heat == UNKNOWN]

    def _heat(self, start: int, end: int) -> Iterator[tuple[int, int]]:
        first = self.record.first
        return enumerate(cut_out(self.heat, start - first, end - first, UNKNOWN), start)

    def of_season(self, season: int, what: Hashable, make: Callable[[Days], Made]) -> Made:
        """Return what is made of a season's days, up to the end of its freeze year, kept once made.

        A record that was cut off keeps it with the whole one where the season lay before the cut, so that looking back
        from many mornings makes it once.
        """
        keeper = self._whole if self._whole is not None and season < self._unsettled else self
        return keeper._kept.made((season, what), lambda: make(keeper))

    def _complete_seasons(self) -> Iterator[int]:
        for season in range(self.first_season(), self.last_season() + 1):
            days = season_days(season, self.hemisphere)
            first, end = (days.first.toordinal() - self.record.first + index for index in days.growing)
            if first >= 0 and end <= len(self.means) and not isnan(sum(self.means[first:end])):
                yield season

    def _first_unsettled(self) -> int:
        """Return the first season of which not all days up to the end of its freeze year are settled."""
        settled = self.record.end - LONGEST_FILLED_GAP - 1
        season = self.last_season() + 1
        while True:
            days = season_days(season - 1, self.hemisphere)
            if days.first.toordinal() + days.count <= settled:
                return season
            season -= 1

    def overlay(self, season: int, onto: SeasonDays) -> Overlay:
        """Return a season's recorded days on the days of another (or the same), by month and day; kept once made.

        29 February, where the season has none, is the mean of the days beside it.
        """
        # Seasons with leap days in the same years have the same numbers.
        key = "overlay", _leap_years(onto.first.year, onto.season + 1)
        return self.of_season(season, key, lambda days: days._overlay(season, onto))

    def ending(self, season_days: SeasonDays) -> Ending:
        """Return what ends a season under the rules."""
        return Ending(season_days, self.rules.freeze_limit(), self.rules.stall_at)

    def pasts(self, seasons: Iterable[int], season_days: SeasonDays) -> list[Overlay]:
        """Return past seasons on a season's days, without holes."""
        return self.ending(season_days).without_holes([self.overlay(season, season_days) for season in seasons])

    def _overlay(self, season: int, onto: SeasonDays) -> Overlay:
        years, stretches = season - onto.season, _stretches(onto)
        return self.ending(onto).overlay(
            self._on_days(self.heat, years, stretches, UNKNOWN),
            self._on_days(self.record.lows, years, stretches, NOT_KNOWN),
            self._on_days(self.means, years, stretches, NOT_KNOWN),
        )

    def _on_days(
        self, values: array[Any], years: int, stretches: Iterable[tuple[date, date]], missing: float
    ) -> array[Any]:
        """Return the values of the days of a season's stretches, so many years later."""
        found: array[Any] = array(values.typecode)
        for first, last in stretches:
            is_no_day = first.month == 2 and first.day == 29 and not is_leap(first.year + years)
            day = date(first.year + years, 2, 28) if is_no_day else first.replace(year=first.year + years)
            start = day.toordinal() - self.record.first
            if is_no_day:
                before, after = cut_out(values, start, start + 2, missing)
                middle = (before + after) // 2 if values.typecode == "q" else (before + after) / 2
                found.append(missing if missing in (before, after) else middle)
            else:
                found += cut_out(values, start, start + (last - first).days + 1, missing)
        return found

    # -- the calendar's means -----------------------------------------------------------------------------

    def heat_between(self, start: int, end: int) -> float:
        """Return the heat from an ordinal (counted) to another (not counted) [millionths].

        Of a day not recorded it is the mean of the past years' same day, of all years' where no past year has it;
        29 February, where it was never recorded, is the mean of the days beside it.
        """
        return sum(self._usual(day) if heat == UNKNOWN else heat for day, heat in self._heat(start, end))

    def _usual(self, ordinal: int) -> float:
        day = date.fromordinal(ordinal)
        if ordinal < self.record.end:
            past = [heat for year, heat in self._same_days.get((day.month, day.day), ()) if year < day.year]
            if past:
                return sum(past) / len(past)
        usual = self._means_of_same_days.get((day.month, day.day))
        if usual is None:
            raise Unanswerable(f"weather has no day {day.month:02}-{day.day:02} in any year")
        return usual

    @cached_property
    def _same_days(self) -> dict[tuple[int, int], list[tuple[int, int]]]:
        """The year and heat of each recorded (month, day)."""
        found: dict[tuple[int, int], list[tuple[int, int]]] = {}
        for ordinal, heat in enumerate(self.heat, start=self.record.first):
            if heat != UNKNOWN:
                day = date.fromordinal(ordinal)
                found.setdefault((day.month, day.day), []).append((day.year, heat))
        return found

    @cached_property
    def _means_of_same_days(self) -> dict[tuple[int, int], float]:
        """The mean heat of each (month, day) over all years."""
        means = {day: sum(heat for _, heat in known) / len(known) for day, known in self._same_days.items()}
        if (2, 29) not in means and (2, 28) in means and (3, 1) in means:
            means[2, 29] = (means[2, 28] + means[3, 1]) / 2
        return means

    @cached_property
    def monthly_lows(self) -> tuple[float, ...] | None:
        """The mean low of each month over all recorded years; ``None`` where a month was never recorded."""
        sums = [0.0] * 12
        counts = [0] * 12
        for ordinal, low in enumerate(self.record.lows, start=self.record.first):
            if low == low:
                month = date.fromordinal(ordinal).month - 1
                sums[month] += low
                counts[month] += 1
        return tuple(total / count for total, count in zip(sums, counts)) if all(counts) else None

    def _warm_half(self) -> str:
        """Return the hemisphere by the warmer half of the year."""
        warm: list[float] = []
        cold: list[float] = []
        for ordinal, mean in enumerate(self.means, start=self.record.first):
            if mean == mean:
                (warm if 4 <= date.fromordinal(ordinal).month <= 9 else cold).append(mean)
        if min(len(warm), len(cold)) < 60:
            raise Unanswerable("weather does not show summer and winter, wanted hemisphere north or south")
        return NORTH if sum(warm) / len(warm) >= sum(cold) / len(cold) else SOUTH


def cut_out(values: array[Number], start: int, end: int, missing: Number) -> array[Number]:
    """Return ``values[start:end]``, padded where it reaches beyond them."""
    length = len(values)
    before = min(max(0, -start), end - start)
    after = min(max(0, end - length), end - start - before)
    padding = array(values.typecode, [missing])
    return padding * before + values[max(0, start) : max(0, end)] + padding * after


@lru_cache(maxsize=256)
def _leap_years(first: int, last: int) -> tuple[bool, ...]:
    """Return which years from one to another are leap years."""
    return tuple(map(is_leap, range(first, last + 1)))


def _stretches(days: SeasonDays) -> list[tuple[date, date]]:
    """Return the season's days as stretches (first, last) in which no 29 February can come between two days."""
    first, last = days.first, days.day(days.count - 1)
    stretches = []
    for year in range(first.year, last.year + 1):
        parts = [(date(year, 1, 1), date(year, 2, 28)), (date(year, 3, 1), date(year, 12, 31))]
        if is_leap(year):
            parts.insert(1, (date(year, 2, 29), date(year, 2, 29)))
        for start, end in parts:
            start, end = max(start, first), min(end, last)
            if start <= end:
                stretches.append((start, end))
    return stretches


def _means_of_days(record: Record) -> array[float]:
    """Return each day's mean; NaN where it is not known."""
    return array("d", map(truediv, map(add, record.lows, record.highs), repeat(2)))


def _heat_of_days(record: Record, rules: Rules) -> array[int]:
    """Return each day's heat [millionths]; unknown days are marked."""
    heat_of = rules.heat_function()
    next_lows: Iterable[float | None] = repeat(None)
    if rules.method.startswith("double"):
        next_lows = [*(low if low == low else None for low in record.lows[1:]), None]
    return array(
        "q",
        [
            round(heat_of(low, high, next_low) * MILLIONTHS) if low == low and high == high else UNKNOWN
            for low, high, next_low in zip(record.lows, record.highs, next_lows)
        ],
    )
