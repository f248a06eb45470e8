"""Spreading the harvest: cut dates that make the trees ripen at even intervals.

Equal gaps between cuts do not give equal gaps between picks: heat comes faster in summer than in autumn, and trees
differ in need. So the dates are chosen backwards, from ripening.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from datetime import date, timedelta
from typing import NamedTuple, Sequence, Tuple

from .chances import ripe_by
from .climate import Climate
from .ripening import NEED_SPREAD
from .traces import Traces, millionths

#: Share of the seasons from which a tree's ripening date is taken: the middle one.
HALF = 0.5
#: Even dates are met within so many days, where they can be.
WITHIN = 1.0
#: Rounding may put a number so far off [days].
_TOLERANCE = 1e-6

#: A stretch of time, from one day number to another.
Stretch = Tuple[float, float]


class Even(NamedTuple):
    """Dates at even intervals: the first [day number] and the step from one to the next [days]."""

    first: float
    step: float


def cuts_spread(
    climate: Climate,
    needs: Sequence[float],
    earliest: date,
    latest: date,
    lag_days: int,
    need_spread: float = NEED_SPREAD,
) -> list[date | None]:
    """Return a cut date for each tree so that ripening, in the order of need, is evenly spread.

    needs : heat from visible fig to first ripe fig [heat units]. earliest, latest : first and last day to cut, of
    one season. lag_days : from cut to visible figs [days]. ``None`` for a tree that ripens in fewer than half the
    seasons even if it is cut on the earliest day.
    """
    traces = climate.traces(climate.season_of(earliest))
    first = traces.days.index(earliest) + lag_days
    count = (latest - earliest).days + 1
    by_need = {
        need: ripe_days(traces, first, count, need, climate.deviation(traces.days.season, need, need_spread))
        for need in set(needs)
    }
    order = sorted((tree for tree, need in enumerate(needs) if by_need[need]), key=lambda tree: (needs[tree], tree))
    reaches = [by_need[needs[tree]] for tree in order]
    cuts: list[date | None] = [None] * len(needs)
    if reaches:
        even = widest_even(reaches)
        for index, (tree, reach) in enumerate(zip(order, reaches)):
            cuts[tree] = earliest + timedelta(days=nearest(reach, even.first + index * even.step))
    return cuts


def ripe_days(traces: Traces, first: int, count: int, need: float, deviation: float) -> list[int]:
    """Return the middle ripening date [day number] for figs seen on each of a number of days from the first on.

    It never falls from one day to the next. The list ends where fewer than half the traces ripen in time.
    """
    days: list[int] = []
    for start in range(first, min(first + count, traces.days.count + 1)):
        day = ripe_by(traces, start, millionths(need), deviation, HALF)
        if day is None:
            break
        days.append(day)
    return days


def nearest(reach: Sequence[int], goal: float) -> int:
    """Return the index, in rising numbers, of the one nearest to a goal; the first of equals."""
    after = bisect_left(reach, goal)
    if after == len(reach) or (after and goal - reach[after - 1] <= reach[after] - goal):
        after -= 1
    return bisect_left(reach, reach[after])


def widest_even(reaches: Sequence[Sequence[int]]) -> Even:
    """Return the even dates with the largest step that the trees can meet, the first tree's first.

    reaches : for each tree the dates that it can be made to ripen on, rising.

    The first date and the step are two unknowns. An even date must lie between the first and the last date of its tree:
    each pair of trees limits the step, and the least of these limits is the largest step. It must also lie within a
    day of a date that the tree can meet; where late cuts leave gaps of three days and more between those, the
    step is made smaller by little and little until they all do. Where no even dates lie in reach, all are let
    out of it by the same number of days, as few as will do; the trees then take the nearest dates they have.
    """
    beyond = _least_beyond(reaches)
    shortest, longest = _steps(reaches, beyond)
    # Half a day over the whole spread, from one step tried to the next.
    less = 0.5 / max(1, len(reaches) - 1)
    within = max(WITHIN, beyond)
    while True:
        allowed = _allowed(reaches, beyond, within)
        for turn in range(int(max(0.0, longest - shortest) / less) + 1):
            step = longest - turn * less
            firsts = _firsts(allowed, step)
            if firsts:
                return Even(_best_first(reaches, step, firsts), step)
        within += 1


def _least_beyond(reaches: Sequence[Sequence[int]]) -> float:
    """Return by how many days even dates must leave the trees' reach, at least; 0 where they need not.

    The worst of it is a convex function of the step, so its least value is found by thirds.
    """

    def beyond(step: float) -> float:
        early = max(reach[0] - index * step for index, reach in enumerate(reaches))
        late = max(index * step - reach[-1] for index, reach in enumerate(reaches))
        return (early + late) / 2

    low, high = 0.0, float(reaches[-1][-1] - reaches[0][0])
    for _ in range(80):
        left, right = low + (high - low) / 3, high - (high - low) / 3
        if beyond(left) <= beyond(right):
            high = right
        else:
            low = left
    least = beyond((low + high) / 2)
    # A little more than needed, so that rounding does not put it out of reach again.
    return least + _TOLERANCE if least > _TOLERANCE else 0.0


def _steps(reaches: Sequence[Sequence[int]], beyond: float) -> tuple[float, float]:
    """Return the least and the largest step with which even dates lie in reach, or so many days beyond it."""
    shortest, longest = 0.0, math.inf
    for index, reach in enumerate(reaches):
        for trees, later in enumerate(reaches[index + 1 :], start=1):
            shortest = max(shortest, (later[0] - reach[-1] - 2 * beyond) / trees)
            longest = min(longest, (later[-1] - reach[0] + 2 * beyond) / trees)
    return shortest, longest if len(reaches) > 1 else 0.0


def _allowed(reaches: Sequence[Sequence[int]], beyond: float, within: float) -> list[list[Stretch]]:
    """Return the stretches in which each tree's even date may lie; trees of one need share theirs."""
    by_reach: dict[int, list[Stretch]] = {}
    for reach in reaches:
        if id(reach) not in by_reach:
            least, most = reach[0] - beyond - _TOLERANCE, reach[-1] + beyond + _TOLERANCE
            by_reach[id(reach)] = [(max(low, least), min(high, most)) for low, high in _about(reach, within)]
    return [by_reach[id(reach)] for reach in reaches]


def _firsts(allowed: Sequence[Sequence[Stretch]], step: float) -> list[Stretch]:
    """Return the stretches in which the first date may lie, for a step and what each tree allows."""
    firsts: list[Stretch] = [(-math.inf, math.inf)]
    for index, stretches in enumerate(allowed):
        moved = index * step
        firsts = _shared(firsts, [(low - moved, high - moved) for low, high in stretches])
        if not firsts:
            break
    return firsts


def _about(reach: Sequence[int], within: float) -> list[Stretch]:
    """Return the stretches within so many days of a date in reach."""
    stretches: list[Stretch] = []
    for day in reach:
        if stretches and day - within <= stretches[-1][1] + _TOLERANCE:
            stretches[-1] = (stretches[-1][0], day + within)
        else:
            stretches.append((day - within, day + within))
    return stretches


def _shared(one: Sequence[Stretch], other: Sequence[Stretch]) -> list[Stretch]:
    """Return what two lists of stretches share."""
    shared = [(max(low, least), min(high, most)) for low, high in one for least, most in other]
    return [(low, high) for low, high in shared if low <= high + _TOLERANCE]


def _best_first(reaches: Sequence[Sequence[int]], step: float, firsts: Sequence[Stretch]) -> float:
    """Return the first date that leaves the least between even dates and the trees' own; the earliest of equals."""
    tried = []
    for low, high in firsts:
        halves = [low + half / 2 for half in range(int(2 * max(0.0, high - low)) + 1)]
        tried += [*halves, (low + high) / 2, high]

    def off(first: float) -> float:
        goals = [first + index * step for index in range(len(reaches))]
        return max(abs(reach[nearest(reach, goal)] - goal) for reach, goal in zip(reaches, goals))

    return min(tried, key=lambda first: (round(off(first), 3), first))
