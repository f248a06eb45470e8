"""Where a workbook made from the template holds what: tables by their headings, settings by their names.

Rows and columns may have been inserted since, and an older template may have had other columns; so every cell is
looked up in the file itself.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import openpyxl
from openpyxl.cell.cell import Cell
from openpyxl.worksheet.worksheet import Worksheet

from ..xlsx import WorkbookFileError
from ..xlsx.inputs import named_area, open_book
from ..xlsx.references import Area
from . import invented
from .sheets.layout import Role, Table

#: Headings are looked for in the first rows of a sheet only.
_HEADING_ROWS = 60
#: The line that marks an invented workbook starts so, and stands in one of the first rows.
_INVENTED = invented.BANNER.partition(":")[0] + ":"
_BANNER_ROWS = 5


class NamedCells(NamedTuple):
    """What a name of the workbook stands for: a sheet, and a range of its cells."""

    sheet: str
    area: Area


@dataclass(frozen=True)
class Found:
    """A table as it lies in a file: the row of its headings, and the column of each key that is there."""

    sheet: Worksheet
    heading_row: int
    columns: Mapping[str, int]

    def cell(self, row: int, key: str) -> Cell | None:
        """Return the cell of a key in a row; ``None`` where the table lacks the key or the sheet the cell."""
        column = self.columns.get(key)
        # Not .cell(): that would make the cell, and with it the row.
        return None if column is None else self.sheet._cells.get((row, column))

    def value(self, row: int, key: str) -> Any:
        """Return what a cell holds, ``None`` for blank."""
        cell = self.cell(row, key)
        return None if cell is None or cell.value == "" else cell.value


class MadeBook:
    """A workbook made from the template, read as it stands in a file."""

    def __init__(self, path: Path, answers: bool = False) -> None:
        """Read a file.

        answers : read the stored answers of formulas instead of the formulas.
        Raises :class:`WorkbookFileError` in one line.
        """
        self.path = path
        self._opened = open_book(path)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                self.workbook = openpyxl.load_workbook(io.BytesIO(self._opened.book.package.raw), data_only=answers)
            except Exception as error:  # a stranger's file fails in many ways
                raise WorkbookFileError(f"{path.name} cannot be read ({error})") from error

    def sheet(self, name: str) -> Worksheet | None:
        """Return a worksheet by name, ``None`` where there is none."""
        return next((sheet for sheet in self.workbook.worksheets if sheet.title == name), None)

    def named(self, name: str) -> NamedCells | None:
        """Return what a name stands for, ``None`` where it is not there, or no range of cells of a worksheet."""
        try:
            found = NamedCells(*named_area(self._opened, name))
        except WorkbookFileError:
            return None
        return None if self.sheet(found.sheet) is None else found

    def named_value(self, name: str) -> Any:
        """Return what the first cell of a name holds, ``None`` where the name is not there."""
        named = self.named(name)
        if named is None:
            return None
        cell = self.workbook[named.sheet]._cells.get((named.area.top, named.area.left))
        return None if cell is None or cell.value == "" else cell.value

    def typed_cell(self, name: str) -> tuple[str, int, int] | None:
        """Return the cell in which a setting is typed: the nearest open one to the left of the cell in use."""
        named = self.named(name)
        if named is None or named.area.rows != 1 or named.area.columns != 1:
            return None
        sheet = self.workbook[named.sheet]
        for column in range(named.area.left - 1, 0, -1):
            cell = sheet._cells.get((named.area.top, column))
            if cell is not None and is_open(cell):
                return named.sheet, named.area.top, column
        return None

    def find(self, table: Table) -> Found | None:
        """Return where a declared table lies; ``None`` where its sheet or its headings are not there.

        The row of headings is the last one that has the most of them.
        """
        keys = {_plain(column.formerly): column.key for column in table.columns if column.formerly}
        keys.update({_plain(column.heading): column.key for column in table.columns})
        for sheet in filter(None, map(self.sheet, (table.sheet, table.formerly))):
            best = Found(sheet, 0, {})
            for row in sheet.iter_rows(max_row=min(_HEADING_ROWS, sheet.max_row)):
                columns: dict[str, int] = {}
                for cell in row:
                    key = keys.get(_plain(cell.value)) if isinstance(cell.value, str) else None
                    if key is not None:
                        columns.setdefault(key, cell.column)
                if columns and len(columns) >= len(best.columns):
                    best = Found(sheet, row[0].row, columns)
            if table.columns[0].key in best.columns and len(best.columns) > 1:
                return best
        return None

    def ready_rows(self, found: Found, table: Table) -> Iterator[int]:
        """Go over the rows of a table that are ready to be filled, and those below that were filled without."""
        keys = [column.key for column in table.columns if column.role is Role.ENTRY and column.key in found.columns]
        row = found.heading_row + 1
        while any(_is_used(found.cell(row, key)) for key in keys):
            yield row
            row += 1

    @property
    def banner(self) -> str:
        """The line that marks an invented workbook, "" for a real one."""
        for sheet in self.workbook.worksheets:
            for row in range(1, _BANNER_ROWS + 1):
                cell = sheet._cells.get((row, 1))
                if cell is not None and isinstance(cell.value, str) and cell.value.startswith(_INVENTED):
                    return cell.value
        return ""


def is_open(cell: Cell) -> bool:
    """Return whether a cell is one to type in."""
    return not cell.protection.locked


def is_formula(cell: Cell) -> bool:
    """Return whether a cell holds a formula."""
    return cell.data_type == "f"


def _is_used(cell: Cell | None) -> bool:
    return cell is not None and (not cell.protection.locked or (cell.value not in (None, "") and not is_formula(cell)))


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()
