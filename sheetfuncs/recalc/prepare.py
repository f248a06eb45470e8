"""The copy of a workbook that the engine evaluates: the sheets' rows, with formulas in the engine's spelling.

Formulas that are not to be evaluated are left out of it; their stored values stand there like typed ones. The copy is
never written to a file. It holds what formulas refer to and nothing else.
"""

from __future__ import annotations

from contextlib import suppress
from html import escape
from typing import Sequence

from ..xlsx.archive import archive_of
from ..xlsx.errors import WorkbookFileError
from ..xlsx.patch import ByteEdit, patched
from ..xlsx.sheet import lay_out
from ..xlsx.values import iso_serial, markup, quoted
from ..xlsx.workbook import Book
from ..xlsx.xml_cells import ScannedSheet, XmlCell
from ..xlsx.xml_parts import guarded_parser, run
from .reading import PlannedSheet

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_LINKS = "http://schemas.openxmlformats.org/package/2006/relationships"
_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
_SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml."
#: The most cells that one array formula may fill.
MOST_FILLED = 1_048_576


def copy_for_engine(book: Book, sheets: Sequence[PlannedSheet]) -> bytes:
    """Return the copy as a workbook in memory; lays out the cells that array formulas fill.

    Raises :class:`WorkbookFileError` where these are too many, or hold other formulas.
    """
    for planned in sheets:
        _lay_out_filled(planned, book.package.name)
    by_part = {sheet.scanned.part: sheet for sheet in sheets}
    found = [  # by kind and path
        ("worksheet", f"worksheets/sheet{number}.xml", _rows_only(by_part.get(sheet.part), book))
        for number, sheet in enumerate(book.sheets, start=1)
    ]
    for number, part in enumerate(book.outer_links, start=1):
        found.append(("externalLink", f"externalLinks/externalLink{number}.xml", _checked(book, part)))
    if book.shared_strings_part:
        found.append(("sharedStrings", "sharedStrings.xml", _checked(book, book.shared_strings_part)))
    tabs = "".join(
        f'<sheet name={quoted(sheet.name)} sheetId="{number}" r:id="r{number}"/>'
        for number, sheet in enumerate(book.sheets, start=1)
    )
    outer = "".join(
        f'<externalReference r:id="r{number}"/>'
        for number, (kind, _, _) in enumerate(found, start=1)
        if kind == "externalLink"
    )
    parts = {f"xl/{path}": content for _, path, content in found}
    parts["xl/workbook.xml"] = (
        f'<workbook xmlns="{_MAIN}" xmlns:r="{_OFFICE}"><sheets>{tabs}</sheets>'
        + (f"<externalReferences>{outer}</externalReferences>" if outer else "")
        + "</workbook>"
    ).encode()
    parts["xl/_rels/workbook.xml.rels"] = _links_xml([(kind, path) for kind, path, _ in found])
    parts["_rels/.rels"] = _links_xml([("officeDocument", "xl/workbook.xml")])
    parts["[Content_Types].xml"] = _types_xml([("sheet.main", "workbook.xml"), *(one[:2] for one in found)])
    return archive_of(parts, is_packed=False)


def _lay_out_filled(sheet: PlannedSheet, book: str) -> None:
    sheet.filled = [
        (planned, planned.cell.area)
        for planned in sheet.cells
        if planned.is_evaluated and planned.cell.area and planned.cell.fills_several
    ]
    for planned, area in sheet.filled:
        if area.rows * area.columns > MOST_FILLED:
            raise WorkbookFileError(f"{planned.where} fills {area}, wanted at most {MOST_FILLED} cells")
        for other in sheet.scanned.formulas:
            if other is not planned.cell and area.holds(other.row, other.column):
                raise WorkbookFileError(f"{planned.where} fills {area}, but {other.name} holds another formula")
    if sheet.filled:
        sheet.layout = lay_out(sheet.scanned, [area for _, area in sheet.filled], book)


def _checked(book: Book, part: str) -> bytes:
    """Return a part that goes to the engine as it is, once it is known to be harmless XML."""
    xml = book.package.read(part)
    run(guarded_parser(), xml, f"{book.package.name}, {part},")
    return xml


def _rows_only(sheet: PlannedSheet | None, book: Book) -> bytes:
    """Return a worksheet with nothing but its rows, formulas respelled and filled cells emptied."""
    if sheet is None:  # a sheet of another kind, such as a chart
        return f'<worksheet xmlns="{_MAIN}"><sheetData/></worksheet>'.encode()
    scanned = sheet.scanned
    xml, prefix = scanned.xml, scanned.prefix
    edits = []
    for planned in sheet.cells:
        cell = planned.cell
        if not planned.is_evaluated and cell.kind == "d":
            edits.append(_serial_edit(scanned, cell, book))
        else:
            text = escape(planned.text, quote=False)
            formula = f"<{prefix}f>{text}</{prefix}f>" if planned.is_evaluated else ""
            edits.append(ByteEdit(cell.formula_start, cell.formula_end, formula.encode()))
    for planned, area in sheet.filled:
        for (row, column), filled in sheet.layout.cells.items():
            if area.holds(row, column) and (row, column) != (planned.cell.row, planned.cell.column):
                edits.append(ByteEdit(filled.start, filled.end, b""))
    edits += [_serial_edit(scanned, cell, book) for cell in scanned.iso_dates]
    shift = scanned.data_start
    rows = patched(
        xml[shift : scanned.data_end], [ByteEdit(edit.start - shift, edit.end - shift, edit.new) for edit in edits]
    )
    return xml[: scanned.root_end] + rows + f"</{prefix}worksheet>".encode()


def _serial_edit(scanned: ScannedSheet, cell: XmlCell, book: Book) -> ByteEdit:
    prefix, value = scanned.prefix, ""
    with suppress(ValueError):  # what is no date is blank
        value = f"<{prefix}v>{markup(iso_serial(cell.stored or '', book.epoch))[1]}</{prefix}v>"
    return ByteEdit(cell.start, cell.end, f'<{prefix}c r="{cell.name}">{value}</{prefix}c>'.encode())


def _links_xml(links: Sequence[tuple[str, str]]) -> bytes:
    items = "".join(
        f'<Relationship Id="r{number}" Type="{_OFFICE}/{kind}" Target="{path}"/>'
        for number, (kind, path) in enumerate(links, start=1)
    )
    return f'<Relationships xmlns="{_LINKS}">{items}</Relationships>'.encode()


def _types_xml(types: Sequence[tuple[str, str]]) -> bytes:
    items = "".join(f'<Override PartName="/xl/{path}" ContentType="{_SPREADSHEET}{kind}+xml"/>' for kind, path in types)
    return (
        f'<Types xmlns="{_TYPES}"><Default Extension="xml" ContentType="application/xml"/>'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f"{items}</Types>"
    ).encode()
