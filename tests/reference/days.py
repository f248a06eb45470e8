"""Heat of a day, cleaned days, and the calendar of seasons."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from statistics import NormalDist, mean

DAY = timedelta(days=1)
NORMAL = NormalDist()
#: Sums of a hundred decimals reach a round need but for so little.
TOLERANCE = 1e-6

# -- heat of one day --------------------------------------------------------------------------------------


def _above(x, low, high, shape):
    """Return the mean excess over ``x`` and the share of the time above ``x`` for a half day."""
    middle, swing = (low + high) / 2, (high - low) / 2
    if shape == "average":
        return max(middle - x, 0), float(middle > x)
    if shape == "clipped average":
        return (max(low - x, 0) + max(high - x, 0)) / 2, ((low > x) + (high > x)) / 2
    if high <= x:
        return 0.0, 0.0
    if low >= x:
        return middle - x, 1.0
    if shape == "triangle":
        share = (high - x) / (high - low)
        return share * (high - x) / 2, share
    angle = math.asin((x - middle) / swing)
    excess = ((middle - x) * (math.pi / 2 - angle) + swing * math.cos(angle)) / math.pi
    return excess, (math.pi / 2 - angle) / math.pi


def heat_of_day(low, high, base, ceiling=None, method="sine", cutoff="horizontal", next_low=None):
    """Return the heat units of a day by any of the six methods and three cut-offs."""
    if method.startswith("double "):
        second = low if next_low is None else next_low
        shape = method[len("double ") :]
        halves = [
            heat_of_day(low, high, base, ceiling, shape, cutoff),
            heat_of_day(min(second, high), max(second, high), base, ceiling, shape, cutoff),
        ]
        return mean(halves)
    over_base, _ = _above(base, low, high, method)
    if ceiling is None:
        return over_base
    over_ceiling, time_over_ceiling = _above(ceiling, low, high, method)
    if cutoff == "horizontal":
        return over_base - over_ceiling
    if cutoff == "intermediate":
        return max(over_base - 2 * over_ceiling, 0.0)
    return over_base - over_ceiling - (ceiling - base) * time_over_ceiling


# -- from rows to days ------------------------------------------------------------------------------------


def degrees(celsius, unit):
    """Return a temperature of the Celsius scale in the unit."""
    return celsius if unit == "C" else celsius * 1.8 + 32


def steps(celsius, unit):
    """Return a difference of temperatures in the unit."""
    return celsius if unit == "C" else celsius * 1.8


def clean(rows, unit):
    """Return ``({date: (low, high)}, refused row numbers, dates that were filled)``."""
    lows, highs, row_of = {}, {}, {}
    for number, (day, low, high) in enumerate(sorted(rows, key=lambda row: row[0]), start=1):
        if day in row_of and (lows.get(day), highs.get(day)) != (low, high):
            raise ValueError("a day twice")
        lows[day], highs[day], row_of[day] = low, high, number
    raw = {day: (lows[day], highs[day]) for day in row_of}
    refused = []
    for day, (low, high) in raw.items():
        wrong_way_round = low is not None and high is not None and low > high
        least, most = degrees(-60, unit), degrees(60, unit)
        beyond = any(value is not None and not least <= value <= most for value in (low, high))
        jump = False
        before, after = raw.get(day - DAY), raw.get(day + DAY)
        if before and after:
            for which in (0, 1):
                here, left, right = raw[day][which], before[which], after[which]
                if None not in (here, left, right):
                    up = min(here - left, here - right) > steps(30, unit)
                    down = max(here - left, here - right) < -steps(30, unit)
                    jump = jump or up or down
        if wrong_way_round or beyond or jump:
            refused.append(row_of[day])
            lows[day] = highs[day] = None
    filled = set()
    for series in (lows, highs):
        known = sorted(day for day, value in series.items() if value is not None)
        for left, right in zip(known, known[1:]):
            missing = (right - left).days - 1
            if 1 <= missing <= 3:
                for step in range(1, missing + 1):
                    day = left + step * DAY
                    series[day] = series[left] + (series[right] - series[left]) * step / (missing + 1)
                    filled.add(day)
    days = {
        day: (lows[day], highs[day])
        for day in sorted(set(lows) | set(highs))
        if lows.get(day) is not None and highs.get(day) is not None
    }
    return days, refused, filled & set(days)


@dataclass(frozen=True)
class Place:
    """A cleaned record and its rules; ``heat``, ``low`` and ``middle`` are dictionaries by date."""

    unit: str
    heat: dict
    low: dict
    middle: dict
    frost_at: float
    stall_at: object
    south: bool = False
    room: float = 0.0
    gain: float = 0.0  # by how much its nights are warmer than its station's
    estimate: object = None  # a NormalDist of day numbers counted from 31 December
    open_place: object = None  # the place without the position and without the estimate


def place_of(
    rows,
    unit="C",
    base=None,
    ceiling=None,
    frost_at=None,
    stall_at=None,
    method="sine",
    cutoff="horizontal",
    south=False,
    warmer_high=0.0,
    warmer_low=0.0,
):
    """Return the place of a record; ``stall_at="off"`` switches the stall off."""
    base = degrees(8, unit) if base is None else base
    ceiling = degrees(36, unit) if ceiling is None else ceiling
    frost_at = degrees(0, unit) if frost_at is None else frost_at
    stall_at = degrees(12, unit) if stall_at is None else None if stall_at == "off" else stall_at
    open_place = None
    if (warmer_high, warmer_low) != (0.0, 0.0):
        open_place = place_of(rows, unit, base, ceiling, frost_at, stall_at or "off", method, cutoff, south)
    days, _, _ = clean(rows, unit)
    days = {day: (low + warmer_low, max(high + warmer_high, low + warmer_low)) for day, (low, high) in days.items()}
    heat = {}
    for day, (low, high) in days.items():
        next_low = days[day + DAY][0] if day + DAY in days else low
        heat[day] = heat_of_day(low, high, base, ceiling, method, cutoff, next_low)
    return Place(
        unit,
        heat,
        {day: low for day, (low, _) in days.items()},
        {day: (low + high) / 2 for day, (low, high) in days.items()},
        frost_at,
        stall_at,
        south,
        room_for_rounding([low for _, low, _ in rows], unit),
        warmer_low,
        open_place=open_place,
    )


def rows_until(rows, day):
    """Return the rows of the days before ``day``."""
    return [row for row in rows if row[0] < day]


# -- seasons ----------------------------------------------------------------------------------------------


def season_of(day, south=False):
    """Return the season whose growing year a day lies in."""
    return day.year + 1 if south and day.month >= 7 else day.year


def first_day(season, south=False):
    """Return the first day of a season's traces."""
    return date(season - 1, 7, 1) if south else date(season, 1, 1)


def last_day(season, south=False):
    """Return the last day of a season's traces."""
    return date(season + 1, 1, 31) if south else date(season + 1, 7, 31)


def freeze_year_start(season, south=False):
    """Return the day from which the season's freeze is looked for."""
    return date(season, 2, 1) if south else date(season, 8, 1)


def freeze_year_end(season, south=False):
    """Return the last day of the season's freeze year."""
    return date(season + 1, 1, 31) if south else date(season + 1, 7, 31)


@lru_cache(maxsize=None)
def days_from(first, last):
    """Return every date from the first to the last, both counted; nobody changes the list."""
    return [first + step * DAY for step in range((last - first).days + 1)]


def growing_days(season, south=False):
    """Return the days of which none may be missing in a complete season."""
    if south:
        return days_from(date(season - 1, 10, 1), date(season, 5, 31))
    return days_from(date(season, 4, 1), date(season, 11, 30))


def complete_seasons(place):
    """Return the seasons with no day missing in their growing part."""
    years = {day.year for day in place.heat}
    return [
        season
        for season in range(min(years) - 1, max(years) + 2)
        if all(day in place.heat for day in growing_days(season, place.south))
    ]


def same_day(values, day, years_back):
    """Return the value of the day that many years earlier, ``None`` where it is not known."""
    year = day.year - years_back
    try:
        return values.get(date(year, day.month, day.day))
    except ValueError:
        around = values.get(date(year, 2, 28)), values.get(date(year, 3, 1))
        return None if None in around else mean(around)


def mean_day(values, day, season, seasons):
    known = [same_day(values, day, season - past) for past in seasons]
    known = [value for value in known if value is not None]
    return mean(known) if known else None


def is_freeze(low, at, place):
    """Return whether a low counts as a freeze, with room for a record's rounding."""
    return low <= at + place.room


def room_for_rounding(lows, unit):
    """Return half a tenth of a degree C for lows written in tenths or read in whole degrees F, less for finer ones."""

    def nearly_all(test):
        return sum(map(test, values)) >= 0.95 * len(values)

    values = {low for low in lows if low is not None}
    fahrenheit = {low: low if unit == "F" else low * 1.8 + 32 for low in values}
    celsius = {low: low if unit == "C" else (low - 32) / 1.8 for low in values}
    if (
        nearly_all(lambda low: low == round(low, 1))
        or nearly_all(lambda low: abs(fahrenheit[low] - round(fahrenheit[low])) < 0.0092)
        or nearly_all(lambda low: abs(celsius[low] - round(celsius[low], 1)) < 0.003)
    ):
        return steps(0.05, unit)
    return 0.005 if nearly_all(lambda low: low == round(low, 2)) else 1e-6


def freeze_days(place, season):
    return days_from(freeze_year_start(season, place.south), freeze_year_end(season, place.south))


def day_number(day, season, south=False):
    """Return the day's number by month and day in a common year, counted from the 31 December before."""
    years = day.year - season
    month_day = (day.month, 28 if (day.month, day.day) == (2, 29) else day.day)
    return (date(2001 + years, *month_day) - date(2000, 12, 31)).days


def day_of_number(number, season):
    """Return the day in a season that has this number in a common year."""
    common = date(2000, 12, 31) + round_half_up(number) * DAY
    return date(season + common.year - 2001, common.month, common.day)


def round_half_up(number):
    """Return the nearest whole number, halves upwards."""
    return math.floor(number + 0.5)
