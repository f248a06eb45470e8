"""A kind's heat need, learned from the trees that were cut and ripened.

A fig that is ripe on day r got its need by then: heat from the day it was seen up to and with r had reached the need,
and up to the day before had not. The true need lies between the two sums; the observed need is their midpoint.

The learned need weighs the table's need with the observed ones, as a normal prior with normal observations would, but a
line that lies further off than half the lines' spread counts for less: its pull stays what it is at half a spread
(Huber 1964, Ann. Math. Statist. 35:73–101). Judgements, all of them: the prior's spread of 12 % of the table's need;
the lines' spread, 12 % as well until there are enough lines to show their own; the half spread. So a log of one line,
however odd, moves the need by at most 6 % of the table's, and one of two lines by at most 12 %.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from datetime import date, timedelta
from itertools import accumulate
from statistics import median
from typing import NamedTuple, Sequence

from .climate import Climate
from .days import MILLIONTHS
from .record import LONGEST_FILLED_GAP

#: Spread of a kind's true need around the table's, as a share of the table's (judgement).
TABLE_SPREAD = 0.12
#: Spread of the observed needs until the lines show their own, as a share of the table's need (judgement).
LINE_SPREAD = 0.12
#: How many lines that first spread is worth beside the lines' own (judgement).
LINE_SPREAD_WORTH = 4
#: From this many spreads on a line pulls no harder (Huber's k; judgement: lines of a garden's log are often odd).
FULL_PULL = 0.5
#: The median absolute deviation times this is the standard deviation of a normal distribution (1/z(¾)).
_MAD_TO_SPREAD = 1.4826
#: A learned need is found to so much [heat units].
_PRECISION = 1e-7
#: Days to look ahead for a ripe date that a need foretells.
_LONGEST_WAIT = 366


class Ripened(NamedTuple):
    """A finished line of the log: the position's climate, the day from which heat counted, the first ripe fig's day."""

    climate: Climate
    start: date
    ripe: date


class Learned(NamedTuple):
    """A learned need [heat units], how many lines it rests on, and its typical miss [days], ``None`` without lines.

    need_spread : the standard deviation of one tree's need more around it, as a share of it.
    """

    need: float
    lines: int
    miss_days: float | None
    need_spread: float


def learn(table_need: float, lines: Sequence[Ripened], need_spread: float) -> Learned:
    """Return the need that the table and the finished lines give together, each line by its own position's heat.

    The typical miss is the median, over the lines, of how many days the ripe date foretold by the table and all the
    other lines misses the line's own, early or late. need_spread : of the table's need.
    """
    needs = [observed_need(line) for line in lines]
    need = weighed_need(table_need, needs)
    if not lines:
        return Learned(need, 0, None, need_spread)
    misses = []
    for index, line in enumerate(lines):
        others = weighed_need(table_need, needs[:index] + needs[index + 1 :])
        misses.append(abs((ripe_day(line.climate, line.start, others) - line.ripe).days))
    return Learned(need, len(lines), float(median(misses)), spread_left(need, needs, need_spread))


def observed_need(line: Ripened) -> float:
    """Return the middle of the heat needs that ripen a fig on a line's day and not the day before [heat units]."""
    before = line.climate.heat_between(line.start, line.ripe)
    on_the_day = line.climate.heat_between(line.ripe, line.ripe + timedelta(days=1))
    return (before + on_the_day / 2) / MILLIONTHS


def ripe_day(climate: Climate, start: date, need: float) -> date:
    """Return the first day by whose end the heat from a day on has reached a need, a year on at the latest."""
    left = need * MILLIONTHS
    day = start
    for _ in range(_LONGEST_WAIT):
        left -= climate.heat_between(day, day + timedelta(days=1))
        if left <= 0:
            break
        day += timedelta(days=1)
    return day


def weighed_need(table_need: float, needs: Sequence[float]) -> float:
    """Return the table's need weighed with the observed ones, odd ones held back."""
    if not needs:
        return table_need
    spread = line_spread(table_need, needs)
    stiffness = (spread / (TABLE_SPREAD * table_need)) ** 2
    limit = FULL_PULL * spread

    rising = sorted(needs)
    sums = list(accumulate(rising, initial=0.0))

    def pull(at: float) -> float:
        # Of each line how far its need lies above, at most by the limit: those far below, those near, those far above.
        near, far = bisect_left(rising, at - limit), bisect_right(rising, at + limit)
        lines = limit * (len(rising) - far - near) + sums[far] - sums[near] - at * (far - near)
        return stiffness * (table_need - at) + lines

    # The pull falls all the way; where it is nothing lies the learned need.
    low, high = min(table_need, *needs), max(table_need, *needs)
    while high - low > _PRECISION:
        middle = (low + high) / 2
        low, high = (middle, high) if pull(middle) > 0 else (low, middle)
    return round((low + high) / 2, 6)


def line_spread(table_need: float, needs: Sequence[float]) -> float:
    """Return the spread of observed needs: the first guess weighed with the lines' own, which odd lines cannot swing.

    The lines' own is the median absolute deviation from their median; two lines cannot show which of them is odd.
    """
    return _weighed_spread(LINE_SPREAD * table_need, needs, median(needs))


def spread_left(need: float, needs: Sequence[float], need_spread: float) -> float:
    """Return the standard deviation of one tree's need more around the learned one, as a share of it.

    The table's spread weighed with how far the lines lie from the learned need, as a normal distribution of unknown
    variance has it whose prior is worth four lines (judgement). Two lines say nothing of how lines differ.
    """
    return _weighed_spread(need_spread, needs, need, need)


def _weighed_spread(guess: float, needs: Sequence[float], centre: float, unit: float = 1.0) -> float:
    """Return a first guess of a spread weighed with how far needs lie from a centre, both in the same unit."""
    shown = max(0, len(needs) - 2)
    own = _MAD_TO_SPREAD * median(abs(need - centre) for need in needs) / unit if shown else 0.0
    return math.sqrt((LINE_SPREAD_WORTH * guess**2 + shown * own**2) / (LINE_SPREAD_WORTH + shown))


def why_not(climate: Climate, cut: date | None, seen: date | None, ripe: date, lag_days: int) -> str:
    """Return what is wrong with a finished line, in a few words; an empty text where nothing is.

    A line counts where at most 3 days between start and ripe are missing from the record: with more of them the heat
    would be other seasons' and teach nothing of this tree.
    """
    start = start_of(cut, seen, lag_days)
    if start is None:
        return "ripe without a cut or figs seen"
    if cut is not None and ripe <= cut:
        return "ripe before the cut" if ripe < cut else "ripe on the day of the cut"
    if cut is not None and seen is not None and seen < cut:
        return "figs seen before the cut"
    if ripe <= start:
        return "ripe before figs were seen" if seen is not None else f"ripe within {lag_days} days of the cut"
    if climate.season_of(start) != climate.season_of(ripe):
        return "ripe in another season than cut" if cut is not None else "ripe in another season than seen"
    days = (ripe - start).days + 1
    missing = 0 if climate.days is None else len(climate.days.missing(start.toordinal(), ripe.toordinal() + 1))
    if missing > LONGEST_FILLED_GAP:
        return f"{missing} of {days} days to ripe are not in the weather"
    return ""


def start_of(cut: date | None, seen: date | None, lag_days: int) -> date | None:
    """Return the day from which a line's heat counts: figs seen, or else the cut and the lag."""
    if seen is not None:
        return seen
    return None if cut is None else cut + timedelta(days=lag_days)
