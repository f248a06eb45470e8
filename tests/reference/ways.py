"""The ways a season can go, one for each past season, and where each ends."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from statistics import NormalDist, fmean

from .days import (
    DAY,
    NORMAL,
    TOLERANCE,
    complete_seasons,
    day_number,
    day_of_number,
    days_from,
    first_day,
    freeze_days,
    freeze_year_start,
    heat_of_day,
    is_freeze,
    last_day,
    mean_day,
    same_day,
)


@dataclass(frozen=True)
class Trace:
    """One way the season can go: values by date, and the first day that no longer counts."""

    days: list
    heat: dict
    low: dict
    middle: dict
    freeze: object
    end: date


def traces(place, season):
    """Return one trace for each complete season before this one (or this one alone, where it is complete)."""
    complete = complete_seasons(place)
    past = [other for other in complete if other < season]
    if not past:
        if season not in complete:
            raise ValueError("no complete season before")
        past = [season]
    days = days_from(first_day(season, place.south), last_day(season, place.south))
    made = []
    for other in past:
        series = []
        for values in (place.heat, place.low, place.middle):
            trace = {}
            for day in days:
                value = values.get(day)
                if value is None:
                    value = same_day(values, day, season - other)
                if value is None:
                    value = mean_day(values, day, season, past)
                if value is None and values is place.heat:
                    value = 0.0  # a day that no season knows brings no heat, and no frost
                trace[day] = value
            series.append(trace)
        made.append((other, *series))
    freezes = [_freeze(place, season, low) for _, _, low, _ in made]
    if place.estimate is not None:
        freezes = _typed_freezes(place, season, [low for _, _, low, _ in made], freezes)
    result = []
    for (_, heat, low, middle), freeze in zip(made, freezes):
        for_good = _end_for_good(place.stall_at, season, middle, place.south)
        ends = [day for day in (freeze, for_good) if day is not None]
        result.append(Trace(days, heat, low, middle, freeze, min(ends) if ends else days[-1] + DAY))
    return result


def _freeze(place, season, lows):
    for day in freeze_days(place, season):
        if lows[day] is not None and is_freeze(lows[day], place.frost_at, place):
            return day
    return None


def _end_for_good(limit, season, middles, south=False):
    """Return the day after the last warm week from late summer to midwinter, ``None`` where it is warm till then."""
    if limit is None:
        return None
    first = freeze_year_start(season, south)
    last = date(season, 7, 31) if south else date(season + 1, 1, 31)
    end = first
    for day in days_from(first, last):
        week = [middles[day - back * DAY] for back in range(7)]
        if None not in week and fmean(week) >= limit - TOLERANCE:
            end = day + DAY
    return None if end > last else end


def with_estimate(place, estimates):
    """Return the place with frost estimates: one date, or rows of chance and date."""
    south = place.south

    def number(day):
        # Early in the year means the winter after: January belongs to a freeze year that began in August.
        start = freeze_year_start(day.year, south)
        return day_number(day, day.year if day >= start else day.year - 1, south)

    if place.open_place is None:
        place = replace(place, open_place=place)
    if isinstance(estimates, date):
        return replace(place, estimate=NormalDist(number(estimates), 12))
    points = [(NORMAL.inv_cdf(chance), number(day)) for chance, day in estimates]
    middle_z, middle_day = fmean(z for z, _ in points), fmean(n for _, n in points)
    products = sum((z - middle_z) * (n - middle_day) for z, n in points)
    slope = products / sum((z - middle_z) ** 2 for z, _ in points)
    return replace(place, estimate=NormalDist(middle_day - slope * middle_z, slope))


def _typed_freezes(place, season, lows, own):
    """Return the estimate's date for each trace, at the rank of the trace's own freeze."""
    days = freeze_days(place, season)
    known = [day for day in days if day in place.low]
    recorded = [day for day in known if is_freeze(place.low[day], place.frost_at, place)]
    if recorded:
        return [recorded[0]] * len(own)
    keys = []
    for trace, freeze in zip(lows, own):
        lowest = min(trace[day] for day in days if trace[day] is not None)
        keys.append((0, freeze.toordinal()) if freeze else (1, lowest))
    count = len(keys)
    gone = place.estimate.cdf(day_number(known[-1], season, place.south) + 0.5) if known else 0.0
    typed = []
    for key in keys:
        below, same = sum(other < key for other in keys), sum(other == key for other in keys)
        rank = below + (same + 1) / 2
        chance = gone + (rank - 0.5) / count * (1 - gone)
        if chance >= 1 - 1e-12:
            typed.append(None)
            continue
        day = day_of_number(place.estimate.inv_cdf(chance), season)
        typed.append(day if days[0] <= day <= days[-1] else None if day > days[-1] else days[0])
    return typed


def traces_of_normals(lows, highs, estimate, season, base=8, ceiling=36, stall_at=12):
    """Return thirty traces, each with one of thirty equally likely frosts and heats; north, °C.

    lows, highs : a value for each of the 365 days of a common year. estimate : a normal law of the day number.
    """
    days = days_from(first_day(season), last_day(season))
    low, high = ({day: values[day_number(day, day.year) - 1] for day in days} for values in (lows, highs))
    heat = {day: heat_of_day(low[day], high[day], base, ceiling) for day in days}
    middle = {day: (low[day] + high[day]) / 2 for day in days}
    for_good = _end_for_good(stall_at, season, middle)
    made = []
    for rank in range(30):
        freeze = day_of_number(estimate.inv_cdf((rank + 0.5) / 30), season)
        share = NormalDist(1, 0.066).inv_cdf((rank * 7 % 30 + 0.5) / 30)
        warmed = {day: units * share for day, units in heat.items()}
        made.append(Trace(days, warmed, low, middle, freeze, min(freeze, for_good)))
    return made
