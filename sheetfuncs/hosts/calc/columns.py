"""Columns of formulas that are the same from row to row: worked on once, written by filling down."""

from __future__ import annotations

import re
from typing import Any, Callable, Sequence

#: A text or a sheet's name, or a cell whose row moves with the formula.
_CELL_OR_TEXT = re.compile(
    r""""(?:[^"]|"")*"|'(?:[^']|'')*'|(?<![\w.$])\$?[A-Z]{1,3}(?P<row>\d+)(?![\w(.])"""
)
#: A shorter run is written as quickly formula by formula.
_WORTH_FILLING = 8


def filled_down(formula: str, row: int) -> Callable[[int], str]:
    """Return what a formula becomes in other rows, when the cells of its own row alone move with it.

    row : that of the formula, as the sheet counts. A row that stands in a text is left as it is, so that the text of
    another row's formula differs from what is returned; the caller compares.
    """
    own = str(row)
    parts, start = [], 0
    for found in _CELL_OR_TEXT.finditer(formula):
        if found["row"] == own:
            parts.append(formula[start : found.start("row")])
            start = found.end()
    parts.append(formula[start:])
    return lambda other: str(other).join(parts)


def changed_column(formulas: Sequence[str], row: int, change: Callable[[str], str]) -> tuple[str, ...]:
    """Return a column of formulas, each changed; those that are one formula filled down are changed once.

    row : that of the first.
    """
    before: Callable[[int], str] | None = None
    after: Callable[[int], str] | None = None
    changed = []
    for number, formula in enumerate(formulas, start=row):
        if before is not None and after is not None and formula == before(number):
            changed.append(after(number))
            continue
        changed.append(change(formula))
        before, after = filled_down(formula, number), filled_down(changed[-1], number)
    return tuple(changed)


def fill(cells: Any, formulas: Sequence[str]) -> bool:
    """Write a run of cells by filling its first formula down, which takes the office a fraction of the time.

    Returns whether it is done: not where the formulas are different ones, or a cell looks different from the first.
    """
    import uno  # in the office alone

    row = cells.RangeAddress.StartRow + 1
    wanted = filled_down(formulas[0], row)
    if len(formulas) < _WORTH_FILLING or any(text != wanted(row + n) for n, text in enumerate(formulas)):
        return False
    if cells.getUniqueCellFormatRanges().getCount() != 1:
        return False
    first = cells.getCellByPosition(0, 0)
    first.setFormula(formulas[0])
    column = cells.Columns.getByIndex(0)
    is_shown = column.IsVisible
    column.IsVisible = True  # nothing is filled in a hidden column
    cells.fillAuto(uno.Enum("com.sun.star.sheet.FillDirection", "TO_BOTTOM"), 1)
    column.IsVisible = is_shown
    # Rows that a filter hides are passed over.
    written = filled_down(first.getFormula(), row)
    return all(text == written(row + number) for number, (text,) in enumerate(cells.getFormulaArray()))
