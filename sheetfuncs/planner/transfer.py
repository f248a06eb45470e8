"""Rows and cells on their way from one workbook into another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from ..cells.errors import InputError
from ..xlsx.references import Area
from .carried import (
    Block,
    Typed,
    all_shown,
    as_cell,
    held,
    in_later_season,
    key_of,
    not_carried,
    same,
    shown,
    value_of,
    year_of,
)
from .made_book import Found, MadeBook, is_formula
from .sheets import weather
from .sheets.layout import Role, Table

SEASON = "Season_year"


@dataclass
class Row:
    """A row of a table as it is to be carried: its values by column, and what to call it."""

    values: dict[str, Typed]
    called: str


@dataclass
class Transfer:
    """Two workbooks, and what carrying the old one into the new one comes to.

    blocks : the cells to write. counts : how many cells go to which sheet. moved : what is carried in another form, one
    line each. left : what is not carried, one line each. seen : the cells of the old workbook that were looked at.
    """

    old: MadeBook
    new: MadeBook
    wanted_season: int | None
    blocks: list[Block] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    moved: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    seen: set[tuple[str, int, int]] = field(default_factory=set)

    @cached_property
    def old_season(self) -> int | None:
        """The season of the old workbook; ``None`` where it is not known."""
        return year_of(self.typed(self.old, SEASON)) or year_of(self.answers.named_value(SEASON))

    @cached_property
    def new_season(self) -> int | None:
        """The season of the new workbook; ``None`` where it is not known."""
        typed = year_of(self.typed(self.new, SEASON))
        if typed is not None:
            if self.wanted_season not in (None, typed):
                raise InputError(f"{self.new.path.name} is for season {typed}, not for {self.wanted_season}")
            return typed
        if self.wanted_season is not None:
            return self.wanted_season
        return None if self.old_season is None else self.old_season + 1

    @property
    def years(self) -> int:
        """How many seasons lie between the two; 0 where one of them is not known."""
        if self.old_season is None or self.new_season is None:
            return 0
        return self.new_season - self.old_season

    def typed(self, book: MadeBook, name: str) -> Typed:
        """Return what is typed for a setting."""
        at = book.typed_cell(name)
        return None if at is None else held(book.workbook[at[0]], at[1], at[2])

    def move_on(self, value: Typed, what: str) -> Typed:
        """Return a day of the old season in the new one, and say so."""
        if not self.years or not isinstance(value, date):
            return value
        day = in_later_season(value, self.years)
        self.moved.append(f"{what}: {shown(value)} became {shown(day)}")
        return day

    def is_blank(self, present: Typed, value: Typed, what: str) -> bool:
        """Return whether a cell is blank; where it holds something else than a value, the line says so."""
        if present is not None and not same(present, value):
            self.left.append(not_carried(what, value, present))
        return present is None

    # -- tables ------------------------------------------------------------------------------------------------

    def rows(self, table: Table) -> list[Row]:
        """Return the rows of a table in the old workbook, in their order, days of the season moved on."""
        rows = self.rows_of(self.old, table, self.take)
        for column in table.columns:
            for row in rows if column.of_season else ():
                row.values[column.key] = self.move_on(
                    row.values.get(column.key), f"{table.sheet}, {row.called}, {column.heading}"
                )
        return rows

    def rows_of(
        self, book: MadeBook, table: Table, take: Callable[[str, int, int], Typed] | None = None
    ) -> list[Row]:
        found = book.find(table)
        if found is None:
            return []
        rows = []
        keys = [key for key in entries(table) if key in found.columns]
        for number in _numbers(book, found, table):
            if found.value(number, table.named_by[0]) is None:
                continue
            values = {}
            for key in keys:
                at = (found.sheet.title, number, found.columns[key])
                values[key] = take(*at) if take else held(found.sheet, *at[1:])
            rows.append(Row(values, called(table, values)))
        return rows

    def carry_rows(self, table: Table, rows: Sequence[Row]) -> None:
        """Carry rows into a table: blank cells of known rows are filled, new rows go below."""
        name, found = self.new.path.name, self.new.find(table)
        if found is None:
            self.left += [f"{table.sheet}, {row.called}: {name} has no such table ({all_shown(row.values)})"
                          for row in rows]  # fmt: skip
            return
        keys = [key for key in entries(table) if key in found.columns]
        headings = {column.key: column.heading for column in table.columns}
        known, free, last = self._room(table, found, keys)
        cells: dict[tuple[int, int], Typed] = {}
        for key, row in _counted((key_of(table.named_by, row.values), row) for row in rows):
            number = known.get(key) or next(free, None)
            if number is None:
                self.left.append(f"{table.sheet}, {row.called}: no row is free in {name} ({all_shown(row.values)})")
                continue
            for column, value in row.values.items():
                if value is None:
                    continue
                what = f"{table.sheet}, {row.called}, {headings[column]}"
                if column not in keys:
                    self.left.append(f"{what}: {shown(value)} has no place in {name}")
                elif self.is_blank(held(found.sheet, number, found.columns[column]), value, what):
                    cells[number, found.columns[column]] = value
        area = Area(found.heading_row + 1, min(found.columns.values()), last, max(found.columns.values()))
        self.write(found.sheet.title, area, cells)

    def _room(
        self, table: Table, found: Found, keys: Sequence[str]
    ) -> tuple[dict[tuple[tuple[str, ...], int], int], Iterator[int], int]:
        """Return the rows of the new workbook by what names them, those that are free, and the last one."""
        filled, blank, last = [], [], found.heading_row + 1
        for last in _numbers(self.new, found, table):
            values = {key: held(found.sheet, last, found.columns[key]) for key in keys}
            if all(value is None for value in values.values()):
                blank.append(last)
            else:
                filled.append((key_of(table.named_by, values), last))
        last_filled = filled[-1][1] if filled else found.heading_row
        named = self.new.named("Weather_days") if table is weather.DAYS else None
        # An empty row of the days may be missing in the file.
        below = range(0) if named is None else range(last + 1, named.area.bottom + 1)
        # Below what is there; the gaps in it only when that is full.
        free = (*(row for row in blank if row > last_filled), *below, *(row for row in blank if row < last_filled))
        return dict(_counted(filled)), iter(free), last

    # -- reading and writing -----------------------------------------------------------------------------------

    @cached_property
    def answers(self) -> MadeBook:
        """The old workbook's stored answers."""
        return MadeBook(self.old.path, answers=True)

    def take(self, sheet: str, row: int, column: int) -> Typed:
        """Return what is typed in a cell of the old workbook, and note that it was looked at."""
        self.seen.add((sheet, row, column))
        cell = self.old.workbook[sheet]._cells.get((row, column))
        if cell is None or not is_formula(cell):
            return None if cell is None else value_of(cell)
        value = held(self.answers.workbook[sheet], row, column)
        self.moved.append(f"{sheet}!{cell.coordinate} holds a formula; its answer {shown(value)} is carried")
        return value

    def write(self, sheet: str, area: Area, cells: Mapping[tuple[int, int], Typed]) -> None:
        """Note cells to be written."""
        if cells:
            epoch = self.new.workbook.epoch.date()
            self.blocks.append(Block(sheet, area, {at: as_cell(value, epoch) for at, value in cells.items()}))
            self.counts[sheet] = self.counts.get(sheet, 0) + len(cells)


def _counted(rows: Iterable[tuple[tuple[str, ...], Typed]]) -> Iterator[tuple[tuple[tuple[str, ...], int], Typed]]:
    """Go over rows, each key with how often it has come: rows of one name are matched in their order."""
    times: Counter[tuple[str, ...]] = Counter()
    for key, row in rows:
        times[key] += 1
        yield (key, times[key]), row


def entries(table: Table) -> list[str]:
    """Return the columns in which one types."""
    return [column.key for column in table.columns if column.role is Role.ENTRY]


def _numbers(book: MadeBook, found: Found, table: Table) -> Iterable[int]:
    """Return the rows of a table that are in the file."""
    named = book.named("Weather_days") if table is weather.DAYS else None
    if named is None:
        return book.ready_rows(found, table)
    # Not max_row alone: a long record ends with it, a short one ends before what stands beside it.
    return range(found.heading_row + 1, min(named.area.bottom, found.sheet.max_row) + 1)


def called(table: Table, values: Mapping[str, Typed]) -> str:
    """Return what a row is called."""
    return " ".join(shown(values.get(name)) for name in table.named_by if values.get(name) is not None)
