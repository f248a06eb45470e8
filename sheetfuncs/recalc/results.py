"""What a recalculation did, cell by cell."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Callable, Union

from ..xlsx.values import Value

Shown = Union[Value, date]
#: Called with how many calls of our functions are done, and how many there are.
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class ChangedCell:
    """A cell whose stored value is another one now; dates as dates, ``None`` for a cell without a value."""

    sheet: str
    cell: str
    before: Shown
    after: Shown


@dataclass(frozen=True, slots=True)
class CheckCell:
    """A cell with a request to the user: its text starts with ``Check:``."""

    sheet: str
    cell: str
    text: str


@dataclass(frozen=True, slots=True)
class RefusedCell:
    """A cell that should have been recalculated and was not, so that it keeps its stored value, and why."""

    sheet: str
    cell: str
    why: str


@dataclass(frozen=True)
class Recalculated:
    """What a recalculation did.

    path : the file that holds the result. formulas : how many formula cells the workbook has.
    recalculated : how many of them were evaluated. ours : how many of these call a function of ours.
    left_alone : how many have nothing to do with our functions and keep their stored values; refused : the rest.
    errors : how many of all show an error such as ``#N/A``.
    """

    path: Path
    formulas: int
    recalculated: int
    left_alone: int
    ours: int
    errors: int
    changed: tuple[ChangedCell, ...]
    checks: tuple[CheckCell, ...]
    refused: tuple[RefusedCell, ...] = ()
