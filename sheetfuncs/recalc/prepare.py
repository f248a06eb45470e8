"""The copy of a workbook that the engine evaluates: the sheets' rows, with formulas in the engine's spelling.

The copy is never written to a file. It holds what formulas refer to and nothing else.
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass, field
from typing import Sequence

from ..functions.declare import Function
from ..xlsx.errors import WorkbookFileError
from ..xlsx.patch import ByteEdit, patched
from ..xlsx.places import Area
from ..xlsx.sheet import FormulaCell, Layout, ScannedSheet, lay_out, scan
from ..xlsx.values import Value, escaped, iso_serial, markup, quoted
from ..xlsx.workbook import Book
from ..xlsx.xml_parts import guarded_parser, run, unescaped
from .formulas import FIRST, FIT, FormulaTooLongError
from .ranges import BeyondTheEngineError
from .spelling import Facts, Speller
from .tables import NotInTableError

#: The most cells that one array formula may fill.
MOST_FILLED = 1_048_576

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_LINKS = "http://schemas.openxmlformats.org/package/2006/relationships"
_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
_SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml."
_EMPTY_SHEET = f'<worksheet xmlns="{_MAIN}"><sheetData/></worksheet>'.encode()


@dataclass(slots=True)
class PlannedCell:
    """A formula cell, what is known of the formula beforehand, and what the cell holds afterwards."""

    cell: FormulaCell
    text: str | None  # the formula's text for the engine where it is not the one in the file
    facts: Facts
    value: Value = None


@dataclass
class PlannedSheet:
    """A worksheet with its formula cells and the layout of the cells that array formulas fill."""

    scanned: ScannedSheet
    cells: list[PlannedCell] = field(default_factory=list)
    layout: Layout = field(default_factory=Layout)

    @property
    def filled(self) -> list[tuple[FormulaCell, Area]]:
        """The array formulas over several cells, with those cells."""
        return [(cell, cell.area) for cell in self.scanned.formulas if cell.area and cell.fills_several]


def plan(book: Book, functions: Sequence[Function]) -> tuple[list[PlannedSheet], Speller]:
    """Read all worksheets and spell their formulas for the engine.

    Raises :class:`WorkbookFileError` naming the cell where a formula is beyond it.
    """
    try:
        speller = Speller(functions, book.defined_names, book.tables)
    except FormulaTooLongError as error:
        raise WorkbookFileError(f"a defined name {error}, which this recalculation cannot do") from None
    sheets = []
    for sheet in book.sheets:
        if sheet.part:
            xml = book.package.read(sheet.part)
            sheets.append(_planned(scan(xml, sheet.name, sheet.part, book.package.name), speller, book))
    return sheets, speller


def _planned(scanned: ScannedSheet, speller: Speller, book: Book) -> PlannedSheet:
    sheet = PlannedSheet(scanned)
    shared: dict[str, bytes] = {}
    for cell in scanned.formulas:
        raw = cell.raw_formula
        if cell.formula_kind == "shared":
            raw = shared.setdefault(cell.group, raw)
        is_array = cell.area is not None
        text = None
        facts = speller.known(raw, is_array, cell.row)
        if facts is None or facts.is_many or cell.formula_kind:
            try:
                text, facts = _spelled(raw, cell, scanned, speller)
            except (BeyondTheEngineError, NotInTableError, FormulaTooLongError) as error:
                shown = f": ={unescaped(raw)[:200]}" if raw else ""
                raise WorkbookFileError(
                    f"{scanned.name}!{cell.name} {error}, which this recalculation cannot do{shown}"
                ) from None
        sheet.cells.append(PlannedCell(cell, text, facts))
    if sheet.filled:
        _check_filled(sheet)
        sheet.layout = lay_out(scanned, [area for _, area in sheet.filled], book.package.name)
    return sheet


def _spelled(raw: bytes, cell: FormulaCell, scanned: ScannedSheet, speller: Speller) -> tuple[str | None, Facts]:
    """Return a formula's text for the engine where it is another one, and the formula's facts."""
    if cell.formula_kind == "dataTable":
        raise BeyondTheEngineError("is a what-if table")
    if not raw:
        raise BeyondTheEngineError("holds a formula without a text")
    formula = unescaped(raw)
    text, facts = speller.spell(formula, cell.area is not None, scanned.name, cell.row, cell.column)
    speller.remember(raw, cell.area is not None, cell.row, facts)
    text = _wrapped(text, facts, cell)
    follows = cell.formula_kind == "shared" and not cell.raw_formula
    is_same = text == formula and cell.formula_kind != "array"
    return (None if follows or is_same else text), facts


def _wrapped(text: str, facts: Facts, cell: FormulaCell) -> str:
    """Return a formula that fills just the cells it is to fill; the engine would spill over others."""
    if cell.grows or not (facts.is_many or cell.fills_several):
        return text
    if cell.area is not None and cell.fills_several:
        return f"{FIT}({text},{cell.area.rows},{cell.area.columns})"
    return f"{FIRST}({text})"


def _check_filled(sheet: PlannedSheet) -> None:
    for cell, area in sheet.filled:
        where = f"{sheet.scanned.name}!{cell.name}"
        if area.rows * area.columns > MOST_FILLED:
            raise WorkbookFileError(f"{where} fills {area}, wanted at most {MOST_FILLED} cells")
        for other in sheet.scanned.formulas:
            if other is not cell and area.holds(other.row, other.column):
                raise WorkbookFileError(f"{where} fills {area}, but {other.name} holds another formula")


# -- the copy ------------------------------------------------------------------------------------------------


def copy_for_engine(book: Book, sheets: Sequence[PlannedSheet], speller: Speller) -> bytes:
    """Return the copy as a workbook in memory."""
    parts: dict[str, bytes] = {}
    types, links, tabs = [], [], []
    by_part = {sheet.scanned.part: sheet for sheet in sheets}
    for number, sheet in enumerate(book.sheets, start=1):
        planned = by_part.get(sheet.part)
        parts[f"xl/worksheets/sheet{number}.xml"] = _rows_only(planned, book) if planned else _EMPTY_SHEET
        types.append((f"/xl/worksheets/sheet{number}.xml", "worksheet"))
        links.append((f"s{number}", "worksheet", f"worksheets/sheet{number}.xml"))
        tabs.append(f'<sheet name={quoted(sheet.name)} sheetId="{number}" r:id="s{number}"/>')
    if book.shared_strings_part:
        parts["xl/sharedStrings.xml"] = _checked(book, book.shared_strings_part)
        types.append(("/xl/sharedStrings.xml", "sharedStrings"))
        links.append(("strings", "sharedStrings", "sharedStrings.xml"))
    outer = []
    for number, part in enumerate(book.outer_links, start=1):
        parts[f"xl/externalLinks/externalLink{number}.xml"] = _checked(book, part)
        types.append((f"/xl/externalLinks/externalLink{number}.xml", "externalLink"))
        links.append((f"e{number}", "externalLink", f"externalLinks/externalLink{number}.xml"))
        outer.append(f'<externalReference r:id="e{number}"/>')
    parts["xl/workbook.xml"] = (
        f'<workbook xmlns="{_MAIN}" xmlns:r="{_OFFICE}"><sheets>{"".join(tabs)}</sheets>'
        + (f"<externalReferences>{''.join(outer)}</externalReferences>" if outer else "")
        + _defined_names(book, speller)
        + "</workbook>"
    ).encode()
    parts["xl/_rels/workbook.xml.rels"] = _links_xml(links)
    parts["_rels/.rels"] = _links_xml([("book", "officeDocument", "xl/workbook.xml")])
    parts["[Content_Types].xml"] = _types_xml(types)
    return _zipped(parts)


def _checked(book: Book, part: str) -> bytes:
    """Return a part that goes to the engine as it is, once it is known to be harmless XML."""
    xml = book.package.read(part)
    run(guarded_parser(), xml, f"{book.package.name}, {part},")
    return xml


def _rows_only(sheet: PlannedSheet, book: Book) -> bytes:
    """Return a worksheet with nothing but its rows, formulas respelled and filled cells emptied."""
    scanned = sheet.scanned
    xml = scanned.xml
    edits = [_formula_edit(scanned, cell.cell, cell.text) for cell in sheet.cells if cell.text is not None]
    for cell, area in sheet.filled:
        for (row, column), filled in sheet.layout.cells.items():
            if area.holds(row, column) and (row, column) != (cell.row, cell.column):
                edits.append(ByteEdit(filled.start, filled.end, b""))
    for cell in scanned.iso_dates:
        text = markup(_serial_or_none(cell.stored or "", book))[1]
        value = f"<{scanned.prefix}v>{text}</{scanned.prefix}v>" if text else ""
        new = f'<{scanned.prefix}c r="{cell.name}">{value}</{scanned.prefix}c>'
        edits.append(ByteEdit(cell.start, cell.end, new.encode()))
    shift = scanned.data_start
    rows = patched(
        xml[shift : scanned.data_end], [ByteEdit(edit.start - shift, edit.end - shift, edit.new) for edit in edits]
    )
    return xml[: scanned.root_end] + rows + f"</{scanned.prefix}worksheet>".encode()


def _serial_or_none(text: str, book: Book) -> float | None:
    try:
        return iso_serial(text, book.epoch)
    except ValueError:
        return None


def _formula_edit(scanned: ScannedSheet, cell: FormulaCell, text: str) -> ByteEdit:
    prefix = scanned.prefix
    tag = f"<{prefix}f>".encode()
    if cell.formula_kind == "shared":
        tag = scanned.xml[cell.formula_start : cell.formula_tag_end]
    new = tag + escaped(text).encode() + f"</{prefix}f>".encode()
    return ByteEdit(cell.formula_start, cell.formula_end, new)


def _defined_names(book: Book, speller: Speller) -> str:
    if not book.defined_names:
        return ""
    items = []
    for item in book.defined_names:
        local = "" if item.sheet is None else f' localSheetId="{item.sheet}"'
        try:
            text = speller.spell_name(item.text)
        except (NotInTableError, FormulaTooLongError):
            continue  # a formula that uses it is refused as one with an unknown name
        items.append(f"<definedName name={quoted(item.name)}{local}>{escaped(text)}</definedName>")
    return f"<definedNames>{''.join(items)}</definedNames>"


def _links_xml(links: Sequence[tuple[str, str, str]]) -> bytes:
    items = "".join(f'<Relationship Id="{key}" Type="{_OFFICE}/{kind}" Target="{part}"/>' for key, kind, part in links)
    return f'<Relationships xmlns="{_LINKS}">{items}</Relationships>'.encode()


def _types_xml(types: Sequence[tuple[str, str]]) -> bytes:
    items = "".join(
        f'<Override PartName="{part}" ContentType="{_SPREADSHEET}{kind}+xml"/>'
        for part, kind in [("/xl/workbook.xml", "sheet.main"), *types]
    )
    return (
        f'<Types xmlns="{_TYPES}"><Default Extension="xml" ContentType="application/xml"/>'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f"{items}</Types>"
    ).encode()


def _zipped(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()
