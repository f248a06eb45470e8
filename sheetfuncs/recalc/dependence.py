"""Which formula cells depend on which: the two searches that find what is ours to write.

Cells are numbers here, in the order in which they were given; an array formula counts with all cells that it fills.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from typing import Iterable, Iterator, Sequence

from .references import SheetArea


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

    def __init__(self, answers: Sequence[SheetArea], references: Sequence[Iterable[SheetArea]]) -> None:
        """Take the cells and, for each, the areas that its formula refers to."""
        self._answers, self._references = answers, references
        self._index = _Index(answers)
        self._readers: dict[SheetArea, list[int]] = defaultdict(list)
        for number, found in enumerate(references):
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
