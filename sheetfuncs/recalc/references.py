"""What a formula refers to: cells, ranges, names and functions, read from its text in one pass.

A range whose end is worked out (``A1:INDEX(…)``, ``OFFSET(…)``) may lie anywhere on the sheets that the formula names,
and ``INDIRECT`` anywhere in the workbook.
"""

from __future__ import annotations

from typing import NamedTuple

from ..xlsx.places import Area, column_letters, column_number
from .formulas import END, LAST_COLUMN, LAST_ROW, Token, tokens

EVERYWHERE = Area(1, 1, LAST_ROW, LAST_COLUMN)


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
    is_anywhere : whether that may lie on any sheet.
    """

    references: tuple[Reference, ...]
    names: tuple[tuple[str, str], ...]
    functions: frozenset[str]
    is_wide: bool
    is_anywhere: bool


def uses(formula: str, row: int, column: int) -> Uses:
    """Return what a formula in a cell uses; sheets and names in small letters, functions in capitals.

    Raises :class:`.formulas.FormulaTooLongError`.
    """
    references: list[Reference] = []
    names: dict[tuple[str, str], None] = {}
    functions = set()
    is_anywhere = False
    pieces = tokens(formula)
    for at, piece in enumerate(pieces):
        following = pieces[at + 1] if at + 1 < len(pieces) else None
        if piece.kind not in ("area", "word") or (following and following.text == "!"):
            continue
        if following and following.text == "(" and following.start == piece.end:
            functions.add(piece.text.upper())
            continue
        sheet = _sheet_of(pieces[:at])
        if sheet is None:
            continue
        if piece.kind == "area":
            references.append(_reference(sheet, piece.text, row, column))
            over_sheets = ":" in sheet or [one.text for one in pieces[max(at - 3, 0) : at : 2]] == [":", "!"]
            is_anywhere = is_anywhere or over_sheets
        else:
            names[sheet, piece.text.lower()] = None
    is_wide = "OFFSET" in functions or any(piece.text == ":" for piece in pieces)
    is_anywhere = is_anywhere or "INDIRECT" in functions
    return Uses(tuple(references), tuple(names), frozenset(functions), is_wide, is_anywhere)


def _sheet_of(before: list[Token]) -> str | None:
    """Return the sheet of what follows some tokens, "" where none is named; ``None`` where it is in another book."""
    if len(before) < 2 or before[-1].text != "!":
        return ""
    sheet = before[-2]
    if "[" in sheet.text or (len(before) > 2 and before[-3].kind == "bracket"):
        return None
    return (sheet.text[1:-1].replace("''", "'") if sheet.kind == "quoted" else sheet.text).lower()


def areas_of(text: str) -> list[SheetArea]:
    """Return the cells that a text such as ``Trees!$A$1:B2`` stands for."""
    return [reference.at(0, 0) for reference in uses(text, 0, 0).references]


def _reference(sheet: str, area: str, row: int, column: int) -> Reference:
    ends = END.findall(area)
    rows = [(fixed, int(end)) for fixed, end in ends if end.isdigit()] or [("$", 1), ("$", LAST_ROW)]
    columns = [(fixed, column_number(end)) for fixed, end in ends if end.isalpha()] or [("$", 1), ("$", LAST_COLUMN)]
    corners = rows[0], columns[0], rows[-1], columns[-1]
    moves = tuple(not fixed for fixed, _ in corners)
    if not any(moves):
        top, left, bottom, right = (corner for _, corner in corners)
        return Reference(sheet, Area(min(top, bottom), min(left, right), max(top, bottom), max(left, right)))
    from_cell = (corner if fixed else corner - start for (fixed, corner), start in zip(corners, (row, column) * 2))
    return Reference(sheet, Area(*from_cell), moves)


class Template(NamedTuple):
    """A formula with its relative references open, to be filled for one cell after another; copies of it are equal.

    text : a pattern for :meth:`str.format`. ends : what goes into it, as (whether a column, distance from the cell).
    """

    text: str
    ends: tuple[tuple[bool, int], ...]

    @classmethod
    def of(cls, formula: str, row: int, column: int) -> Template:
        """Take a formula as it stands in a cell; raises :class:`.formulas.FormulaTooLongError`."""
        ends: dict[tuple[bool, int], int] = {}
        pieces = []
        at = 0
        for token in tokens(formula):
            for match in END.finditer(token.text) if token.kind == "area" else ():
                fixed, end = match.groups()
                if not fixed:
                    is_column = not end.isdigit()
                    distance = column_number(end) - column if is_column else int(end) - row
                    opened = ends.setdefault((is_column, distance), len(ends))
                    pieces += [_escaped(formula[at : token.start + match.start()]), f"{{{opened}}}"]
                    at = token.start + match.end()
        return cls("".join([*pieces, _escaped(formula[at:])]), tuple(ends))

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


def _escaped(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}")
