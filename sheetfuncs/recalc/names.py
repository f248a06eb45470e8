"""The defined names of a workbook, looked up from a sheet: a sheet's own names come before those of the workbook."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import FrozenSet, Iterable, Iterator, List, Mapping, NamedTuple, Sequence, Tuple

from ..xlsx.places import Area
from ..xlsx.workbook import Book, DefinedName, Table
from .dependence import SheetArea
from .formulas import FormulaTooLongError, has_service, plain_name
from .references import EVERYWHERE, Template, uses
from .tables import NotInTableError, with_a1_references

_PLAIN = re.compile(
    r"(?:'(?:[^'\[]|'')+'|[^\W\d][\w.]*)!\$[A-Z]{1,3}\$[1-9]\d*(?::\$[A-Z]{1,3}\$[1-9]\d*)?", re.IGNORECASE
)
_NOTHING: tuple[frozenset[SheetArea], bool] = (frozenset(), False)


def is_plain(text: str) -> bool:
    """Return whether a name stands for one range at a fixed area_used, which every program takes alike."""
    return _PLAIN.fullmatch(text) is not None


def _with_a1(text: str, tables: Mapping[str, Table]) -> str:
    try:
        return with_a1_references(text, tables, "", 0, 0)
    except (NotInTableError, FormulaTooLongError):
        return text  # a formula that uses it is refused as one that cannot be read


class SheetNames(Mapping[str, str]):
    """What names mean on one sheet, by the names in small letters."""

    def __init__(self, names: Iterable[DefinedName], sheet: int | None) -> None:
        """Take all names of a workbook; sheet : the number of the sheet, counted from 0, ``None`` for none."""
        names = list(names)
        self._texts = {item.name.lower(): item.text for item in names if item.sheet is None}
        own = {item.name.lower(): item.text for item in names if sheet is not None and item.sheet == sheet}
        self._texts.update(own)

    def __getitem__(self, name: str) -> str:
        return self._texts[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._texts)

    def __len__(self) -> int:
        return len(self._texts)


class _Moving(NamedTuple):
    """An area that copies of a formula refer to, as it is for one cell, and which of its ends move with the cell."""

    sheet: str
    area: Area
    moves: Area
    row: int
    column: int

    def at(self, row: int, column: int) -> SheetArea:
        """Return the area for a cell."""
        down, along = row - self.row, column - self.column
        (top, left, bottom, right), moves = self.area, self.moves
        first, last = top + down * moves.top, bottom + down * moves.bottom
        start, end = left + along * moves.left, right + along * moves.right
        return SheetArea(self.sheet, Area(min(first, last), min(start, end), max(first, last), max(start, end)))


#: What copies of a formula refer to: areas that stay, areas that move, and whether it calls a function of ours.
_Known = Tuple[FrozenSet[SheetArea], List[_Moving], bool]
_EACH_ITS_OWN: _Known = (frozenset(), [], False)


class References:
    """Finds what the formulas of a workbook refer to, through names and tables too."""

    def __init__(self, book: Book, ours: Iterable[str]) -> None:
        """Take the workbook and the names of our functions."""
        self._ours = frozenset(ours)
        self._sheets: Sequence[str] = [sheet.name.lower() for sheet in book.sheets]
        texts = [replace(item, text=_with_a1(item.text, book.tables)) for item in book.defined_names]
        self._names = {name: SheetNames(texts, number) for number, name in enumerate(self._sheets)}
        self._known: dict[tuple[str, tuple], _Known] = {}
        self._of_names: dict[tuple[str, str, int, int], tuple[frozenset[SheetArea], bool]] = {}

    def names_on(self, sheet: str) -> SheetNames:
        """Return what names mean on a sheet."""
        return self._names[sheet.lower()]

    def of(self, template: Template, sheet: str, row: int, column: int) -> tuple[frozenset[SheetArea], bool]:
        """Return the areas that a formula refers to in a cell, and whether it calls a function of ours."""
        key = sheet.lower(), template.key
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._of_copies(template, sheet.lower(), row, column)
        if known is _EACH_ITS_OWN:
            return self._of_text(template.at(row, column), sheet.lower(), row, column)
        fixed, moving, is_ours = known
        return fixed.union(one.at(row, column) for one in moving) if moving else fixed, is_ours

    def _of_copies(self, template: Template, sheet: str, row: int, column: int) -> _Known:
        """Return what all copies of a formula refer to, found by looking at two of them."""
        here, is_ours = self._of_text(template.at(row, column), sheet, row, column)
        areas = uses(template.at(row, column)).areas
        try:
            others = uses(template.at(row + 1, column + 1)).areas
            there = self._of_text(template.at(row + 1, column + 1), sheet, row + 1, column + 1)[0]
        except ValueError:
            return _EACH_ITS_OWN
        moving = [
            _Moving(other or sheet, area, Area(*(int(a != b) for a, b in zip(area, moved))), row, column)
            for (other, area), (_, moved) in zip(areas, others)
            if area != moved
        ]
        fixed = here - {one.at(row, column) for one in moving}
        if there - {one.at(row + 1, column + 1) for one in moving} - fixed:
            return _EACH_ITS_OWN  # through a name that means other cells elsewhere
        return fixed, moving, is_ours

    def _of_text(self, formula: str, sheet: str, row: int, column: int) -> tuple[frozenset[SheetArea], bool]:
        found = uses(formula)
        is_ours = any(plain_name(name) in self._ours or has_service(name) for name in found.functions)
        areas = {SheetArea(other or sheet, area) for other, area in found.areas}
        for other, name in found.names:
            inner, calls_ours = self._of_name(other or sheet, name, row, column)
            areas |= inner
            is_ours = is_ours or calls_ours
        if "INDIRECT" in found.functions:
            areas |= {SheetArea(other, EVERYWHERE) for other in self._sheets}
        elif found.is_wide:
            areas = {SheetArea(other, EVERYWHERE) for other, _ in areas}
        return frozenset(areas), is_ours

    def _of_name(self, sheet: str, name: str, row: int, column: int) -> tuple[frozenset[SheetArea], bool]:
        text = self._names[sheet].get(name) if sheet in self._names else None
        if text is None:
            return _NOTHING
        template = Template(text, 1, 1)  # a file has it as in a sheet's first cell
        key = (sheet, name, row, column) if len(template.key) > 1 else (sheet, name, 0, 0)
        if key not in self._of_names:
            self._of_names[key] = _NOTHING  # what a name that comes back to itself adds
            self._of_names[key] = self._of_text(template.at(row, column, is_name=True), sheet, row, column)
        return self._of_names[key]
