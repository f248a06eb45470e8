"""Straight lines, and how sure a count or a slope is: binomial intervals, quantiles of Student's distribution."""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import mean
from typing import Callable, Sequence

#: How sure intervals are.
CONFIDENCE = 0.95


def straight_line(points: Sequence[tuple[float, float]]) -> tuple[float, float, float]:
    """Return the means of both coordinates and the slope of the line through points by least squares."""
    middle, centre = mean(x for x, _ in points), mean(y for _, y in points)
    rise = sum((x - middle) * (y - centre) for x, y in points) / sum((x - middle) ** 2 for x, _ in points)
    return middle, centre, rise


@lru_cache(maxsize=1024)
def binomial_interval(held: int, number: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Return the exact interval of a share that held in so many of a number of cases.

    Clopper & Pearson 1934, Biometrika 26:404–413: the shares at which so few, or so many, would come with a chance of
    (1 − confidence)/2 each.
    """
    tail = (1 - confidence) / 2
    low = 0.0 if held == 0 else _zero_of(lambda share: _at_least(held, number, share) - tail)
    high = 1.0 if held == number else _zero_of(lambda share: tail - (1 - _at_least(held + 1, number, share)))
    return low, high


def _zero_of(rising: Callable[[float], float], high: float = 1.0) -> float:
    """Return where a rising function passes zero, from 0 to a number, by halving."""
    low = 0.0
    for _ in range(60):
        middle = (low + high) / 2
        if rising(middle) < 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _at_least(count: int, number: int, share: float) -> float:
    """Return the binomial chance of at least so many successes."""
    if share <= 0 or share >= 1:
        return float(share >= 1 or count <= 0)
    success, failure = math.log(share), math.log1p(-share)
    return math.fsum(
        math.exp(ways + some * success + (number - some) * failure)
        for some, ways in zip(range(count, number + 1), _log_ways(number)[count:])
    )


@lru_cache(maxsize=8)
def _log_ways(number: int) -> tuple[float, ...]:
    """Return the logarithms of the numbers of ways to choose 0, 1, 2 … of a number of things."""
    return tuple(
        math.lgamma(number + 1) - math.lgamma(some + 1) - math.lgamma(number - some + 1) for some in range(number + 1)
    )


def t_quantile(chance: float, freedom: int) -> float:
    """Return the quantile of Student's t distribution, for a chance from ½ to below 1.

    freedom : degrees of freedom, a whole number from 1 up.
    """
    high = 1.0
    while _t_below(high, freedom) < chance:
        high *= 2
    return _zero_of(lambda value: _t_below(value, freedom) - chance, high)


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
