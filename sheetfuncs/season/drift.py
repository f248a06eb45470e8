"""How a place's first freeze and heat have drifted over its record, and what only the last seasons would say.

Nothing here is taken out of any other answer: the drift is told, and the grower chooses how far back to look.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from statistics import mean
from typing import Sequence

from .calendar import SeasonDays, day_number, day_of_number
from .climate import FEWEST_SEASONS, Climate
from .days import MILLIONTHS, UNKNOWN, Days
from .errors import Unanswerable
from .ripening import latest_cut

#: With fewer seasons than this no slope is told (judgement).
FEWEST_FOR_A_SLOPE = 10
#: How sure the intervals are.
CONFIDENCE = 0.95
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
class Drift:
    """How a record has drifted; ``None`` where there are too few seasons.

    first_freeze : days later per decade. heat : heat units of the growing part per decade. no_freeze : seasons
    without a freeze, which the first slope knows nothing of.
    """

    first: int
    last: int
    first_freeze: Slope | None
    heat: Slope | None
    no_freeze: int


@dataclass(frozen=True)
class LastSeasons:
    """What the last seasons alone say beside what all say, each as (all, last alone); ``None`` where unknown.

    seasons : how many there are of each. first_freeze : mean first freeze in the next season. heat : mean heat of the
    growing part [heat units]. last_date : last cut date for the next season.
    """

    seasons: tuple[int, int]
    first_freeze: tuple[date | None, date | None]
    heat: tuple[float, float]
    last_date: tuple[date | None, date | None]


def last_seasons_only(climate: Climate, seasons: int) -> Climate:
    """Return the climate of the last complete seasons of a record alone, and of a season in progress.

    seasons : how many; where there are not more, the climate stays as it is. Raises :class:`Unanswerable` for monthly
    normals, and for fewer than 3.
    """
    days = _daily(climate)
    if seasons < FEWEST_SEASONS:
        raise Unanswerable(f"last seasons is {seasons}, wanted {FEWEST_SEASONS} or more")
    if len(days.complete) <= seasons:
        return climate
    # The estimate is a month and day that the user typed: it rests on no season.
    shorter = days.since(climate.season_days(days.complete[-seasons]).first)
    return Climate(climate.rules, shorter, estimate=climate.estimate)


def first_freezes(climate: Climate) -> tuple[tuple[int, int | None], ...]:
    """Return (season, day number) of the first freeze of every season known well enough; ``None`` for no freeze.

    Days are counted from 31 December before the season's year, as official tables count them.
    """
    days = _daily(climate)
    limit = climate.rules.freeze_limit()
    found = []
    for season in range(days.first_season(), days.last_season() + 1):
        calendar = climate.season_days(season)
        low = days.season_values(season, calendar).low
        for index in range(calendar.freeze_start, calendar.count):
            if low[index] != low[index]:
                break
            if low[index] <= limit:
                found.append((season, day_number(calendar.day(index), season)))
                break
        else:
            found.append((season, None))
    return tuple(found)


def season_heats(climate: Climate) -> tuple[tuple[int, float], ...]:
    """Return (season, heat of its growing part [heat units]) of every complete season."""
    days = _daily(climate)
    return tuple((season, _heat_of(days, climate.season_days(season))) for season in days.complete)


def drift(climate: Climate) -> Drift:
    """Return how first freeze and seasonal heat have drifted over a daily record.

    Ordinary least squares on the season's year; seasons are taken as independent of one another around the line.
    """
    heats = season_heats(climate)
    freezes = first_freezes(climate)
    return Drift(
        heats[0][0],
        heats[-1][0],
        slope([(season, number) for season, number in freezes if number is not None]),
        slope(heats),
        sum(1 for _, number in freezes if number is None),
    )


def last_seasons_change(
    climate: Climate, seasons: int, need: float, chance: float = 0.8, lag_days: int = 10
) -> LastSeasons:
    """Return what using only the last seasons would change for the season after the record's last complete one."""
    only = last_seasons_only(climate, seasons)
    both = (climate, only)
    coming = _daily(climate).complete[-1] + 1
    heats = [mean(heat for _, heat in season_heats(one)) for one in both]
    freezes = [mean_first_freeze(one, coming) for one in both]
    cuts = [latest_cut(one, coming, need, chance, lag_days) for one in both]
    return LastSeasons(
        (len(_daily(climate).complete), len(_daily(only).complete)),
        (freezes[0], freezes[1]),
        (heats[0], heats[1]),
        (cuts[0], cuts[1]),
    )


def mean_first_freeze(climate: Climate, season: int) -> date | None:
    """Return the average first freeze of the record's years, put into a season; ``None`` where none ever came."""
    found = climate.freezes(True).with_freeze()
    return day_of_number(mean(found), season) if found else None


def slope(points: Sequence[tuple[int, float]]) -> Slope | None:
    """Return the least-squares slope per decade of values by year with its 95 % interval.

    ``None`` with fewer than 10 points. Interval: slope ± t·s/√Σ(x − x̄)², s² = Σ residual²/(n − 2), t from Student's
    distribution with n − 2 degrees of freedom (Draper & Smith 1998, Applied Regression Analysis, 3rd ed.).
    """
    count = len(points)
    if count < FEWEST_FOR_A_SLOPE:
        return None
    middle, centre = mean(year for year, _ in points), mean(value for _, value in points)
    width = sum((year - middle) ** 2 for year, _ in points)
    rise = sum((year - middle) * (value - centre) for year, value in points) / width
    left = sum((value - centre - rise * (year - middle)) ** 2 for year, value in points)
    error = math.sqrt(left / (count - 2) / width) * t_quantile((1 + CONFIDENCE) / 2, count - 2)
    return Slope(10 * rise, 10 * (rise - error), 10 * (rise + error), count)


def t_quantile(chance: float, freedom: int) -> float:
    """Return the quantile of Student's t distribution, for a chance from ½ to below 1.

    freedom : degrees of freedom, a whole number from 1 up.
    """
    low, high = 0.0, 1.0
    while _t_below(high, freedom) < chance:
        low, high = high, 2 * high
    for _ in range(80):
        middle = (low + high) / 2
        if _t_below(middle, freedom) < chance:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _t_below(value: float, freedom: int) -> float:
    """Return the chance that Student's t lies below a value from 0 up.

    Finite sums in θ = atan(t/√ν): Abramowitz & Stegun 1964, Handbook of Mathematical Functions, 26.7.3 and 26.7.4.
    """
    angle = math.atan(value / math.sqrt(freedom))
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = freedom % 2
    term = cosine if odd else 1.0
    total = term if freedom > 1 else 0.0
    for step in range(3 if odd else 2, freedom - 1, 2):
        term *= cosine * cosine * (step - 1) / step
        total += term
    inside = 2 / math.pi * (angle + sine * total) if odd else sine * total
    return (1 + inside) / 2


def _daily(climate: Climate) -> Days:
    if climate.days is None:
        raise Unanswerable("monthly normals hold no single seasons, wanted a daily record")
    if not climate.days.complete:
        raise Unanswerable("weather holds no complete season, from spring to the end of autumn")
    return climate.days


def _heat_of(days: Days, calendar: SeasonDays) -> float:
    first, end = calendar.growing
    heat = days.season_values(calendar.season, calendar).heat[first:end]
    return sum(value for value in heat if value != UNKNOWN) / MILLIONTHS
