"""A season's days on the calendar days of another, put together to one way a season can go, and where it ends."""

from __future__ import annotations

import math
from array import array
from itertools import accumulate
from typing import Iterable, NamedTuple, Sequence

from .calendar import SeasonDays

WEEK = 7
#: Mark of a day whose heat is not known.
UNKNOWN = -1
#: A week's mean may lie this much below the limit, so that rounding decides nothing [°].
_TOLERANCE = 1e-6
#: Heat, low and mean of a day that no season knows.
_NOTHING = 0, math.nan, math.nan


def first_freeze(lows: Sequence[float], first: int, limit: float) -> int | None:
    """Return the first day from ``first`` on whose low is at or under a limit; ``None`` where there is none."""
    return next((index for index in range(first, len(lows)) if lows[index] <= limit), None)


def end_of(freeze: int | None, cool_from: int) -> int:
    """Return the day that ends a season: its first freeze, or the day from which it stays cool if that is earlier."""
    return cool_from if freeze is None else min(freeze, cool_from)


class Overlay(NamedTuple):
    """The days of a season, known or not, numbered as those of the season that it lies on.

    heat : each day's heat [millionths], ``UNKNOWN`` where not known. low, mean : [°], NaN where not known; a low can be
    known where the rest is not. total : the heat of the days before each day, one longer than the days; right where
    days are known, and only differences count. freeze : day of the first freeze. cool_from : :meth:`Ending.cool_from`.
    holes : days of unknown heat.
    """

    heat: array[int]
    low: array[float]
    mean: array[float]
    total: array[int]
    freeze: int | None
    cool_from: int
    holes: tuple[int, ...]

    @property
    def end(self) -> int:
        """The day that ends the season, and brings no more."""
        return end_of(self.freeze, self.cool_from)


class Trace(NamedTuple):
    """One way that a season can go; as an :class:`Overlay` has them."""

    low: array[float]
    total: array[int]
    freeze: int | None
    cool_from: int


class Ending(NamedTuple):
    """What ends a season: on these days, a low at or under a limit, or that it stays cool.

    stall_at : a week is warm whose mean is at or above it [°], ``None`` for no such limit.
    """

    days: SeasonDays
    freeze_limit: float
    stall_at: float | None

    def overlay(self, heat: array[int], low: array[float], mean: array[float]) -> Overlay:
        """Return days whose values are given, and what follows from them."""
        holes = tuple(index for index, units in enumerate(heat) if units == UNKNOWN) if UNKNOWN in heat else ()
        return Overlay(heat, low, mean, _total(heat), self.freeze(low), self.cool_from(mean), holes)

    def freeze(self, lows: Sequence[float]) -> int | None:
        """Return the day of the first freeze."""
        return first_freeze(lows, self.days.freeze_start, self.freeze_limit)

    def cool_from(self, means: Sequence[float]) -> int:
        """Return the day after the last warm week, from which on a season stays cool.

        Weeks are looked at that end from the day before the freeze year to midwinter: a warm one later is the next
        spring's. The number of days where it is warm until midwinter, or where there is no limit.
        """
        days = self.days
        if self.stall_at is None:
            return days.count
        bound = (self.stall_at - _TOLERANCE) * WEEK
        for index in range(days.midwinter - 1, days.freeze_start - 1, -1):
            if means[index] == means[index] and sum(means[index - WEEK + 1 : index + 1]) >= bound:
                return days.count if index == days.midwinter - 1 else index + 1
        return days.freeze_start

    def continued(self, own: Overlay, pasts: Iterable[Overlay]) -> tuple[list[Trace], int]:
        """Return a season's known days, wherever they lie, with each past season's for the others.

        pasts : without holes. With them comes how many first days are the season's own in all: the totals of these are
        not put into those of the traces, which would be the same sums over and over.
        """
        known = next((index + 1 for index in range(len(own.low) - 1, -1, -1) if own.low[index] == own.low[index]), 0)
        heat, low, mean = own.heat[:known], own.low[:known], own.mean[:known]
        if UNKNOWN in heat:
            return [self._filled_up(heat, low, mean, past) for past in pasts], 0
        return [self._continued(low, mean, past, past.total) for past in pasts], known

    def _filled_up(self, heat: array[int], low: array[float], mean: array[float], past: Overlay) -> Trace:
        """Return a season's first days, some of which are not known, with a past season's for the others."""
        heat = array("q", (mine if mine != UNKNOWN else theirs for mine, theirs in zip(heat, past.heat)))
        total = _total(heat + past.heat[len(heat) :])
        return self._continued(_known_or(low, past.low), _known_or(mean, past.mean), past, total)

    def _continued(self, low: array[float], mean: array[float], past: Overlay, total: array[int]) -> Trace:
        """Return a season's first days and a past season's after them."""
        known = len(low)
        low = low + past.low[known:]
        # Where the days that decide it are all the past season's, so is the answer.
        freeze = past.freeze if known <= self.days.freeze_start else self.freeze(low)
        is_past_s = known <= min(past.cool_from, self.days.midwinter) - WEEK
        return Trace(low, total, freeze, past.cool_from if is_past_s else self.cool_from(mean + past.mean[known:]))

    def without_holes(self, pasts: Sequence[Overlay]) -> list[Overlay]:
        """Return past seasons in which a day that one lacks is the mean of those that have it.

        A day that no season has brings no heat and no frost.
        """
        holed = [past for past in pasts if past.holes]
        if not holed:
            return list(pasts)
        whole = [past for past in pasts if not past.holes]
        all_heats, all_lows, all_means = (
            [one.heat for one in whole], [one.low for one in whole], [one.mean for one in whole],
        )  # fmt: skip
        usual: dict[int, tuple[int, float, float]] = {}
        for day in {day for past in holed for day in past.holes}:
            known = [past for past in holed if past.heat[day] != UNKNOWN]
            heats = [heat[day] for heat in all_heats] + [past.heat[day] for past in known]
            lows = [low[day] for low in all_lows] + [past.low[day] for past in known]
            means = [mean[day] for mean in all_means] + [past.mean[day] for past in known]
            count = len(heats)
            usual[day] = (sum(heats) // count, sum(lows) / count, sum(means) / count) if count else _NOTHING
        return [self._filled(past, usual) if past.holes else past for past in pasts]

    def _filled(self, past: Overlay, usual: dict[int, tuple[int, float, float]]) -> Overlay:
        heat, low, mean = past.heat[:], past.low[:], past.mean[:]
        for day in past.holes:
            heat[day], usual_low, mean[day] = usual[day]
            if low[day] != low[day]:
                low[day] = usual_low
        return self.overlay(heat, low, mean)


def _total(heat: array[int]) -> array[int]:
    return array("q", list(accumulate(heat, initial=0)))


def _known_or(own: array[float], past: array[float]) -> array[float]:
    return array("d", (mine if mine == mine else theirs for mine, theirs in zip(own, past)))
