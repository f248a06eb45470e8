"""Structured references to tables, such as ``Trees[[#This Row],[Kind]]``, turned into references to cells."""

from __future__ import annotations

import re
from typing import Mapping

from ..xlsx.places import column_letters
from ..xlsx.workbook import Table
from .formulas import UnreadableFormulaError

_ITEM = re.compile(r"\[((?:[^\[\]']|'.)*)\]")
_ESCAPE = re.compile(r"'(.)", re.DOTALL)
_STRUCTURED = re.compile(
    r"(?P<table>(?:[^\W\d][\w.\\?]*)?)(?P<bracket>(?:\[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\])?)", re.DOTALL
)
_PARTS = {"#all", "#data", "#headers", "#totals", "#this row"}


def cells_of(reference: str, tables: Mapping[str, Table], sheet: str, row: int, column: int) -> tuple[str, str] | None:
    """Return the sheet and the cells, as they are written, that a structured reference stands for.

    tables : by their names in small letters. sheet, row, column : where the formula stands.
    Returns an error value in place of the cells where office programs answer with one; ``None`` for what is no
    structured reference. Raises :class:`.formulas.UnreadableFormulaError` where it leads nowhere.
    """
    found = _STRUCTURED.fullmatch(reference)
    if found is None or not (found["bracket"] or found["table"].lower() in tables):
        return None
    table = tables.get(found["table"].lower()) if found["table"] else _around(tables, sheet, row, column)
    if table is None:
        raise UnreadableFormulaError(f"names the table {found['table']}, which is not in the workbook")
    return table.sheet, _area(table, found["bracket"] or "[]", sheet, row)


def _around(tables: Mapping[str, Table], sheet: str, row: int, column: int) -> Table:
    for table in tables.values():
        if table.sheet == sheet and table.area.holds(row, column):
            return table
    raise UnreadableFormulaError("names a table's column and stands outside any table")


def _area(table: Table, bracket: str, sheet: str, row: int) -> str:
    parts, names = _read(bracket)
    area = table.area
    columns = [_column(table, name) for name in names] or [area.left, area.right]
    first, last = (f"${column_letters(number)}" for number in (min(columns), max(columns)))
    data_top, data_bottom = area.top + table.header_rows, area.bottom - table.totals_rows
    if "#this row" in parts:
        if not data_top <= row <= data_bottom or table.sheet != sheet:
            return "#VALUE!"  # what office programs answer
        ends = f"{first}{row}", f"{last}{row}"
    else:
        stretches = {
            "#all": (area.top, area.bottom),
            "#headers": (area.top, data_top - 1),
            "#data": (data_top, data_bottom),
            "#totals": (data_bottom + 1, area.bottom),
        }
        wanted = [stretches[part] for part in parts or {"#data"} if stretches[part][0] <= stretches[part][1]]
        if not wanted:
            return "#REF!"
        ends = f"{first}${min(top for top, _ in wanted)}", f"{last}${max(bottom for _, bottom in wanted)}"
    return ":".join(dict.fromkeys(ends))


def _column(table: Table, name: str) -> int:
    names = [column.lower() for column in table.columns]
    if name.lower() not in names:
        raise UnreadableFormulaError(f"names the column {name}, which the table {table.name} does not have")
    return table.area.left + names.index(name.lower())


def _read(bracket: str) -> tuple[set[str], list[str]]:
    """Return the parts and the columns of ``[Column]``, ``[@Column]``, ``[[#This Row],[A]:[B]]`` and their like."""
    inside = bracket[1:-1].strip()
    parts = {"#this row"} if inside.startswith("@") else set()
    inside = inside.removeprefix("@").strip()
    items = _ITEM.findall(inside) if inside.startswith("[") else [inside]
    parts |= {item.lower() for item in items if item.lower() in _PARTS}
    return parts, [_ESCAPE.sub(r"\1", item) for item in items if item and item.lower() not in _PARTS]
