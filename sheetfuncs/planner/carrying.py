"""Last year's workbook into a new one: what is typed in one and blank in the other, and what does not fit.

Nothing is written here. Tables are matched by headings and by what names a row, settings by their names, so that
the two may come from different editions of the template.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

from openpyxl.cell.cell import Cell
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from ..cells.dates import EPOCH_1900, to_serial
from ..cells.errors import CellFault, InputError
from ..hosts.excel.book import SETTINGS_SHEET
from ..xlsx.places import Area
from ..xlsx.values import Value
from .build import assemble
from .made_book import Found, MadeBook, is_formula, is_open
from .sheets import flush, kinds, log, picking, place, positions, trees, weather
from .sheets.contents import BLANK
from .sheets.layout import Role, Table

SEASON, TODAY, UNIT = "Season_year", "Day_today", "Unit"
#: The one setting that is a day of any year; the others are days of their season.
_FROST_ONE_DATE = "Frost_one_date"
#: What is seen of a tree in one season: it goes into the log, not into the next season's row.
_SEEN = ("leaves", "counted_on", "buds", "figs", "cut_on")
_WEATHER_DAYS, _WEATHER_MONTHS = "Weather_days", "Weather_months"
#: Cells of one column in a longer run than this are told of in one line.
_LONG_RUN = 20

#: What a cell holds, dates still as dates.
Typed = Any


class Tied(NamedTuple):
    """A declared table, the columns that name a row in it, and the name of its cells where it has one."""

    table: Table
    names: tuple[str, ...]
    cells: str = ""


_TREES = Tied(trees.table(1), ("tag",))
_LOG = Tied(log.TABLE, ("tag", "year"))
_DAYS = Tied(weather.DAYS, ("day",), _WEATHER_DAYS)
_KINDS = Tied(kinds.TABLE, ("name",))
_POSITIONS = Tied(positions.TABLE, ("name",))
_HARD_CUTS = Tied(flush.TABLE, ("what", "position"))
_SPREAD = Tied(picking.SPREAD, ("tag",))


class Block(NamedTuple):
    """Cells to write on a sheet; new rows take their looks from ``area``."""

    sheet: str
    area: Area
    cells: Mapping[tuple[int, int], Value]


@dataclass(frozen=True)
class Carried:
    """What carrying comes to.

    blocks : the cells to write. counts : how many cells go to which sheet. moved : what is carried in another form, one
    line each. left : what is not carried, one line each.
    """

    blocks: tuple[Block, ...]
    counts: Mapping[str, int]
    moved: tuple[str, ...]
    left: tuple[str, ...]


@dataclass
class _Row:
    """A row of a table as it is to be carried: its values by column, and what to call it."""

    values: dict[str, Typed]
    called: str


def plan_carry(old: MadeBook, new: MadeBook, season: int | None = None) -> Carried:
    """Return what carrying one workbook into another comes to.

    season : of the new workbook where it has none typed; by default the one after the old workbook's.
    Raises :class:`InputError` where the two count in different units, or where ``season`` is not the new one's.
    """
    return _Plan(old, new, season).made()


def rows_needed(old: MadeBook) -> int:
    """Return how many trees the old workbook lists."""
    found = old.find(_TREES.table)
    if found is None:
        raise InputError(f"{old.path.name} has no sheet Trees, wanted a workbook made by: sheetfuncs new")
    return sum(found.value(row, "tag") is not None for row in old.ready_rows(found, _TREES.table))


@dataclass
class _Plan:
    old: MadeBook
    new: MadeBook
    asked_season: int | None
    blocks: list[Block] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    moved: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    seen: set[tuple[str, int, int]] = field(default_factory=set)

    def made(self) -> Carried:
        rows_needed(self.old)
        self._refuse_another_unit()
        self._settings()
        for tied in (_POSITIONS, _KINDS):
            self._table(tied, self._rows(tied))
        self._trees_and_log()
        self._table(_HARD_CUTS, self._moved_cuts(self._rows(_HARD_CUTS)))
        self._table(_SPREAD, self._rows(_SPREAD))
        self._group("the frost dates", _frost_cells(self.old), _frost_cells(self.new))
        self._group("the monthly means", _month_cells(self.old), _month_cells(self.new))
        self._table(_DAYS, self._rows(_DAYS))
        if self.old.banner and not self.new.banner:
            self.left.append(f"what marks it as invented ({self.old.banner})")
        self._what_is_left()
        blocks = tuple(block for block in self.blocks if block.cells)
        return Carried(blocks, dict(self.counts), tuple(self.moved), tuple(self.left))

    # -- seasons and units -------------------------------------------------------------------------------------

    @cached_property
    def old_season(self) -> int | None:
        return _year(self._typed(self.old, SEASON))

    @cached_property
    def new_season(self) -> int | None:
        typed = _year(self._typed(self.new, SEASON))
        if typed is not None:
            if self.asked_season not in (None, typed):
                raise InputError(f"{self.new.path.name} is for season {typed}, not for {self.asked_season}")
            return typed
        if self.asked_season is not None:
            return self.asked_season
        return None if self.old_season is None else self.old_season + 1

    @property
    def years(self) -> int:
        """How many seasons lie between the two; 0 where one of them is not known."""
        if self.old_season is None or self.new_season is None:
            return 0
        return self.new_season - self.old_season

    def _typed(self, book: MadeBook, name: str) -> Typed:
        at = book.typed_cell(name)
        return None if at is None else _held(book.workbook[at[0]], at[1], at[2])

    def _refuse_another_unit(self) -> None:
        typed = self._typed(self.new, UNIT)
        ours, theirs = (str(unit or "C").strip().upper() for unit in (self._typed(self.old, UNIT), typed))
        if ours != theirs and (typed is not None or self._holds_degrees(self.new)):
            raise InputError(
                f"{self.old.path.name} is in °{ours}, {self.new.path.name} in °{theirs}, wanted one unit for both"
            )

    def _holds_degrees(self, book: MadeBook) -> bool:
        """Return whether anything is typed in a workbook that may be in its unit."""
        if any(self._rows_of(book, tied) for tied in (_DAYS, _TREES)):
            return True
        own = ((tied, key) for tied in (_POSITIONS, _KINDS) for key in _entry_keys(tied.table) if key != "name")
        if any(row.values.get(key) is not None for tied, key in own for row in self._rows_of(book, tied)):
            return True
        settings = (self._typed(book, name) for name in book.names if name not in (SEASON, TODAY))
        return any(value is not None for value in settings)

    # -- settings ----------------------------------------------------------------------------------------------

    def _settings(self) -> None:
        for name in self.old.names:
            at = self.old.typed_cell(name)
            if at is None:
                continue
            value = self._take(*at)
            if value is None:
                continue
            label = _label(self.old, at)
            if name == SEASON:
                value = self.new_season
            elif name == TODAY and self.years:
                self.left.append(f"{at[0]}, {label}, of season {self.old_season}: {_shown(value)}")
                continue
            elif name != _FROST_ONE_DATE:
                value = self._moved(value, f"{at[0]}, {label}")
            self._put_one(self.new.typed_cell(name), value, f"{at[0]}, {label}")

    def _moved(self, value: Typed, what: str) -> Typed:
        """Return a day of the old season in the new one, and tell of it."""
        if not self.years or not isinstance(value, date):
            return value
        try:
            day = value.replace(year=value.year + self.years)
        except ValueError:  # 29 February
            day = value.replace(year=value.year + self.years, day=28)
        self.moved.append(f"{what}: {_shown(value)} became {_shown(day)}")
        return day

    def _put_one(self, at: tuple[str, int, int] | None, value: Typed, what: str) -> None:
        if at is None:
            self.left.append(f"{what}: {_shown(value)} has no place in {self.new.path.name}")
            return
        sheet, row, column = at
        there = _held(self.new.workbook[sheet], row, column)
        if there is None:
            self._write(sheet, Area(row, column, row, column), {(row, column): value})
        elif not _same(there, value):
            self.left.append(_differs(what, value, there))

    # -- tables ------------------------------------------------------------------------------------------------

    def _rows(self, tied: Tied) -> list[_Row]:
        """Return the rows of a table in the old workbook, in their order."""
        return self._rows_of(self.old, tied, self._take)

    def _rows_of(self, book: MadeBook, tied: Tied, take: Callable[[str, int, int], Typed] | None = None) -> list[_Row]:
        found = book.find(tied.table)
        if found is None:
            return []
        rows = []
        keys = [key for key in _entry_keys(tied.table) if key in found.columns]
        for number in _numbers(book, found, tied):
            if any(found.value(number, name) is None for name in tied.names[:1]):
                continue
            values = {}
            for key in keys:
                place = (tied.table.sheet, number, found.columns[key])
                values[key] = take(*place) if take else _held(found.sheet, *place[1:])
            rows.append(_Row(values, _called(tied, values)))
        return rows

    def _table(self, tied: Tied, rows: Sequence[_Row]) -> None:
        """Carry rows into a table: blank cells of known rows are filled, new rows go below."""
        sheet = tied.table.sheet
        found = self.new.find(tied.table)
        if found is None:
            for row in rows:
                self.left.append(f"{sheet}, {row.called}: {self.new.path.name} has no such table ({_told(row.values)})")
            return
        keys = [key for key in _entry_keys(tied.table) if key in found.columns]
        headings = {column.key: column.heading for column in tied.table.columns}
        known, free, last = self._lie_of(tied, found, keys)
        cells: dict[tuple[int, int], Typed] = {}
        times: dict[tuple[str, ...], int] = {}
        for row in rows:
            key = _key(tied, row.values)
            times[key] = times.get(key, 0) + 1
            number = known.get((key, times[key]))
            if number is None:
                number = next(free, None)
            if number is None:
                self.left.append(f"{sheet}, {row.called}: no row is free in {self.new.path.name} ({_told(row.values)})")
                continue
            for column, value in row.values.items():
                if value is None:
                    continue
                what = f"{sheet}, {row.called}, {headings[column]}"
                there = found.cell(number, column)
                if column not in keys:
                    self.left.append(f"{what}: {_shown(value)} has no place in {self.new.path.name}")
                elif there is None or there.value in (None, ""):
                    cells[number, found.columns[column]] = value
                elif not _same(_value_of(there), value):
                    self.left.append(_differs(what, value, _value_of(there)))
        area = Area(found.heading_row + 1, min(found.columns.values()), last, max(found.columns.values()))
        self._write(sheet, area, cells)

    def _lie_of(
        self, tied: Tied, found: Found, keys: Sequence[str]
    ) -> tuple[dict[tuple[tuple[str, ...], int], int], Iterator[int], int]:
        """Return the rows of the new workbook by what names them, those that are free, and the last one."""
        known: dict[tuple[tuple[str, ...], int], int] = {}
        times: dict[tuple[str, ...], int] = {}
        blank: list[int] = []
        last_filled, last = found.heading_row, found.heading_row + 1
        for last in _numbers(self.new, found, tied):
            values = {key: _held(found.sheet, last, found.columns[key]) for key in keys}
            if all(value is None for value in values.values()):
                blank.append(last)
                continue
            last_filled = last
            key = _key(tied, values)
            times[key] = times.get(key, 0) + 1
            known[key, times[key]] = last
        # Below what is there; the gaps in it only when that is full.
        below = self._more_rows(tied, last)
        free = (*(row for row in blank if row > last_filled), *below, *(row for row in blank if row < last_filled))
        return known, iter(free), last

    def _more_rows(self, tied: Tied, last: int) -> range:
        """Return the rows of a table that are not in the file yet: an empty one may be missing there."""
        place = self.new.names.get(tied.cells)
        return range(0) if place is None else range(last + 1, place.area.bottom + 1)

    def _trees_and_log(self) -> None:
        standing, lines = [], self._rows(_LOG)
        for row in self._rows(_TREES):
            if self.years:
                self._into_log(row, lines)
                row = replace(row, values={key: value for key, value in row.values.items() if key not in _SEEN})
            standing.append(row)
        self._table(_TREES, standing)
        self._table(_LOG, lines)

    def _into_log(self, tree: _Row, lines: list[_Row]) -> None:
        """Add what was seen of a tree in the old season to the lines of the log, where it was cut."""
        seen = {key: tree.values.get(key) for key in _SEEN if tree.values.get(key) is not None}
        if not seen:
            return
        told = _seen_told(seen)
        if "cut_on" not in seen:
            self.left.append(f"Trees, {tree.called}, of season {self.old_season}: {told}")
            return
        line = {
            "tag": tree.values["tag"], "year": self.old_season, "kind": tree.values.get("kind"),
            "position": tree.values.get("position"), "cut_on": seen["cut_on"], "note": told or None,
        }  # fmt: skip
        called = _called(_LOG, line)
        there = next((row for row in lines if _key(_LOG, row.values) == _key(_LOG, line)), None)
        if there is None:
            lines.append(_Row(line, called))
            self.moved.append(f"Trees, {tree.called}: the cut on {_shown(seen['cut_on'])} became a line of Log")
            return
        for key, value in line.items():
            if value is None or (key == "note" and there.values.get(key) is not None):
                continue
            if there.values.get(key) is None:
                there.values[key] = value
            elif key == "cut_on" and not _same(there.values[key], value):
                self.left.append(_differs(f"Log, {called}, Cut on", value, there.values[key]))
        if told and there.values.get("note") != told:
            self.left.append(f"Trees, {tree.called}, of season {self.old_season}: {told}")

    def _moved_cuts(self, rows: Iterable[_Row]) -> list[_Row]:
        moved = []
        for row in rows:
            what = f"{_HARD_CUTS.table.sheet}, {row.called}, Hard cut on"
            moved.append(replace(row, values={**row.values, "cut_on": self._moved(row.values.get("cut_on"), what)}))
        return moved

    # -- cells that belong together ----------------------------------------------------------------------------

    def _group(self, what: str, old: _Cells | None, new: _Cells | None) -> None:
        """Carry cells that only mean something together: all of them, or none."""
        if old is None:
            return
        values = {offset: self._take(old.sheet, *at) for offset, at in old.places.items()}
        if all(value is None for value in values.values()):
            return
        told = "; ".join(_shown(value) for value in values.values() if value is not None)
        if new is None:
            self.left.append(f"{old.sheet}, {what}: no place in {self.new.path.name} ({told})")
            return
        sheet = self.new.workbook[new.sheet]
        there = {offset: _held(sheet, *at) for offset, at in new.places.items()}
        if all(value is None for value in there.values()):
            cells = {new.places[offset]: value for offset, value in values.items() if value is not None}
            self._write(new.sheet, Area(*min(cells), *max(cells)), cells)
        elif not all(_same(there.get(offset), value) for offset, value in values.items()):
            self.left.append(f"{old.sheet}, {what}: {self.new.path.name} has others ({told})")

    # -- what is left ------------------------------------------------------------------------------------------

    def _what_is_left(self) -> None:
        """List the cells of the old workbook that someone typed and that were not looked at."""
        standing = _standing(self.old.banner)
        for sheet in self.old.workbook.worksheets:
            if sheet.title == SETTINGS_SHEET:
                continue
            known = standing.get(sheet.title)
            tables = self._table_columns(sheet)
            cells = [
                cell
                for _, cell in sorted(sheet._cells.items(), key=lambda item: (item[0][1], item[0][0]))
                if (sheet.title, cell.row, cell.column) not in self.seen and _is_own(cell, known, tables)
            ]
            self.left += _listed(sheet.title, cells)
            self.left += [
                f"{sheet.title}!{cell.coordinate} has a note: {_shown(cell.comment.text)}"
                for cell in sheet._cells.values()
                if cell.comment is not None
            ]

    def _table_columns(self, sheet: Worksheet) -> dict[int, int]:
        """Return the columns of the declared tables on a sheet, each with the row of its heading."""
        tied = (_TREES, _LOG, _KINDS, _POSITIONS, _HARD_CUTS)
        found = [self.old.find(one.table) for one in tied if one.table.sheet == sheet.title]
        return {column: one.heading_row for one in found if one for column in one.columns.values()}

    # -- reading and writing -----------------------------------------------------------------------------------

    @cached_property
    def _answers(self) -> MadeBook:
        return MadeBook(self.old.path, answers=True)

    def _take(self, sheet: str, row: int, column: int) -> Typed:
        """Return what is typed in a cell of the old workbook, and note that it was looked at."""
        self.seen.add((sheet, row, column))
        cell = self.old.workbook[sheet]._cells.get((row, column))
        if cell is None or not is_formula(cell):
            return None if cell is None else _value_of(cell)
        value = _held(self._answers.workbook[sheet], row, column)
        self.moved.append(f"{sheet}!{cell.coordinate} holds a formula; its answer {_shown(value)} is carried")
        return value

    def _write(self, sheet: str, area: Area, cells: Mapping[tuple[int, int], Typed]) -> None:
        if cells:
            epoch = self.new.workbook.epoch.date()
            self.blocks.append(Block(sheet, area, {at: _as_cell(value, epoch) for at, value in cells.items()}))
            self.counts[sheet] = self.counts.get(sheet, 0) + len(cells)


# -- places ----------------------------------------------------------------------------------------------------


class _Cells(NamedTuple):
    sheet: str
    places: Mapping[tuple[int, int], tuple[int, int]]


def _frost_cells(book: MadeBook) -> _Cells | None:
    """Return the rows of chance and date, which stand below the one typed date."""
    at = book.typed_cell(_FROST_ONE_DATE)
    if at is None:
        return None
    sheet, row, column = at
    offsets = [(down, right) for down in range(place.FROST_ROWS) for right in range(2)]
    places = {(down, right): (row + 1 + down, column + right) for down, right in offsets}
    cells = book.workbook[sheet]._cells
    open_ones = {offset: at for offset, at in places.items() if at in cells and is_open(cells[at])}
    return _Cells(sheet, open_ones) if open_ones else None


def _month_cells(book: MadeBook) -> _Cells | None:
    named = book.names.get(_WEATHER_MONTHS)
    if named is None:
        return None
    area = named.area
    places = {
        (row - area.top, column - area.left): (row, column)
        for row in range(area.top, area.bottom + 1)
        for column in range(area.left + 1, area.right + 1)
    }
    return _Cells(named.sheet, places)


def _entry_keys(table: Table) -> list[str]:
    return [column.key for column in table.columns if column.role is Role.ENTRY]


def _numbers(book: MadeBook, found: Found, tied: Tied) -> Iterable[int]:
    """Return the rows of a table that are in the file."""
    named = book.names.get(tied.cells)
    if named is None:
        return book.ready_rows(found, tied.table)
    # Not max_row alone: a long record ends with it, a short one ends before what stands beside it.
    return range(found.heading_row + 1, min(named.area.bottom, found.sheet.max_row) + 1)


def _label(book: MadeBook, at: tuple[str, int, int]) -> str:
    sheet, row, column = at
    texts = (_held(book.workbook[sheet], row, left) for left in range(column - 1, 0, -1))
    return next((text for text in texts if isinstance(text, str)), f"{get_column_letter(column)}{row}")


# -- values ----------------------------------------------------------------------------------------------------


def _held(sheet: Worksheet, row: int, column: int) -> Typed:
    cell = sheet._cells.get((row, column))
    return None if cell is None else _value_of(cell)


def _value_of(cell: Cell) -> Typed:
    value = cell.value
    if value is None or value == "":
        return None
    if cell.data_type == "e":
        return CellFault(str(value))
    if isinstance(value, datetime) and value.time() == time():
        return value.date()
    return value


def _as_cell(value: Typed, epoch: date) -> Value:
    """Return a value as a cell stores it."""
    if isinstance(value, datetime):
        return to_serial(value.date(), epoch) + _share_of_day(value.time())
    if isinstance(value, date):
        return to_serial(value, epoch)
    if isinstance(value, time):
        return _share_of_day(value)
    if isinstance(value, timedelta):
        return value / timedelta(days=1)
    if isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    return value if isinstance(value, (float, bool, CellFault)) else str(value)


def _share_of_day(moment: time) -> float:
    return (datetime.combine(date.min, moment) - datetime.min) / timedelta(days=1)


def _same(one: Typed, other: Typed) -> bool:
    if one is None or other is None:
        return one is other
    first, second = _as_cell(one, EPOCH_1900), _as_cell(other, EPOCH_1900)
    if type(first) is type(second) is float:
        return math.isclose(first, second, rel_tol=1e-12, abs_tol=1e-12)
    return type(first) is type(second) and first == second


def _year(value: Typed) -> int | None:
    if isinstance(value, str) and value.strip().isdigit():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or value != int(value):
        return None
    return int(value)


def _key(tied: Tied, values: Mapping[str, Typed]) -> tuple[str, ...]:
    """Return what names a row, as spreadsheets compare: 7 and "7" are one, so are capitals, so is a day's number."""
    named = (values.get(name) for name in tied.names)
    held = (_as_cell(value, EPOCH_1900) if isinstance(value, date) else value for value in named)
    return tuple(_shown(value).strip().casefold() for value in held)


def _called(tied: Tied, values: Mapping[str, Typed]) -> str:
    return " ".join(_shown(values.get(name)) for name in tied.names if values.get(name) is not None)


def _seen_told(seen: Mapping[str, Typed]) -> str:
    """Return what was counted on a tree in words, without the cut."""
    parts = []
    if "leaves" in seen:
        on = f" on {_shown(seen['counted_on'])}" if "counted_on" in seen else ""
        parts.append(f"{_shown(seen['leaves'])} leaves on a shoot{on}")
    elif "counted_on" in seen:
        parts.append(f"counted on {_shown(seen['counted_on'])}")
    if "buds" in seen:
        parts.append(f"fig buds seen: {_shown(seen['buds'])}")
    if "figs" in seen:
        parts.append(f"{_shown(seen['figs'])} figs on a shoot")
    return "; ".join(parts)


def _shown(value: Typed) -> str:
    if value is None:
        return "blank"
    if isinstance(value, CellFault):
        return value.text
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float):
        return f"{value:.12g}"
    return " ".join(str(value).split())


def _told(values: Mapping[str, Typed]) -> str:
    return "; ".join(_shown(value) for value in values.values() if value is not None)


def _differs(what: str, value: Typed, there: Typed) -> str:
    return f"{what}: {_shown(value)} was not carried, for {_shown(there)} stands there"


# -- cells that the template does not have ---------------------------------------------------------------------


@lru_cache(maxsize=2)  # to lay the sheets out takes seconds
def _standing(banner: str) -> Mapping[str, frozenset[str]]:
    """Return what the template itself writes on each sheet."""
    return {
        sheet.title: frozenset(_shown(_value_of(cell)) for cell in sheet._cells.values() if not is_formula(cell))
        for sheet in assemble(replace(BLANK, banner=banner), 1).worksheets
    }


def _is_own(cell: Cell, standing: frozenset[str] | None, tables: Mapping[int, int]) -> bool:
    """Return whether a cell holds something that the user typed.

    standing : what the template writes on that sheet; ``None`` for a sheet that is not the template's.
    """
    value = _value_of(cell)
    if value is None:
        return False
    if standing is None:
        return True
    if is_formula(cell):
        return not cell.protection.locked
    if _shown(value) in standing:
        return False
    in_table = cell.row > tables.get(cell.column, math.inf)
    # A text in a locked cell with looks of its own is a word of another edition of the template.
    return not (isinstance(value, str) and cell.has_style and cell.protection.locked and not in_table)


def _listed(sheet: str, cells: Sequence[Cell]) -> Iterator[str]:
    """Go over lines that tell of cells; a long run in one column is one line."""
    run: list[Cell] = []
    for cell in (*cells, None):
        if run and (cell is None or cell.column != run[-1].column or cell.row != run[-1].row + 1):
            yield from _run_told(sheet, run)
            run = []
        if cell is not None:
            run.append(cell)


def _run_told(sheet: str, run: Sequence[Cell]) -> Iterator[str]:
    if len(run) > _LONG_RUN:
        first, last = (_shown(_value_of(cell)) for cell in (run[0], run[-1]))
        yield f"{sheet}!{run[0].coordinate}:{run[-1].coordinate}: {len(run):,} cells, {first} to {last}"
        return
    for cell in run:
        yield f"{sheet}!{cell.coordinate}: {_shown(_value_of(cell))}"
