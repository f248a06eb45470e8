"""The kinds of value an argument or a result can be, and how each is read from a cell and shown in one.

A cell reaches us as ``None`` (blank), ``bool``, ``float``, ``int``, ``str``, a date, a :class:`CellFault`,
or, for a range, as a list of rows. Hosts bring their values into this form and take answers in it.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Callable, Collection, Iterable, List, Sequence, Union

from .climates import CLIMATES
from .dates import read_date
from .errors import CellFault, InputError, wrong

Cell = Union[None, bool, int, float, str, date, CellFault]
Rows = List[Sequence[Cell]]
Read = Callable[[Any, str, date], Any]

#: Of all numbers that are finite; and the one next to 0.
_LARGEST, _SMALLEST = sys.float_info.max, 5e-324


def is_blank(cell: object) -> bool:
    """Return whether a cell holds nothing, or nothing but spaces."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


@dataclass(frozen=True)
class Kind:
    """One kind of value.

    name : what the reference calls it. read : ``read(cell, label, epoch) -> value``.
    zero_is_no_value : a 0 is refused; a host that hands over a blank cell as 0 may take it for blank.
    many : takes a whole range (a column or a table), so that a range given for it is not spread over rows.
    takes_checks : makes sense of a ``Check:`` line itself; for other kinds such a line is passed on as the answer.
    takes_blank : a blank is a value of this kind.
    """

    name: str
    read: Read = field(repr=False)
    zero_is_no_value: bool = False
    many: bool = False
    takes_checks: bool = False
    takes_blank: bool = False

    def blank(self, cell: object) -> bool:
        """Return whether a cell counts as blank for this kind."""
        return not self.takes_blank and is_blank(cell)


def is_finite(cell: object) -> bool:
    """Return whether a cell holds a number that can be used in a sum."""
    if isinstance(cell, bool) or not isinstance(cell, (int, float)):
        return False
    try:
        return math.isfinite(cell)
    except OverflowError:  # a whole number beyond all floats, which only a script can hand over
        return False


def _number(cell: object, label: str, wanted: str, percent: bool = False) -> float:
    """Read a finite number; a text counts when it is a plain number with a point, or with % where that is allowed."""
    value = cell
    if isinstance(cell, str):
        text, parts = cell.strip().replace("−", "-"), 1
        if percent and text.endswith("%"):
            text, parts = text[:-1], 100
        try:
            value = float(text) / parts
        except ValueError:
            raise wrong(label, cell, wanted) from None
    if not is_finite(value):
        raise wrong(label, cell, wanted)
    return float(value) + 0.0  # type: ignore[arg-type]  # -0.0 is 0.0


def number(
    name: str, wanted: str, least: float = -_LARGEST, most: float = _LARGEST, percent: bool = False, **more: bool
) -> Kind:
    """Return a kind for numbers from ``least`` to ``most``; percent : a text may be a percentage."""

    def read(cell: object, label: str, epoch: date) -> float:
        value = cell + 0.0 if type(cell) is float else _number(cell, label, wanted, percent)
        if not least <= value <= most:  # what is no number or infinite fails here too
            raise wrong(label, cell, wanted)
        return value

    return Kind(name, read, **more)


def whole(name: str, wanted: str, least: int, most: int, **more: bool) -> Kind:
    """Return a kind for whole numbers from ``least`` to ``most``."""
    of_number = number(name, wanted, least, most, **more)

    def read(cell: object, label: str, epoch: date) -> int:
        value: float = of_number.read(cell, label, epoch)
        if not value.is_integer():
            raise wrong(label, cell, wanted)
        return int(value)

    return replace(of_number, read=read)


def choice(name: str, *options: str, also: Collection[str] = ()) -> Kind:
    """Return a kind for one word out of a list; case, underscores and hyphens do not matter.

    also : further words that are understood, which no message offers.
    """

    def plain(word: str) -> str:
        return " ".join(word.lower().replace("_", " ").replace("-", " ").split())

    def read(cell: object, label: str, epoch: date) -> str:
        if isinstance(cell, str) and (plain(cell) in options or plain(cell) in also):
            return plain(cell)
        raise wrong(label, cell, "one of " + ", ".join(options))

    return Kind(name, read, zero_is_no_value=True)


_YES = {"yes", "y", "true", "x", "1", "✓"}
_NO = {"no", "n", "false", "-", "0"}


def _read_yes_no(cell: object, label: str, epoch: date) -> bool:
    if isinstance(cell, bool):
        return cell
    word = "" if not isinstance(cell, str) else cell.strip().lower()
    if isinstance(cell, (int, float)) and cell in (0, 1):
        word = str(int(cell))
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise wrong(label, cell, "yes or no")


def _read_climate(cell: object, label: str, epoch: date) -> Any:
    text = cell.strip() if isinstance(cell, str) else ""
    if is_check(text):
        raise InputError(f"{label} says: {text[len('Check:') :]}")
    if "·" in text:
        return CLIMATES.get(text)
    if getattr(cell, "is_climate", False):
        return cell
    raise wrong(label, cell, "the cell of a CLIMATE function")


def _read_climates(cells: object, label: str, epoch: date) -> Any:
    """Read one climate, or a column with one a line: a tuple in which a blank is ``None``, a wrong cell its error."""
    flat = as_column(cells, label, trim=False)
    if len(flat) == 1 and not is_blank(flat[0]):
        return _read_climate(flat[0], label, epoch)
    found = tuple(None if is_blank(cell) else _climate_or_error(cell, label, epoch) for cell in flat)
    return found if any(found) else ()


def _climate_or_error(cell: Cell, label: str, epoch: date) -> Any:
    try:
        return _read_climate(cell, label, epoch)
    except InputError as unread:
        return unread


def _read_text(cell: object, label: str, epoch: date) -> str:
    if isinstance(cell, CellFault):
        raise wrong(label, cell, "a text")
    return str(cell)


class FileRows(List[List[Any]]):
    """Rows out of a file. lines : the number of each in the file."""

    def __init__(self, rows: Iterable[list[Any]], lines: Sequence[int]) -> None:
        super().__init__(rows)
        self.lines = lines


def as_rows(cells: object) -> Rows:
    """Return a range, a sequence of rows, a flat sequence or a single cell as rows of one length."""
    if isinstance(cells, (str, bytes)) or not hasattr(cells, "__iter__"):
        return [[cells]]  # type: ignore[list-item]
    if type(cells) in (list, tuple) and set(map(type, cells)) <= {list, tuple}:
        rows = list(cells)  # a host's range as it comes: rows are read, never changed
    else:
        rows = [[row] if isinstance(row, (str, bytes)) or not hasattr(row, "__iter__") else list(row) for row in cells]
    widths = set(map(len, rows))
    if len(widths) <= 1:
        return rows
    # A script's rows may be of several lengths; a sheet's never are.
    return [[*row, *[None] * (max(widths) - len(row))] for row in rows]


def as_column(cells: object, label: str, trim: bool = True) -> list[Any]:
    """Return a range of one column or one row, or a flat sequence, as a flat list.

    trim : leave out the blank cells at its end.
    """
    rows = as_rows(cells)
    if len(rows) == 1:
        flat = list(rows[0])
    elif all(len(row) == 1 for row in rows):
        flat = [row[0] for row in rows]
    else:
        raise InputError(f"{label} has {max(map(len, rows))} columns, wanted one column or one row")
    while trim and flat and is_blank(flat[-1]):
        flat.pop()
    return flat


def is_check(cell: object) -> bool:
    """Return whether a cell holds a ``Check:`` line."""
    return isinstance(cell, str) and cell.startswith("Check:")


def column(of: Kind, blanks: bool = False, trim: bool = True) -> Kind:
    """Return a kind for a column of another kind.

    Where blanks are allowed, a blank cell and one that holds a ``Check:`` line come out as ``None``.
    trim : leave out the blank cells at its end.
    """

    def read(cells: object, label: str, epoch: date) -> tuple[Any, ...]:
        values: list[Any] = []
        for position, cell in enumerate(as_column(cells, label, trim), start=1):
            if of.blank(cell) or (blanks and is_check(cell)):
                if not blanks:
                    raise InputError(f"{label}, line {position} is blank, wanted {of.name}")
                values.append(None)
            else:
                values.append(of.read(cell, f"{label}, line {position}", epoch))
        return tuple(values)

    return Kind(f"column of {of.name}", read, many=True)


NUMBER = number("number", "a number")
HEAT_UNITS = number("heat units", "heat units above 0, such as 1300", 1e-9, 100_000, zero_is_no_value=True)
SPREAD = number("heat units", "heat units from 0 up, such as 250", 0, 100_000)
TEMPERATURE = number("temperature", "a temperature such as 8", -150, 150)
#: As a record holds it: what is no weather is for the record to say, by day.
READING = number("temperature", "a temperature")
TEMPERATURE_CHANGE = number("temperature change", "degrees from -40 to 40, such as 1.5", -40, 40)
_CHANCE_WANTED = "a share above 0 and up to 1, such as 0.8 or 80%"
CHANCE = number("chance", _CHANCE_WANTED, _SMALLEST, 1, percent=True, zero_is_no_value=True)
SHARE = number("share", "a share from 0 to 1", 0, 1)
DATE = Kind("date", read_date, zero_is_no_value=True)
SEASON = whole("season", "a year such as 2026", 1850, 2150, zero_is_no_value=True)
DAYS = whole("days", "whole days from 0 to 400", 0, 400)
YES_NO = Kind("yes or no", _read_yes_no)
TEXT = Kind("text", _read_text)
CLIMATE = Kind("climate", _read_climate, zero_is_no_value=True)
CLIMATES_BY_LINE = Kind("climate, or column of climates", _read_climates, many=True, zero_is_no_value=True)
