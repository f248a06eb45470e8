"""What cells of a workbook hold, as carrying compares, shows and writes it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from typing import Any, NamedTuple

from openpyxl.cell.cell import Cell
from openpyxl.utils.cell import range_boundaries
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from ..cells.dates import EPOCH_1900, to_serial
from ..cells.errors import CellFault
from ..hosts.excel.vba import SETTINGS_SHEET
from ..xlsx.references import Area
from ..xlsx.values import Value
from .build import assemble
from .made_book import MadeBook, is_formula
from .sheets.contents import BLANK

#: What a cell holds, dates still as dates.
Typed = Any
#: Cells of one column in a longer run than this are listed in one line.
_LONG_RUN = 20
#: Sheets of earlier editions, whose words are the template's own.
_FORMER_SHEETS = ("Kinds", "Later flush", "Winter")


class Block(NamedTuple):
    """Cells to write on a sheet; new rows take their looks from ``area``."""

    sheet: str
    area: Area
    cells: Mapping[tuple[int, int], Value]


def held(sheet: Worksheet, row: int, column: int) -> Typed:
    """Return what a cell holds, ``None`` for blank."""
    # Not .cell(): that would make the cell, and with it the row.
    cell = sheet._cells.get((row, column))
    return None if cell is None else value_of(cell)


def value_of(cell: Cell) -> Typed:
    """Return what a cell holds: a day without a time as a date, ``None`` for blank."""
    value = cell.value
    if value is None or value == "":
        return None
    if cell.data_type == "e":
        return CellFault(str(value))
    if isinstance(value, datetime) and value.time() == time():
        return value.date()
    return value


def as_cell(value: Typed, epoch: date = EPOCH_1900) -> Value:
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


def same(one: Typed, other: Typed) -> bool:
    """Return whether two cells hold the same."""
    if one is None or other is None:
        return one is other
    first, second = as_cell(one), as_cell(other)
    if type(first) is type(second) is float:
        return math.isclose(first, second, rel_tol=1e-12, abs_tol=1e-12)
    return type(first) is type(second) and first == second


def year_of(value: Typed) -> int | None:
    """Return a year that is typed, ``None`` where it is none."""
    if isinstance(value, str) and value.strip().isdigit():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or value != int(value):
        return None
    return int(value)


def in_later_season(day: date, years: int) -> date:
    """Return a day so many years on; 29 February becomes the 28th where the year has none."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def key_of(names: Sequence[str], values: Mapping[str, Typed]) -> tuple[str, ...]:
    """Return what names a row, as spreadsheets compare: 7 and "7" are one, so are capitals, so is a day's number."""
    named = (values.get(name) for name in names)
    stored = (as_cell(value) if isinstance(value, date) else value for value in named)
    return tuple(shown(value).strip().casefold() for value in stored)


def shown(value: Typed) -> str:
    """Return a value in words."""
    if value is None:
        return "blank"
    if isinstance(value, CellFault):
        return value.text
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float):
        return f"{value:.12g}"
    return " ".join(str(value).split())


def all_shown(values: Mapping[Any, Typed]) -> str:
    """Return the values that are not blank in words."""
    return "; ".join(shown(value) for value in values.values() if value is not None)


def not_carried(what: str, value: Typed, present: Typed) -> str:
    """Return the line for a value that gives way to another one."""
    return f"{what}: {shown(value)} was not carried, for {shown(present)} stands there"


# -- cells that the template does not have ---------------------------------------------------------------------


def left_over(book: MadeBook, seen: set[tuple[str, int, int]], columns: Mapping[str, Mapping[int, int]]) -> list[str]:
    """Return a line for each cell that someone typed and that was not looked at, and for each note.

    columns : of each sheet's tables, each with the row of its heading.
    """
    standing, lines = _standing(book.banner), []
    for sheet in book.workbook.worksheets:
        if sheet.title == SETTINGS_SHEET:
            continue
        in_arrays = _array_cells(sheet)
        cells = [
            cell
            for at, cell in sorted(sheet._cells.items(), key=lambda item: (item[0][1], item[0][0]))
            if (sheet.title, *at) not in seen
            and at not in in_arrays
            and _is_own(cell, standing.get(sheet.title), columns.get(sheet.title, {}))
        ]
        lines += _listed(sheet.title, cells)
        lines += [
            f"{sheet.title}!{cell.coordinate} has a note: {shown(cell.comment.text)}"
            for cell in sheet._cells.values()
            if cell.comment is not None
        ]
    return lines


def _array_cells(sheet: Worksheet) -> set[tuple[int, int]]:
    """Return the cells that array formulas fill: they hold answers without a formula of their own."""
    found: set[tuple[int, int]] = set()
    for cell in sheet._cells.values():
        if isinstance(cell.value, ArrayFormula):
            left, top, right, bottom = range_boundaries(cell.value.ref)
            found.update((row, column) for row in range(top, bottom + 1) for column in range(left, right + 1))
    return found


@lru_cache(maxsize=2)  # to make the sheets takes a second
def _standing(banner: str) -> Mapping[str, frozenset[str]]:
    """Return what the template itself writes on each sheet."""
    former = dict.fromkeys(_FORMER_SHEETS, frozenset[str]())
    return former | {
        sheet.title: frozenset(shown(value_of(cell)) for cell in sheet._cells.values() if not is_formula(cell))
        for sheet in assemble(replace(BLANK, banner=banner), 1).worksheets
    }


def _is_own(cell: Cell, standing: frozenset[str] | None, tables: Mapping[int, int]) -> bool:
    """Return whether a cell holds something that the user typed.

    standing : what the template writes on that sheet; ``None`` for a sheet that is not the template's.
    """
    value = value_of(cell)
    if value is None or standing is None:
        return value is not None
    if is_formula(cell):
        return not cell.protection.locked
    if shown(value) in standing:
        return False
    in_table = cell.row > tables.get(cell.column, math.inf)
    # A text in a locked cell with looks of its own is a word of another edition of the template.
    return not (isinstance(value, str) and cell.has_style and cell.protection.locked and not in_table)


def _listed(sheet: str, cells: Sequence[Cell]) -> Iterator[str]:
    """Go over lines that list cells; a long run in one column is one line."""
    run: list[Cell] = []
    for cell in (*cells, None):
        if run and (cell is None or cell.column != run[-1].column or cell.row != run[-1].row + 1):
            if len(run) > _LONG_RUN:
                ends = f"{shown(value_of(run[0]))} to {shown(value_of(run[-1]))}"
                yield f"{sheet}!{run[0].coordinate}:{run[-1].coordinate}: {len(run):,} cells, {ends}"
            else:
                yield from (f"{sheet}!{one.coordinate}: {shown(value_of(one))}" for one in run)
            run = []
        if cell is not None:
            run.append(cell)
