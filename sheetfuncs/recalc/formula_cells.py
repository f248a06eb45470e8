"""The formula cells of a workbook, each with its formula in A1 references, and which of them depend on which."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Mapping, Sequence

from ..functions.declare import Function
from ..xlsx.places import Area
from ..xlsx.sheet import scan
from ..xlsx.values import Value
from ..xlsx.workbook import Book, Table
from ..xlsx.xml_cells import FormulaCell, Layout, ScannedSheet
from .dependence import Dependence
from .formulas import UnreadableFormulaError
from .names import Formula, References
from .references import Cells, SheetArea, Template
from .tree import Reader, written


@dataclass(slots=True)
class PlannedCell:
    """A formula cell, what is known of the formula beforehand, and what the cell holds afterwards."""

    sheet: str
    cell: FormulaCell
    formula: Formula | None = None  # None where the cell has none that can be read
    text: str = ""  # the formula's text for the engine
    unreadable: str = "holds a formula without a text"  # why there is no formula where there is none
    ours: int = 0  # calls of our functions
    is_ours: bool = False  # whether it calls a function of ours, by a name too
    is_evaluated: bool = False
    refusal: str = ""  # why it is not written although it is ours to write
    value: Value = None

    @property
    def is_empty(self) -> bool:
        """Whether the file holds no value for it; an empty text is one."""
        return not self.cell.raw_stored and self.cell.kind not in ("str", "inlineStr")

    @property
    def where(self) -> str:
        """The cell as a person names it."""
        return f"{self.sheet}!{self.cell.name}"


@dataclass
class PlannedSheet:
    """A worksheet with its formula cells and the layout of the cells that array formulas fill."""

    scanned: ScannedSheet
    cells: list[PlannedCell] = field(default_factory=list)
    layout: Layout = field(default_factory=Layout)

    @property
    def filled(self) -> list[tuple[PlannedCell, Area]]:
        """The evaluated array formulas over several cells, with those cells."""
        return [
            (planned, planned.cell.area)
            for planned in self.cells
            if planned.is_evaluated and planned.cell.area and planned.cell.fills_several
        ]


class Formulas:
    """All formula cells of a workbook."""

    def __init__(self, book: Book, functions: Sequence[Function] = ()) -> None:
        """Read all worksheets; functions : those that are ours."""
        self.sheets = [
            _scanned(scan(book.package.read(sheet.part), sheet.name, sheet.part, book.package.name), book.tables)
            for sheet in book.sheets
            if sheet.part
        ]
        self.cells = [planned for sheet in self.sheets for planned in sheet.cells]
        self.names = References(book, (function.worksheet_name for function in functions))
        self.dependence = Dependence(*self._connections())

    def _connections(self) -> tuple[list[SheetArea], list[frozenset[SheetArea]]]:
        answers, references = [], []
        for planned in self.cells:
            cell = planned.cell
            answers.append(
                SheetArea(planned.sheet.lower(), cell.area or Area(cell.row, cell.column, cell.row, cell.column))
            )
            if cell.formula_kind == "dataTable":
                found = _around(planned)
            elif planned.formula is not None:
                found, planned.is_ours = self.names.of(planned.formula, planned.sheet, cell.row, cell.column)
            else:
                found = self.names.everything
            references.append(found)
        return answers, references


def _around(planned: PlannedCell) -> frozenset[SheetArea]:
    """Return what a what-if table depends on: its inputs, and the values and formulas around it."""
    table, inputs = planned.cell.area, planned.cell.inputs
    assert table is not None
    top, left = max(table.top - 1, 1), max(table.left - 1, 1)
    formulas_from = left if len(inputs) == 2 else table.left  # with two inputs the formula stands in the corner
    around = [Area(top, formulas_from, top, table.right), Area(table.top, left, table.bottom, left)]
    around += [cells.at(0, 0).area for cells in (Cells.read(text, 0, 0) for text in inputs) if cells]
    return frozenset(SheetArea(planned.sheet.lower(), area) for area in around)


def _scanned(scanned: ScannedSheet, tables: Mapping[str, Table]) -> PlannedSheet:
    sheet, reader = PlannedSheet(scanned), Reader(tables, scanned.name)
    may_be_structured = re.compile("|".join([r"\[", *map(re.escape, tables)]), re.IGNORECASE).search
    formulas: dict[Template, Formula] = {}
    shared: dict[str, Template] = {}
    above: dict[int, Formula] = {}  # by column: most formulas are copies of the one above
    for cell in scanned.formulas:
        planned = PlannedCell(scanned.name, cell)
        sheet.cells.append(planned)
        row, column, text = cell.row, cell.column, cell.formula
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
