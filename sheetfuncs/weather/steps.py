"""A step in the yearly means of a record: the mark of a station that was moved, or got another instrument."""

from __future__ import annotations

from collections import defaultdict
from statistics import mean, pstdev
from typing import Sequence

from .model import Choice, Day

#: A year counts with so many days; a step has so many years on either side (judgement).
_DAYS_OF_A_YEAR, _YEARS_BESIDE = 330, 5
#: What one record in twenty without a step reaches, by its number of years: from 60,000 drawn records of each length;
#: with all cuts they give Khaliq & Ouarda 2007, Int. J. Climatol. 27, doi:10.1002/joc.1438 (from memory).
_CRITICAL = {10: 4.0, 12: 5.0, 15: 5.8, 20: 6.5, 30: 7.25, 50: 8.0, 100: 8.8}
#: Smaller steps change no cut by more than the weather does [°C] (judgement; six stations about Lake Erie, with warm
#: and cool years, have none greater than 0.93 by way of chance).
_LEAST_STEP = 1.0


def steps(days: Sequence[Day], unit: str) -> list[Choice]:
    """Return a line for the lows and one for the highs where their yearly means have a step; nothing is changed.

    The standard normal homogeneity test of one station by itself: of all years, the one with the greatest
    T = k·z̄₁² + (n−k)·z̄₂², z the standardised means of the years before and from it on. Of
    one station alone, a move that goes against the weather's own course can stay hidden.
    Source: Alexandersson 1986, J. Climatol. 6, doi:10.1002/joc.3370060607.
    """
    found = []
    for name, column in (("low", 1), ("high", 2)):
        years: dict[int, list[float]] = defaultdict(list)
        for day in days:
            years[day.day.year].append(day[column])
        means = {year: mean(values) for year, values in sorted(years.items()) if len(values) >= _DAYS_OF_A_YEAR}
        step = _step(list(means.values()))
        if step is None:
            continue
        index, size = step
        if abs(size) >= (_LEAST_STEP if unit == "C" else _LEAST_STEP * 1.8):
            year, word = list(means)[index], "warmer" if size > 0 else "cooler"
            why = "a station moved or changed, or a trend? Earlier years may be of another place"
            found.append(Choice("step", f"{name}s from {year} on are {abs(size):.1f} °{unit} {word} than before", why))
    return found


def _step(means: Sequence[float]) -> tuple[int, float] | None:
    """Return where means have their greatest step, as the first one after it, and its size; ``None`` without one."""
    spread = pstdev(means) if len(means) >= 2 * _YEARS_BESIDE else 0.0
    if not spread:
        return None
    middle = mean(means)
    values = [(value - middle) / spread for value in means]
    count = len(values)
    test, index = max(
        (cut * mean(values[:cut]) ** 2 + (count - cut) * mean(values[cut:]) ** 2, cut)
        for cut in range(_YEARS_BESIDE, count - _YEARS_BESIDE + 1)
    )
    critical = next((value for years, value in _CRITICAL.items() if years >= count), _CRITICAL[100])
    return (index, mean(means[index:]) - mean(means[:index])) if test > critical else None
