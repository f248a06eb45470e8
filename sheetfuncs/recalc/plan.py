"""What is to be recalculated in a workbook: which cells are ours to write, and which of them are refused.

A cell is ours to write where it calls one of our functions, depends on one that does, feeds one that does, or has no
stored value. Every other formula keeps the value that an office program gave it.
"""

from __future__ import annotations

import re
from typing import Iterable, Sequence

from ..functions.declare import Function
from ..xlsx.errors import WorkbookFileError
from ..xlsx.sheet import lay_out
from ..xlsx.values import stored_value
from ..xlsx.workbook import Book
from .formula_cells import Formulas, PlannedCell, PlannedSheet
from .formulas import FIRST, FIT, UnreadableFormulaError
from .names import References
from .ranges import BeyondTheEngineError
from .spelling import Facts, Speller, functions_not_known
from .texts import texts_of

#: How the text of a climate ends; the climate itself is held by the run alone that made it.
_STANDS_FOR_A_CLIMATE = re.compile(r" · [0-9a-f]{8,}$")
#: The most cells that one array formula may fill.
MOST_FILLED = 1_048_576


class Plan:
    """The formula cells of a workbook, and what is to be done with each."""

    def __init__(self, book: Book, functions: Sequence[Function]) -> None:
        """Read all worksheets, find what is ours to write, and spell it for the engine."""
        self._book, self._functions = book, functions
        formulas = Formulas(book, functions)
        self.sheets, self.cells, self.dependence = formulas.sheets, formulas.cells, formulas.dependence
        self._choose()
        self._spell(formulas.names)
        self.refuse_depending(number for number in self.refused if self._has_no_value(self.cells[number]))
        for sheet in self.sheets:
            _check_filled(sheet)
            if sheet.filled:
                sheet.layout = lay_out(sheet.scanned, [area for _, area in sheet.filled], book.package.name)

    @property
    def refused(self) -> list[int]:
        """The cells that are ours to write and refused."""
        return [number for number, planned in enumerate(self.cells) if planned.refusal]

    @property
    def evaluated(self) -> list[PlannedCell]:
        """The cells to evaluate and to write."""
        return [planned for planned in self.cells if planned.is_evaluated]

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
        spelled: list[tuple[PlannedCell, Facts, Speller]] = []
        for sheet in self.sheets:
            speller = Speller(self._functions, sheet.scanned.name, names, texts)
            for planned in sheet.cells:
                if planned.is_evaluated:
                    try:
                        spelled.append((planned, _spell(planned, speller), speller))
                    except (BeyondTheEngineError, UnreadableFormulaError) as error:
                        _refuse(planned, str(error))
                    except RecursionError:
                        _refuse(planned, "uses names of names, too deep in one another")
        not_known = functions_not_known(facts for _, facts, _ in spelled)
        reasons: dict[Facts, str] = {}
        for planned, facts, speller in spelled:
            if facts not in reasons:
                reasons[facts] = speller.unknown(facts, not_known)
            if reasons[facts]:
                _refuse(planned, reasons[facts])

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


def _spell(planned: PlannedCell, speller: Speller) -> Facts:
    """Note a formula's text for the engine, and return the formula's facts."""
    cell, formula = planned.cell, planned.formula
    assert formula is not None
    text, facts = speller.spell(formula, cell.area is not None, cell.row, cell.column)
    # One that fills just the cells it is to fill: the engine would spill over others.
    if not cell.grows and (facts.is_many or cell.fills_several):
        area = cell.area if cell.fills_several else None
        text = f"{FIT}({text},{area.rows},{area.columns})" if area else f"{FIRST}({text})"
    planned.text, planned.ours = text, facts.ours
    return facts


def _check_filled(sheet: PlannedSheet) -> None:
    for planned, area in sheet.filled:
        if area.rows * area.columns > MOST_FILLED:
            raise WorkbookFileError(f"{planned.where} fills {area}, wanted at most {MOST_FILLED} cells")
        for other in sheet.scanned.formulas:
            if other is not planned.cell and area.holds(other.row, other.column):
                raise WorkbookFileError(f"{planned.where} fills {area}, but {other.name} holds another formula")
