"""From a cut to ripe figs: the last date that pays, its chance, the ripening window and the share of the crop."""

from __future__ import annotations

import math
from datetime import date, timedelta

from .chances import expected_share, ripe_by, share_with_chance
from .climate import Climate
from .frost import hazen_quantile
from .traces import Traces, counted, millionths

#: Standard deviation of a heat need as a share of it, for a kind whose ripening class is known (judgement: half the
#: step between neighbouring classes; for one whose class is not known, 12 %, a whole step). No published one over years
#: was found for figs: one variety pruned in April and in December 2018 took 2,215 and 2,361 °C·day, a standard
#: deviation of 4.5 % (derived; Federal University of Piauí, abstract read); grapes of one variety differ widely between
#: places (McIntyre et al. 1987, Am. J. Enol. Vitic. 38:128–132, abstract read).
NEED_SPREAD = 0.06


def latest_cut(
    climate: Climate, season: int, need: float, chance: float, lag_days: int, need_spread: float = NEED_SPREAD
) -> date | None:
    """Return the last cut date of a season whose chance of ripe figs is at least ``chance``; ``None`` if there is none.

    need : mean heat from visible fig to first ripe fig [heat units]; need_spread : its standard deviation as a share of
    it. lag_days : from cut to visible figs [days]. A date before shoots can have leaves is no date to cut on.
    """
    days = climate.season_days(season)
    # A cut after the growing year belongs to the next season.
    cut = min(climate.curve(season, need, need_spread).last_start(chance) - lag_days, days.year_end - 1)
    return days.day(cut) if cut >= climate.first_leaf(season) else None


def ripe_chance(climate: Climate, cut: date, need: float, lag_days: int, need_spread: float = NEED_SPREAD) -> float:
    """Return the chance that the first figs of a cut ripen before the season's end."""
    season = climate.season_of(cut)
    start = climate.season_days(season).index(cut) + lag_days
    return climate.curve(season, need, need_spread).chance(start)


def ripe_count(climate: Climate, cut: date, need: float, lag_days: int) -> tuple[int, int]:
    """Return in how many traces, of how many, the first figs ripen before the end, at the need as it stands."""

    def make() -> tuple[int, int]:
        left, heat, _ = _left(climate, cut, need, lag_days)
        return sum(units >= heat for units in left), len(left)

    return climate.keep(("count", cut, need, lag_days), make)


def ripe_window(
    climate: Climate,
    cut: date,
    need: float,
    picking_heat: float,
    lag_days: int,
    chance: float,
    need_spread: float = NEED_SPREAD,
) -> tuple[date | None, date | None, date | None]:
    """Return the first, middle and last ripe date, each reached before the season's end with a chance.

    They are the days on which the heat is at ``need`` and half and all of ``picking_heat`` on; ``None`` if never.
    """

    def make() -> tuple[date | None, ...]:
        traces, start = _start(climate, cut, lag_days)
        deviation = climate.deviation(traces.days.season, need, need_spread)
        days = (
            ripe_by(traces, start, millionths(need + picking_heat * part), deviation, chance) for part in (0, 0.5, 1)
        )
        return tuple(None if day is None else traces.days.day(day) for day in days)

    key = "window", cut, need, picking_heat, lag_days, chance, need_spread
    return climate.keep(key, make)  # type: ignore[return-value]


def ripe_share(
    climate: Climate, cut: date, need: float, picking_heat: float, lag_days: int, need_spread: float = NEED_SPREAD
) -> float:
    """Return the expected share of the crop that ripens before the season's end.

    The figs of one cut ripen evenly while the heat goes from ``need`` to ``need + picking_heat``.
    """
    width = millionths(picking_heat)
    if width == 0:
        return ripe_chance(climate, cut, need, lag_days, need_spread)

    def make() -> float:
        left, heat, deviation = _left(climate, cut, need, lag_days, need_spread)
        return expected_share(left, heat, width, deviation)

    return climate.keep(("share", cut, need, picking_heat, lag_days, need_spread), make)


def ripe_share_at_least(
    climate: Climate,
    cut: date,
    need: float,
    picking_heat: float,
    lag_days: int,
    chance: float,
    need_spread: float = NEED_SPREAD,
) -> float:
    """Return the share of the crop that ripens at least, with a chance, in one season more."""
    left, heat, deviation = _left(climate, cut, need, lag_days, need_spread)
    return share_with_chance(left, heat, millionths(picking_heat), deviation, chance)


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


def _left(
    climate: Climate, cut: date, need: float, lag_days: int, need_spread: float = NEED_SPREAD
) -> tuple[list[int], int, float]:
    """Return the heat that each season leaves for a cut's figs, the need, and √v [millionths]."""
    traces, start = _start(climate, cut, lag_days)
    deviation = climate.deviation(traces.days.season, need, need_spread)
    return traces.heat_left(start), millionths(need), deviation
