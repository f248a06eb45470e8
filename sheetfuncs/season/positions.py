"""By how many days a position's warmth moves a typed frost."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Sequence

from .frost import FrostEstimate
from .normals import daily_from_monthly


def moved_estimate(
    estimate: FrostEstimate | None, monthly_lows: Sequence[float] | None, warmer_low: float
) -> FrostEstimate | None:
    """Return a typed estimate at a position whose nights are warmer by a gain [°].

    monthly_lows : the mean lows of the place for which it was typed, ``None`` where they are not known.
    """
    if estimate is None or monthly_lows is None or not warmer_low or math.isinf(estimate.centre):
        return estimate
    return replace(estimate, centre=moved_number(estimate.centre, monthly_lows, warmer_low))


def moved_number(number: float, monthly_lows: Sequence[float], warmer_low: float) -> float:
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
