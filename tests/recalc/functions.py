"""Small functions declared for the tests alone, with every kind of answer that a function can give."""

from __future__ import annotations

from datetime import date, timedelta

from sheetfuncs.cells.errors import InputError
from sheetfuncs.cells.kinds import DATE, DAYS, NUMBER, TEXT, column
from sheetfuncs.functions.declare import Argument, declared

_NUMBER = Argument(NUMBER, "Any number.")


@declared(NUMBER, value=_NUMBER)
def twice_of(value: float) -> float:
    """Give twice a number."""
    return value * 2


@declared(DATE, day=Argument(DATE, "A date."), days=Argument(DAYS, "Days to add."))
def day_after(day: date, days: int = 1) -> date:
    """Give a date some days later."""
    return day + timedelta(days=days)


_TEXT = Argument(TEXT, "A text.")


@declared(TEXT, first=_TEXT, second=_TEXT, third=_TEXT)
def joined_by(first: str, second: str = "-", third: str = "!") -> str:
    """Give three texts in one."""
    return f"{first}{second}{third}"


@declared(NUMBER, value=_NUMBER)
def above_zero(value: float) -> float | None:
    """Give a number that is above zero, and nothing for another."""
    return value if value > 0 else None


@declared(NUMBER, shape="row", headings=("one", "two", "three"), value=_NUMBER)
def multiples_of(value: float) -> tuple[float, float, float]:
    """Give a number, twice and three times the number."""
    return value, value * 2, value * 3


@declared(NUMBER, shape="column", values=Argument(column(NUMBER, blanks=True), "Numbers."))
def sums_so_far(values: tuple[float | None, ...]) -> tuple[float | None, ...]:
    """Give the sums of a column's numbers up to each line; nothing beside a blank."""
    total, sums = 0.0, []
    for value in values:
        total += value or 0.0
        sums.append(None if value is None else total)
    return tuple(sums)


@declared(NUMBER, values=Argument(column(NUMBER, blanks=True), "Numbers."))
def how_many(values: tuple[float | None, ...]) -> float:
    """Give how many numbers a column holds."""
    return float(sum(value is not None for value in values))


@declared(NUMBER, value=_NUMBER)
def fails_on(value: float) -> float:
    """Fail as a mistake in the program would, at 13 only."""
    if value == 13:
        raise ZeroDivisionError("a mistake")
    if value == 14:
        raise InputError("value is 14, wanted another number")
    return value


@declared(NUMBER, value=_NUMBER)
def endless(value: float) -> float:
    """Give what is no number."""
    return float("inf") if value else float("nan")


FUNCTIONS = tuple(
    face.declaration
    for face in (twice_of, day_after, joined_by, above_zero, multiples_of, sums_so_far, how_many, fails_on, endless)
)
