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


class SheetArea(NamedTuple):
    """Cells of a sheet, whose name is in small letters."""

    sheet: str
    area: Area


class Reference(NamedTuple):
    """Cells that all copies of a formula refer to, each from its own cell.

    sheet : in small letters, "" for the formula's own. area : its corners; those that move with the formula are
    distances from its cell. moves : which corners do, ``None`` where none does.
    """

    sheet: str
    area: Area
    moves: tuple[bool, bool, bool, bool] | None = None

    def at(self, row: int, column: int) -> SheetArea:
        """Return the cells that the formula in a cell refers to; what leaves the sheet comes in on the other side."""
        if self.moves is None:
            return SheetArea(self.sheet, self.area)
        top, left, bottom, right = (
            (corner + start - 1) % last + 1 if moves else corner
            for corner, moves, start, last in zip(self.area, self.moves, (row, column) * 2, (LAST_ROW, LAST_COLUMN) * 2)
        )
        return SheetArea(self.sheet, Area(min(top, bottom), min(left, right), max(top, bottom), max(left, right)))


class Uses(NamedTuple):
    """What a formula uses: cells, names by sheet ("" for its own), functions as they are written.

    is_wide : whether it works a range out, which may lie anywhere on the sheets that it names.
    """

    references: tuple[Reference, ...]
    names: tuple[tuple[str, str], ...]
    functions: frozenset[str]
    is_wide: bool


def uses(formula: str, row: int, column: int) -> Uses:
    """Return what a formula in a cell uses; sheets and names in small letters, functions in capitals."""
    references: list[Reference] = []
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
        sheet = written[:-1].lower()
        if sheet.startswith("'"):
            sheet = sheet[1:-1].replace("''", "'")
        reference = None if word else _reference(sheet, match, row, column)
        if reference is not None:
            references.append(reference)
        elif match["call"]:
            functions.add(word.upper())
        else:
            names[sheet, match[0].rpartition("!")[2].lower()] = None
    is_wide = is_wide or ":" in formula[at:] or "OFFSET" in functions
    return Uses(tuple(references), tuple(names), frozenset(functions), is_wide)


def areas_of(text: str) -> list[SheetArea]:
    """Return the cells that a text such as ``Trees!$A$1:B2`` stands for."""
    return [reference.at(0, 0) for reference in uses(text, 0, 0).references]


def _reference(sheet: str, match: re.Match[str], row: int, column: int) -> Reference | None:
    """Return the cells of a match; ``None`` where they would lie beyond a sheet, so that it is a name: ``XYZ9``."""
    first, last = match["c1"] or match["left"] or "$A", match["c2"] or match["c1"] or match["right"] or "$XFD"
    top, bottom = match["r1"] or match["top"] or "$1", match["r2"] or match["r1"] or match["bottom"] or f"${LAST_ROW}"
    rows = int(top.lstrip("$")), int(bottom.lstrip("$"))
    columns = column_number(first.lstrip("$")), column_number(last.lstrip("$"))
    if max(columns) > LAST_COLUMN or max(rows) > LAST_ROW:
        return None
    moves = top[0] != "$", first[0] != "$", bottom[0] != "$", last[0] != "$"
    if not any(moves):
        return Reference(sheet, Area(min(rows), min(columns), max(rows), max(columns)))
    from_cell = (
        corner - start if is_moving else corner
        for corner, start, is_moving in zip((rows[0], columns[0], rows[1], columns[1]), (row, column) * 2, moves)
    )
    return Reference(sheet, Area(*from_cell), moves)


class Template(NamedTuple):
    """A formula with its relative references open, to be filled for one cell after another; copies of it are equal.

    text : a pattern for :meth:`str.format`. ends : what goes into it, as (whether a column, distance from the cell).
    """

    text: str
    ends: tuple[tuple[bool, int], ...]

    @classmethod
    def of(cls, formula: str, row: int, column: int) -> Template:
        """Take a formula as it stands in a cell."""
        ends: dict[tuple[bool, int], int] = {}
        pieces = []
        at = 0
        for match in _SHIFTED.finditer(formula):
            if not match.lastgroup:
                continue
            for number, end in enumerate(match.groups()):
                if end and end[0] != "$":
                    start, stop = match.span(number + 1)
                    is_column = number in _COLUMN_GROUPS
                    distance = column_number(end) - column if is_column else int(end) - row
                    opened = ends.setdefault((is_column, distance), len(ends))
                    pieces += [formula[at:start].replace("{", "{{").replace("}", "}}"), f"{{{opened}}}"]
                    at = stop
        pieces.append(formula[at:].replace("{", "{{").replace("}", "}}"))
        return cls("".join(pieces), tuple(ends))

    def at(self, row: int, column: int, is_name: bool = False) -> str:
        """Return the formula as it stands in a cell; raises ``ValueError`` where a reference would leave the sheet.

        is_name : whether what leaves the sheet comes in again on the other side, as it does in a name.
        """
        ends = []
        for is_column, distance in self.ends:
            number, last = (column + distance, LAST_COLUMN) if is_column else (row + distance, LAST_ROW)
            if is_name:
                number = (number - 1) % last + 1
            if not 0 < number <= last:
                raise ValueError("a reference leaves the sheet")
            ends.append(column_letters(number) if is_column else number)
        return self.text.format(*ends)

    def text_in(self, row: int, column: int) -> str | None:
        """Return the formula as it stands in a cell, ``None`` where a reference would leave the sheet."""
        try:
            return self.at(row, column)
        except ValueError:
            return None
