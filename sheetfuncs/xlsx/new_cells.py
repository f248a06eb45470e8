"""Cells and rows that a worksheet's XML does not have yet, in the style that an office program would show.

That is the row's, else the column's, else that of the nearest cell above it in the table that the cell belongs to.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import defaultdict
from typing import Iterator, Mapping

from .patch import ByteEdit, opened, value_element
from .references import Area, cell_name
from .sheet import attributes_of
from .values import Value, markup
from .xml_cells import Layout, ScannedSheet, XmlRow

_COLUMN = re.compile(rb"<(?:\w+:)?col(\s[^>]*)>")
_ROW_LOOKS = re.compile(
    rb"""\s(?:ht|customHeight|s|customFormat|thickTop|thickBot|x14ac:dyDescent)\s*=\s*(?:"[^"]*"|'[^']*')"""
)
_SPANS = re.compile(rb"""\sspans\s*=\s*["']([^"']*)["']""")


def new_cell_edits(
    sheet: ScannedSheet, layout: Layout, values: Mapping[tuple[int, int], Value], table: Area | None = None
) -> Iterator[ByteEdit]:
    """Go over what adds cells, given by (row, column).

    layout : the sheet's rows, and the cells to the right of where the new ones go and above them in the table.
    table : the cells whose looks new rows take over.
    """
    by_row: dict[int, dict[int, Value]] = defaultdict(dict)
    for (row, column), value in sorted(values.items()):
        by_row[row][column] = value
    writer = _Writer(sheet, layout, table)
    new_rows: dict[int, list[bytes]] = defaultdict(list)
    for number, cells in by_row.items():
        row = writer.rows.get(number)
        if row is None:
            new_rows[writer.start_of_next(number)].append(writer.new_row(number, cells))
        elif row.inner_end < 0:
            tag = opened(writer.row_tag(row, cells))
            yield ByteEdit(row.start, row.tag_end, tag + writer.cells(number, cells, row) + writer.end("row"))
        else:
            yield from writer.into_row(row, cells)
    for at, rows in new_rows.items():
        if at >= 0:
            yield ByteEdit(at, at, b"".join(rows))
            continue
        tail = sheet.xml[sheet.data_start : sheet.data_end]
        if tail.rstrip().endswith(b"/>") and b"<" not in tail[1:]:  # a sheet without any row
            yield ByteEdit(sheet.data_start, sheet.data_end, opened(tail) + b"".join(rows) + writer.end("sheetData"))
        else:
            end = sheet.xml.rindex(b"<", sheet.data_start, sheet.data_end)
            yield ByteEdit(end, end, b"".join(rows))


class _Writer:
    """Writes cells and rows of one sheet."""

    def __init__(self, sheet: ScannedSheet, layout: Layout, table: Area | None) -> None:
        self._sheet, self._table_top = sheet, table.top if table else None
        self.rows = {row.number: row for row in layout.rows}
        self._numbers = sorted(self.rows)
        self._layout = layout
        self._in_row: dict[int, list[int]] = defaultdict(list)
        self._in_column: dict[int, list[int]] = defaultdict(list)
        for row, column in sorted(layout.cells):
            self._in_row[row].append(column)
            self._in_column[column].append(row)
        self._column_styles = [
            (int(found.get("min", "0")), int(found.get("max", "0")), found["style"])
            for found in map(attributes_of, _COLUMN.findall(sheet.xml, sheet.root_end, sheet.data_start))
            if found.get("style", "0") != "0"
        ]

    def start_of_next(self, number: int) -> int:
        """Return where the row after a row that is not there starts; -1 where there is none."""
        following = bisect_left(self._numbers, number)
        return self.rows[self._numbers[following]].start if following < len(self._numbers) else -1

    def into_row(self, row: XmlRow, cells: Mapping[int, Value]) -> Iterator[ByteEdit]:
        known = self._in_row[row.number]
        for column, value in cells.items():
            right = bisect_left(known, column)
            at = self._layout.cells[row.number, known[right]].start if right < len(known) else row.inner_end
            yield ByteEdit(at, at, self.cells(row.number, {column: value}, row))
        tag = self.row_tag(row, cells)
        if tag != self._sheet.xml[row.start : row.tag_end]:
            yield ByteEdit(row.start, row.tag_end, tag)

    def row_tag(self, row: XmlRow, cells: Mapping[int, Value]) -> bytes:
        """Return a row's start tag without its note of the columns it uses where the cells lie outside of it."""
        tag = self._sheet.xml[row.start : row.tag_end]
        match = _SPANS.search(tag)
        if match is None:
            return tag
        first, _, last = match[1].partition(b":")
        holds_all = first.isdigit() and last.isdigit() and all(int(first) <= column <= int(last) for column in cells)
        return tag if holds_all else _SPANS.sub(b"", tag, count=1)

    def new_row(self, number: int, cells: Mapping[int, Value]) -> bytes:
        """Return a row that looks like the one above it in the table."""
        before = bisect_left(self._numbers, number) - 1
        above = self.rows[self._numbers[before]] if before >= 0 else None
        looks = b""
        if above is not None and self._table_top is not None and above.number >= self._table_top:
            looks = b"".join(_ROW_LOOKS.findall(self._sheet.xml[above.start : above.tag_end]))
        start = f'<{self._sheet.prefix}row r="{number}"'.encode() + looks + b">"
        return start + self.cells(number, cells, above if looks else None) + self.end("row")

    def cells(self, number: int, cells: Mapping[int, Value], row: XmlRow | None) -> bytes:
        return b"".join(self._cell(number, column, value, row) for column, value in cells.items())

    def _cell(self, number: int, column: int, value: Value, row: XmlRow | None) -> bytes:
        kind, text = markup(value)
        style = self._style(number, column, row)
        attributes = (f' s="{style}"' if style else "") + (f' t="{kind}"' if kind else "")
        prefix = self._sheet.prefix
        start = f'<{prefix}c r="{cell_name(number, column)}"{attributes}>'.encode()
        return start + value_element(prefix, text or "") + self.end("c")

    def _style(self, number: int, column: int, row: XmlRow | None) -> str:
        if row is not None:
            attributes = attributes_of(self._sheet.xml[row.start : row.tag_end])
            if attributes.get("customFormat", "0") in ("1", "true") and attributes.get("s", "0") != "0":
                return attributes["s"]
        style = next((style for first, last, style in self._column_styles if first <= column <= last), "")
        rows = self._in_column[column]
        above = bisect_left(rows, number) - 1
        if style or self._table_top is None or above < 0 or rows[above] < self._table_top:
            return style
        return self._layout.cells[rows[above], column].style

    def end(self, tag: str) -> bytes:
        return f"</{self._sheet.prefix}{tag}>".encode()
