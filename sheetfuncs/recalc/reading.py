"""The formula cells of a workbook, each with its formula as a tree, and which cells it refers to, through names too.

A sheet's own names come before those of the workbook. A range whose end is worked out (``A1:INDEX(…)``, ``OFFSET(…)``)
may lie anywhere on the sheets that the formula names, ``INDIRECT`` and a formula that cannot be read anywhere in the
workbook.
"""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Iterable, Mapping

from ..functions.declare import Function
from ..xlsx.references import Area, plain_sheet
from ..xlsx.sheet import scan
from ..xlsx.values import Value
from ..xlsx.workbook import Book, DefinedName, Table
from ..xlsx.xml_cells import FormulaCell, Layout, ScannedSheet
from .formulas import Cells, SheetArea, Template, UnreadableFormulaError, has_service, plain_name
from .tree import Call, Leaf, Node, Operation, Reader, all_nodes, written

_NOTHING: tuple[frozenset[Cells], bool] = (frozenset(), False)


@dataclass(frozen=True, eq=False)
class Formula:
    """A formula and all its copies on a sheet."""

    tree: Node
    template: Template


@dataclass(slots=True)
class PlannedCell:
    """A formula cell, what is known of the formula beforehand, and what the cell holds afterwards."""

    sheet: str
    cell: FormulaCell
    area: SheetArea  # the cells that its answer fills
    is_empty: bool  # whether the file holds no value for it; an empty text is one
    formula: Formula | None = None  # None where the cell has none that can be read
    text: str = ""  # the formula's text for the engine
    unreadable: str = "holds a formula without a text"  # why there is no formula where there is none
    ours: int = 0  # calls of our functions
    is_ours: bool = False  # whether it calls a function of ours, by a name too
    is_evaluated: bool = False
    refusal: str = ""  # why it is not written although it is ours to write
    value: Value = None

    @property
    def where(self) -> str:
        """The cell as a person names it."""
        return f"{self.sheet}!{self.cell.name}"

    @property
    def at(self) -> tuple[str, int, int]:
        """The cell as the engine finds it: its sheet, row and column."""
        return self.sheet, self.cell.row, self.cell.column

    def refuse(self, why: str) -> None:
        """Have the cell keep its stored value."""
        self.refusal, self.is_evaluated = why, False


@dataclass
class PlannedSheet:
    """A worksheet with its formula cells.

    filled : the evaluated array formulas over several cells, with those cells. layout : of these cells.
    """

    scanned: ScannedSheet
    cells: list[PlannedCell] = field(default_factory=list)
    filled: list[tuple[PlannedCell, Area]] = field(default_factory=list)
    layout: Layout = field(default_factory=Layout)


class Formulas:
    """All formula cells of a workbook, in the order of the sheets, and what each refers to."""

    def __init__(self, book: Book, functions: Iterable[Function] = ()) -> None:
        """Read all worksheets; functions : those that are ours."""
        self._ours = {function.worksheet_name for function in functions}
        self._tables = book.tables
        self._names: dict[str, dict[str, DefinedName]] = {}
        for number, sheet in enumerate(book.sheets):
            of_all = {item.name.lower(): item for item in book.defined_names if item.sheet is None}
            own = {item.name.lower(): item for item in book.defined_names if item.sheet == number}
            self._names[sheet.name.lower()] = {**of_all, **own}
        self._formulas_of_names: dict[DefinedName, Formula] = {}
        self._known: dict[Formula, tuple[frozenset[SheetArea], list[Cells], bool]] = {}
        self._of_names: dict[tuple[str, str], tuple[frozenset[Cells], bool]] = {}
        self.sheets = [
            _read_sheet(scan(book.package.read(sheet.part), sheet.name, sheet.part, book.package.name), book.tables)
            for sheet in book.sheets
            if sheet.part
        ]
        self.cells = [planned for sheet in self.sheets for planned in sheet.cells]
        self.references = [self._refers_to(planned) for planned in self.cells]

    def name(self, sheet: str, name: str) -> Formula | None:
        """Return what a name means on a sheet, both in small letters; ``None`` where the workbook does not define it.

        Raises :class:`UnreadableFormulaError`.
        """
        item = self._names.get(sheet, {}).get(name)
        if item is None:
            return None
        if item not in self._formulas_of_names:
            # A file has it as in a sheet's first cell.
            tree = Reader(self._tables, "").read(item.text, 1, 1)
            self._formulas_of_names[item] = Formula(tree, Template.of_text(item.text, 1, 1))
        return self._formulas_of_names[item]

    def _refers_to(self, planned: PlannedCell) -> frozenset[SheetArea]:
        """Return the areas that a cell's formula refers to, and note whether it calls a function of ours."""
        formula, cell = planned.formula, planned.cell
        if cell.formula_kind == "dataTable":
            return _around(planned)
        if formula is None:
            return frozenset(Cells(sheet).at(1, 1) for sheet in self._names)
        if formula not in self._known:
            found, is_ours = self._references(formula, planned.sheet.lower())
            moving = [one for one in found if one.moves]
            self._known[formula] = frozenset(one.at(1, 1) for one in found if not one.moves), moving, is_ours
        fixed, moving, planned.is_ours = self._known[formula]
        return fixed.union([one.at(cell.row, cell.column) for one in moving]) if moving else fixed

    def _references(self, formula: Formula, sheet: str) -> tuple[frozenset[Cells], bool]:
        """Return what all copies of a formula refer to, and whether they call a function of ours."""
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
                    self._of_names[key] = self._references(formula, sheet)
        return self._of_names[key]


def _around(planned: PlannedCell) -> frozenset[SheetArea]:
    """Return what a what-if table depends on: its inputs, and the values and formulas around it."""
    table, inputs = planned.cell.area, planned.cell.inputs
    assert table is not None
    top, left = max(table.top - 1, 1), max(table.left - 1, 1)
    formulas_from = left if len(inputs) == 2 else table.left  # with two inputs the formula stands in the corner
    around = [Area(top, formulas_from, top, table.right), Area(table.top, left, table.bottom, left)]
    around += [cells.at(0, 0).area for cells in (Cells.read(text, 0, 0) for text in inputs) if cells]
    return frozenset(SheetArea(planned.sheet.lower(), area) for area in around)


def _read_sheet(scanned: ScannedSheet, tables: Mapping[str, Table]) -> PlannedSheet:
    sheet, reader = PlannedSheet(scanned), Reader(tables, scanned.name)
    may_be_structured = re.compile("|".join([r"\[", *map(re.escape, tables)]), re.IGNORECASE).search
    formulas: dict[Template, Formula] = {}
    shared: dict[str, Template] = {}
    above: dict[int, Formula] = {}  # by column: most formulas are copies of the one above
    for cell in scanned.formulas:
        row, column, text = cell.row, cell.column, cell.formula
        fills = SheetArea(scanned.name.lower(), cell.area or Area(row, column, row, column))
        is_empty = not cell.raw_stored and cell.kind not in ("str", "inlineStr")
        planned = PlannedCell(scanned.name, cell, fills, is_empty)
        sheet.cells.append(planned)
        if cell.formula_kind == "dataTable":
            planned.unreadable = "is a what-if table, which only office programs work out"
            continue
        try:
            if cell.formula_kind == "shared":
                if cell.group not in shared:
                    shared[cell.group] = Template.of_text(text, row, column)
                first = shared[cell.group]
                text = first.at(row, column) if first.stays_on_sheet(row, column) else ""
            if not text:
                continue
            known = above.get(column)
            if known is None or known.template.at(row, column) != text:
                # In another row, the same structured reference stands for other cells.
                tree = reader.read(text, row, column) if may_be_structured(text) else None
                template = written(tree) if tree else Template.of_text(text, row, column)
                if template not in formulas:
                    formulas[template] = Formula(tree or reader.read(text, row, column), template)
                known = above[column] = formulas[template]
            planned.formula = known
        except UnreadableFormulaError as error:
            planned.unreadable = str(error)
    return sheet
