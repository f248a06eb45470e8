"""The defined names of a workbook, looked up from a sheet: a sheet's own names come before those of the workbook."""

from __future__ import annotations

from contextlib import suppress
from typing import Iterable, NamedTuple

from ..xlsx.workbook import Book, DefinedName
from .formulas import FormulaTooLongError, has_service, plain_name, tokens
from .references import Cells, SheetArea, Template
from .tables import NotInTableError, with_cells
from .tree import Formula

_NOTHING: tuple[frozenset[Cells], bool] = (frozenset(), False)


class Known(NamedTuple):
    """What all copies of a formula refer to, and whether they call a function of ours."""

    fixed: frozenset[SheetArea]
    moving: tuple[Cells, ...]
    is_ours: bool


class References:
    """Finds what the formulas of a workbook refer to, through names and tables too."""

    def __init__(self, book: Book, ours: Iterable[str]) -> None:
        """Take the workbook and the names of our functions."""
        self._ours = frozenset(ours)
        self._tables = book.tables
        self._names: dict[str, dict[str, DefinedName]] = {}
        for number, sheet in enumerate(book.sheets):
            of_all = {item.name.lower(): item for item in book.defined_names if item.sheet is None}
            own = {item.name.lower(): item for item in book.defined_names if item.sheet == number}
            self._names[sheet.name.lower()] = {**of_all, **own}
        self._formulas: dict[DefinedName, Formula] = {}
        self._known: dict[Formula, Known] = {}
        self._of_names: dict[tuple[str, str], tuple[frozenset[Cells], bool]] = {}

    def name(self, sheet: str, name: str) -> Formula | None:
        """Return what a name means on a sheet, both in small letters; ``None`` where the workbook does not define it.

        Raises :class:`FormulaTooLongError`.
        """
        item = self._names.get(sheet, {}).get(name)
        if item is None:
            return None
        if item not in self._formulas:
            pieces = tokens(item.text)
            with suppress(NotInTableError):  # a formula that uses it is refused as one that cannot be read
                pieces = with_cells(pieces, self._tables, "", 0, 0)
            # A file has it as in a sheet's first cell.
            self._formulas[item] = Formula(pieces, Template.of_tokens(pieces, 1, 1), 1, 1)
        return self._formulas[item]

    def of(self, formula: Formula, sheet: str, row: int, column: int) -> tuple[frozenset[SheetArea], bool]:
        """Return the areas that a formula of a sheet refers to in a cell, and whether it calls a function of ours."""
        if formula not in self._known:
            found, is_ours = self._read(formula, sheet.lower())
            moving = tuple(one for one in found if one.moves)
            fixed = frozenset(one.at(row, column) for one in found if not one.moves)
            self._known[formula] = Known(fixed, moving, is_ours)
        fixed, moving, is_ours = self._known[formula]
        return fixed.union([one.at(row, column) for one in moving]) if moving else fixed, is_ours

    def _read(self, formula: Formula, sheet: str) -> tuple[frozenset[Cells], bool]:
        found = formula.uses
        is_ours = any(plain_name(name) in self._ours or has_service(name) for name in found.functions)
        references = {one._replace(sheet=one.sheet or sheet) for one in found.references}
        for other, name in found.names:
            inner, calls_ours = self._of_name(other or sheet, name)
            references |= inner
            is_ours = is_ours or calls_ours
        if found.is_anywhere:
            references |= {Cells(other) for other in self._names}
        elif found.is_wide:
            references = {Cells(one.sheet) for one in references}
        return frozenset(references), is_ours

    def _of_name(self, sheet: str, name: str) -> tuple[frozenset[Cells], bool]:
        key = sheet, name
        if key not in self._of_names:
            self._of_names[key] = _NOTHING  # what a name that comes back to itself adds
            with suppress(FormulaTooLongError):  # a formula that uses it is refused as one that cannot be read
                formula = self.name(sheet, name)
                if formula is not None:
                    self._of_names[key] = self._read(formula, sheet)
        return self._of_names[key]
