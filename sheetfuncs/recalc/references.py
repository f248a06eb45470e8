"""What a formula refers to: cells, ranges, names and functions.

A range whose end is worked out (``A1:INDEX(…)``, ``OFFSET(…)``) may lie anywhere on the sheets that the formula names,
and ``INDIRECT`` anywhere in the workbook.
"""

from __future__ import annotations

from itertools import zip_longest
from typing import Iterable, NamedTuple, Sequence

from ..xlsx.places import Area, column_letters, column_number, quoted_sheet
from .formulas import END, LAST_COLUMN, LAST_ROW, Token


class SheetArea(NamedTuple):
    """Cells of a sheet, whose name is in small letters."""

    sheet: str
    area: Area


class End(NamedTuple):
    """The row or the column of a reference's corner; of one that moves with the formula the distance from its cell."""

    moves: bool
    number: int

    def at(self, start: int, last: int) -> int:
        """Return the number for a formula; what leaves the sheet comes in on the other side."""
        return (self.number + start - 1) % last + 1 if self.moves else self.number


class Cells(NamedTuple):
    """Cells that all copies of a formula refer to, each from its own cell.

    sheet : as a person names it, with ``[1]`` before it where it is in another book; "" for the formula's own.
    rows, columns : of one or two corners; none where all count.
    """

    sheet: str
    rows: tuple[End, ...] = ()
    columns: tuple[End, ...] = ()

    @classmethod
    def read(cls, text: str, row: int, column: int, sheet: str = "") -> Cells:
        """Take a reference such as ``$A1:B$2`` as it stands in the formula of a cell."""
        rows, columns = [], []
        for fixed, end in END.findall(text):
            numbers, number, start = (rows, int(end), row) if end.isdigit() else (columns, column_number(end), column)
            numbers.append(End(False, number) if fixed else End(True, number - start))
        return cls(sheet, tuple(rows), tuple(columns))

    @property
    def is_many(self) -> bool:
        """Whether it is written as a range."""
        return len(self.rows) != 1 or len(self.columns) != 1

    @property
    def is_outer(self) -> bool:
        """Whether it is in another book."""
        return "[" in self.sheet

    @property
    def moves(self) -> bool:
        """Whether it goes along with the formula."""
        return any(end.moves for end in self.rows + self.columns)

    def at(self, row: int, column: int) -> SheetArea:
        """Return the cells for the formula of a cell."""
        rows = [end.at(row, LAST_ROW) for end in self.rows] or (1, LAST_ROW)
        columns = [end.at(column, LAST_COLUMN) for end in self.columns] or (1, LAST_COLUMN)
        return SheetArea(self.sheet.lower(), Area(min(rows), min(columns), max(rows), max(columns)))


class Template(NamedTuple):
    """A formula with its relative references open, to be filled for one cell after another; copies of it are equal.

    text : a pattern for :meth:`str.format`. ends : what goes into it, as (whether a column, distance from the cell).
    """

    text: str
    ends: tuple[tuple[bool, int], ...]

    @classmethod
    def of(cls, pieces: Iterable[str | Cells]) -> Template:
        """Take a formula in pieces."""
        ends: dict[tuple[bool, int], int] = {}

        def opened(end: End, is_column: bool) -> str:
            if end.moves:
                return f"{{{ends.setdefault((is_column, end.number), len(ends))}}}"
            return f"${column_letters(end.number) if is_column else end.number}"

        def pattern(piece: str | Cells) -> str:
            if isinstance(piece, str):
                return _escaped(piece)
            columns, rows = [opened(end, True) for end in piece.columns], [opened(end, False) for end in piece.rows]
            sheet = f"{_escaped(quoted_sheet(piece.sheet))}!" if piece.sheet else ""
            return sheet + ":".join(map("".join, zip_longest(columns, rows, fillvalue="")))

        return cls("".join(map(pattern, pieces)), tuple(ends))

    @classmethod
    def of_tokens(cls, pieces: Sequence[Token], row: int, column: int) -> Template:
        """Take the tokens of a formula as it stands in a cell."""
        parts: list[str | Cells] = []
        end = 0
        for piece in pieces:
            if piece.start > end:
                parts.append(" ")
            parts.append(Cells.read(piece.text, row, column) if piece.kind == "area" else piece.text)
            end = piece.end
        return cls.of(parts)

    def at(self, row: int, column: int) -> str:
        """Return the formula as it stands in a cell; what leaves the sheet comes in again on the other side."""
        ends = (
            column_letters((column + distance - 1) % LAST_COLUMN + 1)
            if is_column
            else (row + distance - 1) % LAST_ROW + 1
            for is_column, distance in self.ends
        )
        return self.text.format(*ends)

    def stays_on_sheet(self, row: int, column: int) -> bool:
        """Return whether no reference would leave the sheet in a cell."""
        return all(
            0 < (column if is_column else row) + distance <= (LAST_COLUMN if is_column else LAST_ROW)
            for is_column, distance in self.ends
        )


def _escaped(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}")


class Uses(NamedTuple):
    """What a formula uses: cells, names by sheet ("" for its own), functions as they are written.

    is_wide : whether it works a range out, which may lie anywhere on the sheets that it names.
    is_anywhere : whether that may lie on any sheet.
    """

    references: tuple[Cells, ...]
    names: tuple[tuple[str, str], ...]
    functions: frozenset[str]
    is_wide: bool
    is_anywhere: bool


def uses(pieces: Sequence[Token], row: int, column: int) -> Uses:
    """Return what a formula in a cell uses, whether or not it can be evaluated.

    pieces : its tokens. Names come in small letters, functions in capitals.
    """
    references: list[Cells] = []
    names: dict[tuple[str, str], None] = {}
    functions = set()
    is_anywhere = False
    for at, piece in enumerate(pieces):
        following = pieces[at + 1] if at + 1 < len(pieces) else None
        if piece.kind not in ("area", "word") or (following and following.text == "!"):
            continue
        if following and following.text == "(" and following.start == piece.end:
            functions.add(piece.text.upper())
            continue
        sheet = _sheet_of(pieces[max(at - 3, 0) : at])
        if sheet is None:
            continue
        if piece.kind == "area":
            references.append(Cells.read(piece.text, row, column, sheet))
            over_sheets = ":" in sheet or [one.text for one in pieces[max(at - 3, 0) : at : 2]] == [":", "!"]
            is_anywhere = is_anywhere or over_sheets
        else:
            names[sheet.lower(), piece.text.lower()] = None
    is_wide = "OFFSET" in functions or any(piece.text == ":" for piece in pieces)
    is_anywhere = is_anywhere or "INDIRECT" in functions
    return Uses(tuple(references), tuple(names), frozenset(functions), is_wide, is_anywhere)


def _sheet_of(before: Sequence[Token]) -> str | None:
    """Return the sheet of what follows some tokens, "" where none is named; ``None`` where it is in another book."""
    if len(before) < 2 or before[-1].text != "!":
        return ""
    sheet = before[-2]
    if "[" in sheet.text or (len(before) > 2 and before[-3].kind == "bracket"):
        return None
    return plain_sheet(sheet.text)


def plain_sheet(written: str) -> str:
    """Return a sheet's name as a person writes it: ``Tree's`` for ``'Tree''s'``."""
    return written[1:-1].replace("''", "'") if written.startswith("'") else written
