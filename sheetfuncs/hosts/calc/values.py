"""What Calc hands over and takes back, and how the functions see it."""

from __future__ import annotations

from datetime import date
from typing import Any, Sequence, Tuple

from ...cells.dates import to_serial
from ...cells.errors import InputError
from ...functions.declare import Function

_TALLEST_ANSWER = 10_000

Answer = Tuple[Tuple[object, ...], ...]


def answer(function: Function, given: Sequence[Any], epoch: date) -> Answer:
    """Return what a Calc function answers: always rows of values, one by one where the answer is single.

    given : the arguments as Calc hands them over. epoch : day 0 of the document.
    Never raises: Calc would show a bare ``#VALUE!``.
    """
    try:
        found = function.in_cell([from_calc(value) for value in given], epoch)
    except Exception as fault:  # a fault of ours must say so in the cell
        found = fault_line(function.worksheet_name, fault)
    if not isinstance(found, list):
        return ((to_calc(found, epoch),),)
    rows = tuple(tuple(to_calc(value, epoch) for value in row) for row in found)
    return rows + _blank_rows(function, given, rows)


def fault_line(name: str, fault: BaseException) -> str:
    """Return the line for a fault that is ours and not the user's."""
    return InputError(f"{name} failed, please report it ({type(fault).__name__}: {fault})").line


def from_calc(value: Any) -> Any:
    """Return an argument as the functions read it: a single value, or rows without the blank ones at the end."""
    if not isinstance(value, tuple):
        return value
    height = len(value)
    if height > 1:
        blank = ("",) * len(value[0])
        while height > 1 and value[height - 1] == blank:
            height -= 1
    if height == 1 and len(value[0]) == 1:
        return value[0][0]
    return value[:height]


def to_calc(value: Any, epoch: date) -> Any:
    """Return one value as Calc takes it; blank is an empty text, as an empty value would be read as 0."""
    if type(value) is date:
        return to_serial(value, epoch)
    if value is None:
        return ""
    if isinstance(value, bool):
        return float(value)
    return value


def _blank_rows(function: Function, given: Sequence[Any], rows: Answer) -> Answer:
    """Return blank rows for the lines that were blank, so that an array formula shows no ``#N/A`` beside them."""
    spread = function.shape == "column"
    tallest = max(
        (len(value) for value, parameter in zip(given, function.parameters)
         if isinstance(value, tuple) and parameter.kind.many == spread),
        default=0,
    )  # fmt: skip
    missing = min(tallest, _TALLEST_ANSWER) - len(rows)
    return (("",) * (len(rows[0]) if rows else 1),) * max(missing, 0)
