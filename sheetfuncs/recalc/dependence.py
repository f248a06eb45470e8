"""Which formula cells depend on which: the two searches that tell what is ours to write.

Cells are numbers here, in the order in which they were given; an array formula counts with all cells that it fills.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from typing import Iterable, Mapping, NamedTuple, Sequence

from ..xlsx.places import Area


class Place(NamedTuple):
    """Where a formula's answer stands: its sheet in small letters, and its cells."""

    sheet: str
    area: Area


class Dependence:
    """The formula cells of a workbook and what each refers to."""

    def __init__(self, places: Sequence[Place], references: Sequence[Iterable[Place]]) -> None:
        """Take the cells and, for each, the areas that its formula refers to."""
        self._places = places
        self._references = references
        # Rows by column, in order, so that the cells in a range are found without going over all.
        self._columns: dict[str, dict[int, list[tuple[int, int]]]] = defaultdict(lambda: defaultdict(list))
        self._wide: list[int] = []
        for number, (sheet, area) in enumerate(places):
            if area.top == area.bottom and area.left == area.right:
                self._columns[sheet][area.left].append((area.top, number))
            else:
                self._wide.append(number)
        for columns in self._columns.values():
            for cells in columns.values():
                cells.sort()
        self._readers: dict[Place, list[int]] = defaultdict(list)
        for number, found in enumerate(references):
            for place in found:
                self._readers[place].append(number)

    def within(self, place: Place) -> list[int]:
        """Return the formula cells in an area."""
        found = [number for number in self._wide if _overlap(self._places[number], place)]
        columns, area = self._columns.get(place.sheet, {}), place.area
        for column in _columns_of(columns, area):
            cells = columns[column]
            first, last = bisect_left(cells, (area.top, -1)), bisect_left(cells, (area.bottom + 1, -1))
            found += [number for _, number in cells[first:last]]
        return found

    def feeding(self, cells: Iterable[int]) -> set[int]:
        """Return the cells given and all whose values they use."""
        seen, waiting = set(), list(cells)
        done: set[Place] = set()
        seen.update(waiting)
        while waiting:
            for place in self._references[waiting.pop()]:
                if place not in done:
                    done.add(place)
                    new = [number for number in self.within(place) if number not in seen]
                    seen.update(new)
                    waiting += new
        return seen

    def depending(self, cells: Iterable[int], typed: Iterable[Place] = ()) -> set[int]:
        """Return the cells given and all that use their values; typed : areas without a formula that count, too."""
        seen, waiting = set(cells), []
        waiting += seen
        areas = list(typed)
        ranges = {place for place in self._readers if not _is_cell(place)}
        while waiting or areas:
            batch: list[Place] = [*areas]
            areas = []
            while waiting:  # along single cells, as far as they lead
                place = self._places[waiting.pop()]
                batch.append(place)
                self._read_by(self._readers.get(place, ()), seen, waiting)
            reached = _reached(ranges, batch)
            ranges -= reached
            wide = [place for place in batch if not _is_cell(place)]
            if wide:
                reached |= {place for place in self._readers if any(_overlap(place, part) for part in wide)}
            for place in reached:
                self._read_by(self._readers[place], seen, waiting)
        return seen

    @staticmethod
    def _read_by(readers: Iterable[int], seen: set[int], waiting: list[int]) -> None:
        for number in readers:
            if number not in seen:
                seen.add(number)
                waiting.append(number)


def _is_cell(place: Place) -> bool:
    area = place.area
    return area.top == area.bottom and area.left == area.right


def _overlap(one: Place, other: Place) -> bool:
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


def _reached(ranges: Iterable[Place], cells: Iterable[Place]) -> set[Place]:
    """Return the ranges in which at least one of some cells lies."""
    rows: dict[str, dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
    wide = []
    for place in cells:
        if _is_cell(place):
            rows[place.sheet][place.area.left].append(place.area.top)
        else:
            wide.append(place)
    for columns in rows.values():
        for column in columns.values():
            column.sort()
    found = set()
    for place in ranges:
        columns, area = rows.get(place.sheet, {}), place.area
        for column in _columns_of(columns, area):
            if bisect_left(columns[column], area.top) < bisect_right(columns[column], area.bottom):
                found.add(place)
                break
        else:
            if any(_overlap(place, other) for other in wide):
                found.add(place)
    return found
