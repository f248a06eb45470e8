"""°C, °F or tenths of °C: found from what the warm days of the whole file would mean."""

from __future__ import annotations

from typing import NamedTuple, Sequence

from ..season.doubts import COOLEST_TENTH, ENOUGH_MONTHS, WARMEST_TENTH
from ..season.record import to_unit
from .errors import TwoReadingsError
from .model import Choice, Day

CELSIUS, FAHRENHEIT, TENTHS = "C", "F", "tenths"
#: How a unit can be found from the file itself, without looking at the values.
BY_HEADING, BY_LAYOUT = "as the file says", "the layout says so"
NAMED_BY_FILE = (BY_HEADING, BY_LAYOUT)
NAMES = {CELSIUS: "°C", FAHRENHEIT: "°F", TENTHS: "tenths of °C"}

# The warmest tenth of the days as the season's room has it; the summer alone may have more in a desert (judgement).
_WARMEST_CELSIUS, _WARMEST_SUMMER = WARMEST_TENTH, 53.0
_COOLEST_FAHRENHEIT, _WARMEST_FAHRENHEIT = to_unit(COOLEST_TENTH, FAHRENHEIT), to_unit(WARMEST_TENTH, FAHRENHEIT)
_COOLEST_TENTHS, _WARMEST_TENTHS = 10 * COOLEST_TENTH, 10 * WARMEST_TENTH
#: Values turned into another unit are kept as records print them: in tenths.
_DIGITS = 1


class Temperatures(NamedTuple):
    """What shows the unit: the high that the warmest tenth of the days reach, how many different months of the year
    there are, and whether all values are whole numbers."""

    warm: float
    months: int
    whole: bool


def temperatures_of(highs: Sequence[float], months: Sequence[int], whole: bool) -> Temperatures:
    """Return what shows the unit of the highs of days."""
    ordered = sorted(highs)
    return Temperatures(ordered[(len(ordered) * 9) // 10] if ordered else 0.0, len(set(months)), whole)


def possible_units(found: Temperatures, may_be_tenths: bool) -> list[str]:
    """Return the units in which the values can be weather.

    may_be_tenths : whether the layout is one that prints tenths; elsewhere only where nothing else is possible.
    """
    warm, part_of_year = found.warm, found.months < ENOUGH_MONTHS
    units = []
    if warm <= (_WARMEST_SUMMER if part_of_year else _WARMEST_CELSIUS):
        units.append(CELSIUS)
    if warm <= _WARMEST_FAHRENHEIT and (warm >= _COOLEST_FAHRENHEIT or part_of_year):
        units.append(FAHRENHEIT)
    is_warm_enough = warm >= _COOLEST_TENTHS or part_of_year
    if found.whole and warm <= _WARMEST_TENTHS and is_warm_enough and (may_be_tenths or not units):
        units.append(TENTHS)
    return units


def decide_unit(
    found: Temperatures, named: str, wanted: str | None, may_be_tenths: bool, name: str
) -> tuple[str, Choice]:
    """Return the unit of a file's temperatures, and how it was found.

    named : by the headings or beside the values. wanted : by the user. Raises :class:`TwoReadingsError` where more than
    one is possible, or the one that is named is not.
    """
    if wanted:
        return wanted, Choice("unit", NAMES[wanted], "as you say")
    possible = possible_units(found, may_be_tenths)
    warm = f"one day in ten reaches {found.warm:g} or more"
    if named:
        if named in possible or (named == TENTHS and found.whole):
            return named, Choice("unit", NAMES[named], BY_HEADING)
        raise TwoReadingsError(
            f"{name} says {NAMES[named]}, but {warm}, wanted --unit C or F", "unit", (CELSIUS, FAHRENHEIT, TENTHS)
        )
    if len(possible) == 1:
        others = " or ".join(NAMES[unit] for unit in (CELSIUS, FAHRENHEIT) if unit != possible[0])
        return possible[0], Choice("unit", NAMES[possible[0]], f"{warm}, which can be no {others}")
    answers = possible or [CELSIUS, FAHRENHEIT, TENTHS]
    what = f"could be in {' or '.join(NAMES[unit] for unit in possible)}" if possible else "is in no unit that is known"
    raise TwoReadingsError(
        f"{name} {what} (it holds {found.months} of the 12 months, {warm}), wanted --unit {' or '.join(answers)}",
        "unit",
        answers,
    )


def in_unit(days: Sequence[Day], unit: str, wanted: str) -> list[Day]:
    """Return days in another unit, rounded to tenths; in their own as they are."""
    if unit == wanted:
        return list(days)

    def turned(value: float) -> float:
        return round(value * 1.8 + 32 if wanted == FAHRENHEIT else (value - 32) / 1.8, _DIGITS)

    return [Day(day, turned(low), turned(high)) for day, low, high in days]
