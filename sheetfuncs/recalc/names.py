"""What formulas refer to, through defined names, too, of which a sheet's own come before those of the workbook.

A range whose end is worked out (``A1:INDEX(…)``, ``OFFSET(…)``) may lie anywhere on the sheets that the formula names,
``INDIRECT`` and a formula that cannot be read anywhere in the workbook.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import Iterable, NamedTuple

from ..xlsx.places import plain_sheet
from ..xlsx.workbook import Book, DefinedName
from .formulas import UnreadableFormulaError, has_service, plain_name
from .references import Cells, SheetArea, Template
from .tree import Call, Leaf, Node, Operation, Reader, all_nodes

_NOTHING: tuple[frozenset[Cells], bool] = (frozenset(), False)


@dataclass(frozen=True, eq=False)
class Formula:
    """A formula and all its copies on a sheet."""

    tree: Node
    template: Template


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
        self._reader = Reader(book.tables, "")
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

        Raises :class:`UnreadableFormulaError`.
        """
        item = self._names.get(sheet, {}).get(name)
        if item is None:
            return None
        if item not in self._formulas:
            # A file has it as in a sheet's first cell.
            tree = self._reader.read(item.text, 1, 1)
            self._formulas[item] = Formula(tree, Template.of_text(item.text, 1, 1))
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

    @property
    def everything(self) -> frozenset[SheetArea]:
        """All cells of the workbook."""
        return frozenset(Cells(sheet).at(1, 1) for sheet in self._names)

    def _read(self, formula: Formula, sheet: str) -> tuple[frozenset[Cells], bool]:
        nodes = list(all_nodes(formula.tree))
        calls = {node.written.upper() for node in nodes if isinstance(node, Call)}
        is_ours = any(plain_name(name) in self._ours or has_service(name) for name in calls)
        areas = [node for node in nodes if isinstance(node, Cells) and not node.is_outer]
        references = {one._replace(sheet=(one.sheet or sheet).lower()) for one in areas}
        for node in nodes:
            if isinstance(node, Leaf) and node.kind == "name":
                inner, calls_ours = self._of_name(plain_sheet(node.sheet[:-1]).lower() or sheet, node.text.lower())
                references |= inner
                is_ours = is_ours or calls_ours
        if "INDIRECT" in calls or any(one.is_of_several_sheets for one in areas):
            references |= {Cells(other) for other in self._names}
        elif "OFFSET" in calls or any(isinstance(node, Operation) and node.sign == ":" for node in nodes):
            references = {Cells(one.sheet) for one in references}
        return frozenset(references), is_ours

    def _of_name(self, sheet: str, name: str) -> tuple[frozenset[Cells], bool]:
        key = sheet, name
        if key not in self._of_names:
            self._of_names[key] = _NOTHING  # what a name that comes back to itself adds
            with suppress(UnreadableFormulaError):  # a formula that uses it is refused
                formula = self.name(sheet, name)
                if formula is not None:
                    self._of_names[key] = self._read(formula, sheet)
        return self._of_names[key]
