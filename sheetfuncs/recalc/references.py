"""What a formula refers to: cells, ranges, names and functions, read from its text in one pass.

A range whose end is worked out (``A1:INDEX(…)``, ``OFFSET(…)``) may lie anywhere on the sheets that the formula names,
and ``INDIRECT`` anywhere in the workbook.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from ..xlsx.places import Area, column_letters, column_number

LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
EVERYWHERE = Area(1, 1, LAST_ROW, LAST_COLUMN)

_ELEMENT = re.compile(
    r"""
    "(?:[^"]|"")*"
  | (?P<sheet>(?:'(?:[^']|'')*'|[^\W\d][\w.]*)!)?
    (?:
      (?P<c1>\$?[A-Za-z]{1,3})(?P<r1>\$?[1-9]\d{0,6})(?::(?P<c2>\$?[A-Za-z]{1,3})(?P<r2>\$?[1-9]\d{0,6}))?(?![\w.(!\\?])
    | (?P<left>\$?[A-Za-z]{1,3}):(?P<right>\$?[A-Za-z]{1,3})(?![\w.(!\\?])
    | (?P<top>\$?[1-9]\d{0,6}):(?P<bottom>\$?[1-9]\d{0,6})(?![\w.(!\\?])
    | (?P<word>[^\W\d][\w.\\?]*|\\[\w.\\?]*)(?P<call>\()?
    )
  | (?<![\w.])(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]?\d+)?
    """,
    re.VERBOSE,
)
_SHIFTED = re.compile(
    r"""
    "(?:[^"]|"")*" | '(?:[^']|'')*'! | \[[^\]]*\]
  | (?<![\w.$\\?])(?:
      (?P<c1>\$?[A-Za-z]{1,3})(?P<r1>\$?[1-9]\d{0,6})
    | (?P<left>\$?[A-Za-z]{1,3}):(?P<right>\$?[A-Za-z]{1,3})
    | (?P<top>\$?[1-9]\d{0,6}):(?P<bottom>\$?[1-9]\d{0,6})
    )(?![\w.(!\\?])
    """,
    re.VERBOSE,
)
#: The groups of that pattern, counted from 0, that are columns.
_COLUMN_GROUPS = (0, 2, 3)


class Uses(NamedTuple):
    """What a formula uses: areas by sheet ("" for its own), names by sheet, functions as they are written.

    is_wide : whether it works a range out, which may lie anywhere on the sheets that it names.
    """

    areas: tuple[tuple[str, Area], ...]
    names: tuple[tuple[str, str], ...]
    functions: frozenset[str]
    is_wide: bool


def uses(formula: str) -> Uses:
    """Return what a formula uses; sheets and names in small letters, functions in capitals."""
    areas: list[tuple[str, Area]] = []
    names: dict[tuple[str, str], None] = {}
    functions = set()
    at, is_wide = 0, False
    for match in _ELEMENT.finditer(formula):
        start = match.start()
        is_wide = is_wide or ":" in formula[at:start]  # a colon that belongs to no plain range
        at = match.end()
        if match.lastgroup is None or (start and formula[start - 1] == "]"):
            continue  # a text, a number, or a cell of another workbook
        written, word = match["sheet"] or "", match["word"]
        if "[" in written:
            continue
        sheet = _plain_sheet(written)
        area = None if word else _area(match)
        if area is not None:
            areas.append((sheet, area))
        elif match["call"]:
            functions.add(word.upper())
        else:
            names[sheet, match[0].rpartition("!")[2].lower()] = None
    return Uses(
        tuple(areas), tuple(names), frozenset(functions), is_wide or ":" in formula[at:] or "OFFSET" in functions
    )


def _plain_sheet(written: str) -> str:
    text = written[:-1]
    if text.startswith("'"):
        text = text[1:-1].replace("''", "'")
    return text.lower()


def _area(match: re.Match[str]) -> Area | None:
    if match["c1"]:
        left, top = column_number(match["c1"].lstrip("$")), int(match["r1"].lstrip("$"))
        right, bottom = left, top
        if match["c2"]:
            right, bottom = column_number(match["c2"].lstrip("$")), int(match["r2"].lstrip("$"))
    elif match["left"]:
        left, right = column_number(match["left"].lstrip("$")), column_number(match["right"].lstrip("$"))
        top, bottom = 1, LAST_ROW
    else:
        top, bottom = int(match["top"].lstrip("$")), int(match["bottom"].lstrip("$"))
        left, right = 1, LAST_COLUMN
    if max(left, right) > LAST_COLUMN or max(top, bottom) > LAST_ROW:
        return None  # a name, such as ABC1 is none but XYZ9 is
    return Area(min(top, bottom), min(left, right), max(top, bottom), max(left, right))


class Template:
    """A formula with the places of its relative references open, to be filled for one cell after another."""

    def __init__(self, formula: str, row: int, column: int) -> None:
        """Take a formula as it stands in a cell."""
        #: Texts, and between them distances from the cell: (whether of columns, how far).
        self._pieces: list[str | tuple[bool, int]] = []
        at = 0
        for match in _SHIFTED.finditer(formula):
            if not match.lastgroup:
                continue
            for number, end in enumerate(match.groups()):
                if end and not end.startswith("$"):
                    start, stop = match.span(number + 1)
                    is_column = number in _COLUMN_GROUPS
                    distance = column_number(end) - column if is_column else int(end) - row
                    self._pieces += [formula[at:start], (is_column, distance)]
                    at = stop
        self._pieces.append(formula[at:])

    @property
    def key(self) -> tuple[str | tuple[bool, int], ...]:
        """What all copies of a formula have in common."""
        return tuple(self._pieces)

    def at(self, row: int, column: int, is_name: bool = False) -> str:
        """Return the formula as it stands in a cell; raises ``ValueError`` where a reference would leave the sheet.

        is_name : whether what leaves the sheet comes in again on the other side, as it does in a name.
        """
        texts = []
        for piece in self._pieces:
            if isinstance(piece, str):
                texts.append(piece)
                continue
            is_column, distance = piece
            number, last = (column + distance, LAST_COLUMN) if is_column else (row + distance, LAST_ROW)
            if is_name:
                number = (number - 1) % last + 1
            if not 0 < number <= last:
                raise ValueError("a reference leaves the sheet")
            texts.append(column_letters(number) if is_column else str(number))
        return "".join(texts)


def shifted(formula: str, rows: int, columns: int) -> str | None:
    """Return a formula with its relative references moved, as when it is copied to another cell.

    ``None`` where one would leave the sheet.
    """
    try:
        return Template(formula, 1, 1).at(1 + rows, 1 + columns)
    except ValueError:
        return None
