"""The ways a season can go: one trace for each past season, each with its running total of heat and its end."""

from __future__ import annotations

import math
from array import array
from bisect import bisect_left, bisect_right
from datetime import date
from itertools import accumulate
from operator import sub
from typing import Iterable, Sequence

from . import normals
from .calendar import SeasonDays, common_number, day_of_number
from .days import MILLIONTHS, Days
from .errors import Unanswerable
from .frost import FrostEstimate
from .overlay import Overlay, end_of


class Traces:
    """The traces of one season.

    days : the season's days. totals : for each trace, the heat of the days before each day [millionths]; one longer
    than the days. ends : for each trace the number of the day that ends it (that day brings no more); the number of
    days where nothing ends it. own : the totals of the first days, where these are the same in all traces; one longer
    than these days.
    """

    def __init__(
        self, days: SeasonDays, totals: Iterable[Sequence[int]], ends: Iterable[int], own: Sequence[int] = (0,)
    ) -> None:
        self.days = days
        self._own, self._shared = own, len(own) - 1
        self.totals = tuple(totals)
        self.ends = tuple(ends)
        self.first_end = min(self.ends)
        self._until: dict[int, list[int]] = {}

    def __len__(self) -> int:
        return len(self.ends)

    def heat_left(self, start: int) -> list[int]:
        """Return each trace's heat from a day on to its end [millionths]; 0 where it has ended before."""
        return self.heat(start, self.days.count)

    def heat(self, start: int, day: int) -> list[int]:
        """Return each trace's heat from ``start`` (counted) to ``day`` (not counted), or to its end if that is earlier.

        0 where it has ended before [millionths].
        """
        return list(map(sub, self._total_until(day), self._total_until(start)))

    def _total_until(self, day: int) -> list[int]:
        """Return each trace's total on a day, or on the day that ends it, less that of the days that all share.

        It is kept, as it serves all heat needs.
        """
        if day not in self._until:
            own, shared = self._own, self._shared
            last_days = (min(day, end) for end in self.ends)
            self._until[day] = [
                total[last] - total[shared] if last > shared else own[last] - own[shared]
                for total, last in zip(self.totals, last_days)
            ]
        return self._until[day]

    def days_of_heat(self, start: int, need: int) -> list[int]:
        """Return, rising, the day on which each trace's heat from a day on reaches a need, whatever ends it.

        The number of days where it never does.
        """
        own, shared = self._own, self._shared
        if start < shared:
            if own[shared] - own[start] >= need:
                return [bisect_left(own, own[start] + need, start + 1) - 1] * len(self)
            need -= own[shared] - own[start]
            start = shared
        return sorted(bisect_left(total, total[start] + need, start + 1) - 1 for total in self.totals)


def millionths(heat_units: float) -> int:
    """Return heat units as the whole millionths in which they are summed."""
    return round(heat_units * MILLIONTHS)


def counted(chance: float, number: int) -> int:
    """Return how many of a number of traces make up a chance, at least one."""
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
            if not days.complete:
                raise Unanswerable("weather holds no complete season, from spring to the end of autumn")
            first = days.complete[0]
            raise Unanswerable(f"season {season} comes before the first complete season of the weather, {first}")
        past = [season]
    ending, own = days.ending(season_days), days.overlay(season, season_days)
    traces, shared = ending.continued(own, days.pasts(past, season_days))
    freezes = [trace.freeze for trace in traces]
    if estimate is not None and own.freeze is None:
        freezes = _estimated(days if ranked_by is None else ranked_by, past, season_days, estimate, own)
    ends = [end_of(freeze, trace.cool_from) for freeze, trace in zip(freezes, traces)]
    return Traces(season_days, [trace.total for trace in traces], ends, own.total[: shared + 1])


def traces_of_normals(
    season_days: SeasonDays,
    heat: Sequence[int],
    cool_from: int,
    estimate: FrostEstimate,
) -> Traces:
    """Return the traces of a season from a smooth year's heat and a frost estimate, each with a heat of its own.

    cool_from : the day from which the smooth year stays cool.
    """
    total = tuple(accumulate(heat, initial=0))
    totals, ends = [], []
    for chance, share in normals.differing_seasons(normals.HEAT_SPREAD):
        ends.append(end_of(_index_of(estimate.number(chance), season_days), cool_from))
        totals.append(array("q", [round(units * share) for units in total]))
    return Traces(season_days, totals, ends)


def _estimated(
    ranked_by: Days, past: Sequence[int], season_days: SeasonDays, estimate: FrostEstimate, own: Overlay
) -> list[int | None]:
    """Return the estimate's date for each trace, at the rank that its own freeze has among the traces of a place.

    ranked_by : the days of the place for which it was typed. own : the season's known days, up to the last of which no
    freeze came.
    """
    first, ending = season_days.freeze_start, ranked_by.ending(season_days)
    of_the_place = ranked_by.overlay(season_days.season, season_days)
    traces, _ = ending.continued(of_the_place, ranked_by.pasts(past, season_days))
    keys = [
        (math.inf, min(low for low in trace.low[first:] if low == low)) if trace.freeze is None else (trace.freeze, 0.0)
        for trace in traces
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
