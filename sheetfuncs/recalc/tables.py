"""Structured references to tables, such as ``Trees[[#This Row],[Kind]]``, turned into references to cells."""

from __future__ import annotations

import re
from typing import Mapping, Sequence

from ..xlsx.places import column_letters, quoted_sheet
from ..xlsx.workbook import Table
from .formulas import Token

_ITEM = re.compile(r"\[((?:[^\[\]']|'.)*)\]")
_ESCAPE = re.compile(r"'(.)", re.DOTALL)
_PARTS = {"#all", "#data", "#headers", "#totals", "#this row"}


class NotInTableError(ValueError):
    """A structured reference that leads nowhere; the text gives the reason."""


def with_cells(pieces: Sequence[Token], tables: Mapping[str, Table], sheet: str, row: int, column: int) -> list[Token]:
    """Return the tokens of a formula with cells instead of structured references.

    tables : by their names in small letters. sheet, row, column : where the formula stands.
    Raises :class:`NotInTableError`.
    """
    found: list[Token] = []
    waiting = iter(range(len(pieces)))
    for index in waiting:
        token = pieces[index]
        before = pieces[index - 1] if index else None
        after = pieces[index + 1] if index + 1 < len(pieces) and pieces[index + 1].start == token.end else None
        table = tables.get(token.text.lower()) if token.kind == "word" else None
        is_another = (after is not None and after.text in ("(", "!")) or (before is not None and before.text == "!")
        if table is not None and after is not None and after.kind == "bracket":
            found += _cells(table, after.text, sheet, row, token.start, after.end)
            next(waiting)
        elif table is not None and not is_another:
            found += _cells(table, "[]", sheet, row, token.start, token.end)
        elif token.kind != "bracket" or (after is not None and (after.kind == "word" or after.text == "!")):
            found.append(token)  # a bracket may be the number of another workbook, as in [1]Sheet!A1 and [1]!NAME
        elif before is not None and before.kind == "word" and before.end == token.start:
            raise NotInTableError(f"the table {before.text} is not in the workbook")
        else:
            found += _cells(_around(tables, sheet, row, column), token.text, sheet, row, token.start, token.end)
    return found


def _around(tables: Mapping[str, Table], sheet: str, row: int, column: int) -> Table:
    for table in tables.values():
        if table.sheet == sheet and table.area.holds(row, column):
            return table
    raise NotInTableError("a reference to a table's column stands outside any table")


def _cells(table: Table, bracket: str, sheet: str, row: int, start: int, end: int) -> list[Token]:
    """Return the tokens of the cells that a structured reference between two letters of a formula stands for."""
    parts, names = _read(bracket)
    area = table.area
    columns = [_column(table, name) for name in names] or [area.left, area.right]
    first, last = (f"${column_letters(number)}" for number in (min(columns), max(columns)))
    data_top, data_bottom = area.top + table.header_rows, area.bottom - table.totals_rows
    if "#this row" in parts:
        if not data_top <= row <= data_bottom or table.sheet != sheet:
            return [Token("error", "#VALUE!", start, end)]  # what office programs answer
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
            return [Token("error", "#REF!", start, end)]
        ends = f"{first}${min(top for top, _ in wanted)}", f"{last}${max(bottom for _, bottom in wanted)}"
    return [
        Token("quoted", quoted_sheet(table.sheet), start, start),
        Token("sign", "!", start, start),
        Token("area", ":".join(dict.fromkeys(ends)), start, end),
    ]


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
