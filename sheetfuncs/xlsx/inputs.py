"""The typed cells of a workbook file: read as they stand, and written so that every other byte stays.

A new value goes into the cell that is there, with its style; where none is there, :mod:`.new_cells` makes one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Callable, Iterable, Iterator, Mapping

from .errors import WorkbookFileError
from .files import Backup, check_target, read_file, same_file_state, write_file
from .new_cells import new_cell_edits
from .package import Package
from .patch import ByteEdit, patched, value_edits
from .references import Area, cell_name, read_area
from .sheet import lay_out, scan
from .values import Value, stored_value
from .workbook import Book
from .xml_cells import ScannedSheet

_NAMED = re.compile(r"(?:'((?:[^']|'')+)'|([^'!]+))!(\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)$")
_DIMENSION = re.compile(rb"""(<(?:\w+:)?dimension\s+ref\s*=\s*["'])([^"']*)(["'])""")


@dataclass(frozen=True)
class OpenBook:
    """A workbook file as it was read, and the state in which the file was then."""

    path: Path
    state: tuple[int, int, int]
    book: Book

    def write(self, content: bytes, target: Path, backup: Backup) -> None:
        """Write a file where it is another one by now or has another name; see :func:`.files.write_file`."""
        if content != self.book.package.raw or target != self.path:
            write_file(self.path, target, content, self.state, backup)


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
    part = _part(opened, sheet)
    scanned = scan(opened.book.package.read(part), sheet, part, opened.path.name)
    layout = lay_out(scanned, [area], opened.path.name)
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
    for :func:`.files.write_file`. finish : what is done to the file's bytes before they are written.
    Nothing is written where there are no values.
    Raises :class:`WorkbookFileError` where a cell holds a formula, where the file has changed since it was opened,
    and where it cannot be written; then nothing is.
    """
    target = opened.path if out is None else Path(out)
    check_target(opened.path, target)
    content = with_cells(opened, [(sheet, table, values)])
    opened.write(finish(content) if values else content, target, backup)


def with_cells(opened: OpenBook, blocks: Iterable[tuple[str, Area, Mapping[tuple[int, int], Value]]]) -> bytes:
    """Return a file's bytes with values in typed cells, everything else as it is.

    blocks : a sheet, the cells whose looks new rows take over, and the values by (row, column), for each.
    Raises :class:`WorkbookFileError` where a cell holds a formula.
    """
    package = opened.book.package
    parts: dict[str, bytes] = {}
    for sheet, table, values in blocks:
        if values:
            part = _part(opened, sheet)
            xml = parts.get(part) or package.read(part)
            parts[part] = _with_values(scan(xml, sheet, part, opened.path.name), table, values, opened.path.name)
    return package.with_parts(parts) if parts else package.raw


def _part(opened: OpenBook, sheet: str) -> str:
    part = next((found.part for found in opened.book.sheets if found.name == sheet), "")
    if not part:
        raise WorkbookFileError(f"{opened.path.name} has no worksheet {sheet}")
    return part


def _with_values(scanned: ScannedSheet, table: Area, values: Mapping[tuple[int, int], Value], book: str) -> bytes:
    rows, columns = [row for row, _ in values], [column for _, column in values]
    # From the table's first row on, whose cells give their looks to those below.
    area = Area(min(table.top, min(rows)), 1, max(rows), max(columns))
    layout = lay_out(scanned, [area], book)
    edits: list[ByteEdit] = []
    missing: dict[tuple[int, int], Value] = {}
    for (row, column), value in sorted(values.items()):
        if (row, column) in layout.formulas:
            raise WorkbookFileError(f"{scanned.name}!{cell_name(row, column)} holds a formula, nothing was written")
        known = layout.cells.get((row, column))
        if known is None:
            missing[row, column] = value
        else:
            edits += value_edits(scanned, known, value)
    edits += new_cell_edits(scanned, layout, missing, table)
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
