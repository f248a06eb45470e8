"""New stored values in a worksheet's XML; every byte that is not one of them stays."""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import Iterable, Mapping, NamedTuple

from .placed import Layout, PlacedCell, ScannedSheet
from .places import cell_name
from .values import Value, markup

_KIND = re.compile(rb"""\s+t\s*=\s*(?:"[^"]*"|'[^']*')""")


class ByteEdit(NamedTuple):
    """A stretch of bytes and what replaces it."""

    start: int
    end: int
    new: bytes


def patched(xml: bytes, edits: Iterable[ByteEdit]) -> bytes:
    """Return bytes with stretches of them exchanged."""
    pieces, at = [], 0
    for edit in sorted(edits, key=lambda edit: edit[:2]):
        pieces += [xml[at : edit.start], edit.new]
        at = edit.end
    pieces.append(xml[at:])
    return b"".join(pieces)


def value_edits(sheet: ScannedSheet, cell: PlacedCell, value: Value) -> list[ByteEdit]:
    """Return what makes a cell hold another stored value; its formula and its style stay."""
    kind, text = markup(value)
    element = b"" if text is None else _value_element(sheet.prefix, text)
    edits = []
    tag = sheet.xml[cell.start : cell.tag_end]
    new_tag = tag if kind == cell.kind or (kind, cell.kind) == ("", "n") else _tag_of_kind(tag, kind)
    if cell.value_place < 0:  # an empty tag
        if element:
            new_tag = _opened(new_tag) + element + f"</{sheet.prefix}c>".encode()
    elif cell.value_start >= 0:
        edits.append(ByteEdit(cell.value_start, cell.value_end, element))
    elif element:
        edits.append(ByteEdit(cell.value_place, cell.value_place, element))
    if new_tag != tag:
        edits.append(ByteEdit(cell.start, cell.tag_end, new_tag))
    return edits


def new_cell_edits(sheet: ScannedSheet, layout: Layout, values: Mapping[tuple[int, int], Value]) -> list[ByteEdit]:
    """Return what adds cells that the sheet does not have yet.

    layout : the sheet's rows, and the cells to the right of the places where the new ones go.
    """
    by_row: dict[int, list[int]] = {}
    for row, column in sorted(values):
        by_row.setdefault(row, []).append(column)
    rows = {row.number: row for row in layout.rows}
    numbers = sorted(rows)
    edits = []
    for number, columns in by_row.items():
        cells = [_new_cell(sheet, number, column, values[number, column]) for column in columns]
        present = rows.get(number)
        if present is None:
            row_element = f'<{sheet.prefix}row r="{number}">'.encode() + b"".join(cells) + _end(sheet, "row")
            after = bisect_right(numbers, number)
            at = sheet.xml.rindex(b"<", sheet.data_start, sheet.data_end)  # the rows' end
            if after < len(numbers):
                at = rows[numbers[after]].start
            edits.append(ByteEdit(at, at, row_element))
        elif present.inner_end < 0:
            tag = sheet.xml[present.start : present.tag_end]
            edits.append(ByteEdit(present.start, present.tag_end, _opened(tag) + b"".join(cells) + _end(sheet, "row")))
        else:
            there = sorted(column for row, column in layout.cells if row == number)
            for column, cell in zip(columns, cells):
                right = next((other for other in there if other > column), None)
                at = present.inner_end if right is None else layout.cells[number, right].start
                edits.append(ByteEdit(at, at, cell))
    return edits


def _new_cell(sheet: ScannedSheet, row: int, column: int, value: Value) -> bytes:
    kind, text = markup(value)
    attribute = f' t="{kind}"' if kind else ""
    start = f'<{sheet.prefix}c r="{cell_name(row, column)}"{attribute}>'.encode()
    return start + _value_element(sheet.prefix, text or "") + _end(sheet, "c")


def _end(sheet: ScannedSheet, tag: str) -> bytes:
    return f"</{sheet.prefix}{tag}>".encode()


def _value_element(prefix: str, text: str) -> bytes:
    keeps_spaces = ' xml:space="preserve"' if text != text.strip() else ""  # Calc drops them at the ends otherwise
    return f"<{prefix}v{keeps_spaces}>{text}</{prefix}v>".encode()


def _opened(tag: bytes) -> bytes:
    """Return a start tag made from an empty tag."""
    return tag[: tag.rindex(b"/")].rstrip() + b">" if tag.endswith(b"/>") else tag


def _tag_of_kind(tag: bytes, kind: str) -> bytes:
    """Return a cell's start tag with another attribute ``t``."""
    attribute = f' t="{kind}"'.encode() if kind else b""
    if _KIND.search(tag):
        return _KIND.sub(attribute, tag, count=1)
    end = len(tag) - (2 if tag.endswith(b"/>") else 1)
    return tag[:end].rstrip() + attribute + tag[end:]
