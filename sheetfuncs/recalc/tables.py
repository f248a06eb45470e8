"""Structured references to tables, such as ``Trees[[#This Row],[Kind]]``, turned into A1 references."""

from __future__ import annotations

import re
from typing import Mapping

from ..xlsx.places import column_letters, quoted_sheet
from ..xlsx.workbook import Table
from .formulas import Edit, edited, tokens

_ITEM = re.compile(r"\[((?:[^\[\]']|'.)*)\]")
_ESCAPE = re.compile(r"'(.)", re.DOTALL)
_PARTS = {"#all", "#data", "#headers", "#totals", "#this row"}


class NotInTableError(ValueError):
    """A structured reference that leads nowhere; the text gives the reason."""


def with_a1_references(formula: str, tables: Mapping[str, Table], sheet: str, row: int, column: int) -> str:
    """Return a formula with its structured references as A1 references.

    tables : by their names in small letters. sheet, row, column : where the formula stands.
    Raises :class:`NotInTableError`.
    """
    if "[" not in formula and not any(name in formula.lower() for name in tables):
        return formula
    pieces = tokens(formula)
    edits = []
    for index, token in enumerate(pieces):
        before = pieces[index - 1] if index else None
        after = pieces[index + 1] if index + 1 < len(pieces) and pieces[index + 1].start == token.end else None
        table = tables.get(token.text.lower()) if token.kind == "word" else None
        if table is not None and after is not None and after.kind == "bracket":
            edits.append(Edit(token.start, after.end, _in_a1(table, after.text, sheet, row)))
        elif table is not None:
            is_another = (after is not None and after.text in ("(", "!")) or (before is not None and before.text == "!")
            if not is_another:
                edits.append(Edit(token.start, token.end, _in_a1(table, "[]", sheet, row)))
        elif token.kind == "bracket" and before is not None and before.kind == "word" and before.end == token.start:
            if before.text.lower() not in tables:
                raise NotInTableError(f"the table {before.text} is not in the workbook")
        elif token.kind == "bracket" and not (after is not None and (after.kind == "word" or after.text == "!")):
            # Not the number of another workbook, as in [1]Sheet!A1 and [1]!NAME
            table = _around(tables, sheet, row, column)
            edits.append(Edit(token.start, token.end, _in_a1(table, token.text, sheet, row)))
    return edited(formula, edits)


def _around(tables: Mapping[str, Table], sheet: str, row: int, column: int) -> Table:
    for table in tables.values():
        if table.sheet == sheet and table.area.holds(row, column):
            return table
    raise NotInTableError("a reference to a table's column stands outside any table")


def _in_a1(table: Table, bracket: str, sheet: str, row: int) -> str:
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
    return f"{quoted_sheet(table.sheet)}!{':'.join(dict.fromkeys(ends))}"


def _column(table: Table, name: str) -> int:
    names = [column.lower() for column in table.columns]
    if name.lower() not in names:
        raise NotInTableError(f"the table {table.name} has no column {name}")
    return table.area.left + names.index(name.lower())


def _read(bracket: str) -> tuple[set[str], list[str]]:
    """Return the parts and the columns of ``[Column]``, ``[@Column]``, ``[[#This Row],[A]:[B]]`` and their like."""
    inside = bracket[1:-1].strip()
    parts = {"#this row"} if inside.startswith("@") else set()
    inside = inside.removeprefix("@").strip()
    items = [inside]
    if inside.startswith("["):  # some programs write [[#This Row],Column]
        items = [*_ITEM.findall(inside), _ITEM.sub("", inside).strip(" ,:")]
    parts |= {item.lower() for item in items if item.lower() in _PARTS}
    return parts, [_ESCAPE.sub(r"\1", item) for item in items if item and item.lower() not in _PARTS]
