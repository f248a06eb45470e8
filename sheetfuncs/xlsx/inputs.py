"""The typed cells of a workbook file: read as they stand, and written so that every other byte stays.

A new value goes into the cell that is there, with its style. Where none is there, one is made in the style that an
office program would show: the row's, else the column's, else that of the nearest cell above it in the table.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass
from pathlib import Path
from typing import Callable, Iterator, Mapping, Sequence

from .errors import WorkbookFileError
from .files import Backup, check_target, read_file, same_file_state, write_file
from .package import Package
from .patch import ByteEdit, patched, value_edits
from .placed import Layout, PlacedCell, RowPlace, ScannedSheet
from .places import Area, cell_name, read_area
from .sheet import lay_out, scan
from .values import Value, markup, stored_value
from .workbook import Book

_NAMED = re.compile(r"(?:'((?:[^']|'')+)'|([^'!]+))!(\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)$")
_COLUMN = re.compile(rb"<(?:\w+:)?col\s([^>]*)>")
_ROW_LOOKS = re.compile(
    rb"""\s(?:ht|customHeight|s|customFormat|thickTop|thickBot|x14ac:dyDescent)\s*=\s*(?:"[^"]*"|'[^']*')"""
)
_SPANS = re.compile(rb"""\sspans\s*=\s*(?:"[^"]*"|'[^']*')""")
_DIMENSION = re.compile(rb"""(<(?:\w+:)?dimension\s+ref\s*=\s*["'])([^"']*)(["'])""")


@dataclass(frozen=True)
class OpenBook:
    """A workbook file as it was read, and the state in which the file was then."""

    path: Path
    state: tuple[int, int, int]
    book: Book


def open_book(path: Path | str) -> OpenBook:
    """Read a workbook file; raises :class:`WorkbookFileError` in one line."""
    path = Path(path)
    state = same_file_state(path)
    return OpenBook(path, state, Book(Package(read_file(path), path.name)))


def named_area(opened: OpenBook, name: str) -> tuple[str, Area]:
    """Return the sheet and the cells that a name of the workbook stands for.

    Raises :class:`WorkbookFileError` where there is no such name, or where it is not one range of cells.
    """
    for defined in opened.book.defined_names:
        if defined.name.lower() == name.lower():
            match = _NAMED.match(defined.text.strip())
            if match:
                sheet = (match[1] or "").replace("''", "'") or match[2]
                return sheet, read_area(match[3].replace("$", ""))
    raise WorkbookFileError(f"{opened.path.name} has no cells with the name {name}")


def read_cells(opened: OpenBook, sheet: str, area: Area) -> dict[tuple[int, int], Value]:
    """Return the stored values of an area by (row, column); blank cells are left out."""
    _, layout = _laid_out(opened, sheet, area)
    strings = opened.book.shared_strings
    values = {}
    for (row, column), cell in layout.cells.items():
        if column <= area.right:
            value = stored_value(cell.kind, cell.stored, strings)
            if value is not None and value != "":
                values[row, column] = value
    return values


def write_cells(
    opened: OpenBook,
    sheet: str,
    table: Area,
    values: Mapping[tuple[int, int], Value],
    out: Path | str | None = None,
    backup: Backup = "never",
    finish: Callable[[bytes], bytes] = bytes,
) -> None:
    """Write values into typed cells, by (row, column), and leave everything else byte for byte as it is.

    table : the cells whose looks new rows take over. out : where to write; by default the workbook itself. backup : as
    for :func:`.recalculate.recalculate`. finish : what is done to the file's bytes before they are written.
    Nothing is written where there are no values.
    Raises :class:`WorkbookFileError` where a cell holds a formula, where the file has changed since it was opened,
    and where it cannot be written; then nothing is.
    """
    target = opened.path if out is None else Path(out)
    check_target(opened.path, target)
    package = opened.book.package
    content = package.raw
    if values:
        part = _part(opened, sheet)
        content = finish(package.with_parts({part: _with_values(opened, sheet, table, values)}))
    if content == package.raw and target == opened.path:
        return
    write_file(opened.path, target, content, opened.state, backup)


def _part(opened: OpenBook, sheet: str) -> str:
    part = next((found.part for found in opened.book.sheets if found.name == sheet), "")
    if not part:
        raise WorkbookFileError(f"{opened.path.name} has no worksheet {sheet}")
    return part


def _laid_out(opened: OpenBook, sheet: str, area: Area) -> tuple[ScannedSheet, Layout]:
    part = _part(opened, sheet)
    scanned = scan(opened.book.package.read(part), sheet, part, opened.path.name)
    return scanned, lay_out(scanned, [area], opened.path.name)


def _with_values(opened: OpenBook, sheet: str, table: Area, values: Mapping[tuple[int, int], Value]) -> bytes:
    rows, columns = [row for row, _ in values], [column for _, column in values]
    # From the table's first row on, whose cells give their looks to those below.
    area = Area(min(table.top, min(rows)), 1, max(rows), max(columns))
    scanned, layout = _laid_out(opened, sheet, area)
    edits: list[ByteEdit] = []
    missing: dict[int, dict[int, Value]] = {}
    for (row, column), value in sorted(values.items()):
        if (row, column) in layout.formulas:
            raise WorkbookFileError(f"{sheet}!{cell_name(row, column)} holds a formula, nothing was written")
        there = layout.cells.get((row, column))
        if there is None:
            missing.setdefault(row, {})[column] = value
        else:
            edits += value_edits(scanned, there, value)
    edits += _NewCells(scanned, layout, table).edits(missing)
    covered = Area(min(rows), min(columns), area.bottom, area.right)
    return patched(scanned.xml, [*edits, *_dimension_edit(scanned, covered)])


def _dimension_edit(scanned: ScannedSheet, covered: Area) -> Iterator[ByteEdit]:
    """Return what makes the sheet's note of its own size hold the cells written."""
    match = _DIMENSION.search(scanned.xml, scanned.root_end, scanned.data_start)
    if match is None:
        return
    try:
        known = read_area(match[2].decode())
    except ValueError:
        return
    wider = Area(
        min(known.top, covered.top), min(known.left, covered.left),
        max(known.bottom, covered.bottom), max(known.right, covered.right),
    )  # fmt: skip
    if wider != known:
        yield ByteEdit(match.start(2), match.end(2), str(wider).encode())


class _NewCells:
    """Makes cells and rows that a sheet does not have yet."""

    def __init__(self, scanned: ScannedSheet, layout: Layout, table: Area) -> None:
        self._sheet, self._table = scanned, table
        self._rows = {row.number: row for row in layout.rows}
        self._numbers = sorted(self._rows)
        self._in_row: dict[int, list[PlacedCell]] = {}
        self._in_column: dict[int, list[PlacedCell]] = {}
        for _, cell in sorted(layout.cells.items()):
            self._in_row.setdefault(cell.row, []).append(cell)
            self._in_column.setdefault(cell.column, []).append(cell)
        self._above = {column: [cell.row for cell in cells] for column, cells in self._in_column.items()}
        self._column_styles = _column_styles(scanned)

    def edits(self, missing: Mapping[int, Mapping[int, Value]]) -> Iterator[ByteEdit]:
        """Go over what adds the cells, by row and column."""
        new_rows: dict[int, list[bytes]] = {}
        for number, cells in sorted(missing.items()):
            row = self._rows.get(number)
            if row is None:
                new_rows.setdefault(self._place_of(number), []).append(self._new_row(number, cells))
            elif row.inner_end < 0:
                tag = self._row_tag(row, cells)
                opened = tag[: tag.rindex(b"/")].rstrip() + b">"
                yield ByteEdit(row.start, row.tag_end, opened + self._cells(number, cells, row) + self._end("row"))
            else:
                yield from self._into_row(row, cells)
        if new_rows:
            yield from self._new_row_edits(new_rows)

    def _into_row(self, row: RowPlace, cells: Mapping[int, Value]) -> Iterator[ByteEdit]:
        there = self._in_row.get(row.number, [])
        by_place: dict[int, dict[int, Value]] = {}
        for column, value in sorted(cells.items()):
            right = next((cell for cell in there if cell.column > column), None)
            by_place.setdefault(row.inner_end if right is None else right.start, {})[column] = value
        for at, some in by_place.items():
            yield ByteEdit(at, at, self._cells(row.number, some, row))
        tag = self._row_tag(row, cells)
        if tag != self._sheet.xml[row.start : row.tag_end]:
            yield ByteEdit(row.start, row.tag_end, tag)

    def _row_tag(self, row: RowPlace, cells: Mapping[int, Value]) -> bytes:
        """Return a row's start tag without its note of the columns it uses where the cells lie outside of it."""
        tag = self._sheet.xml[row.start : row.tag_end]
        match = _SPANS.search(tag)
        if match is None:
            return tag
        first, _, last = match[0].split(b"=")[1].strip().strip(b"\"'").partition(b":")
        holds_all = first.isdigit() and last.isdigit() and all(int(first) <= column <= int(last) for column in cells)
        return tag if holds_all else _SPANS.sub(b"", tag, count=1)

    def _place_of(self, number: int) -> int:
        """Return where a row that is not there goes: before the next one, or at the end (-1)."""
        following = bisect_left(self._numbers, number)
        return self._rows[self._numbers[following]].start if following < len(self._numbers) else -1

    def _new_row_edits(self, new_rows: Mapping[int, Sequence[bytes]]) -> Iterator[ByteEdit]:
        sheet = self._sheet
        for at, rows in new_rows.items():
            if at >= 0:
                yield ByteEdit(at, at, b"".join(rows))
                continue
            tail = sheet.xml[sheet.data_start : sheet.data_end]
            if tail.rstrip().endswith(b"/>") and b"<" not in tail[1:]:  # a sheet without any row
                opened = tail[: tail.rindex(b"/")].rstrip() + b">"
                yield ByteEdit(sheet.data_start, sheet.data_end, opened + b"".join(rows) + self._end("sheetData"))
            else:
                end = sheet.xml.rindex(b"<", sheet.data_start, sheet.data_end)
                yield ByteEdit(end, end, b"".join(rows))

    def _new_row(self, number: int, cells: Mapping[int, Value]) -> bytes:
        """Return a row that looks like the one above it."""
        before = bisect_left(self._numbers, number) - 1
        above = self._rows[self._numbers[before]] if before >= 0 else None
        looks = b""
        if above is not None and above.number >= self._table.top:
            looks = b"".join(_ROW_LOOKS.findall(self._sheet.xml[above.start : above.tag_end]))
        start = f'<{self._sheet.prefix}row r="{number}"'.encode() + looks + b">"
        return start + self._cells(number, cells, above if looks else None) + self._end("row")

    def _cells(self, number: int, cells: Mapping[int, Value], row: RowPlace | None) -> bytes:
        return b"".join(self._cell(number, column, value, row) for column, value in sorted(cells.items()))

    def _cell(self, number: int, column: int, value: Value, row: RowPlace | None) -> bytes:
        kind, text = markup(value)
        style = self._style(number, column, row)
        attributes = (f' s="{style}"' if style else "") + (f' t="{kind}"' if kind else "")
        prefix = self._sheet.prefix
        name = cell_name(number, column)
        return f'<{prefix}c r="{name}"{attributes}><{prefix}v>{text}</{prefix}v></{prefix}c>'.encode()

    def _style(self, number: int, column: int, row: RowPlace | None) -> str:
        if row is not None:
            attributes = _attributes(self._sheet.xml[row.start : row.tag_end])
            if attributes.get("customFormat", "0") in ("1", "true") and attributes.get("s", "0") != "0":
                return attributes["s"]
        style = next((style for first, last, style in self._column_styles if first <= column <= last), "")
        if style:
            return style
        above = bisect_left(self._above.get(column, []), number) - 1
        cell = self._in_column[column][above] if above >= 0 else None
        return cell.style if cell is not None and cell.row >= self._table.top else ""

    def _end(self, tag: str) -> bytes:
        return f"</{self._sheet.prefix}{tag}>".encode()


_ATTRIBUTE = re.compile(rb"""([\w:]+)\s*=\s*(?:"([^"]*)"|'([^']*)')""")


def _attributes(tag: bytes) -> dict[str, str]:
    return {name.decode(): (double or single).decode() for name, double, single in _ATTRIBUTE.findall(tag)}


def _column_styles(scanned: ScannedSheet) -> list[tuple[int, int, str]]:
    """Return the styles of whole columns: first column, last column, style."""
    found = []
    for match in _COLUMN.finditer(scanned.xml, scanned.root_end, scanned.data_start):
        attributes = _attributes(match[1])
        style = attributes.get("style", "0")
        if style != "0":
            found.append((int(attributes.get("min", "0")), int(attributes.get("max", "0")), style))
    return found
