"""A workbook's own weather: read, joined with the days of files, and written back."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Mapping, Sequence

from ..cells.dates import read_date, to_serial
from ..cells.errors import CHECK, InputError, shown
from ..cells.kinds import READING
from ..xlsx.errors import WorkbookFileError
from ..xlsx.files import Backup
from ..xlsx.inputs import OpenBook, named_area, open_book, read_cells, write_cells
from ..xlsx.references import Area
from ..xlsx.values import Value
from .merging import KnownDay, Merge, merge
from .model import Day
from .units import CELSIUS, FAHRENHEIT, in_unit

#: The names of the workbook's cells: the rows of date, low, high, and the unit of temperature.
DAYS, UNIT = "Weather_days", "Unit"
#: The names of the cells that say where the days come from.
ORIGIN = ("Weather_source", "Weather_station", "Weather_where", "Weather_licence", "Weather_fetched")


@dataclass(frozen=True)
class BookWeather:
    """The weather of a workbook: its unit, the rows that hold something, and the row after the last of them."""

    opened: OpenBook
    sheet: str
    area: Area
    unit: str
    rows: tuple[KnownDay, ...]
    next_row: int

    @property
    def room(self) -> int:
        """How many rows are free below the last one."""
        return self.area.bottom - self.next_row + 1


def open_weather(path: Path | str) -> BookWeather:
    """Read the weather of a workbook.

    Raises :class:`~sheetfuncs.cells.errors.InputError` in one line where the file is none with a table of weather.
    """
    opened = open_book(path)
    try:
        sheet, area = named_area(opened, DAYS)
        unit_sheet, unit_area = named_area(opened, UNIT)
    except WorkbookFileError:
        raise WorkbookFileError(
            f"{opened.path.name} has no table of weather, wanted a workbook made by: sheetfuncs new"
        ) from None
    if area.columns != 3:
        raise WorkbookFileError(f"{opened.path.name}: {DAYS} has {area.columns} columns, wanted date, low, high")
    unit = read_cells(opened, unit_sheet, unit_area).get((unit_area.top, unit_area.left))
    if unit not in (CELSIUS, FAHRENHEIT):
        hint = f", first: sheetfuncs recalc {opened.path.name}" if unit is None else ""
        raise WorkbookFileError(f"{opened.path.name}: the unit of temperature is {shown(unit)}, wanted C or F{hint}")
    cells = read_cells(opened, sheet, area)
    by_row: dict[int, list[Value]] = {}
    for (row, column), value in cells.items():
        if area.left <= column <= area.right:
            by_row.setdefault(row, [None, None, None])[column - area.left] = value
    rows = tuple(_known(row, by_row[row], opened.book.epoch) for row in sorted(by_row))
    next_row = max(by_row, default=area.top - 1) + 1
    return BookWeather(opened, sheet, area, str(unit), rows, next_row)


def _known(row: int, cells: Sequence[Value], epoch: date) -> KnownDay:
    strange = ["has no date"] if cells[0] is None else []
    values: list[Any] = []
    for name, read, cell in zip(("date", "low", "high"), (read_date, READING.read, READING.read), cells):
        try:
            values.append(None if cell is None else read(cell, name, epoch))
        except InputError as error:
            values.append(None)
            strange.append(str(error).removeprefix(CHECK))
    return KnownDay(row, *values, "; ".join(strange))


def remembered_source(weather: BookWeather) -> str:
    """Return where the days of a workbook come from, as it was written there; "" where it does not say."""
    try:
        sheet, area = named_area(weather.opened, ORIGIN[0])
    except WorkbookFileError:
        return ""
    return str(read_cells(weather.opened, sheet, area).get((area.top, area.left)) or "")


def origin_cells(weather: BookWeather, origin: Sequence[str | date]) -> dict[tuple[int, int], Value]:
    """Return the cells that say where the days come from, by (row, column); none in a workbook without them.

    origin : source, station, where it is, licence, day of the last fetch.
    """
    cells: dict[tuple[int, int], Value] = {}
    for name, value in zip(ORIGIN, origin):
        try:
            sheet, area = named_area(weather.opened, name)
        except WorkbookFileError:
            continue
        if sheet == weather.sheet:
            epoch = weather.opened.book.epoch
            cells[area.top, area.left] = to_serial(value, epoch) if isinstance(value, date) else value
    return cells


def merge_into(weather: BookWeather, days: Sequence[Day], unit: str, replace: bool = False) -> Merge:
    """Return what adding the days of a file, in its unit, to a workbook's weather comes to.

    Of a record longer than the table the last years are taken.
    """
    merged = merge(weather.rows, in_unit(days, unit, weather.unit), replace, weather.unit)
    added = sorted(merged.added)
    over = len(added) - weather.room
    oldest_known = min((row.day for row in weather.rows if row.day), default=date.max)
    if over <= 0 or added[over - 1].day >= oldest_known:
        return merged
    return merged._replace(added=tuple(added[over:]), left_out=tuple(added[:over]))


def with_merge(weather: BookWeather, merged: Merge) -> tuple[BookWeather, dict[tuple[int, int], Value]]:
    """Return a workbook's weather as it will be, and the cells that make it so, by (row, column).

    Raises :class:`WorkbookFileError` where the table has no room.
    """
    area, epoch = weather.area, weather.opened.book.epoch
    if len(merged.added) > weather.room:
        raise WorkbookFileError(
            f"{weather.opened.path.name} has room for {weather.room:,} more days of weather, but there are"
            f" {len(merged.added):,}; nothing was written"
        )
    rows = {known.row: known for known in weather.rows}
    cells: dict[tuple[int, int], Value] = {}
    for change in (*merged.replaced, *merged.completed):
        rows[change.row] = KnownDay(change.row, change.day, change.new_low, change.new_high)
        for column, old, new in ((1, change.low, change.new_low), (2, change.high, change.new_high)):
            if old != new:
                cells[change.row, area.left + column] = new
    for row, added in enumerate(merged.added, start=weather.next_row):
        rows[row] = KnownDay(row, *added)
        for column, value in enumerate((to_serial(added.day, epoch), added.low, added.high)):
            cells[row, area.left + column] = value
    every = tuple(rows[row] for row in sorted(rows))
    return dataclasses.replace(weather, rows=every, next_row=weather.next_row + len(merged.added)), cells


def write_weather(weather: BookWeather, cells: Mapping[tuple[int, int], Value], backup: Backup = "never") -> None:
    """Write cells into a workbook's table of weather; everything else stays byte for byte.

    Formulas that depend on them lose their stored values, until the workbook is recalculated.
    backup : whether the workbook is kept as it was, see :func:`sheetfuncs.recalc.recalculate`.
    """
    from ..recalc.stale import without_stale_values  # takes a while to load

    def finish(content: bytes) -> bytes:
        return without_stale_values(content, weather.opened.path.name, {weather.sheet: cells})

    write_cells(weather.opened, weather.sheet, weather.area, cells, backup=backup, finish=finish)
