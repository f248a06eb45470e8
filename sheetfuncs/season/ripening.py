"""From a cut to ripe figs: the last date that pays, its chance, the ripening window and the share of the crop."""

from __future__ import annotations

import math
from bisect import bisect_left
from datetime import date, timedelta
from typing import Sequence

from .calendar import SeasonDays
from .climate import Climate
from .frost import hazen_quantile
from .traces import Traces, counted, millionths


def latest_cut(climate: Climate, season: int, need: float, chance: float, lag_days: int) -> date | None:
    """Return the last cut date of a season whose chance of ripe figs is at least ``chance``; ``None`` if there is none.

    need : heat from visible fig to first ripe fig [heat units]. lag_days : from cut to visible figs [days].
    """
    traces = climate.traces(season)
    start = traces.last_start(millionths(need), counted(chance, len(traces.ends)))
    return _cut_of_start(traces.days, start, lag_days)


def cut_before(days: SeasonDays, starts: Sequence[int], chance: float, lag_days: int) -> date | None:
    """Return the last cut date of a season from its traces' last starts; ``None`` where none has the chance.

    starts : rising, numbered as the season's days.
    """
    return _cut_of_start(days, starts[len(starts) - counted(chance, len(starts))], lag_days)


def _cut_of_start(days: SeasonDays, start: int, lag_days: int) -> date | None:
    # A cut after the growing year belongs to the next season.
    cut = min(start - lag_days, days.year_end - 1)
    return days.day(cut) if cut >= 0 else None


def ripe_count(climate: Climate, cut: date, need: float, lag_days: int) -> tuple[int, int]:
    """Return in how many traces, of how many, the first figs ripen before the season's end."""
    traces, start = _start(climate, cut, lag_days)
    left = traces.heat_left(start)
    return len(left) - bisect_left(left, millionths(need)), len(left)


def ripe_date(climate: Climate, cut: date, need: float, lag_days: int, chance: float) -> date | None:
    """Return the date by which a share of the traces reach a heat need before their end; ``None`` if fewer do."""
    traces, start = _start(climate, cut, lag_days)
    day = traces.days_ripe(start, millionths(need))[counted(chance, len(traces)) - 1]
    return None if math.isinf(day) else traces.days.day(int(day))


def ripe_window(
    climate: Climate, cut: date, need: float, spread: float, lag_days: int, chance: float
) -> tuple[date | None, date | None, date | None]:
    """Return the first, middle and last ripe date: where the heat is at ``need`` and half and all of ``spread`` on."""
    first, middle, last = (ripe_date(climate, cut, need + spread * part, lag_days, chance) for part in (0, 0.5, 1))
    return first, middle, last


def ripe_share(climate: Climate, cut: date, need: float, spread: float, lag_days: int) -> float:
    """Return the expected share of the crop that ripens before the season's end.

    The figs of one cut ripen evenly while the heat goes from ``need`` to ``need + spread``.
    """
    traces, start = _start(climate, cut, lag_days)
    first, width = millionths(need), millionths(spread)
    left = traces.heat_left(start)
    if width == 0:
        return (len(left) - bisect_left(left, first)) / len(left)
    begun, done = bisect_left(left, first), bisect_left(left, first + width)
    ripe = sum(left[begun:done]) - first * (done - begun) + width * (len(left) - done)
    return ripe / (width * len(left))


def heat_reached(climate: Climate, start: date, heat_units: float, chance: float) -> date | None:
    """Return the date by which a heat has come with a chance, whatever ends the season; ``None`` if in fewer traces."""
    traces = climate.traces(climate.season_of(start))
    day = traces.days_of_heat(traces.days.index(start), millionths(heat_units))[counted(chance, len(traces)) - 1]
    return traces.days.day(day) if day < traces.days.count else None


def end_of_season(climate: Climate, season: int, chance: float) -> date | None:
    """Return the date with a chance of an earlier end of the season; ``None`` where it does not end that often."""
    traces = climate.traces(season)
    ends = [math.inf if end == traces.days.count else end for end in traces.ends]
    number = hazen_quantile(ends, chance)
    return None if number is None else traces.days.day(int((number + 0.5) // 1))


def _start(climate: Climate, cut: date, lag_days: int) -> tuple[Traces, int]:
    """Return the traces of a cut's season and the number of the day on which its figs are seen."""
    traces = climate.traces(climate.season_of(cut))
    start = traces.days.index(cut + timedelta(days=lag_days))
    return traces, min(start, traces.days.count)
