"""The interval of a share that held in so many of a number of cases."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Callable

#: How sure the interval is.
CONFIDENCE = 0.95


def binomial_interval(held: int, number: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Return the exact interval of a share that held in so many of a number of cases.

    Clopper & Pearson 1934, Biometrika 26:404–413: the shares at which so few, or so many, would come with a chance of
    (1 − confidence)/2 each.
    """
    tail = (1 - confidence) / 2
    low = 0.0 if held == 0 else _share_where(lambda share: _at_least(held, number, share) - tail)
    high = 1.0 if held == number else _share_where(lambda share: tail - (1 - _at_least(held + 1, number, share)))
    return low, high


def _share_where(rising: Callable[[float], float]) -> float:
    """Return the share at which a rising function passes zero."""
    low, high = 0.0, 1.0
    for _ in range(48):  # to 4e-15
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
        math.lgamma(number + 1) - math.lgamma(some + 1) - math.lgamma(number - some + 1)
        for some in range(number + 1)
    )
