"""What cells hold, as Python values and as they stand in a worksheet's XML."""

from __future__ import annotations

import math
import re
from datetime import date, datetime, time
from typing import Sequence, Union

from ..cells.dates import from_serial, to_serial
from ..cells.errors import CellFault
from .xml_parts import shown_text

#: A number, text, truth value, error, or ``None`` for blank.
Value = Union[float, str, bool, CellFault, None]

_LOOKS_ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_NOT_IN_XML = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff\ud800-\udfff]")


def stored_value(kind: str, text: str | None, strings: Sequence[str]) -> Value:
    """Return what a cell's stored text stands for.

    kind : the cell's attribute ``t``. strings : the workbook's shared texts.
    """
    if text is None:
        return None
    if kind == "s":
        return strings[int(text)] if text.strip().isdigit() and int(text) < len(strings) else None
    if kind == "b":
        return text.strip() in ("1", "true")
    if kind == "e":
        return CellFault(text.strip())
    if kind in ("str", "inlineStr", "d"):
        return shown_text(text)
    try:
        return float(text)
    except ValueError:
        return None


def markup(value: Value) -> tuple[str, str | None]:
    """Return a value's attribute ``t`` and its text, escaped for XML; the text is ``None`` for blank."""
    if value is None:
        return "", None
    if isinstance(value, bool):
        return "b", str(int(value))
    if isinstance(value, CellFault):
        return "e", value.text
    if isinstance(value, (int, float)):
        if float(value).is_integer() and abs(value) < 1e15:
            return "", str(int(value))
        return "", repr(float(value)).upper()
    return "str", escaped(value)


def escaped(text: str) -> str:
    """Return a text for an XML element; letters that XML cannot hold become ``_x000D_`` and the like."""
    if "_x" in text:
        text = _LOOKS_ESCAPED.sub("_x005F_", text)
    if not text.isprintable():
        text = _NOT_IN_XML.sub(lambda match: f"_x{ord(match[0]):04X}_", text)
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def quoted(text: str) -> str:
    """Return a text as the value of an XML attribute, in quotes."""
    marks = {'"': "&quot;", "\n": "&#10;", "\r": "&#13;", "\t": "&#9;"}
    text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return '"' + "".join(marks.get(letter, letter) for letter in text) + '"'


def is_same(before: Value, after: Value) -> bool:
    """Return whether two values are one, numbers to the 14th digit, which is where programs differ."""
    if isinstance(before, float) and isinstance(after, float):
        return before == after or math.isclose(before, after, rel_tol=1e-14)
    return type(before) is type(after) and before == after


def iso_serial(text: str, epoch: date) -> float:
    """Return the serial of a date that a cell holds as ``2026-07-01T12:00:00``; raises ``ValueError``."""
    text = text.strip().removesuffix("Z")
    if "-" not in text:
        moment = datetime.combine(epoch, time.fromisoformat(text.removeprefix("T")))
    else:
        moment = datetime.fromisoformat(text)
    midnight = datetime.combine(moment.date(), time.min)
    return to_serial(moment.date(), epoch) + (moment - midnight).total_seconds() / 86400


def as_shown(value: Value, is_date: bool, epoch: date) -> Value | date:
    """Return a value as a person sees it: a number in a cell with a date style is a date."""
    if is_date and isinstance(value, float) and 0 < value < (date.max - epoch).days + 1:
        return from_serial(value, epoch)
    return value
