"""Dates of first and last freeze by the official rule."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from statistics import mean, stdev

from .days import NORMAL, day_number, day_of_number, freeze_days, freeze_year_start, is_freeze

# -- dates of first and last freeze by the official rule --------------------------------------------------


def first_freezes(place, at=None):
    """Return ``{season: day number}`` of each usable freeze year's first freeze, ``None`` for a year without one."""
    at = place.frost_at if at is None else at
    numbers = {}
    for season in range(min(place.low).year - 1, max(place.low).year + 1):
        for day in freeze_days(place, season):
            if day not in place.low:
                break
            if is_freeze(place.low[day], at, place):
                numbers[season] = (day - date(season - 1, 12, 31)).days
                break
        else:
            numbers[season] = None
    return numbers


def last_freezes(place, at=None):
    """Return ``{season: day number}`` of each usable freeze year's last freeze, ``None`` for a year without one."""
    at = place.frost_at if at is None else at
    numbers = {}
    for season in range(min(place.low).year - 1, max(place.low).year + 1):
        middle = date(season - 1, 12, 31) if place.south else date(season, 12, 31)
        for day in reversed(freeze_days(place, season)):
            if day not in place.low:
                break
            if is_freeze(place.low[day], at, place):
                numbers[season] = (day - middle).days
                break
        else:
            numbers[season] = None
    return numbers


def _moments(place, at, of_year, first):
    """Return mean, standard deviation and share of the official rule; at a position, of what all gains share.

    The standard deviation is the station's. The mean is that of the years in which the station has a freeze, each on
    its date at the position, or on its coldest day where it has none there.
    """
    station = replace(place, low={day: low - place.gain for day, low in place.low.items()}, gain=0.0)
    at_station = of_year(station, at)
    dates = [number for number in at_station.values() if number is not None]
    if not place.gain:
        return mean(dates), stdev(dates), len(dates) / len(at_station)
    assert len(dates) >= len(at_station) / 2, "the reference knows no place where freezes are rare"
    limit = place.frost_at if at is None else at
    moved, have_one = [], 0
    for season, number in at_station.items():
        days = [day for day in freeze_days(place, season) if day in place.low]
        cold = [day for day in days if is_freeze(place.low[day], limit, place)]
        have_one += bool(cold) or len(days) < len(freeze_days(place, season))
        lowest = min((place.low[day] for day in days), default=None)
        cold = cold or [day for day in days if place.low[day] == lowest]
        if number is not None:
            there = min(cold) if first else max(cold)
            shift = (there - min(days)).days - (_freeze_of(station, season, at, first) - min(days)).days
            moved.append(number + shift)
    return mean(moved), stdev(dates), have_one / len(at_station)


def _freeze_of(place, season, at, first):
    limit = place.frost_at if at is None else at
    cold = [day for day in freeze_days(place, season) if day in place.low and is_freeze(place.low[day], limit, place)]
    return min(cold) if first else max(cold)


def first_frost(place, season, chance=0.5, at=None):
    """Return the date with that chance of an earlier first freeze."""
    middle, spread, share = _moments(place, at, first_freezes, True)
    if chance >= share:
        return None
    return day_of_number(middle + spread * NORMAL.inv_cdf(chance / share), season)


def last_frost(place, season, chance=0.5, at=None):
    """Return the spring date with that chance of a later last freeze."""
    middle, spread, share = _moments(place, at, last_freezes, False)
    if chance >= share:
        return None
    number = middle + spread * NORMAL.inv_cdf(1 - chance / share)
    return day_of_number(number, season - 1 if place.south else season)


def frost_chance(place, day, at=None):
    """Return the chance that the first freeze comes on or before the day."""
    middle, spread, share = _moments(place, at, first_freezes, True)
    start = freeze_year_start(day.year, place.south)
    number = day_number(day, day.year if day >= start else day.year - 1, place.south)
    return share * NORMAL.cdf((number + 0.5 - middle) / spread)
