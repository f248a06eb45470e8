"""The ways a season can go: one trace for each past season, each with its running total of heat and its end."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from datetime import date
from itertools import accumulate
from typing import Sequence

from .calendar import SeasonDays, common_number, day_of_number
from .days import MILLIONTHS, UNKNOWN, Days, SeasonValues
from .errors import Unanswerable
from .frost import FrostEstimate

WEEK = 7
#: A week's mean may lie this much below the limit, so that rounding decides nothing [°].
_TOLERANCE = 1e-6
#: How many equally likely frost dates stand for an estimate where there is but one heat trace.
NORMALS_TRACES = 100
#: As many seasons are behind monthly normals (World Meteorological Organization, WMO-No. 1203: 30 years).
NORMALS_SEASONS = 30


class Traces:
    """The traces of one season.

    days : the season's days. totals : for each trace, the heat of the days before each day [millionths]; one longer
    than the days. ends : for each trace the number of the day that ends it (that day brings no more); the
    number of days where nothing ends it. seasons : how many seasons they rest on; as many as traces where not given.
    """

    def __init__(
        self, days: SeasonDays, totals: Sequence[Sequence[int]], ends: Sequence[int], seasons: int | None = None
    ) -> None:
        self.days = days
        self.totals = tuple(totals)
        self.ends = tuple(ends)
        self.seasons = len(self.ends) if seasons is None else seasons

    def __len__(self) -> int:
        return len(self.ends)

    def heat_left(self, start: int) -> list[int]:
        """Return each trace's heat from ``start`` to its end [millionths]; 0 where it has ended before."""
        return [total[end] - total[start] if start < end else 0 for total, end in zip(self.totals, self.ends)]

    def days_of_heat(self, start: int, need: int) -> list[int]:
        """Return, rising, the day on which each trace's heat from ``start`` on reaches the need.

        The number of days where it never does.
        """
        return sorted(self._reached(start, need))

    def _reached(self, start: int, need: int) -> list[int]:
        """Return, trace by trace, the day on which the heat from ``start`` on reaches the need."""
        return [bisect_left(total, total[start] + need, start + 1) - 1 for total in self.totals]


def millionths(heat_units: float) -> int:
    """Return heat units as the whole millionths in which they are summed."""
    return round(heat_units * MILLIONTHS)


def counted(chance: float, number: int) -> int:
    """Return how many of a number of traces a chance asks for."""
    return max(1, math.ceil(chance * number - 1e-9))


def traces_of_days(
    days: Days, season_days: SeasonDays, estimate: FrostEstimate | None, ranked_by: Days | None = None
) -> Traces:
    """Return the traces of a season from a daily record.

    ranked_by : the days by whose freezes a typed estimate is shared out; ``days`` itself where not given.

    Known days are taken as they are. Every other day comes, trace by trace, from a past complete season's same
    day, and a day which that season lacks is the mean of the past seasons that have it.
    """
    season = season_days.season
    past = [year for year in days.complete if year < season]
    if not past:
        if season not in days.complete:
            raise Unanswerable(_no_past(days, season))
        past = [season]
    own, blended = _blended(days, season_days, past)
    freezes = _freezes(days, season_days, blended)
    if estimate is not None and _freezes(days, season_days, [own]) == [None]:
        ranking = blended if ranked_by in (None, days) else _blended(ranked_by, season_days, past)[1]
        freezes = _estimated(_freezes(days, season_days, ranking), ranking, season_days, estimate, own)
    ends = [
        end_of_trace(season_days, freeze, trace.mean, days.rules.stall_at) for trace, freeze in zip(blended, freezes)
    ]
    totals = [tuple(accumulate(values.heat, initial=0)) for values in blended]
    return Traces(season_days, totals, ends)


def _blended(days: Days, season_days: SeasonDays, past: Sequence[int]) -> tuple[SeasonValues, list[SeasonValues]]:
    """Return a season's own known days, and its traces: these and the days of each past season."""
    own = days.season_values(season_days.season, season_days)
    laid = [days.season_values(year, season_days) for year in past]
    nothing_known = max(own.heat) == UNKNOWN and all(low != low for low in own.low)
    return own, [
        values if nothing_known and UNKNOWN not in values.heat else blend(own, values, laid) for values in laid
    ]


def traces_of_normals(
    season_days: SeasonDays,
    heat: Sequence[int],
    means: Sequence[float],
    stall_at: float | None,
    estimate: FrostEstimate,
) -> Traces:
    """Return the traces of a season from one heat trace and a frost estimate: a hundred equally likely frosts."""
    total = tuple(accumulate(heat, initial=0))
    ends = []
    for rank in range(NORMALS_TRACES):
        freeze = _index_of(estimate.number((rank + 0.5) / NORMALS_TRACES), season_days)
        ends.append(end_of_trace(season_days, freeze, means, stall_at))
    return Traces(season_days, [total] * NORMALS_TRACES, ends, NORMALS_SEASONS)


def end_of_trace(season_days: SeasonDays, freeze: int | None, means: Sequence[float], stall_at: float | None) -> int:
    """Return the day that ends a season: the first freeze, or the day after the last warm week if that is earlier.

    freeze : the day of the first freeze, ``None`` for none. means : each day's mean. stall_at : a week is warm whose
    mean is at or above it, ``None`` for no such limit [°]. Weeks are looked at that end from the day before the freeze
    year to midwinter: a warm one later is the next spring's. The number of days where nothing ends the season.
    """
    freeze = season_days.count if freeze is None else freeze
    if stall_at is None:
        return freeze
    bound = (stall_at - _TOLERANCE) * WEEK
    for index in range(season_days.midwinter - 1, season_days.freeze_start - 1, -1):
        if sum(means[index - WEEK + 1 : index + 1]) >= bound:
            return freeze if index == season_days.midwinter - 1 else min(freeze, index + 1)
    return min(freeze, season_days.freeze_start)


def _no_past(days: Days, season: int) -> str:
    if days.complete:
        return f"season {season} comes before the first complete season of the weather, {days.complete[0]}"
    return "weather holds no complete season, from spring to the end of autumn"


def blend(own: SeasonValues, past: SeasonValues, all_past: Sequence[SeasonValues]) -> SeasonValues:
    """Return the known days of a season, and a past season's for the others."""
    heat = [mine if mine != UNKNOWN else theirs for mine, theirs in zip(own.heat, past.heat)]
    low = [mine if mine == mine else theirs for mine, theirs in zip(own.low, past.low)]
    mean = [mine if mine == mine else theirs for mine, theirs in zip(own.mean, past.mean)]
    if UNKNOWN in heat:
        for index, value in enumerate(heat):
            if value == UNKNOWN:
                known = [values for values in all_past if values.heat[index] != UNKNOWN]
                # A day that no season knows brings no heat and no frost.
                count = len(known)
                heat[index] = sum(values.heat[index] for values in known) // count if count else 0
                if count:
                    mean[index] = sum(values.mean[index] for values in known) / count
                    if low[index] != low[index]:
                        low[index] = sum(values.low[index] for values in known) / count
    return SeasonValues(heat, low, mean)


def first_freeze(lows: Sequence[float], first: int, limit: float) -> int | None:
    """Return the first day from ``first`` on whose low is at or under a limit; ``None`` where there is none."""
    return next((index for index in range(first, len(lows)) if lows[index] <= limit), None)


def _freezes(days: Days, season_days: SeasonDays, traces: Sequence[SeasonValues]) -> list[int | None]:
    """Return the day of each trace's first freeze, ``None`` where there is none."""
    limit, first = days.rules.freeze_limit(), season_days.freeze_start
    return [first_freeze(trace.low, first, limit) for trace in traces]


def _estimated(
    freezes: Sequence[int | None],
    traces: Sequence[SeasonValues],
    season_days: SeasonDays,
    estimate: FrostEstimate,
    own: SeasonValues,
) -> list[int | None]:
    """Return the estimate's date for each trace, at the rank that its own freeze has among the traces.

    own : the season's known days, up to the last of which no freeze came.
    """
    first = season_days.freeze_start
    keys = [
        (freeze, 0.0) if freeze is not None else (math.inf, min(low for low in trace.low[first:] if low == low))
        for freeze, trace in zip(freezes, traces)
    ]
    ordered = sorted(keys)
    days_known = [index for index in range(first, season_days.count) if own.low[index] == own.low[index]]
    known = _number_of(season_days.day(days_known[-1]), season_days.season) if days_known else -math.inf
    estimated: list[int | None] = []
    for key in keys:
        # Equal freezes share their mean rank.
        rank = (bisect_left(ordered, key) + bisect_right(ordered, key)) / 2
        estimated.append(_index_of(estimate.number(rank / len(keys), known), season_days))
    return estimated


def _number_of(day: date, season: int) -> int:
    """Return a day's number in a common year, counted on past New Year."""
    return common_number(day) + 365 * (day.year - season)


def _index_of(number: float, season_days: SeasonDays) -> int:
    if math.isinf(number) or number > 365 + 250:
        return season_days.count
    index = season_days.index(day_of_number(number, season_days.season))
    return min(max(index, 0), season_days.count)
