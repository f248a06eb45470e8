"""Writes the declared tables into a sheet."""

from __future__ import annotations

from typing import Any, Mapping, Sequence

from openpyxl import Workbook
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.worksheet import Worksheet

from . import look
from .layout import Lines, Table


def define(workbook: Workbook, name: str, cells: str) -> None:
    """Give cells a name that formulas can use on every sheet."""
    workbook.defined_names[name] = DefinedName(name, attr_text=cells)


def write_table(sheet: Worksheet, table: Table, lines: Lines = ()) -> None:
    """Write headings, ready rows, formulas and validations of a table, and the given lines into it."""
    _write_headings(sheet, table)
    for number in range(table.rows):
        line = lines[number] if number < len(lines) else {}
        _write_row(sheet, table, table.first_row + number, line)
    for column in table.columns:
        if column.rule:
            validation = column.rule.validation()
            validation.add(table.cells(column.key, sheet=False).replace("$", ""))
            sheet.add_data_validation(validation)


def _write_headings(sheet: Worksheet, table: Table) -> None:
    before = None
    for column in table.columns:
        letter = table.letter(column.key)
        sheet.column_dimensions[letter].width = column.width
        group = sheet[f"{letter}{table.heading_row - 1}"]
        look.dress_group(group, column.role)
        if column.role is not before:
            group.value = column.role.value
        before = column.role
        heading = sheet[f"{letter}{table.heading_row}"]
        heading.value = column.heading
        look.dress_heading(heading, column.align)
    sheet.row_dimensions[table.heading_row].height = 40


def _write_row(sheet: Worksheet, table: Table, row: int, line: Mapping[str, Any]) -> None:
    sheet.row_dimensions[row].height = look.ROW_HEIGHT
    for column in table.columns:
        cell = sheet[f"{table.letter(column.key)}{row}"]
        look.dress(cell, column.role, column.number_format, column.align, column.wrap, column.shrink)
        cell.value = table.formula(column, row) if column.formula else line.get(column.key)


def merged(standing: Sequence[Mapping[str, Any]], own: Mapping[str, Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the standing lines with a user's own figures laid over them by name, new names at the end."""
    known = [line["name"] for line in standing]
    lines = [{**line, **own.get(line["name"], {})} for line in standing]
    return lines + [{"name": name, **figures} for name, figures in own.items() if name not in known]
