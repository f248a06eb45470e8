"""Small workbooks to be carried, and what stands in one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

import openpyxl

from sheetfuncs.planner.build import assemble
from sheetfuncs.planner.made_book import MadeBook
from sheetfuncs.planner.sheets import trees
from sheetfuncs.planner.sheets.contents import BLANK, Contents
from sheetfuncs.planner.sheets.layout import Role

TREES = trees.table(1)
WEEK = tuple((date(2026, 6, 1) + timedelta(days=number), 10.0 + number, 20.5 + number) for number in range(7))
SMALL = replace(
    BLANK,
    settings={"Season_year": 2026, "Day_today": date(2026, 6, 20), "Chance_wanted": 0.75, "Minutes_a_day": 200,
              "Container_from": date(2026, 6, 15), "Frost_one_date": date(2020, 10, 18)},
    weather=WEEK,
    positions={"south wall": {"own_high": 1.5}, "terrace": {"own_low": 0.5}},
    kinds={"early": {"own_need": 1100}, "own kind": {"own_need": 1210, "own_lag": 9}},
    trees=(
        {"tag": "A-1", "kind": "own kind", "grown_in": "container", "position": "terrace", "shoots": 5, "leaves": 8,
         "counted_on": date(2026, 6, 18), "buds": "yes", "figs": 12, "minutes": 20, "cut_on": date(2026, 6, 19)},
        {"tag": "A-2", "kind": "early", "grown_in": "ground", "position": "open", "shoots": 9, "leaves": 6},
        {"tag": 7, "kind": "late", "grown_in": "ground", "position": "open"},
    ),
    log=(
        {"tag": "A-2", "year": 2025, "kind": "early", "position": "open", "first_ripe": date(2025, 9, 3),
         "note": "<&>"},
    ),
    hard_cuts=({"what": "row 1", "position": "open", "cut_on": date(2026, 5, 2)},),
)  # fmt: skip


def small(path: Path, contents: Contents = SMALL, rows: int = 6) -> Path:
    """Write a workbook with few trees, filled as a user would."""
    assemble(contents, rows).save(path)
    return path


def made(path: Path) -> MadeBook:
    """Return a workbook to read in; it is read once as long as its file stays as it is."""
    facts = path.stat()
    return _made(path, facts.st_mtime_ns, facts.st_ino)


@lru_cache(maxsize=8)
def _made(path: Path, *_state: int) -> MadeBook:
    return MadeBook(path)


def typed(path: Path) -> dict[tuple[str, str], Any]:
    """Return what stands in the cells of a workbook that are there to type in."""
    return {
        (sheet.title, cell.coordinate): cell.value
        for sheet in made(path).workbook
        for row in sheet.iter_rows()
        for cell in row
        if not cell.protection.locked and cell.value not in (None, "")
    }


def type_in(path: Path, cells: dict[tuple[str, str], Any]) -> None:
    book = openpyxl.load_workbook(path)
    for (sheet, address), value in cells.items():
        book[sheet][address].value = value
    book.save(path)


def lines(path: Path, table) -> list[dict[str, Any]]:
    """Return the rows of a table that hold something typed."""
    sheet = made(path).workbook[table.sheet]
    keys = [column.key for column in table.columns if column.role is Role.ENTRY]
    found = []
    for row in range(table.first_row, sheet.max_row + 1):
        line = {key: sheet[f"{table.letter(key)}{row}"].value for key in keys}
        line = {key: value for key, value in line.items() if value is not None}
        if line:
            found.append({key: as_day(value) for key, value in line.items()})
    return found


def as_day(value: Any) -> Any:
    return value.date() if isinstance(value, datetime) else value


def setting(path: Path, name: str) -> Any:
    book = made(path)
    sheet, row, column = book.typed_cell(name)
    return as_day(book.workbook[sheet].cell(row, column).value)
