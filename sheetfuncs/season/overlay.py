"""A season's days on the calendar days of another, put together to one way a season can go, and where it ends."""

from __future__ import annotations

from array import array
from bisect import bisect_left
from itertools import accumulate
from typing import NamedTuple, Sequence

from .calendar import SeasonDays

WEEK = 7
#: Mark of a day whose heat is not known.
UNKNOWN = -1
#: A week's mean may lie this much below the limit, so that rounding decides nothing [°].
_TOLERANCE = 1e-6


class Trace(NamedTuple):
    """One way a season can go.

    total : the heat of the days before each day [millionths], one longer than the days; only differences count.
    low : each day's low [°], NaN where not known. freeze : day of the first freeze. cool_from : :func:`cool_for_good`.
    """

    total: array[int]
    low: array[float]
    freeze: int | None
    cool_from: int

    @property
    def end(self) -> int:
        """The day that ends the season, and brings no more."""
        return end_of(self.freeze, self.cool_from)


class Overlay(NamedTuple):
    """The days of a season, known or not, numbered as those of the season that it lies on.

    heat : each day's heat [millionths], ``UNKNOWN`` where not known. mean : [°], NaN where not known. trace : what is
    made of them, right where days are known; a low can be known where the rest is not. holes : days of unknown heat.
    """

    heat: array[int]
    mean: array[float]
    trace: Trace
    holes: tuple[int, ...]

    def lacks(self, first: int, end: int) -> int:
        """Return on how many of some days the heat is not known."""
        return bisect_left(self.holes, end) - bisect_left(self.holes, first)


def trace_of(
    days: SeasonDays,
    heat: Sequence[int],
    low: array[float],
    mean: Sequence[float],
    frost_limit: float,
    stall_at: float | None,
) -> Trace:
    """Return the trace of days whose values are given."""
    return Trace(
        array("q", accumulate(heat, initial=0)),
        low,
        first_freeze(low, days.freeze_start, frost_limit),
        cool_for_good(days, mean, stall_at),
    )


def first_freeze(lows: Sequence[float], first: int, limit: float) -> int | None:
    """Return the first day from ``first`` on whose low is at or under a limit; ``None`` where there is none."""
    return next((index for index in range(first, len(lows)) if lows[index] <= limit), None)


def cool_for_good(days: SeasonDays, means: Sequence[float], stall_at: float | None) -> int:
    """Return the day after the last warm week, from which on a season stays cool.

    means : each day's mean. stall_at : a week is warm whose mean is at or above it [°], ``None`` for no such limit.
    Weeks are looked at that end from the day before the freeze year to midwinter: a warm one later is the next
    spring's. The number of days where it is warm until midwinter, or where there is no limit.
    """
    if stall_at is None:
        return days.count
    bound = (stall_at - _TOLERANCE) * WEEK
    for index in range(days.midwinter - 1, days.freeze_start - 1, -1):
        if means[index] == means[index] and sum(means[index - WEEK + 1 : index + 1]) >= bound:
            return days.count if index == days.midwinter - 1 else index + 1
    return days.freeze_start


def end_of(freeze: int | None, cool_from: int) -> int:
    """Return the day that ends a season: its first freeze, or the day from which it stays cool if that is earlier."""
    return cool_from if freeze is None else min(freeze, cool_from)


def end_after(
    own: Overlay, past: Overlay, known: int, days: SeasonDays, frost_limit: float, stall_at: float | None
) -> tuple[int | None, int]:
    """Return the first freeze of a season's own days and a past season's after them, and when it cools for good.

    known : how many days are a season's own.
    """
    freeze, cool_from = past.trace.freeze, past.trace.cool_from
    if known > days.freeze_start and (freeze is None or freeze < known or own.trace.freeze is not None):
        lows = own.trace.low[:known] + past.trace.low[known:]
        freeze = first_freeze(lows, days.freeze_start, frost_limit)
    if known > min(cool_from, days.midwinter) - WEEK:  # else the last warm week is the past season's
        cool_from = cool_for_good(days, own.mean[:known] + past.mean[known:], stall_at)
    return freeze, cool_from


def blended(own: Overlay, past: Overlay, days: SeasonDays, frost_limit: float, stall_at: float | None) -> Trace:
    """Return the trace of a season's known days, wherever they lie, and of a past season's for the others."""
    heat = [mine if mine != UNKNOWN else theirs for mine, theirs in zip(own.heat, past.heat)]
    low = array("d", (mine if mine == mine else theirs for mine, theirs in zip(own.trace.low, past.trace.low)))
    mean = [mine if mine == mine else theirs for mine, theirs in zip(own.mean, past.mean)]
    return trace_of(days, heat, low, mean, frost_limit, stall_at)


def filled(
    past: Overlay, all_past: Sequence[Overlay], days: SeasonDays, frost_limit: float, stall_at: float | None
) -> Overlay:
    """Return a past season in which a day that it lacks is the mean of the past seasons that have it.

    A day that no season knows brings no heat and no frost.
    """
    if not past.holes:
        return past
    heat, low, mean = past.heat[:], past.trace.low[:], past.mean[:]
    for first, end in _runs(past.holes):
        sources = [season for season in all_past if not season.lacks(first, end)]
        if all(season.lacks(first, end) in (0, end - first) for season in all_past):
            runs = [(first, end, sources)]
        else:
            days_of_run = range(first, end)
            runs = [(day, day + 1, [one for one in all_past if one.heat[day] != UNKNOWN]) for day in days_of_run]
        for start, stop, having in runs:
            count = len(having)
            heats = map(sum, zip(*(season.heat[start:stop] for season in having)))
            heat[start:stop] = array("q", (total // count for total in heats) if count else [0] * (stop - start))
            if count:
                lows = map(sum, zip(*(season.trace.low[start:stop] for season in having)))
                means = map(sum, zip(*(season.mean[start:stop] for season in having)))
                low[start:stop] = array(
                    "d", (own if own == own else total / count for own, total in zip(low[start:stop], lows))
                )
                mean[start:stop] = array("d", (total / count for total in means))
    return Overlay(heat, mean, trace_of(days, heat, low, mean, frost_limit, stall_at), ())


def _runs(indices: Sequence[int]) -> list[tuple[int, int]]:
    """Return rising numbers as stretches without a gap: the first, and the one after the last."""
    runs: list[tuple[int, int]] = []
    for index in indices:
        if runs and runs[-1][1] == index:
            runs[-1] = runs[-1][0], index + 1
        else:
            runs.append((index, index + 1))
    return runs
