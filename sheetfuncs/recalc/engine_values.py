"""Values as the engine gives and takes them, and as our functions do."""

from __future__ import annotations

import hashlib
import marshal
import math
from datetime import date, datetime
from typing import Any, Sequence

from ..cells.dates import to_serial
from ..cells.errors import CellFault

FAULTS = {
    "Div": "#DIV/0!", "Na": "#N/A", "Name": "#NAME?", "Null": "#NULL!", "Num": "#NUM!", "Ref": "#REF!",
    "Value": "#VALUE!", "Spill": "#SPILL!", "Calc": "#CALC!", "Circ": "#CIRC!", "NImpl": "#N/IMPL!",
    "Error": "#ERROR!", "Cancelled": "#CANCELLED!",
}  # fmt: skip
_KINDS = {text: kind for kind, text in FAULTS.items()}
NOT_A_NUMBER = {"type": "Error", "kind": "Num"}


def from_engine(cell: Any) -> Any:
    """Return a cell or a range as our functions take them."""
    if isinstance(cell, dict):
        return CellFault(FAULTS.get(cell.get("kind", ""), "#ERROR!"))
    if isinstance(cell, list):
        rows = _without_blank_tail(cell)
        for row in rows:
            for index, part in enumerate(row):
                if type(part) is dict:
                    row[index] = from_engine(part)
        return rows
    return cell


def _without_blank_tail(rows: list[list[Any]]) -> list[list[Any]]:
    """Return a range without the blank rows at its end, of which whole columns and ranges kept ready have many.

    They mean nothing to our functions; two rows stay, so that a range stays one.
    """
    end = len(rows)
    while end > 2 and rows[end - 1].count(None) == len(rows[end - 1]):
        end -= 1
    return rows[:end]


def key_of(cells: Sequence[Any]) -> bytes:
    """Return what distinguishes calls; unlike equality, it distinguishes TRUE from 1."""
    # Version 2 writes equal values alike; later ones also write which objects are one.
    written = marshal.dumps(cells, 2)
    return written if len(written) < 256 else hashlib.blake2b(written).digest()


def to_engine(value: Any, epoch: date) -> Any:
    """Return an answer as the engine takes it; blank becomes an empty text, for ``None`` would show as 0."""
    if value is None:
        return ""
    if isinstance(value, float):
        return value if math.isfinite(value) else NOT_A_NUMBER
    if isinstance(value, datetime):
        return to_serial(value.date(), epoch)
    if isinstance(value, date):
        return to_serial(value, epoch)
    if isinstance(value, CellFault):
        return {"type": "Error", "kind": _KINDS.get(value.text, "Value")}
    if isinstance(value, (list, tuple)):
        if not value:  # a column without a line
            return ""
        return [[to_engine(part, epoch) for part in row] for row in value]
    return value
