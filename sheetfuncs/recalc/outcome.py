"""What a recalculation comes to: what is refused by the answers, what changes in the sheets, and a report of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Iterator, Union

from ..cells.errors import CHECK, CellFault
from ..xlsx.errors import WorkbookFileError
from ..xlsx.new_cells import new_cell_edits
from ..xlsx.patch import ByteEdit, patched, value_edits
from ..xlsx.references import cell_name
from ..xlsx.values import Value, as_shown, is_same, stored_value
from ..xlsx.workbook import Book
from ..xlsx.xml_cells import XmlCell
from .apart import EvaluationApart
from .engine import CIRCLE, NO_ROOM, NOT_UNDERSTOOD, Evaluation
from .office_ways import NOTHING
from .plan import Plan
from .reading import PlannedCell, PlannedSheet
from .tree import Operation, all_nodes

Shown = Union[Value, date]


@dataclass(frozen=True, slots=True)
class ChangedCell:
    """A cell whose stored value is another one now; dates as dates, ``None`` for a cell without a value."""

    sheet: str
    cell: str
    before: Shown
    after: Shown


@dataclass(frozen=True, slots=True)
class CheckCell:
    """A cell with a request to the user: its text starts with ``Check:``."""

    sheet: str
    cell: str
    text: str


@dataclass(frozen=True, slots=True)
class RefusedCell:
    """A cell that should have been recalculated and was not, so that it keeps its stored value, and why."""

    sheet: str
    cell: str
    why: str


@dataclass(frozen=True)
class Recalculated:
    """What a recalculation did.

    path : the file that holds the result. formulas : how many formula cells the workbook has.
    recalculated : how many of them were evaluated. ours : how many of these call a function of ours.
    left_alone : how many have nothing to do with our functions and keep their stored values; refused : the rest.
    errors : how many of all show an error such as ``#N/A``.
    """

    path: Path
    formulas: int
    recalculated: int
    left_alone: int
    ours: int
    errors: int
    changed: tuple[ChangedCell, ...]
    checks: tuple[CheckCell, ...]
    refused: tuple[RefusedCell, ...] = ()


class Outcome:
    """The answers to the formulas of a workbook, and what changes by them."""

    def __init__(self, book: Book, plan: Plan, evaluation: Evaluation | EvaluationApart) -> None:
        """Take the answers to the planned cells.

        Raises :class:`WorkbookFileError` where a cell goes round in a circle, or where its answer has no room.
        """
        self._book, self._plan, self._evaluation = book, plan, evaluation
        self._changed: list[ChangedCell] = []
        self._checks: list[CheckCell] = []
        self._errors = 0
        evaluated = plan.evaluated
        for planned, value in zip(evaluated, evaluation.values([planned.at for planned in evaluated])):
            planned.value = 0.0 if value is None else value
        self._refuse_file()
        self._refuse_cells()

    # -- what is refused ---------------------------------------------------------------------------------------

    def _refuse_file(self) -> None:
        circles = set()
        for number, planned in enumerate(self._plan.cells):
            if not planned.is_evaluated:
                continue
            if planned.value == NO_ROOM and planned.cell.grows:
                raise WorkbookFileError(
                    f"{planned.where} has an answer of several cells and no room for them; nothing was written"
                )
            if planned.value == CIRCLE:
                circles.add(number)
            elif planned.cell.grows:
                self._refuse_growth(planned)
        if circles:
            where = self._plan.in_circle(circles).where
            raise WorkbookFileError(f"{where} depends on itself, in a circle; nothing was written")

    def _refuse_growth(self, planned: PlannedCell) -> None:
        """Raise where a dynamic array's answer needs more cells than the file gives it."""
        has = planned.cell.area
        wants = self._evaluation.area(planned.sheet, planned.cell.name)
        if wants is not None and has is not None and (wants.bottom > has.bottom or wants.right > has.right):
            raise WorkbookFileError(
                f"{planned.where} has an answer for {wants}, but fills {has} in the file; open and save it"
                " in an office program once, or enter it over more cells; nothing was written"
            )

    def _refuse_cells(self) -> None:
        """Refuse the cells that the engine did not understand, and what depends on a value that no longer holds."""
        failed, changed = [], []
        for number, planned in enumerate(self._plan.cells):
            if not planned.is_evaluated:
                continue
            before = self._stored(planned.cell)
            if planned.value in NOT_UNDERSTOOD and planned.value != before:
                assert planned.formula is not None
                shown = planned.formula.template.at(planned.cell.row, planned.cell.column)[:200]
                planned.refuse(f"is beyond this recalculation: ={shown}")
                failed.append(number)
            elif _is_almost_nothing(planned):
                planned.refuse("comes to nothing or almost nothing, which programs round in their own ways")
                failed.append(number)
            elif not is_same(before, planned.value):
                changed.append(number)
        self._plan.refuse_after(failed, changed)

    # -- what is written ---------------------------------------------------------------------------------------

    def written(self, target: Path) -> tuple[Recalculated, bytes]:
        """Return the report, and the workbook with the new values; target : the file that will hold it."""
        parts = {}
        for sheet in self._plan.sheets:
            edits = list(self._edits(sheet))
            if edits:
                parts[sheet.scanned.part] = patched(sheet.scanned.xml, edits)
        cells, evaluated = self._plan.cells, self._plan.evaluated
        refused = [planned for planned in cells if planned.refusal]
        report = Recalculated(
            path=target,
            formulas=len(cells),
            recalculated=len(evaluated),
            left_alone=len(cells) - len(evaluated) - len(refused),
            ours=sum(planned.is_ours for planned in evaluated),
            errors=self._errors,
            changed=tuple(self._changed),
            checks=tuple(self._checks),
            refused=tuple(RefusedCell(planned.sheet, planned.cell.name, planned.refusal) for planned in refused),
        )
        package = self._book.package
        return report, package.with_parts(parts) if parts else package.raw

    def _edits(self, sheet: PlannedSheet) -> Iterator[ByteEdit]:
        """Go over the edits of a sheet's XML."""
        name = sheet.scanned.name
        for planned in sheet.cells:
            if planned.is_evaluated:
                yield from self._cell_edits(sheet, planned.cell, planned.value)
            else:
                self._count(sheet, planned.cell.name, self._stored(planned.cell))
        missing = {}
        for planned, area in sheet.filled:
            cell = planned.cell
            others = [
                (row, column)
                for row in range(area.top, area.bottom + 1)
                for column in range(area.left, area.right + 1)
                if (row, column) != (cell.row, cell.column)
            ]
            for other, value in zip(others, self._evaluation.values([(name, *other) for other in others])):
                known = sheet.layout.cells.get(other)
                if known is not None:
                    yield from self._cell_edits(sheet, known, value)
                elif value is not None:
                    missing[other] = value
                    self._note(sheet, cell_name(*other), "", None, value)
        if missing:
            yield from new_cell_edits(sheet.scanned, sheet.layout, missing)

    def _cell_edits(self, sheet: PlannedSheet, cell: XmlCell, value: Value) -> Iterator[ByteEdit]:
        before = self._stored(cell)
        if is_same(before, value):
            self._count(sheet, cell.name, value)
            return
        self._note(sheet, cell.name, cell.style, before, value)
        yield from value_edits(sheet.scanned, cell, value)

    def _stored(self, cell: XmlCell) -> Value:
        return stored_value(cell.kind, cell.stored, self._book.shared_strings)

    def _note(self, sheet: PlannedSheet, cell: str, style: str, before: Value, after: Value) -> None:
        self._count(sheet, cell, after)
        is_date, epoch = style in self._book.date_styles, self._book.epoch
        self._changed.append(
            ChangedCell(sheet.scanned.name, cell, as_shown(before, is_date, epoch), as_shown(after, is_date, epoch))
        )

    def _count(self, sheet: PlannedSheet, cell: str, value: Value) -> None:
        if isinstance(value, CellFault):
            self._errors += 1
        elif isinstance(value, str) and value.startswith(CHECK):
            self._checks.append(CheckCell(sheet.scanned.name, cell, value))


def _is_almost_nothing(planned: PlannedCell) -> bool:
    value = planned.value
    if not isinstance(value, float) or not 0 < abs(value) < NOTHING or planned.formula is None:
        return False
    return any(isinstance(node, Operation) and node.sign in "+-" for node in all_nodes(planned.formula.tree))
