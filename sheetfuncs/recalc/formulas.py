"""The text of a formula, in pieces as the engine's own parser reads it: names of functions, references to cells.

Files hold formulas in one spelling whatever the user's language: English names, commas, A1 references. What
differs is how a program writes the name of a function that came with an add-in: ``SHEETFUNCS.NAME``,
``[1]!NAME``, ``'C:\\tools\\x.xlam'!NAME``, ``_xll.NAME``.
"""

from __future__ import annotations

import re
from itertools import zip_longest
from typing import Iterable, NamedTuple

import formualizer

from ..xlsx.references import Area, column_letters, column_number, quoted_sheet

#: The service's name, which Calc puts before a function's name in an .xlsx.
SERVICE = "SHEETFUNCS"
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384

_PREFIX = re.compile(rf"^(?:_xll\.|_xlfn\.|_xludf\.|_xlws\.|{SERVICE}\.)+", re.IGNORECASE)
_OFFICE_PREFIX = re.compile(r"(?:_xlfn\.|_xlws\.)+", re.IGNORECASE)
_TOO_DEEP = "holds a formula of more than 72 brackets or 256 operations in one another"
#: How some programs write ``[[#This Row],[Column]]``.
_BARE_COLUMN = re.compile(r"(\[\[#This Row\],)([^\[\]]+)\]", re.IGNORECASE)
_CELL, _COLUMN, _ROW = r"\$?[A-Za-z]{1,3}\$?[1-9]\d{0,6}", r"\$?[A-Za-z]{1,3}", r"\$?[1-9]\d{0,6}"
_AREA = re.compile(rf"{_CELL}(?::{_CELL})?|{_COLUMN}:{_COLUMN}|{_ROW}:{_ROW}")
#: One end of an area: whether it stays, and its column's letters or its row.
_END = re.compile(r"(\$?)([A-Za-z]+|\d+)")


class UnreadableFormulaError(ValueError):
    """A formula that no office program takes, or that goes beyond this recalculation; the text gives the reason."""


class Token(NamedTuple):
    """A piece of a formula's text. kind : the engine's name of it, such as "Operand" or "Func"."""

    kind: str
    text: str


def tokens(formula: str) -> list[Token]:
    """Return the pieces of a formula, which joined are its text; raises :class:`UnreadableFormulaError`."""
    text = f"={formula}"
    raw = text.encode()
    try:
        return [Token(str(one.token_type), raw[one.start : one.end].decode()) for one in formualizer.tokenize(text)]
    except formualizer.TokenizerError:
        raise UnreadableFormulaError("is beyond this recalculation") from None


def syntax(formula: str) -> formualizer.ASTNode:
    """Return a formula as the engine reads it; raises :class:`UnreadableFormulaError`."""
    if _BARE_COLUMN.search(formula):
        formula = "".join(
            one.text if one.text.startswith('"') else _BARE_COLUMN.sub(r"\1[\2]]", one.text) for one in tokens(formula)
        )
    try:
        return formualizer.parse(f"={formula}")
    except (formualizer.ParserError, formualizer.TokenizerError) as error:
        is_deep = "too deep" in str(error) or "limit" in str(error)
        raise UnreadableFormulaError(_TOO_DEEP if is_deep else "is beyond this recalculation") from None


# -- names of functions ----------------------------------------------------------------------------------------


def plain_name(written: str) -> str:
    """Return a function's name in capitals without what programs put before it.

    >>> plain_name("[1]!_xll.Latest_Prune_Date"), plain_name("_xlfn.XLOOKUP")
    ('LATEST_PRUNE_DATE', 'XLOOKUP')
    """
    return _PREFIX.sub("", written.rpartition("!")[2]).upper()


def has_service(written: str) -> bool:
    """Return whether a name is written as one of ours, whether we have it or not."""
    prefix = _PREFIX.match(written)
    return prefix is not None and f"{SERVICE}." in prefix[0].upper()


def office_name(written: str) -> str:
    """Return a built-in function's name in capitals without the marks of newer functions."""
    return _OFFICE_PREFIX.sub("", written, count=1).upper()


# -- references, as all copies of a formula share them ---------------------------------------------------------


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
    def read(cls, text: str, row: int, column: int, sheet: str = "") -> Cells | None:
        """Take a reference such as ``$A1:B$2`` as it stands in the formula of a cell; ``None`` where it is a name."""
        if not _AREA.fullmatch(text):
            return None
        rows, columns = [], []
        for fixed, end in _END.findall(text):
            is_row = end.isdigit()
            number, start, last = (int(end), row, LAST_ROW) if is_row else (column_number(end), column, LAST_COLUMN)
            if number > last:  # XYZ9 is a name
                return None
            (rows if is_row else columns).append(End(False, number) if fixed else End(True, number - start))
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
    def is_of_several_sheets(self) -> bool:
        """Whether it goes over a row of sheets, such as ``May:July``."""
        return ":" in self.sheet and not self.is_outer

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
    def of_text(cls, formula: str, row: int, column: int) -> Template:
        """Take a formula as it stands in a cell; raises :class:`UnreadableFormulaError`."""
        parts: list[str | Cells] = []
        for token in tokens(formula):
            sheet, mark, area = token.text.rpartition("!")
            cells = Cells.read(area, row, column) if token.kind == "Operand" else None
            parts += [sheet + mark, cells] if cells else [token.text]
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
