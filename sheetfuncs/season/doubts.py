"""Signs that a record as a whole is spoiled: days swapped with months, another unit, gaps written as 0.

Each sign is far from what real stations show; the records that it was tried on are named beside its test.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from datetime import date
from itertools import compress, repeat
from operator import and_, gt, sub
from statistics import median
from typing import Iterator, Sequence

from .errors import Unanswerable

#: The warmest tenth of the days lies between these, wherever figs are grown in the open [°C] (judgement).
COOLEST_TENTH, WARMEST_TENTH = 12.0, 48.0
#: The mean high of the warmest month lies between these (judgement) [°C].
COOLEST_MONTH, WARMEST_MONTH = 10.0, 46.0
#: Seven different months reach into the warm half of the year wherever they start.
ENOUGH_MONTHS = 7
#: Between a month's years in °C and in °F is a gap of so many degrees, where it is no winter (judgement): the units are
#: 44 apart at 15 °C.
_MONTH_CHANGE, _NO_WINTER = 36.0, 50.0
_DAYS_OF_A_MONTH = 15
#: Days in the right order are so much smoother than with days and months swapped (judgement).
_SMOOTHER = 0.8
_ENOUGH_STEPS = 200
_PART = 800
#: Rows of a record in order mostly lie one day after, or before, the row above.
_IN_ORDER = 0.9
#: A 0 stands apart from both neighbours by this much [°C] (judgement).
_APART = 6.0
#: So many zeros that stand apart are no chance, if they are three times as many as any other value near 0.
_ENOUGH_ZEROS, _TIMES = 5, 3


def check_dates(rows: Sequence[int], days: Sequence[int], highs: Sequence[float], within: str = "") -> None:
    """Raise :class:`Unanswerable` where days and months of the first twelve days of each month are swapped.

    A program that reads 3/12 as 12 March when it is 3 December does it for days up to 12 only. Swapped back, the rows
    follow each other day by day, or the temperatures run more smoothly; real records do neither.
    rows : their numbers, days : ordinals, highs : in the order of the rows. within : what the numbers count in.
    """
    if len(days) <= _ENOUGH_STEPS:
        return
    if _daily_steps(days) >= _IN_ORDER:
        # Sorted by date after the harm was done, it shows in any part: three are looked at.
        middle = len(days) // 2
        parts = [slice(0, _PART), slice(middle, middle + _PART), slice(-_PART, None)]
    else:
        parts = [slice(0, None)]
    for part in parts:
        these, back = days[part], [_swapped(day) for day in days[part]]
        is_in_order = _daily_steps(these) < _IN_ORDER < _daily_steps(back)
        if is_in_order or _roughness(back, highs[part]) < _SMOOTHER * _roughness(these, highs[part]):
            row, day = next((row, day) for row, day, other in zip(rows[part], these, back) if day != other)
            day_text = date.fromordinal(day)
            raise Unanswerable(f"weather has days and months swapped, up to day 12 (row {row}{within}: {day_text})")


def _swapped(ordinal: int) -> int:
    day = date.fromordinal(ordinal)
    return day.replace(month=day.day, day=day.month).toordinal() if day.day <= 12 else ordinal


def _daily_steps(days: Sequence[int]) -> float:
    """Return the share of rows that lie one day after, or before, the row above."""
    steps = Counter(after - before for before, after in zip(days, days[1:]))
    return max(steps[1], steps[-1]) / (len(days) - 1)


def _roughness(days: Sequence[int], values: Sequence[float]) -> float:
    """Return the mean change of a value from one day to the next."""
    ordered = sorted((day, value) for day, value in zip(days, values) if value == value)
    changes = [abs(b - a) for (day, a), (after, b) in zip(ordered, ordered[1:]) if after == day + 1]
    return sum(changes) / len(changes) if len(changes) > _ENOUGH_STEPS else math.inf


def check_unit(first: int, highs: Sequence[float], unit: str) -> None:
    """Raise :class:`Unanswerable` where highs [°] are not in the unit, or change it on the way.

    first : ordinal of the first of the days, NaN for a missing one.
    """
    months: dict[int, dict[int, list[float]]] = defaultdict(dict)
    day, index = date.fromordinal(first), 0
    while index < len(highs):
        after = date(day.year + day.month // 12, day.month % 12 + 1, 1)
        end = index + (after - day).days
        known = [high for high in highs[index:end] if high == high]
        if known:
            months[day.month][day.year] = known
        day, index = after, end
    _check_months(months, unit)
    if len(months) >= ENOUGH_MONTHS:
        ordered = sorted(high for high in highs if high == high)
        check_warmth("one day in ten reaches", ordered[len(ordered) * 9 // 10], unit, COOLEST_TENTH, WARMEST_TENTH)


def _check_months(months: dict[int, dict[int, list[float]]], unit: str) -> None:
    for month, years in sorted(months.items()):
        means = {year: sum(v) / len(v) for year, v in sorted(years.items()) if len(v) >= _DAYS_OF_A_MONTH}
        ordered = sorted(means.values())
        gaps = [after - before for before, after in zip(ordered, ordered[1:])]
        if not gaps or max(gaps) <= _MONTH_CHANGE or ordered[-1] < _NO_WINTER:
            continue
        split = gaps.index(max(gaps)) + 1
        fewer, others = sorted((ordered[:split], ordered[split:]), key=len)
        year, mean = next((year, mean) for year, mean in means.items() if mean in fewer)
        raise Unanswerable(
            f"weather in {year}-{month:02} is {mean:.0f}, other years {median(others):.0f} °{unit}: another unit?"
        )


def check_warmth(what: str, warm: float, unit: str, coolest: float, warmest: float) -> None:
    """Raise :class:`Unanswerable` where the warmest part of the year can be none in the unit.

    what : the words before the temperature. coolest, warmest : what it lies between [°C].
    """
    celsius = warm if unit == "C" else (warm - 32) / 1.8
    if celsius < coolest or celsius > warmest:
        other = "F" if unit == "C" else "C"
        raise Unanswerable(f"weather: {what} {warm:.1f}, no summer in °{unit}, wanted unit {other}?")


def spikes_of(values: Sequence[float], size: float) -> Iterator[int]:
    """Go over the indices of values that differ from both neighbours by more than a size, the same way."""
    steps = list(map(sub, values[1:], values))
    great = list(map(gt, map(abs, steps), repeat(size)))
    for index in compress(range(1, len(values)), map(and_, great, great[1:])):
        if (steps[index - 1] > 0) != (steps[index] > 0):
            yield index


def zeros_for_gaps(lows: Sequence[float], highs: Sequence[float], unit: str) -> dict[int, str]:
    """Return the days on which a 0 stands for a missing value, with the reason of each.

    A real low of exactly 0 has as many neighbours at −1 or +0.6; a gap written as 0 has none.
    """
    found: dict[int, str] = {}
    for name, values in (("low", lows), ("high", highs)):
        apart = list(spikes_of(values, _APART if unit == "C" else _APART * 1.8))
        zeros = [index for index in apart if values[index] == 0]
        others = Counter(values[index] for index in apart if 0 < abs(values[index]) <= 3)
        if len(zeros) >= _ENOUGH_ZEROS and len(zeros) > _TIMES * max(others.values(), default=0):
            for index in zeros:
                reason = f"{name} 0 between {values[index - 1]:g} and {values[index + 1]:g}, a gap written as 0"
                found.setdefault(index, reason)
    if len(found) >= _ENOUGH_ZEROS:
        for index, (low, high) in enumerate(zip(lows, highs)):
            if low == high == 0:
                found.setdefault(index, "low and high 0, a gap written as 0")
    return found
