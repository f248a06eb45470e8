"""The chance that a fig ripens in one season more, from the heat that past seasons left for it.

Counting the past seasons that left enough takes the heat need as known exactly and the seasons as all there are. So
each season stands for a normal distribution around the heat L_i that it left: with a need of mean m the chance is the
mean over the seasons of Φ((L_i − m)/√v), v = (need_spread·m)² + 2·s²/n. Ensemble dressing: Roulston & Smith 2003,
Tellus A 55:16–30; Bröcker & Smith 2008, Tellus A 60:663–678, doi:10.1111/j.1600-0870.2008.00333.x (abstracts read).

The first part of v is the variance of the need. The second is what n seasons cannot show: L of one season more has the
variance s²·(1 + 1/n) around their mean, they themselves only s²·(1 − 1/n) (s with n − 1; derived). s is taken on the
day on which the mean of L equals m, one number for all cuts, so that a later cut never has a better chance.
"""

from __future__ import annotations

import math
from typing import Callable, Sequence

from .kept import Kept
from .traces import Traces

_ROOT_2 = math.sqrt(2.0)
#: So many standard deviations out a normal distribution is 0 or 1 to the last digit of a number.
_CERTAIN = 8.5
_DAYS_KEPT = 600


def deviation_of(need: int, need_spread: float, season_spread: float, seasons: int) -> float:
    """Return √v [millionths]: what the need and the fewness of the seasons leave uncertain.

    need : [millionths]. need_spread : its standard deviation as a share of it. season_spread : s [millionths].
    """
    return math.hypot(need_spread * need, season_spread * math.sqrt(2 / seasons))


def season_spread(traces: Traces, need: int) -> float:
    """Return the standard deviation, over the seasons, of the heat left when its mean equals a need [millionths].

    Between two days both are interpolated by a straight line. Where a whole season's mean is below the need it is the
    standard deviation on the season's first day. Heat that is known already is the same in all traces and adds nothing.
    """
    number = len(traces)
    if number < 2:
        return 0.0
    earlier = last_where(lambda day: sum(traces.heat_left(day)) > need * number, 0, traces.days.count - 1)
    before, after = traces.heat_left(max(earlier, 0)), traces.heat_left(earlier + 1)
    more, less = sum(before), sum(after)
    share = (more - need * number) / (more - less) if more > less else 0.0
    left = [one + (other - one) * share for one, other in zip(before, after)]
    centre = math.fsum(left) / number
    return math.sqrt(math.fsum((heat - centre) ** 2 for heat in left) / (number - 1))


class ChanceCurve:
    """The chance of ripe figs for every day on which they may be seen first; it never rises from day to day.

    Heat is summed in whole millionths, so that a day with any heat changes each season's chance by far more than a
    number's last digit, and one without leaves it: the chance falls all the way, and its inverse is found by halving.
    """

    def __init__(self, traces: Traces, need: int, deviation: float) -> None:
        """Take the need and √v [millionths]."""
        self._traces = traces
        self._need = need
        self._deviation = deviation
        self._chances, self._starts = Kept(_DAYS_KEPT), Kept(_DAYS_KEPT)

    def chance(self, start: int) -> float:
        """Return the chance for figs seen first on a day."""
        end = self._traces.days.count
        return self._chances.made(start, lambda: chance_by(self._traces, start, end, self._need, self._deviation))

    def last_start(self, chance: float) -> int:
        """Return the last day whose chance is at least the one wanted; −1 where there is none."""
        end = self._traces.days.count
        return self._starts.made(chance, lambda: last_where(lambda day: self.chance(day) >= chance, 0, end))


def mean_chance(above: Sequence[float], deviation: float) -> float:
    """Return the mean chance that normal deviates of mean 0 are at or below some values; steps for deviation 0."""
    if deviation == 0:
        return sum(value >= 0 for value in above) / len(above)
    scale = -1 / (deviation * _ROOT_2)
    return sum(map(math.erfc, [value * scale for value in above])) / 2 / len(above)


def chance_by(traces: Traces, start: int, day: int, need: int, deviation: float) -> float:
    """Return the chance that the heat from a start on reaches a need on or before a day, and before the end."""
    above: list[float] = [heat - need for heat in traces.heat(start, day + 1)]
    if start > traces.first_end:
        above = [value if start <= end else -math.inf for value, end in zip(above, traces.ends)]
    return mean_chance(above, deviation)


def ripe_by(traces: Traces, start: int, need: int, deviation: float, chance: float) -> int | None:
    """Return the first day by which the heat from a start on has reached a need with a chance; ``None`` if never."""
    if chance_by(traces, start, traces.days.count, need, deviation) < chance:
        return None
    return 1 + last_where(
        lambda day: chance_by(traces, start, day, need, deviation) < chance, start, traces.days.count - 1
    )


def last_where(holds: Callable[[int], bool], first: int, last: int) -> int:
    """Return the last number from one to another for which a condition holds, by halving; ``first - 1`` if for none.

    It holds for all numbers up to some, and for none after.
    """
    low, high = first - 1, last + 1
    while high - low > 1:
        middle = (low + high) // 2
        if holds(middle):
            low = middle
        else:
            high = middle
    return low


def expected_share(left: Sequence[int], need: int, width: int, deviation: float) -> float:
    """Return the mean share of a crop that ripens while the heat goes from a need to so much more.

    left : each season's heat left [millionths]. E of clip((L − N)/width, 0, 1) for a normal need N, where
    E max(L − N, 0) = x·Φ(x/σ) + σ·φ(x/σ) with x = L − m.
    """
    parts = []
    for heat in left:
        above = heat - need
        parts.append((_expected_above(above, deviation) - _expected_above(above - width, deviation)) / width)
    return min(max(math.fsum(parts) / len(parts), 0.0), 1.0)


def _expected_above(excess: float, deviation: float) -> float:
    if abs(excess) >= _CERTAIN * deviation:
        return max(excess, 0.0)
    score = excess / deviation
    below = math.erfc(-score / _ROOT_2) / 2
    return excess * below + deviation * math.exp(-score * score / 2) / math.sqrt(2 * math.pi)


def share_with_chance(left: Sequence[int], need: int, width: int, deviation: float, chance: float) -> float:
    """Return the share of a crop that ripens at least, with a chance, in one season more.

    A share x ripens where the heat left reaches the need and x of the width.
    """

    def chance_of(share: float) -> float:
        return mean_chance([heat - need - share * width for heat in left], deviation)

    if chance_of(0.0) < chance:
        return 0.0
    least, most = 0.0, 1.0
    if chance_of(most) >= chance:
        return 1.0
    for _ in range(30):  # to a billionth
        middle = (least + most) / 2
        if chance_of(middle) >= chance:
            least = middle
        else:
            most = middle
    return least
