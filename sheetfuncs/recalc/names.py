"""The defined names of a workbook, looked up from a sheet: a sheet's own names come before those of the workbook."""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import replace
from typing import Iterable, Mapping, NamedTuple, Sequence

from ..xlsx.workbook import Book, DefinedName, Table
from .formulas import FormulaTooLongError, has_service, plain_name
from .references import EVERYWHERE, Reference, SheetArea, Template, uses
from .tables import NotInTableError, with_a1_references

_PLAIN = re.compile(
    r"(?:'(?:[^'\[]|'')+'|[^\W\d][\w.]*)!\$[A-Z]{1,3}\$[1-9]\d*(?::\$[A-Z]{1,3}\$[1-9]\d*)?", re.IGNORECASE
)
_NOTHING: tuple[frozenset[Reference], bool] = (frozenset(), False)


def is_plain(text: str) -> bool:
    """Return whether a name stands for fixed cells, which every program takes alike."""
    return _PLAIN.fullmatch(text) is not None


def _with_a1(text: str, tables: Mapping[str, Table]) -> str:
    try:
        return with_a1_references(text, tables, "", 0, 0)
    except (NotInTableError, FormulaTooLongError):
        return text  # a formula that uses it is refused as one that cannot be read


def _names_on(names: Sequence[DefinedName], sheet: int) -> dict[str, str]:
    """Return what names mean on a sheet, which is given by its number counted from 0."""
    own = {item.name.lower(): item.text for item in names if item.sheet == sheet}
    return {**{item.name.lower(): item.text for item in names if item.sheet is None}, **own}


class Known(NamedTuple):
    """What all copies of a formula refer to, and whether they call a function of ours."""

    fixed: frozenset[SheetArea]
    moving: frozenset[Reference]
    is_ours: bool


class References:
    """Finds what the formulas of a workbook refer to, through names and tables too."""

    def __init__(self, book: Book, ours: Iterable[str]) -> None:
        """Take the workbook and the names of our functions."""
        self._ours = frozenset(ours)
        self._sheets: Sequence[str] = [sheet.name.lower() for sheet in book.sheets]
        texts = [replace(item, text=_with_a1(item.text, book.tables)) for item in book.defined_names]
        self._names = {name: _names_on(texts, number) for number, name in enumerate(self._sheets)}
        self._known: dict[tuple[str, Template], Known] = {}
        self._of_names: dict[tuple[str, str], tuple[frozenset[Reference], bool]] = {}

    def names_on(self, sheet: str) -> Mapping[str, str]:
        """Return what names mean on a sheet, by the names in small letters."""
        return self._names[sheet.lower()]

    def of(self, template: Template, sheet: str, row: int, column: int) -> tuple[frozenset[SheetArea], bool]:
        """Return the areas that a formula refers to in a cell, and whether it calls a function of ours."""
        key = sheet, template
        if key not in self._known:
            found, is_ours = self._read(template.at(row, column), sheet.lower(), row, column)
            moving = frozenset(one for one in found if one.moves)
            self._known[key] = Known(frozenset(one.at(row, column) for one in found - moving), moving, is_ours)
        fixed, moving, is_ours = self._known[key]
        return fixed.union([one.at(row, column) for one in moving]) if moving else fixed, is_ours

    def _read(self, formula: str, sheet: str, row: int, column: int) -> tuple[frozenset[Reference], bool]:
        found = uses(formula, row, column)
        is_ours = any(plain_name(name) in self._ours or has_service(name) for name in found.functions)
        references = {one._replace(sheet=one.sheet or sheet) for one in found.references}
        for other, name in found.names:
            inner, calls_ours = self._of_name(other or sheet, name)
            references |= inner
            is_ours = is_ours or calls_ours
        if found.is_anywhere:
            references |= {Reference(other, EVERYWHERE) for other in self._sheets}
        elif found.is_wide:
            references = {Reference(one.sheet, EVERYWHERE) for one in references}
        return frozenset(references), is_ours

    def _of_name(self, sheet: str, name: str) -> tuple[frozenset[Reference], bool]:
        text = self._names.get(sheet, {}).get(name)
        if text is None:
            return _NOTHING
        key = sheet, name
        if key not in self._of_names:
            self._of_names[key] = _NOTHING  # what a name that comes back to itself adds
            with suppress(FormulaTooLongError):  # a formula that uses it is refused as one that cannot be read
                self._of_names[key] = self._read(text, sheet, 1, 1)  # a file has it as in a sheet's first cell
        return self._of_names[key]
