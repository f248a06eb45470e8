"""Recalculating a workbook file in place, without an office program."""

from __future__ import annotations

import gc
from contextlib import contextmanager
from pathlib import Path
from typing import Container, Iterator, Sequence, Union

from ..cells.climates import CLIMATES
from ..cells.errors import CHECK, CellFault
from ..functions import all_functions
from ..functions.declare import Function
from ..xlsx.errors import WorkbookFileError
from ..xlsx.files import Backup, check_target
from ..xlsx.inputs import open_book
from ..xlsx.new_cells import new_cell_edits
from ..xlsx.patch import ByteEdit, patched, value_edits
from ..xlsx.places import cell_name
from ..xlsx.values import Value, as_shown, is_same, stored_value
from ..xlsx.workbook import Book
from ..xlsx.xml_cells import XmlCell
from .apart import EvaluationApart, Evaluator, evaluator
from .engine import CIRCLE, NO_ROOM, NOT_UNDERSTOOD, Evaluation, Job
from .formula_cells import PlannedCell, PlannedSheet
from .helpers import NOTHING
from .plan import Plan
from .prepare import copy_for_engine
from .results import ChangedCell, CheckCell, Progress, Recalculated, RefusedCell
from .tree import Operation, all_nodes

Evaluated = Union[Evaluation, EvaluationApart]


def recalculate(
    path: Path | str,
    out: Path | str | None = None,
    functions: Sequence[Function] | None = None,
    progress: Progress | None = None,
    backup: Backup = "never",
) -> Recalculated:
    """Evaluate the formulas of a workbook that are ours to write and store their values in it, or in ``out``.

    Ours to write are cells that call a function of ours, depend on one that does, feed one that does, or have no stored
    value. All other formulas keep their values. Where this recalculation is known to differ from office programs, a
    cell is refused: it keeps its value, and so does what depends on it where that value no longer holds.

    Formulas, formats, pictures, charts and everything else stay byte for byte; only stored values change.
    An existing file ``out`` is replaced.

    The formulas are evaluated in a process of its own, which is ended where they take more memory or time than
    :mod:`.limits` allows.

    path : a workbook saved as .xlsx or .xlsm. functions : other functions than all of ours; they are called in this
    process, and nothing limits it.
    progress : called as it goes, see :data:`.results.Progress`.
    backup : whether a file that is written over is kept as it was,
    ``book.xlsx`` as ``book.before.xlsx``: "never", "first" (where none is kept yet), "always".
    Raises :class:`WorkbookFileError`, an :class:`~sheetfuncs.cells.errors.InputError`, in one line, where the
    file cannot be read or written or holds a formula beyond this recalculation; then nothing is written.
    """
    opened = open_book(path)
    target = opened.path if out is None else Path(out)
    check_target(opened.path, target)
    ours = all_functions() if functions is None else functions
    is_apart = functions is None
    with _without_collecting(), CLIMATES.keeping_all(), evaluator(opened.path.name, ours, is_apart) as evaluate:
        result, content = _recalculated(opened.book, target, ours, evaluate, progress)
    opened.write(content, target, backup)
    return result


@contextmanager
def _without_collecting() -> Iterator[None]:
    """Switch the search for garbage off: a workbook's many cells are none, and it takes a tenth of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _recalculated(
    book: Book, target: Path, functions: Sequence[Function], evaluate: Evaluator, progress: Progress | None
) -> tuple[Recalculated, bytes]:
    plan = Plan(book, functions)
    total, done = sum(planned.ours for planned in plan.evaluated), 0

    def on_calls(count: int) -> None:
        nonlocal done
        done += count
        if progress is not None and done < total:
            progress(done, total)

    outcome = _Outcome(book)
    cells = [(planned.sheet, planned.cell.row, planned.cell.column) for planned in plan.evaluated]
    # About a hundred reports in all.
    job = Job(copy_for_engine(book, plan.sheets), book.epoch, book.iterates, max(total // 100, 1))
    evaluation = evaluate(job, cells, on_calls)
    if progress is not None:
        progress(total, total)  # calls in a branch that IF does not take are never made, so the count would stop short
    for planned, value in zip(plan.evaluated, evaluation.values(cells)):
        planned.value = 0.0 if value is None else value
    _refuse_file(plan, evaluation)
    _refuse_cells(plan, outcome)
    parts = {}
    for sheet in plan.sheets:
        edits = list(outcome.edits(sheet, evaluation))
        if edits:
            parts[sheet.scanned.part] = patched(sheet.scanned.xml, edits)
    recalculated = plan.evaluated
    refused = [plan.cells[number] for number in plan.refused]
    result = Recalculated(
        path=target,
        formulas=len(plan.cells),
        recalculated=len(recalculated),
        left_alone=len(plan.cells) - len(recalculated) - len(refused),
        ours=sum(planned.is_ours for planned in recalculated),
        errors=outcome.errors,
        changed=tuple(outcome.changed),
        checks=tuple(outcome.checks),
        refused=tuple(RefusedCell(planned.sheet, planned.cell.name, planned.refusal) for planned in refused),
    )
    return result, book.package.with_parts(parts) if parts else book.package.raw


# -- what is refused -------------------------------------------------------------------------------------------


def _refuse_cells(plan: Plan, outcome: _Outcome) -> None:
    """Refuse the cells that the engine did not understand, and what depends on a value that no longer holds."""
    failed, changed = [], []
    for number, planned in enumerate(plan.cells):
        if not planned.is_evaluated:
            continue
        before = outcome.stored(planned.cell)
        if planned.value in NOT_UNDERSTOOD and planned.value != before:
            shown = planned.formula.template.at(planned.cell.row, planned.cell.column)[:200] if planned.formula else ""
            planned.refusal, planned.is_evaluated = f"is beyond this recalculation: ={shown}", False
            failed.append(number)
        elif _is_almost_nothing(planned):
            why = "comes to nothing or almost nothing, which programs round in their own ways"
            planned.refusal, planned.is_evaluated = why, False
            failed.append(number)
        elif not is_same(before, planned.value):
            changed.append(number)
    plan.refuse_after(failed, changed)


def _is_almost_nothing(planned: PlannedCell) -> bool:
    value = planned.value
    if not isinstance(value, float) or not 0 < abs(value) < NOTHING or planned.formula is None:
        return False
    return any(isinstance(node, Operation) and node.sign in "+-" for node in all_nodes(planned.formula.tree))


def _refuse_file(plan: Plan, evaluation: Evaluated) -> None:
    """Raise where a cell goes round in a circle, or where its answer has no room."""
    circles = set()
    for number, planned in enumerate(plan.cells):
        if not planned.is_evaluated:
            continue
        if planned.value == NO_ROOM and planned.cell.grows:
            raise WorkbookFileError(
                f"{planned.where} has an answer of several cells and no room for them; nothing was written"
            )
        if planned.value == CIRCLE:
            circles.add(number)
        elif planned.cell.grows:
            _refuse_growth(planned, evaluation)
    if circles:
        where = _in_circle(plan, circles).where
        raise WorkbookFileError(f"{where} depends on itself, in a circle; nothing was written")


def _in_circle(plan: Plan, circles: Container[int]) -> PlannedCell:
    """Return a cell that is part of a circle, not one that only depends on it."""
    seen: list[int] = []
    following: int | None = next(number for number in range(len(plan.cells)) if number in circles)
    while following is not None and following not in seen:
        seen.append(following)
        following = next((number for number in plan.dependence.used_by(seen[-1]) if number in circles), None)
    return plan.cells[seen[-1] if following is None else following]


# -- what is written -------------------------------------------------------------------------------------------


class _Outcome:
    """Goes over the evaluated cells and notes what changed."""

    def __init__(self, book: Book) -> None:
        self._epoch = book.epoch
        # Both are read here, while another process gets ready.
        self._date_styles, self._strings = book.date_styles, book.shared_strings
        self.changed: list[ChangedCell] = []
        self.checks: list[CheckCell] = []
        self.errors = 0

    def edits(self, sheet: PlannedSheet, evaluation: Evaluated) -> Iterator[ByteEdit]:
        """Go over the edits of a sheet's XML."""
        name = sheet.scanned.name
        for planned in sheet.cells:
            if planned.is_evaluated:
                yield from self._cell_edits(sheet, planned.cell, planned.value)
            else:
                self._count(sheet, planned.cell.name, self.stored(planned.cell))
        missing = {}
        for planned, area in sheet.filled:
            cell = planned.cell
            others = [
                (row, column)
                for row in range(area.top, area.bottom + 1)
                for column in range(area.left, area.right + 1)
                if (row, column) != (cell.row, cell.column)
            ]
            for other, value in zip(others, evaluation.values([(name, *other) for other in others])):
                known = sheet.layout.cells.get(other)
                if known is not None:
                    yield from self._cell_edits(sheet, known, value)
                elif value is not None:
                    missing[other] = value
                    self._note(sheet, cell_name(*other), "", None, value)
        if missing:
            yield from new_cell_edits(sheet.scanned, sheet.layout, missing)

    def _cell_edits(self, sheet: PlannedSheet, cell: XmlCell, value: Value) -> Iterator[ByteEdit]:
        before = self.stored(cell)
        if is_same(before, value):
            self._count(sheet, cell.name, value)
            return
        self._note(sheet, cell.name, cell.style, before, value)
        yield from value_edits(sheet.scanned, cell, value)

    def stored(self, cell: XmlCell) -> Value:
        """Return the value that a cell holds in the file."""
        return stored_value(cell.kind, cell.stored, self._strings)

    def _note(self, sheet: PlannedSheet, cell: str, style: str, before: Value, after: Value) -> None:
        self._count(sheet, cell, after)
        is_date, epoch = style in self._date_styles, self._epoch
        self.changed.append(
            ChangedCell(sheet.scanned.name, cell, as_shown(before, is_date, epoch), as_shown(after, is_date, epoch))
        )

    def _count(self, sheet: PlannedSheet, cell: str, value: Value) -> None:
        if isinstance(value, CellFault):
            self.errors += 1
        elif isinstance(value, str) and value.startswith(CHECK):
            self.checks.append(CheckCell(sheet.scanned.name, cell, value))


def _refuse_growth(planned: PlannedCell, evaluation: Evaluated) -> None:
    """Raise where a dynamic array's answer needs more cells than the file gives it."""
    has = planned.cell.area
    wants = evaluation.area(planned.sheet, planned.cell.name)
    if wants is not None and has is not None and (wants.bottom > has.bottom or wants.right > has.right):
        raise WorkbookFileError(
            f"{planned.where} has an answer for {wants}, but fills {has} in the file; open and save it"
            " in an office program once, or enter it over more cells; nothing was written"
        )
