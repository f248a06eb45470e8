"""Which formula cells depend on which: the two searches that find what is ours to write.

Cells are numbers here, in the order in which they were given; an array formula counts with all cells that it fills.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from typing import Iterable, Mapping, Sequence

from ..xlsx.places import Area
from .references import SheetArea


class Dependence:
    """The formula cells of a workbook and what each refers to."""

    def __init__(self, answers: Sequence[SheetArea], references: Sequence[Iterable[SheetArea]]) -> None:
        """Take the cells and, for each, the areas that its formula refers to."""
        self._answers = answers
        self._references = references
        # Rows by column, in order, so that the cells in a range are found without going over all.
        self._columns: dict[str, dict[int, list[tuple[int, int]]]] = defaultdict(lambda: defaultdict(list))
        self._wide: list[int] = []
        for number, (sheet, area) in enumerate(answers):
            if area.top == area.bottom and area.left == area.right:
                self._columns[sheet][area.left].append((area.top, number))
            else:
                self._wide.append(number)
        for columns in self._columns.values():
            for cells in columns.values():
                cells.sort()
        self._readers: dict[SheetArea, list[int]] = defaultdict(list)
        for number, found in enumerate(references):
            for used in found:
                self._readers[used].append(number)

    def within(self, used: SheetArea) -> list[int]:
        """Return the formula cells in an area."""
        found = [number for number in self._wide if _overlap(self._answers[number], used)]
        columns, area = self._columns.get(used.sheet, {}), used.area
        for column in _columns_of(columns, area):
            cells = columns[column]
            first, last = bisect_left(cells, (area.top, -1)), bisect_left(cells, (area.bottom + 1, -1))
            found += [number for _, number in cells[first:last]]
        return found

    def readers(self, cells: Iterable[SheetArea]) -> set[int]:
        """Return the formula cells that refer to some of the cells given."""
        return {number for used in _reached(self._readers, cells) for number in self._readers[used]}

    def feeding(self, cells: Iterable[int]) -> set[int]:
        """Return the cells given and all whose values they use."""
        seen, waiting = set(), list(cells)
        done: set[SheetArea] = set()
        seen.update(waiting)
        while waiting:
            for used in self._references[waiting.pop()]:
                if used not in done:
                    done.add(used)
                    new = [number for number in self.within(used) if number not in seen]
                    seen.update(new)
                    waiting += new
        return seen

    def depending(self, cells: Iterable[int]) -> dict[int, int]:
        """Return the cells given and all that use their values, each with the one given that it was found by."""
        found = {number: number for number in cells}
        waiting = list(found)
        ranges = {used for used in self._readers if not _is_cell(used)}
        while waiting:
            batch: dict[SheetArea, int] = {}
            while waiting:  # along single cells, as far as they lead
                number = waiting.pop()
                used = self._answers[number]
                batch[used] = found[number]
                self._note(used, found[number], found, waiting)
            reached = _reached(ranges, batch)
            ranges -= reached.keys()
            for used in batch:
                if not _is_cell(used):  # an array formula: its cells may be used one by one
                    reached |= {other: used for other in self._readers if _overlap(other, used)}
            for used, by in reached.items():
                self._note(used, batch[by], found, waiting)
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


def _columns_of(columns: Mapping[int, object], area: Area) -> Iterable[int]:
    if area.right - area.left < len(columns):
        return [column for column in range(area.left, area.right + 1) if column in columns]
    return [column for column in columns if area.left <= column <= area.right]


def _reached(ranges: Iterable[SheetArea], cells: Iterable[SheetArea]) -> dict[SheetArea, SheetArea]:
    """Return the ranges in which at least one of some cells lies, each with such a cell."""
    rows: dict[str, dict[int, list[SheetArea]]] = defaultdict(lambda: defaultdict(list))
    wide = []
    for used in cells:
        if _is_cell(used):
            rows[used.sheet][used.area.left].append(used)
        else:
            wide.append(used)
    for columns in rows.values():
        for column in columns.values():
            column.sort()
    found = {}
    for used in ranges:
        columns, area = rows.get(used.sheet, {}), used.area
        inside = next((other for other in wide if _overlap(used, other)), None)
        for column in _columns_of(columns, area):
            at = bisect_left(columns[column], area.top, key=lambda other: other.area.top)
            if at < len(columns[column]) and columns[column][at].area.top <= area.bottom:
                inside = columns[column][at]
                break
        if inside is not None:
            found[used] = inside
    return found
