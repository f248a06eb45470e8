"""What was known of past seasons on mornings of theirs, so that looking back over a long record stays quick.

The answers are those of a climate cut off on that morning (:meth:`Climate.until`). What makes it quick: seasons that
lay wholly in the past are laid onto the calendar once and not once a morning, and a trace is not put together day by
day: known days and a past season's meet at one day, so that two running totals tell its last start.
"""

from __future__ import annotations

from array import array
from bisect import bisect_right
from datetime import date
from itertools import accumulate
from statistics import mean
from typing import Any, NamedTuple, Sequence

from .calendar import SeasonDays, day_of_number, is_leap
from .climate import Climate, freeze_of_year
from .days import UNKNOWN, Days, Rules, SeasonValues
from .frost import FreezeDates
from .traces import STALL_DAYS, blend, first_freeze, millionths, stall_index


class _Laid(NamedTuple):
    """A past season on the days of another: its values, running total, first freeze and stall.

    Its days are all known from ``known_from`` to before ``known_to``, its growing part among them.
    """

    values: SeasonValues
    total: Sequence[int]
    freeze: int | None
    stall: int | None
    known_from: int
    known_to: int


class _Own(NamedTuple):
    """A season's own days as known on a morning: the first so many, and none after them."""

    values: SeasonValues
    known: int
    total: Sequence[int]


class Hindsight:
    """What was known of the seasons of a record on their mornings, for one heat need.

    Keeps what it was asked; what it needs to answer is let go by :meth:`rest`. happened : room for what came of each
    season, by season and lag.
    """

    def __init__(self, need: float) -> None:
        """Take the heat from visible fig to first ripe fig [heat units]."""
        self._need = millionths(need)
        self.happened: dict[tuple[int, int], Any] = {}
        self._starts: dict[date, tuple[int, ...]] = {}
        self._freezes: dict[date, date | None] = {}
        self._laid: dict[tuple[int, tuple[bool, ...]], _Laid] = {}
        self._years: dict[int, tuple[bool, int | None]] = {}
        self._recent: tuple[int, Climate] | None = None
        self._known: tuple[date, Days] | None = None

    def rest(self) -> None:
        """Let go of the days of the past seasons."""
        self._laid.clear()
        self._recent = self._known = None

    def last_starts(self, climate: Climate, season: int, morning: date) -> tuple[int, ...]:
        """Return, rising, each trace's last day from which the need still comes in time, as known on a morning.

        Days are numbered as in the season; −1 stands for none. Empty where no complete season lay before.
        """
        found = self._starts.get(morning)
        if found is None:
            found = self._starts[morning] = self._find_starts(climate, season, morning)
        return found

    def mean_first_freeze(self, climate: Climate, season: int, morning: date) -> date | None:
        """Return the average first freeze of the years known on a morning, put into the season."""
        if morning not in self._freezes:
            numbers = self._known_freezes(climate, season, morning).with_freeze()
            self._freezes[morning] = day_of_number(mean(numbers), season) if numbers else None
        return self._freezes[morning]

    # -- what was known ----------------------------------------------------------------------------------------

    def _as_known(self, climate: Climate, season: int, morning: date) -> Days:
        """Return the days from the season before on, as they were known on a morning."""
        if self._recent is None or self._recent[0] != season:
            recent = climate.days.since(climate.season_days(season - 1).first)  # type: ignore[union-attr]
            self._recent = season, Climate(climate.rules, recent)
        if self._known is None or self._known[0] != morning:
            self._known = morning, self._recent[1].until(morning).days  # type: ignore[assignment]
        return self._known[1]  # type: ignore[index]

    def _known_freezes(self, climate: Climate, season: int, morning: date) -> FreezeDates:
        days: Days = climate.days  # type: ignore[assignment]
        recent = self._as_known(climate, season, morning)
        limit = climate.rules.freeze_limit()
        found = []
        for year in range(days.first_season() - 1, recent.last_season() + 1):
            if year < season - 1:
                if year not in self._years:
                    self._years[year] = freeze_of_year(days.record, climate.season_days(year), limit, True, year)
                usable, number = self._years[year]
            else:
                usable, number = freeze_of_year(recent.record, climate.season_days(year), limit, True, year)
            if usable:
                found.append(number)
        return FreezeDates(tuple(found))

    # -- traces ------------------------------------------------------------------------------------------------

    def _find_starts(self, climate: Climate, season: int, morning: date) -> tuple[int, ...]:
        calendar = climate.season_days(season)
        recent = self._as_known(climate, season, morning)
        # Seasons before the last one ended months before any morning of this one: nothing of them was still to come.
        past = [self._lay(climate.days, year, calendar) for year in climate.days.complete if year < season - 1]  # type: ignore[union-attr, arg-type]
        if season - 1 in recent.complete:
            past.append(_laid(recent, season - 1, calendar))
        own = recent.season_values(season, calendar)
        return tuple(sorted(_starts(own, past, calendar, climate.rules, self._need)))

    def _lay(self, days: Days, year: int, onto: SeasonDays) -> _Laid:
        # Seasons with leap days in the same places have the same numbers.
        last = onto.day(onto.count - 1)
        key = year, tuple(is_leap(each) for each in range(onto.first.year, last.year + 1))
        laid = self._laid.get(key)
        if laid is None:
            laid = self._laid[key] = _laid(days, year, onto)
        return laid


def _laid(days: Days, year: int, onto: SeasonDays) -> _Laid:
    heat, low, means = days.season_values(year, onto)
    growing = onto.growing[0]
    known_from = growing - heat[growing::-1].index(UNKNOWN) + 1 if UNKNOWN in heat[:growing] else 0
    known_to = heat.index(UNKNOWN, growing) if UNKNOWN in heat[growing:] else onto.count
    return _Laid(
        # As arrays they take a quarter of the room.
        SeasonValues(array("q", heat), array("d", low), array("d", means)),  # type: ignore[arg-type]
        array("q", accumulate(heat, initial=0)),
        first_freeze(low, onto.freeze_start, days.rules.freeze_limit()),
        stall_index(means, onto.freeze_start, days.rules.stall_at),
        known_from,
        known_to,
    )


def _starts(
    own: SeasonValues, past: Sequence[_Laid], calendar: SeasonDays, rules: Rules, need: int
) -> list[int]:
    """Return each trace's last start, in the order of the past seasons."""
    known = own.heat.index(UNKNOWN) if UNKNOWN in own.heat else calendar.count
    if any(heat != UNKNOWN for heat in own.heat[known:]) or any(low == low for low in own.low[known:]):
        return [_start_day_by_day(own, laid, past, calendar, rules, need) for laid in past]
    front = _Own(own, known, list(accumulate(own.heat[:known], initial=0)))
    freeze = first_freeze(own.low[:known], calendar.freeze_start, rules.freeze_limit())
    stall = stall_index(own.mean[:known], calendar.freeze_start, rules.stall_at)
    ends = [index for index in (freeze, stall) if index is not None]
    if ends:
        end = min(ends)
        return [bisect_right(front.total, front.total[end] - need, 0, end + 1) - 1] * len(past)
    starts = []
    for laid in past:
        start = _start(front, laid, calendar, rules, need)
        starts.append(_start_day_by_day(own, laid, past, calendar, rules, need) if start is None else start)
    return starts


def _start(own: _Own, laid: _Laid, calendar: SeasonDays, rules: Rules, need: int) -> int | None:
    """Return a trace's last start; ``None`` where days before its end are not known."""
    known = own.known
    freeze = laid.freeze
    if freeze is not None and freeze < known:
        freeze = first_freeze(laid.values.low, known, rules.freeze_limit())
    stall = _stall(own, laid, calendar, rules.stall_at)
    end = min(index for index in (freeze, stall, calendar.count) if index is not None)
    if known < laid.known_from or (end >= laid.known_to and laid.known_to < calendar.count):
        return None
    after = laid.total[end] - laid.total[known]
    if after >= need:
        return bisect_right(laid.total, laid.total[end] - need, known, end + 1) - 1
    return bisect_right(own.total, own.total[known] + after - need) - 1


def _stall(own: _Own, laid: _Laid, calendar: SeasonDays, limit: float | None) -> int | None:
    """Return the first stall of a trace whose own days have none."""
    known, first = own.known, calendar.freeze_start
    whole_week = known + STALL_DAYS - 1  # from this day on, the week lies in the past season
    if limit is not None and whole_week > first:
        base = max(0, known - STALL_DAYS + 1)
        week = [*own.values.mean[base:known], *laid.values.mean[known:whole_week]]
        mixed = stall_index(week, max(first, known) - base, limit)
        if mixed is not None:
            return mixed + base
    if laid.stall is None or laid.stall >= whole_week:
        return laid.stall
    return stall_index(laid.values.mean, max(first, whole_week), limit)


def _start_day_by_day(
    own: SeasonValues, laid: _Laid, past: Sequence[_Laid], calendar: SeasonDays, rules: Rules, need: int
) -> int:
    """Return a trace's last start from the trace itself, put together day by day."""
    trace = blend(own, laid.values, [each.values for each in past])
    freeze = first_freeze(trace.low, calendar.freeze_start, rules.freeze_limit())
    stall = stall_index(trace.mean, calendar.freeze_start, rules.stall_at)
    end = min(index for index in (freeze, stall, calendar.count) if index is not None)
    total = list(accumulate(trace.heat, initial=0))
    return bisect_right(total, total[end] - need, 0, end + 1) - 1
