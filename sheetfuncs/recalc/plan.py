"""What is to be recalculated in a workbook: which cells are ours to write, and which of them are refused.

A cell is ours to write where it calls one of our functions, depends on one that does, feeds one that does, or has no
stored value. Every other formula keeps the value that an office program gave it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Iterable, Mapping, Sequence

from ..functions.declare import Function
from ..xlsx.errors import WorkbookFileError
from ..xlsx.placed import FormulaCell, Layout, ScannedSheet
from ..xlsx.places import Area
from ..xlsx.sheet import lay_out, scan
from ..xlsx.values import Value, stored_value
from ..xlsx.workbook import Book, Table
from .dependence import Dependence, SheetArea
from .formulas import FIRST, FIT, FormulaTooLongError
from .names import References
from .ranges import BeyondTheEngineError
from .references import Template, shifted
from .spelling import Facts, Speller
from .tables import NotInTableError, with_a1_references
from .texts import texts_of
from .tree import UnreadableFormulaError

#: How the text of a climate ends; the climate itself is held by the run alone that made it.
_STANDS_FOR_A_CLIMATE = re.compile(r" · [0-9a-f]{8,}$")
#: The most cells that one array formula may fill.
MOST_FILLED = 1_048_576


@dataclass(slots=True)
class PlannedCell:
    """A formula cell, what is known of the formula beforehand, and what the cell holds afterwards."""

    sheet: str
    cell: FormulaCell
    formula: str | None  # with A1 references, without the equals sign; None where the cell has none that can be read
    template: Template | None = None  # the formula with its relative references open
    text: str = ""  # the formula's text for the engine
    unreadable: str = "holds a formula without a text"  # why there is no formula where there is none
    facts: Facts | None = None
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


class Plan:
    """The formula cells of a workbook, and what is to be done with each."""

    def __init__(self, book: Book, functions: Sequence[Function]) -> None:
        """Read all worksheets, find what is ours to write, and spell it for the engine."""
        self._book, self._functions = book, functions
        self.sheets = [
            _scanned(scan(book.package.read(sheet.part), sheet.name, sheet.part, book.package.name), book.tables)
            for sheet in book.sheets
            if sheet.part
        ]
        self.cells = [planned for sheet in self.sheets for planned in sheet.cells]
        names = References(book, (function.worksheet_name for function in functions))
        self.dependence = Dependence(*self._connections(names))
        self._choose()
        self._spell(names)
        self.refuse_depending(number for number in self.refused if self._has_no_value(self.cells[number]))
        for sheet in self.sheets:
            _check_filled(sheet)
            sheet.layout = lay_out(sheet.scanned, [area for _, area in sheet.filled], book.package.name)

    @property
    def refused(self) -> list[int]:
        """The cells that are ours to write and refused."""
        return [number for number, planned in enumerate(self.cells) if planned.refusal]

    @property
    def evaluated(self) -> list[PlannedCell]:
        """The cells to evaluate and to write."""
        return [planned for planned in self.cells if planned.is_evaluated]

    def _connections(self, names: References) -> tuple[list[SheetArea], list[frozenset[SheetArea]]]:
        places, references = [], []
        for planned in self.cells:
            cell = planned.cell
            places.append(
                SheetArea(planned.sheet.lower(), cell.area or Area(cell.row, cell.column, cell.row, cell.column))
            )
            found: frozenset[SheetArea] = frozenset()
            if planned.formula is not None:
                planned.template = Template(planned.formula, cell.row, cell.column)
                found, planned.is_ours = names.of(planned.template, planned.sheet, cell.row, cell.column)
            references.append(found)
        return places, references

    def _choose(self) -> None:
        """Mark what is ours to write."""
        ours = [number for number, planned in enumerate(self.cells) if planned.is_ours]
        empty = {number for number, planned in enumerate(self.cells) if planned.is_empty}
        for number in self.dependence.depending(ours).keys() | self.dependence.feeding(ours) | empty:
            planned = self.cells[number]
            planned.is_evaluated = planned.formula is not None
            planned.refusal = "" if planned.is_evaluated else planned.unreadable

    def _spell(self, names: References) -> None:
        if not any(planned.is_evaluated for planned in self.cells):
            return
        texts = texts_of(self._book.shared_strings, {sheet.scanned.name: sheet.scanned.xml for sheet in self.sheets})
        for sheet in self.sheets:
            speller = Speller(self._functions, sheet.scanned.name, names, texts)
            todo = [planned for planned in sheet.cells if planned.is_evaluated]
            for planned in todo:
                try:
                    _spell(planned, speller)
                except (BeyondTheEngineError, UnreadableFormulaError, FormulaTooLongError) as error:
                    _refuse(planned, str(error))
                except RecursionError:
                    _refuse(planned, "uses names of names, too deep in one another")
            unknown = speller.find_unknown(list({planned.facts for planned in todo if planned.facts is not None}))
            for planned in todo:
                if planned.facts in unknown and not planned.refusal:
                    _refuse(planned, unknown[planned.facts])

    def _has_no_value(self, planned: PlannedCell) -> bool:
        """Return whether a cell's stored value is none to go on with: there is none, or it stands for a climate."""
        if planned.is_empty or planned.cell.kind not in ("s", "str", "inlineStr"):
            return planned.is_empty
        stored = stored_value(planned.cell.kind, planned.cell.stored, self._book.shared_strings)
        return _STANDS_FOR_A_CLIMATE.search(str(stored)) is not None

    def refuse_depending(self, stale: Iterable[int]) -> None:
        """Refuse what depends on cells that are refused and have no value that holds."""
        for number, cause in self.dependence.depending(stale).items():
            if self.cells[number].is_evaluated:
                _refuse(self.cells[number], f"depends on {self.cells[cause].where}, which is not recalculated")

    def refuse_after(self, failed: Iterable[int], changed: Iterable[int]) -> None:
        """Refuse cells after the evaluation: some that failed, and what depends on a value that holds no longer.

        failed : cells with their refusal set. changed : cells whose value is another one now.
        """
        moved = self.dependence.depending(changed)
        self.refuse_depending([*failed, *(number for number in self.refused if number in moved)])


def _refuse(planned: PlannedCell, why: str) -> None:
    planned.refusal, planned.is_evaluated = why, False


def _scanned(scanned: ScannedSheet, tables: Mapping[str, Table]) -> PlannedSheet:
    sheet = PlannedSheet(scanned)
    shared: dict[str, tuple[str, FormulaCell]] = {}
    for cell in scanned.formulas:
        formula: str | None = cell.formula
        if cell.formula_kind == "shared":
            text, first = shared.setdefault(cell.group, (cell.formula, cell))
            formula = shifted(text, cell.row - first.row, cell.column - first.column)
        planned = PlannedCell(scanned.name, cell, formula or None)
        if cell.formula_kind == "dataTable":
            planned.formula, planned.unreadable = None, "is a what-if table"
        elif formula and (tables or "[" in formula):
            try:
                planned.formula = with_a1_references(formula, tables, scanned.name, cell.row, cell.column)
            except (NotInTableError, FormulaTooLongError) as error:
                planned.formula, planned.unreadable = None, str(error)
        sheet.cells.append(planned)
    return sheet


def _spell(planned: PlannedCell, speller: Speller) -> None:
    """Note a formula's text for the engine where it is another one, and the formula's facts."""
    cell, template = planned.cell, planned.template
    assert template is not None
    text, planned.facts = speller.spell(template, cell.area is not None, cell.row, cell.column)
    planned.text = _wrapped(text, planned.facts, cell)


def _wrapped(text: str, facts: Facts, cell: FormulaCell) -> str:
    """Return a formula that fills just the cells it is to fill; the engine would spill over others."""
    if cell.grows or not (facts.is_many or cell.fills_several):
        return text
    if cell.area is not None and cell.fills_several:
        return f"{FIT}({text},{cell.area.rows},{cell.area.columns})"
    return f"{FIRST}({text})"


def _check_filled(sheet: PlannedSheet) -> None:
    for planned, area in sheet.filled:
        if area.rows * area.columns > MOST_FILLED:
            raise WorkbookFileError(f"{planned.where} fills {area}, wanted at most {MOST_FILLED} cells")
        for other in sheet.scanned.formulas:
            if other is not planned.cell and area.holds(other.row, other.column):
                raise WorkbookFileError(f"{planned.where} fills {area}, but {other.name} holds another formula")
