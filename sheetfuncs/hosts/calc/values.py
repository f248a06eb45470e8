"""What Calc hands over and takes back, and how the functions see it."""

from __future__ import annotations

from datetime import date
from typing import Any, Callable, Sequence, Tuple

from ...cells.climates import NOT_LOADED
from ...cells.dates import to_serial
from ...cells.errors import CHECK, InputError
from ...cells.kinds import CLIMATE
from ...functions.declare import WHOLE_COLUMN, Function
from .names import reads_zero_as_blank

_TALLEST_ANSWER = 10_000
_MOST_KEPT = 8_192
#: Cells of ranges to which answers are kept, a function: a column of a thousand trees in ten arguments, a few times.
_MOST_CELLS = 100_000

#: How the one line begins that depends on more than the arguments.
_NOT_HELD = CHECK + NOT_LOADED.partition("(")[0]

Answer = Tuple[Tuple[object, ...], ...]


class _Kept:
    """Answers by the arguments of their calls; all are let go where there is no room for one more."""

    def __init__(self, room: int) -> None:
        self.answers: dict[Any, Answer] = {}
        self._room = self._free = room

    def add(self, key: Any, found: Answer, weight: int) -> None:
        if weight > self._free:
            self.answers.clear()
            self._free = self._room
        if weight <= self._free:
            self._free -= weight
            self.answers[key] = found


def answering(function: Function) -> Callable[[Sequence[Any], date], Answer]:
    """Return :func:`answer` for one function, which keeps its answers.

    Trees of one kind in one position ask the same, each of a row's three dates is a call, each cell of a
    column asks with the same ranges, and a load recalculates everything. The functions are pure and a climate's text
    stands for all that is in it, so an answer stays true; only a climate that is not held may come meanwhile. A
    climate must be made again, to be held again.
    """
    singles, ranges = _Kept(_MOST_KEPT), _Kept(_MOST_CELLS)

    def answered(given: Sequence[Any], epoch: date) -> Answer:
        kept, weight = singles, 1
        if tuple in map(type, given):
            given = tuple([from_calc(value) for value in given])
            tables = [value for value in given if type(value) is tuple]
            if tables:
                kept, weight = ranges, sum(len(table) * len(table[0]) for table in tables)
        key = (*given, epoch)
        found = kept.answers.get(key)
        if found is None:
            found = _answer(function, given, epoch)
            if not any(type(value) is str and value.startswith(_NOT_HELD) for row in found for value in row):
                kept.add(key, found, weight)
        return found

    if function.result is CLIMATE:
        return lambda given, epoch: answer(function, given, epoch)
    return answered


def answer(function: Function, given: Sequence[Any], epoch: date) -> Answer:
    """Return what a Calc function answers: always rows of values, one by one where the answer is single.

    given : the arguments as Calc hands them over. epoch : day 0 of the document.
    Never raises: Calc would show a bare ``#VALUE!``.
    """
    return _answer(function, [from_calc(value) for value in given], epoch)


def _answer(function: Function, given: Sequence[Any], epoch: date) -> Answer:
    if 0 in given:
        held = zip(given, function.parameters)
        known = [None if cell == 0 and reads_zero_as_blank(parameter) else cell for cell, parameter in held]
        given = [*known, *given[len(known) :]]
    try:
        found = function.in_cell(given, epoch)
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
    """Return an argument as the functions read it: a single value, or rows.

    The blank end of a whole column is cut off, down to what the functions still take for a whole column.
    """
    if not isinstance(value, tuple):
        return value
    height = len(value)
    if height == 1 and len(value[0]) == 1:
        return value[0][0]
    if height > WHOLE_COLUMN:
        blank = ("",) * len(value[0])
        while height > WHOLE_COLUMN and value[height - 1] == blank:
            height -= 1
        return value[:height]
    return value


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
