"""Cell values between xlwings and the declared functions, and the one call that every worksheet function makes.

xlwings hands over: ``None`` for blank, numbers as floats, dates as datetimes where the cell is formatted as a date
and as floats where it is not (a computed date), error values as texts or as their codes, and every argument as rows.
"""

from __future__ import annotations

from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, Sequence

from ...cells.dates import EPOCH_1900, to_serial
from ...cells.errors import CellFault
from ...functions.declare import WHOLE_COLUMN, Function
from .kept_climates import KeptClimates

_FAULT_TEXTS = frozenset({"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"})
# Excel's error numbers (2000 and up) reach Python as this plus the number.
_FAULT_BASE = -2_146_828_288
_FAULT_NUMBERS = {
    2000: "#NULL!", 2007: "#DIV/0!", 2015: "#VALUE!", 2023: "#REF!", 2029: "#NAME?", 2036: "#NUM!", 2042: "#N/A",
    2043: "#GETTING_DATA", 2045: "#SPILL!", 2046: "#CONNECT!", 2047: "#BLOCKED!", 2048: "#UNKNOWN!",
    2049: "#FIELD!", 2050: "#CALC!",
}  # fmt: skip


def in_excel(
    function: Function, cells: Sequence[Any], epoch: date = EPOCH_1900, kept: KeptClimates | None = None
) -> Any:
    """Answer a cell of Excel.

    cells : the arguments by position as xlwings hands them over. epoch : day 0 of the workbook's calendar.
    kept : what notes the climates that are made, for the next process.
    Returns what xlwings takes: a float, int, text or datetime, or rows of them; never ``None``, which Excel would
    show as 0.
    """
    given = [from_excel(cell) for cell in cells]
    answer = function.in_cell(given, epoch)
    if kept is not None:
        kept.note(function, given, epoch, answer)
    return to_excel(answer, epoch)


def from_excel(value: Any) -> Any:
    """Return an argument as the functions take it: a single cell as its value, a range as rows."""
    if not isinstance(value, (list, tuple)):
        return _cell_in(value)
    rows = value if len(value) < WHOLE_COLUMN else _filled(value)
    if not rows:
        return None
    rows = [[_cell_in(cell) for cell in row] for row in rows]
    return rows[0][0] if len(rows) == 1 and len(rows[0]) == 1 else rows


def _filled(rows: Sequence[Sequence[Any]]) -> Sequence[Sequence[Any]]:
    """Cut the blank end off a whole column of a sheet: a million cells need not go further."""
    end = len(rows)
    while end and all(cell is None for cell in rows[end - 1]):
        end -= 1
    return rows[:end]


def _cell_in(cell: Any) -> Any:
    if isinstance(cell, str):
        return CellFault(cell) if cell in _FAULT_TEXTS else cell
    if isinstance(cell, Decimal):  # a cell formatted as money
        return float(cell)
    if isinstance(cell, int) and not isinstance(cell, bool) and 2000 <= cell - _FAULT_BASE < 2100:
        return CellFault(_FAULT_NUMBERS.get(cell - _FAULT_BASE, "#ERROR!"))
    return cell


def to_excel(answer: Any, epoch: date = EPOCH_1900) -> Any:
    """Return an answer as xlwings takes it."""
    if isinstance(answer, list):
        if not answer:  # a column without a line
            return ""
        return [[_cell_out(cell, epoch) for cell in row] for row in answer]
    return _cell_out(answer, epoch)


def _cell_out(cell: Any, epoch: date) -> Any:
    if cell is None:
        return ""
    if isinstance(cell, date):
        # In the 1904 calendar a plain number is certain to be right, whatever Excel does with a date.
        return datetime.combine(cell, time()) if epoch == EPOCH_1900 else to_serial(cell, epoch)
    return cell.text if isinstance(cell, CellFault) else cell
