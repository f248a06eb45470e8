"""Which formula cells depend on which, and by that which are ours to write and which of them are refused.

A cell is ours to write where it calls one of our functions, depends on one that does, feeds one that does, or has no
stored value. Every other formula keeps the value that an office program gave it. Cells are numbers here, in the order
in which they were read; an array formula counts with all cells that it fills.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import defaultdict
from typing import Container, Iterable, Iterator, Sequence

from ..xlsx.values import stored_value
from .formulas import SheetArea
from .reading import Formulas, PlannedCell

#: How the text of a climate ends; the climate itself is held by the run alone that made it.
_STANDS_FOR_A_CLIMATE = re.compile(r" · [0-9a-f]{8,}$")


class Plan:
    """The formula cells of a workbook, marked with what is to be done with each."""

    def __init__(self, formulas: Formulas) -> None:
        """Mark what is ours to write."""
        self.sheets, self.cells = formulas.sheets, formulas.cells
        self._dependence = Dependence(formulas)
        ours = [number for number, planned in enumerate(self.cells) if planned.is_ours]
        empty = {number for number, planned in enumerate(self.cells) if planned.is_empty}
        for number in self._dependence.depending(ours).keys() | self._dependence.feeding(ours) | empty:
            planned = self.cells[number]
            planned.is_evaluated = planned.formula is not None
            planned.refusal = "" if planned.is_evaluated else planned.unreadable

    @property
    def evaluated(self) -> list[PlannedCell]:
        """The cells that are evaluated."""
        return [planned for planned in self.cells if planned.is_evaluated]

    @property
    def refused(self) -> list[int]:
        """The cells that are ours to write and refused."""
        return [number for number, planned in enumerate(self.cells) if planned.refusal]

    def refuse_without_value(self, strings: Sequence[str]) -> None:
        """Refuse what depends on refused cells whose stored value is none to go on with.

        There is none, or it stands for a climate. strings : the texts that cells share.
        """

        def has_none(planned: PlannedCell) -> bool:
            kind = planned.cell.kind
            if planned.is_empty or kind not in ("s", "str", "inlineStr"):
                return planned.is_empty
            return _STANDS_FOR_A_CLIMATE.search(str(stored_value(kind, planned.cell.stored, strings))) is not None

        self._refuse_depending(number for number in self.refused if has_none(self.cells[number]))

    def refuse_after(self, failed: Iterable[int], changed: Iterable[int]) -> None:
        """Refuse what depends, after the evaluation, on refused cells whose value holds no longer.

        failed : cells refused by their answers. changed : cells whose value is another one now.
        """
        moved = self._dependence.depending(changed)
        self._refuse_depending([*failed, *(number for number in self.refused if number in moved)])

    def _refuse_depending(self, stale: Iterable[int]) -> None:
        for number, cause in self._dependence.depending(stale).items():
            if self.cells[number].is_evaluated:
                self.cells[number].refuse(f"depends on {self.cells[cause].where}, which is not recalculated")

    def in_circle(self, cells: Container[int]) -> PlannedCell:
        """Return one of some cells that is part of a circle, not one that only depends on it."""
        seen: list[int] = []
        following: int | None = next(number for number in range(len(self.cells)) if number in cells)
        while following is not None and following not in seen:
            seen.append(following)
            following = next((number for number in self._dependence.used_by(seen[-1]) if number in cells), None)
        return self.cells[seen[-1] if following is None else following]


class _Index:
    """Areas, found by what they share a cell with without going over all."""

    def __init__(self, areas: Iterable[SheetArea]) -> None:
        # Rows by column, in order, each with the number of its area in the order given.
        self._columns: dict[str, dict[int, list[tuple[int, int]]]] = defaultdict(lambda: defaultdict(list))
        self._wide: list[tuple[SheetArea, int]] = []
        for number, used in enumerate(areas):
            if _is_cell(used):
                self._columns[used.sheet][used.area.left].append((used.area.top, number))
            else:
                self._wide.append((used, number))
        for columns in self._columns.values():
            for cells in columns.values():
                cells.sort()

    def within(self, used: SheetArea) -> Iterator[int]:
        """Go over the numbers of the areas that share a cell with one."""
        yield from (number for other, number in self._wide if _overlap(other, used))
        columns, area = self._columns.get(used.sheet, {}), used.area
        for column in columns if area.columns > len(columns) else range(area.left, area.right + 1):
            cells = columns.get(column) if area.left <= column <= area.right else None
            if cells:
                first, last = bisect_left(cells, (area.top, -1)), bisect_left(cells, (area.bottom + 1, -1))
                yield from (number for _, number in cells[first:last])


class Dependence:
    """The formula cells of a workbook and what each refers to."""

    def __init__(self, formulas: Formulas) -> None:
        """Take the cells and what each refers to."""
        self._answers, self._references = [planned.area for planned in formulas.cells], formulas.references
        self._index = _Index(self._answers)
        self._readers: dict[SheetArea, list[int]] = defaultdict(list)
        for number, found in enumerate(self._references):
            for used in found:
                self._readers[used].append(number)

    def readers(self, cells: Iterable[SheetArea]) -> set[int]:
        """Return the formula cells that refer to some of the cells given."""
        index = _Index(cells)
        reached = (found for used, found in self._readers.items() if next(index.within(used), None) is not None)
        return {number for found in reached for number in found}

    def used_by(self, cell: int) -> Iterator[int]:
        """Go over the formula cells to which one refers."""
        return (number for used in self._references[cell] for number in self._index.within(used))

    def feeding(self, cells: Iterable[int]) -> set[int]:
        """Return the cells given and all whose values they use."""
        waiting = list(cells)
        seen, done = set(waiting), set()
        while waiting:
            for used in self._references[waiting.pop()]:
                if used not in done:
                    done.add(used)
                    new = {number for number in self._index.within(used) if number not in seen}
                    seen |= new
                    waiting += new
        return seen

    def depending(self, cells: Iterable[int]) -> dict[int, int]:
        """Return the cells given and all that use their values, each with the one given that it was found by."""
        found = {number: number for number in cells}
        waiting = list(found)
        ranges = {used for used in self._readers if not _is_cell(used)}
        while waiting:
            batch = []
            while waiting:  # along single cells, as far as they lead
                batch.append(waiting.pop())
                self._note(self._answers[batch[-1]], found[batch[-1]], found, waiting)
            index = _Index(self._answers[number] for number in batch)
            # An array formula's cells may be used one by one, too.
            others = self._readers if any(not _is_cell(self._answers[number]) for number in batch) else ranges
            for used in list(others):
                by = next(index.within(used), None)
                if by is not None:
                    ranges.discard(used)
                    self._note(used, found[batch[by]], found, waiting)
        return found

    def _note(self, used: SheetArea, cause: int, found: dict[int, int], waiting: list[int]) -> None:
        for number in self._readers.get(used, ()):
            if number not in found:
                found[number] = cause
                waiting.append(number)


def _is_cell(used: SheetArea) -> bool:
    area = used.area
    return area.top == area.bottom and area.left == area.right


def _overlap(one: SheetArea, other: SheetArea) -> bool:
    a, b = one.area, other.area
    return (
        one.sheet == other.sheet
        and a.top <= b.bottom and b.top <= a.bottom
        and a.left <= b.right and b.left <= a.right
    )  # fmt: skip
