"""What the functions answer, every date tried."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from statistics import fmean, stdev

import numpy as np
from scipy.special import ndtr

from .days import DAY, TOLERANCE, days_from, first_day, mean_day, round_half_up
from .ways import traces

# -- the answers ------------------------------------------------------------------------------------------


def needed(chance, count):
    """Return how many of the traces make up a chance."""
    return max(math.ceil(chance * count - 1e-9), 1)


def ripe_days(trace, cut, needs, lag=10):
    """Return, for each need, the first day by which the heat is there with the season still on.

    One walk through the days answers all needs; ``None`` where the season ends first.
    """
    days = dict.fromkeys(needs)
    waiting = sorted(needs)
    total = 0.0
    day = cut + lag * DAY
    while waiting and day < trace.end:
        total += trace.heat[day]
        while waiting and total >= waiting[0] - TOLERANCE:
            days[waiting.pop(0)] = day
        day += DAY
    return days


def ripe_day(trace, cut, need, lag=10):
    """Return the ripe day of one need."""
    return ripe_days(trace, cut, (need,), lag)[need]


def heat_to_end(trace, cut, lag=10):
    """Return the heat from the day figs are seen to the season's end."""
    total, day = 0.0, cut + lag * DAY
    while day < trace.end:
        total += trace.heat[day]
        day += DAY
    return total


def ripe_count(all_traces, cut, need, lag=10):
    """Return in how many traces a cut on that day ripens in time, at the need as it stands."""
    return sum(ripe_day(trace, cut, need, lag) is not None for trace in all_traces)


def left_each_day(all_traces):
    """Return, for each day of the season on which figs may be seen, each trace's heat from then to its end."""
    columns = []
    for trace in all_traces:
        total, backwards = 0.0, []
        for day in reversed(trace.days):
            total += trace.heat[day] if day < trace.end else 0.0
            backwards.append(total)
        columns.append(backwards[::-1])
    return list(zip(*columns))


def season_deviation(left, need):
    """Return the standard deviation of the heat left, on the day on which its mean equals the need.

    left : from :func:`left_each_day`. Between days by a straight line; on the season's first day where the mean never
    reaches the need.
    """
    if len(left[0]) == 1:
        return 0.0
    if fmean(left[0]) <= need:
        return stdev(left[0])
    later = next(number for number, heats in enumerate(left) if fmean(heats) <= need)
    before, after = left[later - 1], left[later]
    part = (fmean(before) - need) / (fmean(before) - fmean(after))
    return stdev(one + part * (other - one) for one, other in zip(before, after))


@dataclass(frozen=True)
class Law:
    """The normal law of a need, widened by what few seasons cannot show."""

    need: float
    deviation: float

    def reached(self, heat, more=0.0):
        """Return the chances that heats reach the need and so much more."""
        if self.deviation == 0:
            return (heat >= self.need + more - TOLERANCE) * 1.0
        return ndtr((heat - self.need - more) / self.deviation)


def law_of(open_left, need, need_spread=0.06):
    """Return the law of a need.

    open_left : :func:`left_each_day` of the open place with its own frosts: by it seasons differ.
    """
    fewness = 2 * season_deviation(open_left, need) ** 2 / len(open_left[0])
    return Law(need, math.sqrt((need_spread * need) ** 2 + fewness))


def open_left(place, season):
    """Return :func:`left_each_day` of the open place."""
    return left_each_day(traces(place.open_place or place, season))


def left_by_date(all_traces, season, lag=10, south=False):
    """Return each trace's heat from figs seen to the end, for every date on which a season's trees could be cut.

    Minus infinity for a trace that has ended before.
    """
    first = first_day(season, south)
    final = date(season, 6, 30) if south else date(season, 12, 31)

    def left(trace, cut):
        return heat_to_end(trace, cut, lag) if cut + lag * DAY <= trace.end else -np.inf

    return {cut: np.array([left(trace, cut) for trace in all_traces]) for cut in days_from(first, final)}


def chance_of(left, law):
    """Return the chance of ripe figs from the heat that each trace leaves."""
    return law.reached(left).mean()


def latest_of(left, law, chance):
    """Return the last date whose chance is at least the one wanted; ``None`` where no date's is."""
    return max((cut for cut, heats in left.items() if chance_of(heats, law) >= chance), default=None)


def latest_prune_date(all_traces, season, need, chance=0.8, lag=10, south=False):
    """Return the last date of the season good in a share of the traces, at the need as it stands."""
    return latest_of(left_by_date(all_traces, season, lag, south), Law(need, 0.0), chance)


def ripen_window(all_traces, cut, law, picking_heat, lag=10, chance=0.5):
    """Return the first, middle and last ripe date: the first days by which the chance is reached."""
    wanted = [0.0, 0.5 * picking_heat, picking_heat]
    found = []
    sums = np.zeros(len(all_traces))
    day = cut + lag * DAY
    seen = np.array([day <= trace.end for trace in all_traces])
    while len(found) < 3 and day <= all_traces[0].days[-1]:
        sums = sums + [trace.heat[day] if day < trace.end else 0.0 for trace in all_traces]
        while len(found) < 3:
            more = wanted[len(found)]
            if (law.reached(sums, more) * seen).mean() < chance:
                break
            found.append(day)
        day += DAY
    return (*found, None, None, None)[:3]


def crop_ripe_share(left, law, picking_heat):
    """Return the expected share of the crop that ripens: the chance of each thousandth of it, added up."""
    if picking_heat == 0:
        return chance_of(left, law)
    parts = (np.arange(1000) + 0.5) / 1000 * picking_heat
    return law.reached(left[:, np.newaxis], parts).mean()


def _smallest(days, chance):
    count = needed(chance, len(days))
    reached = sorted(day for day in days if day is not None)
    return reached[count - 1] if count <= len(reached) else None


def heat_date(all_traces, start, heat, chance=0.5):
    """Return the day by whose end the heat from ``start`` has come, whatever the season's end."""
    reached = []
    for trace in all_traces:
        total, found = 0.0, None
        for day in trace.days:
            if day >= start:
                total += trace.heat[day]
                if total >= heat - TOLERANCE:
                    found = day
                    break
        reached.append(found)
    return _smallest(reached, chance)


def heat_between(place, start, end):
    """Return the heat of the days from start to end, the end not counted; unknown days as the past's mean.

    ``None`` where no year knows one of the days.
    """
    total, day = 0.0, start
    first_year = min(place.heat).year
    while day < end:
        if day in place.heat:
            total += place.heat[day]
        else:
            past = range(first_year, day.year)
            value = mean_day(place.heat, day, day.year, past)
            if value is None:
                return None
            total += value
        day += DAY
    return total


def season_end(all_traces, chance=0.5):
    """Return the Hazen quantile of the ends, to the day."""
    ends = sorted(trace.end for trace in all_traces)
    position = min(max(chance * len(ends) + 0.5, 1), len(ends))
    left = math.floor(position)
    right = min(left + 1, len(ends))
    between = (position - left) * (ends[right - 1] - ends[left - 1]).days
    return ends[left - 1] + round_half_up(between) * DAY
