"""What 12 monthly means stand for: days, by harmonic interpolation, how real seasons differ, a position's frosts."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from itertools import islice
from typing import Iterator, Sequence

from .frost import FrostEstimate, z

#: Standard deviation of a season's heat from July to September, as a share of it: the median of nine open daily
#: records, 214 seasons (`python -m tests.benchmarks normals`, 26 November 2026). With it alone 80 % promised from
#: normals held in 79 % (each place with the others' median), in 73 % at least; without it in 66 %. The smooth year's
#: last warm week comes some ten days before the real ones, which differ by eleven; with these too it held no better.
HEAT_SPREAD = 0.066
#: So many equally likely seasons stand for normals, as many as are behind them (World Meteorological Organization,
#: WMO-No. 1203: 30 years).
NORMALS_SEASONS = 30
#: Pairs each frost with a heat: a warm season's comes a little later (correlation 0.2; 0.1 to 0.6 in the records).
_PAIRING = 7
_MONTH_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@lru_cache(maxsize=64)
def daily_from_monthly(means: tuple[float, ...]) -> tuple[float, ...]:
    """Return a value for each day of a common year from 12 monthly means, January first.

    The monthly means are written as a sum of six harmonics; the j-th is enlarged by (πj/12)/sin(πj/12), by
    which taking means over a month had shrunk it. What the months' unequal lengths leave over (some
    hundredths of a degree) is taken out by repeating the step on the remainder.
    Source: Epstein 1991, J. Climate 4:365–368.

    >>> round(daily_from_monthly((0, 2, 8, 14, 20, 24, 26, 25, 20, 14, 8, 2))[195], 1)
    26.1
    """
    values = [0.0] * sum(_MONTH_LENGTHS)
    for _ in range(8):
        days = iter(values)
        kept = [math.fsum(islice(days, length)) / length for length in _MONTH_LENGTHS]
        rest = [mean - month for mean, month in zip(means, kept)]
        values = [value + more for value, more in zip(values, _harmonics(rest))]
    return tuple(values)


def differing_seasons(heat_spread: float) -> Iterator[tuple[float, float]]:
    """Yield equally likely seasons: the chance of an earlier frost, and the heat as a share of the mean.

    heat_spread : standard deviation of the heat as a share of it. Both take each thirtieth of a normal distribution
    once.
    """
    for rank in range(NORMALS_SEASONS):
        paired = rank * _PAIRING % NORMALS_SEASONS
        yield (rank + 0.5) / NORMALS_SEASONS, 1 + heat_spread * z((paired + 0.5) / NORMALS_SEASONS)


def _harmonics(means: Sequence[float]) -> Iterator[float]:
    """Return the daily values of the mean-preserving harmonics for months of equal length."""
    terms = []
    for j in range(1, 7):
        turn = 2 * math.pi * j / 12
        scale = (turn / 2) / math.sin(turn / 2) * (1 / 12 if j == 6 else 2 / 12)
        terms.append(
            (
                turn,
                scale * math.fsum(mean * math.cos(turn * month) for month, mean in enumerate(means)),
                scale * math.fsum(mean * math.sin(turn * month) for month, mean in enumerate(means)),
            )
        )
    centre = math.fsum(means) / 12
    for month, length in enumerate(_MONTH_LENGTHS):
        for day in range(length):
            time = month + (day + 0.5) / length - 0.5
            yield centre + sum(a * math.cos(turn * time) + b * math.sin(turn * time) for turn, a, b in terms)


def moved_estimate(
    estimate: FrostEstimate | None, monthly_lows: tuple[float, ...] | None, warmer_low: float
) -> FrostEstimate | None:
    """Return a typed estimate at a position whose nights are warmer by a gain [°].

    monthly_lows : the mean lows of the place for which it was typed, ``None`` where they are not known.
    """
    if estimate is None or monthly_lows is None or not warmer_low or math.isinf(estimate.centre):
        return estimate
    return replace(estimate, centre=moved_number(estimate.centre, monthly_lows, warmer_low))


def moved_number(number: float, monthly_lows: tuple[float, ...], warmer_low: float) -> float:
    """Return the day number at which the mean low has fallen by a gain since a day number; infinity if never."""
    lows = daily_from_monthly(monthly_lows)

    def low(at: float) -> float:
        whole = math.floor(at)
        before, after = lows[(whole - 1) % 365], lows[whole % 365]
        return before + (after - before) * (at - whole)

    goal = low(number) - warmer_low
    step = 0.25 if warmer_low > 0 else -0.25
    for steps in range(1, 4 * 200):
        at = number + step * steps
        if (low(at) <= goal) if warmer_low > 0 else (low(at) >= goal):
            return at
    if warmer_low > 0:
        # The mean low never falls that far: no frost is to be expected.
        return math.inf
    # No frost comes before the warmest day.
    return number + step * max(range(800), key=lambda steps: low(number + step * steps))
