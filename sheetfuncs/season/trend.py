"""How a place's first freeze and heat have changed over its record: straight lines, and the last seasons alone.

Nothing here is taken out of any other answer: the trend is shown, and the grower chooses how far back to look.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from statistics import mean
from typing import Sequence

from .climate import Climate
from .daily import DailyClimate, daily
from .days import MILLIONTHS
from .intervals import CONFIDENCE, straight_line, t_quantile
from .ripening import NEED_SPREAD, Outlook

#: With fewer seasons than this no slope is given (judgement).
FEWEST_FOR_A_SLOPE = 10
#: So many seasons make a standard climate (World Meteorological Organization, WMO-No. 1203: normals of 30 years).
STANDARD_SEASONS = 30


@dataclass(frozen=True)
class Slope:
    """A straight line's change per decade, with its 95 % interval, and how many seasons it rests on."""

    per_decade: float
    low: float
    high: float
    seasons: int


@dataclass(frozen=True)
class Trend:
    """How a record has changed; ``None`` where there are too few seasons.

    first_freeze : days later per decade. heat : heat units of the growing part per decade. no_freeze : seasons
    without a freeze, which the first slope leaves out.
    """

    first: int
    last: int
    first_freeze: Slope | None
    heat: Slope | None
    no_freeze: int


@dataclass(frozen=True)
class LastSeasons:
    """What the last seasons alone give beside what all give, each as (all, last alone); ``None`` where unknown.

    seasons : how many there are of each. first_freeze : mean first freeze in the next season. heat : mean heat of the
    growing part [heat units]. last_date : last cut date for the next season.
    """

    seasons: tuple[int, int]
    first_freeze: tuple[date | None, date | None]
    heat: tuple[float, float]
    last_date: tuple[date | None, date | None]


def season_heats(climate: DailyClimate) -> tuple[tuple[int, float], ...]:
    """Return (season, heat of its growing part [heat units]) of every complete season."""
    heats = []
    for season in climate.days.complete:
        days = climate.season_days(season)
        first, end = days.growing
        total = climate.days.overlay(season, days).total
        heats.append((season, (total[end] - total[first]) / MILLIONTHS))
    return tuple(heats)


def trend(climate: Climate) -> Trend:
    """Return how first freeze and seasonal heat have changed over a daily record.

    Ordinary least squares on the season's year; seasons are taken as independent of one another around the line.
    """
    record = daily(climate)
    heats = season_heats(record)
    freezes = record.freeze_of_years(True)
    return Trend(
        heats[0][0],
        heats[-1][0],
        slope([(season, number) for season, number in freezes if number is not None]),
        slope(heats),
        sum(1 for _, number in freezes if number is None),
    )


def last_seasons_change(
    climate: Climate,
    seasons: int,
    need: float,
    chance: float = 0.8,
    lag_days: int = 10,
    need_spread: float = NEED_SPREAD,
) -> LastSeasons:
    """Return what resting on only the last seasons would change for the season after the last complete one."""
    record = daily(climate)
    both = (record, record.last_seasons(seasons))
    coming = record.days.complete[-1] + 1
    heats = [mean(heat for _, heat in season_heats(one)) for one in both]
    freezes = [one.mean_first_freeze(coming) for one in both]
    cuts = [Outlook(one, coming, need, chance, lag_days, need_spread).last_cut() for one in both]
    return LastSeasons(
        (len(both[0].days.complete), len(both[1].days.complete)),
        (freezes[0], freezes[1]),
        (heats[0], heats[1]),
        (cuts[0], cuts[1]),
    )


def slope(points: Sequence[tuple[int, float]]) -> Slope | None:
    """Return the least-squares slope per decade of values by year with its 95 % interval.

    ``None`` with fewer than 10 points. Interval: slope ± t·s/√Σ(x − x̄)², s² = Σ residual²/(n − 2), t from Student's
    distribution with n − 2 degrees of freedom (Draper & Smith 1998, Applied Regression Analysis, 3rd ed.).
    """
    count = len(points)
    if count < FEWEST_FOR_A_SLOPE:
        return None
    middle, centre, rise = straight_line(points)
    width = sum((year - middle) ** 2 for year, _ in points)
    left = sum((value - centre - rise * (year - middle)) ** 2 for year, value in points)
    error = math.sqrt(left / (count - 2) / width) * t_quantile((1 + CONFIDENCE) / 2, count - 2)
    return Slope(10 * rise, 10 * (rise - error), 10 * (rise + error), count)
