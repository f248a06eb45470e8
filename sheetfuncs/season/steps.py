"""A step in the yearly means of a record: the mark of a station that was moved, or got another instrument."""

from __future__ import annotations

from datetime import date
from statistics import mean, pstdev
from typing import NamedTuple, Sequence

from .record import CELSIUS, Record

#: A year counts with so many days; a step has so many years on either side (judgement).
_DAYS_OF_A_YEAR, _YEARS_BESIDE = 330, 5
#: What one record in twenty without a step reaches, by its number of years: from 60,000 drawn records of each length;
#: with all cuts they give Khaliq & Ouarda 2007, Int. J. Climatol. 27, doi:10.1002/joc.1438 (from memory).
_CRITICAL = {10: 4.0, 12: 5.0, 15: 5.8, 20: 6.5, 30: 7.25, 50: 8.0, 100: 8.8}
#: What may be behind a step, to be shown beside it.
STEP_MEANS = "was the station moved, or is it a trend? If moved, rest on the seasons since"
#: Smaller steps change no cut by more than the weather does [°C] (judgement; six stations about Lake Erie, with warm
#: and cool years, have none greater than 0.93 by way of chance).
_LEAST_STEP = 1.0


class Step(NamedTuple):
    """A step in the yearly means of a record's lows or highs. year : the first one after it. size : [°]."""

    name: str
    year: int
    size: float
    unit: str

    def __str__(self) -> str:
        word = "warmer" if self.size > 0 else "cooler"
        return f"{self.name} from {self.year} on are {abs(self.size):.1f} °{self.unit} {word} than before"


def steps_of(record: Record, unit: str) -> list[Step]:
    """Return the step in the yearly means of a record's lows and the one of its highs, where there are such.

    unit : of the record, "C" or "F".
    The standard normal homogeneity test of one station by itself: of all years, the one with the greatest
    T = k·z̄₁² + (n−k)·z̄₂², z the standardised means of the years before and from it on. Of
    one station alone, a move that goes against the weather's own course can stay hidden.
    Source: Alexandersson 1986, J. Climatol. 6, doi:10.1002/joc.3370060607.
    """
    least = _LEAST_STEP if unit == CELSIUS else _LEAST_STEP * 1.8
    found = []
    for name, values in (("lows", record.lows), ("highs", record.highs)):
        years, means = [], []
        for year in range(date.fromordinal(record.first).year, date.fromordinal(record.end - 1).year + 1):
            start, end = (max(0, date(one, 1, 1).toordinal() - record.first) for one in (year, year + 1))
            known = [value for value in values[start:end] if value == value]
            if len(known) >= _DAYS_OF_A_YEAR:
                years.append(year)
                means.append(sum(known) / len(known))
        step = greatest_step(means)
        if step is not None and abs(step[1]) >= least:
            found.append(Step(name, years[step[0]], step[1], unit))
    return found


def greatest_step(means: Sequence[float]) -> tuple[int, float] | None:
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
