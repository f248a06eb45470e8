"""The daily side of a climate: each recorded day's heat and mean, and seasons side by side by calendar day."""

from __future__ import annotations

from array import array
from datetime import date
from functools import cached_property
from itertools import repeat
from math import isnan
from operator import add, truediv
from typing import Any, Callable, Hashable, Iterable, TypeVar

from .calendar import NORTH, SOUTH, SeasonDays, is_leap, season_days, season_of
from .errors import Unanswerable
from .overlay import UNKNOWN, Overlay, trace_of
from .record import LONGEST_FILLED_GAP, Record
from .rules import Rules

#: Heat is summed in whole millionths of a degree-day, so that sums are exact and two ways to one answer agree.
MILLIONTHS = 1_000_000
#: A temperature that was not recorded.
NOT_KNOWN = float("nan")
_THINGS_KEPT = 512

Made = TypeVar("Made")
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
        self._kept: dict[Hashable, Any] = {}
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
        return Days(
            self.record.since(day), self.rules, self.hemisphere, self.heat[skipped:], self.means[skipped:]
        )

    # -- seasons ------------------------------------------------------------------------------------------

    def first_season(self) -> int:
        """Return the season of the first recorded day."""
        return season_of(date.fromordinal(self.record.first), self.hemisphere)

    def last_season(self) -> int:
        """Return the season of the last recorded day."""
        return season_of(date.fromordinal(max(self.record.end - 1, self.record.first)), self.hemisphere)

    def gaps_in_growing_part(self, season: int) -> list[date]:
        """Return the unknown days in a season's growing part."""
        days = season_days(season, self.hemisphere)
        start = days.first.toordinal()
        return [
            date.fromordinal(start + index)
            for index in range(*days.growing)
            if self.heat_on(start + index) == UNKNOWN
        ]

    def heat_on(self, ordinal: int) -> int:
        """Return the heat of a day [millionths], ``UNKNOWN`` where it was not recorded."""
        index = ordinal - self.record.first
        return self.heat[index] if 0 <= index < len(self.heat) else UNKNOWN

    def heat_of_recorded(self, start: date, end: date) -> int | None:
        """Return the heat from start (counted) to end (not counted) [millionths]; ``None`` where a day is unknown."""
        first, last = (day.toordinal() - self.record.first for day in (start, end))
        if not 0 <= first <= last <= len(self.heat):
            return None
        heat = self.heat[first:last]
        return None if UNKNOWN in heat else sum(heat)

    def of_season(self, season: int, what: Hashable, make: Callable[[Days], Made]) -> Made:
        """Return what is made of a season's days, up to the end of its freeze year, kept once made.

        A record that was cut off keeps it with the whole one where the season lay before the cut, so that looking back
        from many mornings makes it once.
        """
        keeper = self._whole if self._whole is not None and season < self._unsettled else self
        key = season, what
        found = keeper._kept.get(key)
        if found is None:
            if len(keeper._kept) >= _THINGS_KEPT:
                keeper._kept.clear()
            found = keeper._kept[key] = make(keeper)
        return found

    def _complete_seasons(self) -> Iterable[int]:
        if not len(self.means):
            return
        for season in range(self.first_season(), self.last_season() + 1):
            if self._whole is not None and season < self._unsettled:
                complete = season in self._whole.complete
            else:
                days = season_days(season, self.hemisphere)
                start = days.first.toordinal() - self.record.first
                first, end = start + days.growing[0], start + days.growing[1]
                complete = first >= 0 and end <= len(self.means) and not isnan(sum(self.means[first:end]))
            if complete:
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
        leaps = tuple(is_leap(year) for year in range(onto.first.year, onto.day(onto.count - 1).year + 1))
        return self.of_season(season, ("overlay", leaps), lambda days: days._overlay(season, onto))

    def _overlay(self, season: int, onto: SeasonDays) -> Overlay:
        years = season - onto.season
        heat: array[int] = array("q")
        low: array[float] = array("d")
        mean: array[float] = array("d")
        for first, last in _stretches(onto):
            if first.month == 2 and first.day == 29 and not is_leap(first.year + years):
                beside = [date(first.year + years, 2, 28).toordinal(), date(first.year + years, 3, 1).toordinal()]
                heats = [self.heat_on(ordinal) for ordinal in beside]
                heat.append(UNKNOWN if UNKNOWN in heats else sum(heats) // 2)
                indices = [ordinal - self.record.first for ordinal in beside]
                low.append(_middle(self.record.lows, indices))
                mean.append(_middle(self.means, indices))
                continue
            start = first.replace(year=first.year + years).toordinal() - self.record.first
            end = start + (last - first).days + 1
            heat += cut_out(self.heat, start, end, UNKNOWN)
            low += cut_out(self.record.lows, start, end, NOT_KNOWN)
            mean += cut_out(self.means, start, end, NOT_KNOWN)
        trace = trace_of(onto, heat, low, mean, self.rules.freeze_limit(), self.rules.stall_at)
        holes = tuple(index for index, units in enumerate(heat) if units == UNKNOWN) if UNKNOWN in heat else ()
        return Overlay(heat, mean, trace, holes)

    # -- the calendar's means -----------------------------------------------------------------------------

    def mean_heat_before(self, day: date) -> float | None:
        """Return the mean heat [millionths] of a day's month and day in the years before it; ``None`` if in none.

        ``None`` as well for a day after the record, to which all its years are past: see :meth:`mean_heat_by_day`.
        """
        if day.toordinal() >= self.record.end:
            return None
        first = date.fromordinal(self.record.first).year
        same_day = [
            self.heat_on(day.replace(year=year).toordinal())
            for year in range(first, day.year)
            if (day.month, day.day) != (2, 29) or is_leap(year)
        ]
        known = [heat for heat in same_day if heat != UNKNOWN]
        return sum(known) / len(known) if known else None

    def mean_heat_by_day(self) -> dict[tuple[int, int], float]:
        """Return the mean heat [millionths] of each (month, day) over all recorded years.

        29 February, where it was never recorded, is the mean of the days beside it.
        """
        sums: dict[tuple[int, int], list[int]] = {}
        for ordinal, heat in enumerate(self.heat, start=self.record.first):
            if heat != UNKNOWN:
                day = date.fromordinal(ordinal)
                pair = sums.setdefault((day.month, day.day), [0, 0])
                pair[0] += heat
                pair[1] += 1
        means = {day: total / count for day, (total, count) in sums.items()}
        if (2, 29) not in means and (2, 28) in means and (3, 1) in means:
            means[2, 29] = (means[2, 28] + means[3, 1]) / 2
        return means

    def monthly_means(self, values: array[float]) -> tuple[float, ...] | None:
        """Return the mean of each month over all recorded years; ``None`` where a month was never recorded."""
        sums = [0.0] * 12
        counts = [0] * 12
        for ordinal, value in enumerate(values, start=self.record.first):
            if value == value:
                month = date.fromordinal(ordinal).month - 1
                sums[month] += value
                counts[month] += 1
        return tuple(total / count for total, count in zip(sums, counts)) if all(counts) else None

    def _warm_half(self) -> str:
        """Return the hemisphere by the warmer half of the year."""
        record = self.record
        first, last = date.fromordinal(record.first), date.fromordinal(max(record.end - 1, record.first))
        sums, counts = [0.0, 0.0], [0, 0]
        for year in range(first.year, last.year + 1):
            spring, autumn = date(year, 4, 1), date(year, 10, 1)
            winters = (date(year, 1, 1), spring), (autumn, date(year + 1, 1, 1))
            for half, start, end in ((0, spring, autumn), *((1, *winter) for winter in winters)):
                indices = slice(*(max(0, day.toordinal() - record.first) for day in (start, end)))
                known = [mean for mean in self.means[indices] if mean == mean]
                sums[half] += sum(known)
                counts[half] += len(known)
        if not all(count >= 60 for count in counts):
            raise Unanswerable("weather does not show summer and winter, wanted hemisphere north or south")
        return NORTH if sums[0] / counts[0] >= sums[1] / counts[1] else SOUTH


def _middle(values: array[float], indices: list[int]) -> float:
    """Return the mean of values at indices; NaN where one is not known."""
    if not all(0 <= index < len(values) for index in indices):
        return NOT_KNOWN
    return sum(values[index] for index in indices) / len(indices)


def cut_out(values: array[Number], start: int, end: int, missing: Number) -> array[Number]:
    """Return ``values[start:end]``, padded where it reaches beyond them."""
    length = len(values)
    before = min(max(0, -start), end - start)
    after = min(max(0, end - length), end - start - before)
    padding = array(values.typecode, [missing])
    return padding * before + values[max(0, start) : max(0, end)] + padding * after


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
