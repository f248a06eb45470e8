"""Last year's workbook into a new one: what is typed in one and blank in the other, and what does not fit.

Nothing is written here. Tables are matched by headings and by what names a row, settings by their names, so that
the two may come from different editions of the template.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import NamedTuple

from openpyxl.utils import get_column_letter

from ..cells.errors import InputError
from ..xlsx.places import Area
from .build import pages
from .carried import (
    Block,
    Carried,
    Typed,
    all_shown,
    as_cell,
    held,
    in_later_season,
    key_of,
    left_over,
    not_carried,
    same,
    shown,
    value_of,
    year_of,
)
from .made_book import Found, MadeBook, is_formula, is_open
from .sheets import log, place, trees, weather
from .sheets.layout import Role, Table

SEASON, TODAY, UNIT = "Season_year", "Day_today", "Unit"
_WEATHER_MONTHS = "Weather_months"
_TREES, _LOG, _DAYS = trees.table(1), log.TABLE, weather.DAYS
_PAGES = pages(1)
_SETTINGS = {line.name: line for page in _PAGES for block in page.settings for line in block.lines}
#: The tables in which one types; the days of weather come last.
_TABLES = [table for page in _PAGES for table in page.tables if table.named_by] + [_DAYS]
#: What is seen of a tree in one season, with the column of the log that takes it over; the rest goes into its note.
_SEEN = {
    "leaves": "", "counted_on": "", "buds": "", "figs": "", "cut_on": "cut_on", "seen_on": "seen_on",
    "picking_from": "first_ripe", "picking_to": "last_ripe", "picked": "kilograms",
}  # fmt: skip


@dataclass
class _Row:
    """A row of a table as it is to be carried: its values by column, and what to call it."""

    values: dict[str, Typed]
    called: str


class _Cells(NamedTuple):
    """Cells that belong together, each by its offset from the first."""

    sheet: str
    at: Mapping[tuple[int, int], tuple[int, int]]


def plan_carry(old: MadeBook, new: MadeBook, season: int | None = None) -> Carried:
    """Return what carrying one workbook into another comes to.

    season : of the new workbook where it has none typed; by default the one after the old workbook's.
    Raises :class:`InputError` where the two count in different units, or where ``season`` is not the new one's.
    """
    return _Plan(old, new, season).made()


def rows_needed(old: MadeBook) -> int:
    """Return how many trees the old workbook lists."""
    found = old.find(_TREES)
    if found is None:
        raise InputError(f"{old.path.name} has no sheet Trees, wanted a workbook made by: sheetfuncs new")
    return sum(found.value(row, "tag") is not None for row in old.ready_rows(found, _TREES))


@dataclass
class _Plan:
    old: MadeBook
    new: MadeBook
    wanted_season: int | None
    blocks: list[Block] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    moved: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    seen: set[tuple[str, int, int]] = field(default_factory=set)

    def made(self) -> Carried:
        rows_needed(self.old)
        self._refuse_another_unit()
        self._settings()
        lines = self._rows(_LOG)
        for table in _TABLES:
            if table.sheet == trees.NAME:
                self._table(table, self._standing_trees(lines))
            else:
                self._table(table, lines if table is _LOG else self._rows(table))
        self._group("the frost dates", _frost_cells(self.old), _frost_cells(self.new))
        self._group("the monthly means", _month_cells(self.old), _month_cells(self.new))
        if self.old.banner and not self.new.banner:
            self.left.append(f"what marks it as invented ({self.old.banner})")
        self.left += left_over(self.old, self.seen, self._columns())
        blocks = tuple(block for block in self.blocks if block.cells)
        return Carried(blocks, dict(self.counts), tuple(self.moved), tuple(self.left))

    def _columns(self) -> dict[str, dict[int, int]]:
        """Return the columns of the declared tables by sheet, each with the row of its heading."""
        columns: dict[str, dict[int, int]] = {}
        for found in filter(None, (self.old.find(table) for table in _TABLES if table is not _DAYS)):
            columns.setdefault(found.sheet.title, {}).update(dict.fromkeys(found.columns.values(), found.heading_row))
        return columns

    # -- seasons and units -------------------------------------------------------------------------------------

    @cached_property
    def old_season(self) -> int | None:
        return year_of(self._typed(self.old, SEASON)) or year_of(self._answers.named_value(SEASON))

    @cached_property
    def new_season(self) -> int | None:
        typed = year_of(self._typed(self.new, SEASON))
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

    def _typed(self, book: MadeBook, name: str) -> Typed:
        at = book.typed_cell(name)
        return None if at is None else held(book.workbook[at[0]], at[1], at[2])

    def _refuse_another_unit(self) -> None:
        typed = self._typed(self.new, UNIT)
        ours, theirs = (str(unit or "C").strip().upper() for unit in (self._typed(self.old, UNIT), typed))
        if ours != theirs and (typed is not None or self._holds_degrees(self.new)):
            raise InputError(
                f"{self.old.path.name} is in °{ours}, {self.new.path.name} in °{theirs}, wanted one unit for both"
            )

    def _holds_degrees(self, book: MadeBook) -> bool:
        """Return whether anything is typed in a workbook that may be in its unit."""
        for table in _TABLES:
            # The names of positions and varieties stand in a blank workbook, too.
            keys = set(_entries(table)) - ({"name"} if table.named_by == ("name",) else set())
            if any(row.values.get(key) is not None for row in self._rows_of(book, table) for key in keys):
                return True
        return any(self._typed(book, name) is not None for name in _SETTINGS if name not in (SEASON, TODAY))

    # -- settings ----------------------------------------------------------------------------------------------

    def _settings(self) -> None:
        for name in self.old.names:
            at = self.old.typed_cell(name)
            if at is None or name not in _SETTINGS:
                continue
            value = self._take(*at)
            what = f"{at[0]}, {_label(self.old, at)}"
            if name == SEASON:
                value = self.new_season
            if value is None:
                continue
            if name == TODAY and self.years:
                self.left.append(f"{what}, of season {self.old_season}: {shown(value)}")
                continue
            if _SETTINGS[name].of_season:
                value = self._moved(value, what)
            self._put_one(self.new.typed_cell(name), value, what)
        for name, _, _ in weather.ORIGIN:
            one, other = self.old.names.get(name), self.new.names.get(name)
            if one is not None and other is not None:
                value = self._take(one.sheet, one.area.top, one.area.left)
                if value is not None:
                    self._put_one((other.sheet, other.area.top, other.area.left), value, f"{one.sheet}, {name}")

    def _moved(self, value: Typed, what: str) -> Typed:
        """Return a day of the old season in the new one, and say so."""
        if not self.years or not isinstance(value, date):
            return value
        day = in_later_season(value, self.years)
        self.moved.append(f"{what}: {shown(value)} became {shown(day)}")
        return day

    def _put_one(self, at: tuple[str, int, int] | None, value: Typed, what: str) -> None:
        if at is None:
            self.left.append(f"{what}: {shown(value)} has no place in {self.new.path.name}")
            return
        sheet, row, column = at
        there = held(self.new.workbook[sheet], row, column)
        if there is None:
            self._write(sheet, Area(row, column, row, column), {(row, column): value})
        elif not same(there, value):
            self.left.append(not_carried(what, value, there))

    # -- tables ------------------------------------------------------------------------------------------------

    def _rows(self, table: Table) -> list[_Row]:
        """Return the rows of a table in the old workbook, in their order, days of the season moved on."""
        rows = self._rows_of(self.old, table, self._take)
        for column in table.columns:
            for row in rows if column.of_season else ():
                row.values[column.key] = self._moved(
                    row.values.get(column.key), f"{table.sheet}, {row.called}, {column.heading}"
                )
        return rows

    def _rows_of(
        self, book: MadeBook, table: Table, take: Callable[[str, int, int], Typed] | None = None
    ) -> list[_Row]:
        found = book.find(table)
        if found is None:
            return []
        rows = []
        keys = [key for key in _entries(table) if key in found.columns]
        for number in _numbers(book, found, table):
            if found.value(number, table.named_by[0]) is None:
                continue
            values = {}
            for key in keys:
                at = (found.sheet.title, number, found.columns[key])
                values[key] = take(*at) if take else held(found.sheet, *at[1:])
            rows.append(_Row(values, _called(table, values)))
        return rows

    def _table(self, table: Table, rows: Sequence[_Row]) -> None:
        """Carry rows into a table: blank cells of known rows are filled, new rows go below."""
        name, found = self.new.path.name, self.new.find(table)
        if found is None:
            self.left += [f"{table.sheet}, {row.called}: {name} has no such table ({all_shown(row.values)})"
                          for row in rows]  # fmt: skip
            return
        keys = [key for key in _entries(table) if key in found.columns]
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
                there = found.cell(number, column)
                if column not in keys:
                    self.left.append(f"{what}: {shown(value)} has no place in {name}")
                elif there is None or there.value in (None, ""):
                    cells[number, found.columns[column]] = value
                elif not same(value_of(there), value):
                    self.left.append(not_carried(what, value, value_of(there)))
        area = Area(found.heading_row + 1, min(found.columns.values()), last, max(found.columns.values()))
        self._write(found.sheet.title, area, cells)

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
        named = self.new.names.get("Weather_days") if table is _DAYS else None
        # An empty row of the days may be missing in the file.
        below = range(0) if named is None else range(last + 1, named.area.bottom + 1)
        # Below what is there; the gaps in it only when that is full.
        free = (*(row for row in blank if row > last_filled), *below, *(row for row in blank if row < last_filled))
        return dict(_counted(filled)), iter(free), last

    # -- trees and the log -------------------------------------------------------------------------------------

    def _standing_trees(self, lines: list[_Row]) -> list[_Row]:
        """Return the trees as they stand in the new season; what was seen of them goes into the lines of the log."""
        standing = self._rows(_TREES)
        if not self.years:
            return standing
        for row in standing:
            self._into_log(row, lines)
        return [replace(row, values={key: value for key, value in row.values.items() if key not in _SEEN})
                for row in standing]  # fmt: skip

    def _into_log(self, tree: _Row, lines: list[_Row]) -> None:
        """Add what was seen of a tree in the old season to the lines of the log."""
        seen = {key: tree.values[key] for key in _SEEN if tree.values.get(key) is not None}
        counted = _counted_in_words(seen)
        dated = {_SEEN[key]: value for key, value in seen.items() if _SEEN[key]}
        if not dated:
            if seen:
                self.left.append(f"Trees, {tree.called}, of season {self.old_season}: {counted}")
            return
        line = {
            "tag": tree.values["tag"], "year": self.old_season, "kind": tree.values.get("kind"),
            "position": tree.values.get("position"), **dated, "note": counted or None,
        }  # fmt: skip
        called = _called(_LOG, line)
        key = key_of(_LOG.named_by, line)
        there = next((row for row in lines if key_of(_LOG.named_by, row.values) == key), None)
        if there is None:
            lines.append(_Row(line, called))
            what = f"the cut on {shown(dated['cut_on'])}" if "cut_on" in dated else "what was seen"
            self.moved.append(f"Trees, {tree.called}: {what} became a line of Log")
            return
        for name, value in line.items():
            if there.values.get(name) is None:
                there.values[name] = value
            elif name in dated and not same(there.values[name], value):
                heading = next(column.heading for column in _LOG.columns if column.key == name)
                self.left.append(not_carried(f"Log, {called}, {heading}", value, there.values[name]))
        if counted and there.values.get("note") != counted:
            self.left.append(f"Trees, {tree.called}, of season {self.old_season}: {counted}")

    # -- cells that belong together ----------------------------------------------------------------------------

    def _group(self, what: str, old: _Cells | None, new: _Cells | None) -> None:
        """Carry cells that only mean something together: all of them, or none."""
        if old is None:
            return
        values = {offset: self._take(old.sheet, *at) for offset, at in old.at.items()}
        if all(value is None for value in values.values()):
            return
        if new is None:
            self.left.append(f"{old.sheet}, {what}: no place in {self.new.path.name} ({all_shown(values)})")
            return
        there = {offset: held(self.new.workbook[new.sheet], *at) for offset, at in new.at.items()}
        if all(value is None for value in there.values()):
            cells = {new.at[offset]: value for offset, value in values.items() if value is not None}
            self._write(new.sheet, Area(*min(cells), *max(cells)), cells)
        elif not all(same(there.get(offset), value) for offset, value in values.items()):
            self.left.append(f"{old.sheet}, {what}: {self.new.path.name} has others ({all_shown(values)})")

    # -- reading and writing -----------------------------------------------------------------------------------

    @cached_property
    def _answers(self) -> MadeBook:
        return MadeBook(self.old.path, answers=True)

    def _take(self, sheet: str, row: int, column: int) -> Typed:
        """Return what is typed in a cell of the old workbook, and note that it was looked at."""
        self.seen.add((sheet, row, column))
        cell = self.old.workbook[sheet]._cells.get((row, column))
        if cell is None or not is_formula(cell):
            return None if cell is None else value_of(cell)
        value = held(self._answers.workbook[sheet], row, column)
        self.moved.append(f"{sheet}!{cell.coordinate} holds a formula; its answer {shown(value)} is carried")
        return value

    def _write(self, sheet: str, area: Area, cells: Mapping[tuple[int, int], Typed]) -> None:
        if cells:
            epoch = self.new.workbook.epoch.date()
            self.blocks.append(Block(sheet, area, {at: as_cell(value, epoch) for at, value in cells.items()}))
            self.counts[sheet] = self.counts.get(sheet, 0) + len(cells)


def _counted(rows: Iterable[tuple[tuple[str, ...], Typed]]) -> Iterator[tuple[tuple[tuple[str, ...], int], Typed]]:
    """Go over rows, each key with how often it has come: rows of one name are matched in their order."""
    times: dict[tuple[str, ...], int] = {}
    for key, row in rows:
        times[key] = times.get(key, 0) + 1
        yield (key, times[key]), row


def _frost_cells(book: MadeBook) -> _Cells | None:
    """Return the rows of chance and date, which stand below the one typed date."""
    at = book.typed_cell("Frost_one_date")
    if at is None:
        return None
    sheet, row, column = at
    offsets = [(down, right) for down in range(place.FROST_ROWS) for right in range(2)]
    cells = book.workbook[sheet]._cells
    open_ones = {
        (down, right): (row + 1 + down, column + right)
        for down, right in offsets
        if (row + 1 + down, column + right) in cells and is_open(cells[row + 1 + down, column + right])
    }
    return _Cells(sheet, open_ones) if open_ones else None


def _month_cells(book: MadeBook) -> _Cells | None:
    named = book.names.get(_WEATHER_MONTHS)
    if named is None:
        return None
    area = named.area
    return _Cells(named.sheet, {
        (row - area.top, column - area.left): (row, column)
        for row in range(area.top, area.bottom + 1)
        for column in range(area.left + 1, area.right + 1)
    })  # fmt: skip


def _entries(table: Table) -> list[str]:
    return [column.key for column in table.columns if column.role is Role.ENTRY]


def _numbers(book: MadeBook, found: Found, table: Table) -> Iterable[int]:
    """Return the rows of a table that are in the file."""
    named = book.names.get("Weather_days") if table is _DAYS else None
    if named is None:
        return book.ready_rows(found, table)
    # Not max_row alone: a long record ends with it, a short one ends before what stands beside it.
    return range(found.heading_row + 1, min(named.area.bottom, found.sheet.max_row) + 1)


def _label(book: MadeBook, at: tuple[str, int, int]) -> str:
    sheet, row, column = at
    texts = (held(book.workbook[sheet], row, left) for left in range(column - 1, 0, -1))
    return next((text for text in texts if isinstance(text, str)), f"{get_column_letter(column)}{row}")


def _called(table: Table, values: Mapping[str, Typed]) -> str:
    return " ".join(shown(values.get(name)) for name in table.named_by if values.get(name) is not None)


def _counted_in_words(seen: Mapping[str, Typed]) -> str:
    """Return what was counted on a tree in words, without what the log has columns for."""
    parts = []
    if "leaves" in seen:
        on = f" on {shown(seen['counted_on'])}" if "counted_on" in seen else ""
        parts.append(f"{shown(seen['leaves'])} leaves on a shoot{on}")
    elif "counted_on" in seen:
        parts.append(f"counted on {shown(seen['counted_on'])}")
    if "buds" in seen:
        parts.append(f"fig buds seen: {shown(seen['buds'])}")
    if "figs" in seen:
        parts.append(f"{shown(seen['figs'])} figs on a shoot")
    return "; ".join(parts)
