"""Structured references to tables, such as ``Trees[[#This Row],[Kind]]``, turned into A1 references."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Mapping

from ..xlsx.places import column_letters, quoted_sheet
from ..xlsx.workbook import Table
from .formulas import Edit, Token, edited, tokens

_ITEM = re.compile(r"\[((?:[^\[\]']|'.)*)\]")
_ESCAPE = re.compile(r"'(.)", re.DOTALL)
_PARTS = {"#all", "#data", "#headers", "#totals", "#this row"}


class NotInTableError(ValueError):
    """A structured reference that leads nowhere; the text gives the reason."""


@dataclass(frozen=True)
class _Wanted:
    parts: frozenset[str]
    first: str  # the column's name, empty for all columns
    last: str


def with_a1_references(formula: str, tables: Mapping[str, Table], sheet: str, row: int, column: int) -> str:
    """Return a formula with its structured references as A1 references; see :func:`structured_edits`."""
    if "[" not in formula:
        small = formula.lower()
        if not any(name in small for name in tables):
            return formula
    return edited(formula, structured_edits(formula, tables, sheet, row, column))


def structured_edits(formula: str, tables: Mapping[str, Table], sheet: str, row: int, column: int) -> list[Edit]:
    """Return what turns a formula's structured references into A1 references.

    tables : by their names in small letters. sheet, row, column : where the formula stands.
    Raises :class:`NotInTableError`.
    """
    pieces = tokens(formula)
    edits = []
    for index, token in enumerate(pieces):
        following = pieces[index + 1] if index + 1 < len(pieces) else None
        touches = following is not None and following.start == token.end
        if token.kind == "word" and token.text.lower() in tables:
            if touches and following.kind == "bracket":
                wanted_part, end = following.text, following.end
            elif (touches and following.text in ("(", "!")) or (index and pieces[index - 1].text == "!"):
                continue
            else:
                wanted_part, end = "[]", token.end
            table = tables[token.text.lower()]
            edits.append(Edit(token.start, end, _in_a1(table, wanted_part, sheet, row)))
        elif token.kind == "bracket" and not _follows_word(pieces, index) and not _is_outer(following, token):
            table = _around(tables, sheet, row, column)
            edits.append(Edit(token.start, token.end, _in_a1(table, token.text, sheet, row)))
        elif token.kind == "bracket" and _follows_word(pieces, index) and pieces[index - 1].text.lower() not in tables:
            raise NotInTableError(f"the table {pieces[index - 1].text} is not in the workbook")
    return edits


def _follows_word(pieces: list[Token], index: int) -> bool:
    return index > 0 and pieces[index - 1].kind == "word" and pieces[index - 1].end == pieces[index].start


def _is_outer(following: Token | None, token: Token) -> bool:
    """Return whether a bracket holds another workbook's number: ``[1]Sheet!A1``, ``[1]!NAME``."""
    if following is None or following.start != token.end:
        return False
    return following.kind == "word" or following.text == "!"


def _around(tables: Mapping[str, Table], sheet: str, row: int, column: int) -> Table:
    for table in tables.values():
        area = table.area
        if table.sheet == sheet and area.top <= row <= area.bottom and area.left <= column <= area.right:
            return table
    raise NotInTableError("a reference to a table's column stands outside any table")


def _in_a1(table: Table, bracket: str, sheet: str, row: int) -> str:
    wanted_part = _read(bracket)
    left, right = _columns(table, wanted_part)
    area = table.area
    data_top, data_bottom = area.top + table.header_rows, area.bottom - table.totals_rows
    index = quoted_sheet(table.sheet) + "!"
    if "#this row" in wanted_part.parts:
        if not data_top <= row <= data_bottom or table.sheet != sheet:
            return "#VALUE!"  # what office programs answer
        first, last = f"${column_letters(left)}{row}", f"${column_letters(right)}{row}"
        return index + (first if left == right else f"{first}:{last}")
    stretches = {
        "#all": (area.top, area.bottom),
        "#headers": (area.top, area.top + table.header_rows - 1),
        "#data": (data_top, data_bottom),
        "#totals": (data_bottom + 1, area.bottom),
    }
    wanted = [stretches[part] for part in wanted_part.parts or {"#data"}]
    wanted = [(top, bottom) for top, bottom in wanted if top <= bottom]
    if not wanted:
        return "#REF!"
    top, bottom = min(first for first, _ in wanted), max(last for _, last in wanted)
    first, last = f"${column_letters(left)}${top}", f"${column_letters(right)}${bottom}"
    return index + (first if first == last else f"{first}:{last}")


def _columns(table: Table, wanted_part: _Wanted) -> tuple[int, int]:
    if not wanted_part.first:
        return table.area.left, table.area.right
    names = [name.lower() for name in table.columns]
    places = []
    for name in (wanted_part.first, wanted_part.last):
        if name.lower() not in names:
            raise NotInTableError(f"the table {table.name} has no column {name}")
        places.append(table.area.left + names.index(name.lower()))
    return min(places), max(places)


def _read(bracket: str) -> _Wanted:
    """Read ``[Column]``, ``[@Column]``, ``[[#This Row],[A]:[B]]`` and their like."""
    inside = bracket[1:-1].strip()
    parts: set[str] = set()
    if inside.startswith("@"):
        parts.add("#this row")
        inside = inside[1:].strip()
    if not inside.startswith("["):
        plain = _ESCAPE.sub(r"\1", inside)
        if inside.lower() in _PARTS:
            return _Wanted(frozenset({inside.lower()}), "", "")
        return _Wanted(frozenset(parts), plain, plain)
    columns = []
    for match in _ITEM.finditer(inside):
        if match[1].lower() in _PARTS:
            parts.add(match[1].lower())
        else:
            columns.append(_ESCAPE.sub(r"\1", match[1]))
    bare = _ITEM.sub("", inside).strip(" ,:")  # some programs write [[#This Row],Column]
    if bare:
        columns.append(_ESCAPE.sub(r"\1", bare))
    return _Wanted(frozenset(parts), columns[0] if columns else "", columns[-1] if columns else "")
