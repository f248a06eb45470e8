"""What a cell of Calc must show, by the declarations themselves."""

from __future__ import annotations

from datetime import date
from typing import Any, Sequence

from sheetfuncs.cells.dates import EPOCH_1900, to_serial
from sheetfuncs.functions.declare import Function
from sheetfuncs.hosts.calc.names import reads_zero_as_blank


def expected_cell(function: Function, cells: Sequence[Any], epoch: date = EPOCH_1900) -> Any:
    """Return what one cell shows: a number, a text, "" for blank; of an answer of several cells the first."""
    known = [
        None if cell == 0 and reads_zero_as_blank(parameter) else cell
        for cell, parameter in zip(map(_as_calc_has_it, cells), function.parameters)
    ]
    answer = function.in_cell(known, epoch)
    while isinstance(answer, list):
        answer = answer[0] if answer else None
    return plain(answer, epoch)


def plain(value: Any, epoch: date = EPOCH_1900) -> Any:
    """Return a value as Calc keeps it."""
    if value is None:
        return ""
    if isinstance(value, date):
        return to_serial(value, epoch)
    return float(value) if isinstance(value, (bool, int)) else value


def _as_calc_has_it(cell: Any) -> Any:
    """Calc has no truth values: TRUE is a 1 that is shown as a word."""
    if isinstance(cell, list):
        return [[_as_calc_has_it(part) for part in row] for row in cell]
    return float(cell) if isinstance(cell, bool) else cell


def same(shown: Any, wanted: Any) -> bool:
    """Return whether a cell shows what is wanted: numbers to 1e-9, texts to the letter."""
    if isinstance(shown, float) and isinstance(wanted, float):
        return abs(shown - wanted) <= 1e-9 * max(1.0, abs(wanted))
    return type(shown) is type(wanted) and shown == wanted
