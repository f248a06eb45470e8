"""One worksheet's XML: where its formula cells lie in it, to the byte, and what they hold.

expat goes over the XML first and makes sure that it is well formed. After that, patterns find the cells: they
need no call for each of the many cells that hold no formula. What programs do not write (comments among the
rows, a ``>`` inside a cell's attribute) is not looked through but refused.
"""

from __future__ import annotations

import re
from contextlib import contextmanager
from functools import lru_cache
from typing import Iterable, Iterator, Mapping

from .errors import WorkbookFileError
from .references import Area, column_number, read_area, read_cell_name
from .xml_cells import FormulaCell, Layout, ScannedSheet, XmlCell, XmlRow
from .xml_parts import check_encoding, guarded_parser, run

_ATTRIBUTE = re.compile(rb"""\s([\w:]+)\s*=\s*(?:"([^"]*)"|'([^']*)')""")
_NAME = re.compile(rb"""\s+r=["']([A-Z]+[0-9]+)["']""")
_ROOT = re.compile(rb"<((?:[\w.-]+:)?)worksheet(?:\s[^<>]*)?>")


class _Patterns:
    """The patterns of a sheet's elements, for one prefix of its tags."""

    def __init__(self, prefix: str) -> None:
        p = re.escape(prefix.encode())
        attributes = rb"((?:\s[^<>]*?)?)"
        flags = re.DOTALL
        self.value_tag_length = len(b"<%sv>" % prefix.encode())
        self.data = re.compile(rb"<%ssheetData\s*(/?)>" % p)
        self.data_end = b"</%ssheetData>" % prefix.encode()
        self.row = re.compile(rb"<%srow%s(/?)>" % (p, attributes))
        self.row_end = b"</%srow>" % prefix.encode()
        self.cell = re.compile(rb"<%sc%s(?:/>|>(.*?)</%sc>)" % (p, attributes, p), flags)
        self.cell_start = re.compile(rb"<%sc%s(/?)>" % (p, attributes))
        self.any_cell = re.compile(rb"<%sc[\s/>]" % p)
        self.cell_sign = b"<%sc" % prefix.encode()
        self.cell_end = b"</%sc>" % prefix.encode()
        self.iso_date = re.compile(rb"""<%sc\s[^<>]*?\bt=["']d["']""" % p)
        self.formula_start = re.compile(rb"<%sf[\s/>]" % p)
        self.formula_cell = re.compile(
            rb'<%sc(?:\s+r="([A-Z]{1,3})([0-9]{1,7})")?%s>' % (p, attributes)
            + rb"\s*<%sf%s(?:/>|>([^<]*)</%sf>)" % (p, attributes, p)
            + rb"(?:(?:<%sv>([^<]*)</%sv>)?(</%sc>))?" % (p, p, p)
        )
        self.formula_tag_length = len(b"<%sf" % prefix.encode())
        self.formula_end_length = self.value_tag_length + 1
        self.value = re.compile(rb"<%s(?:v(?:\s[^<>]*?)?(?:/>|>([^<]*)</%sv\s*>)|is>(.*?)</%sis>)" % (p, p, p), flags)
        self.text = re.compile(rb"<%st(?:\s[^<>]*)?>([^<]*)<" % p)
        self.reading_aid = re.compile(rb"<%srPh.*?</%srPh>" % (p, p), flags)


_patterns = lru_cache(maxsize=8)(_Patterns)


def scan(xml: bytes, name: str, part: str, where: str) -> ScannedSheet:
    """Find the formula cells of a worksheet.

    name : the sheet's name. where : the file, for messages. Raises :class:`WorkbookFileError`.
    """
    where = f"{where}, sheet {name},"
    check_encoding(xml, where)
    odd = _check_xml(xml, where)
    root = _ROOT.search(xml)
    if root is None:
        raise WorkbookFileError(f"{where} is no worksheet that can be read")
    sheet = ScannedSheet(name, part, xml, root[1].decode(), root.end(), root.end(), root.end())
    with _readable(where):
        _find_cells(sheet, odd)
    return sheet


def _check_xml(xml: bytes, where: str) -> list[int]:
    """Make sure that a part is well formed, and return where in it comments and the like start."""
    parser = guarded_parser()
    odd: list[int] = []

    def note(*_: object) -> None:
        odd.append(parser.CurrentByteIndex)

    parser.CommentHandler = parser.ProcessingInstructionHandler = parser.StartCdataSectionHandler = note
    run(parser, xml, where)
    return odd


def _find_cells(sheet: ScannedSheet, odd: Iterable[int]) -> None:
    patterns, xml = _patterns(sheet.prefix), sheet.xml
    data = patterns.data.search(xml, sheet.root_end)
    if data is None:
        return
    sheet.data_start, sheet.data_end = data.span()
    if data[1]:  # a sheet without a row
        return
    start, end = data.end(), xml.index(patterns.data_end, data.end())
    sheet.data_end = end + len(patterns.data_end)
    if any(start <= at < end for at in odd):
        raise ValueError("comments or raw text among its rows")
    for formula in patterns.formula_start.finditer(xml, start, end):
        cell_start = xml.rfind(patterns.cell_sign, start, formula.start())
        match = patterns.formula_cell.match(xml, cell_start) if cell_start >= 0 else None
        if match is None:
            raise ValueError("a formula outside a cell")
        sheet.formulas.append(_formula_cell(sheet, patterns, match))
    if xml.find(b't="d"', start, end) < 0 and xml.find(b"t='d'", start, end) < 0:
        return
    for match in patterns.iso_date.finditer(xml, start, end):
        cell = _cell_of(sheet, patterns, patterns.cell.match(xml, match.start()))
        if patterns.formula_start.search(xml, cell.start, cell.end) is None:
            sheet.iso_dates.append(cell)


def lay_out(sheet: ScannedSheet, areas: Iterable[Area], where: str) -> Layout:
    """Find all rows of a worksheet, and in the rows of some areas the cells from the areas' first column on.

    where : the file, for messages. Raises :class:`WorkbookFileError`.
    """
    patterns = _patterns(sheet.prefix)
    first_column: dict[int, int] = {}
    for area in areas:
        for number in range(area.top, area.bottom + 1):
            first_column[number] = min(area.left, first_column.get(number, area.left))
    layout = Layout(formulas=frozenset((cell.row, cell.column) for cell in sheet.formulas))
    with _readable(f"{where}, sheet {sheet.name},"):
        for row in _rows(sheet):
            layout.rows.append(row)
            if row.number not in first_column or row.inner_end < 0:
                continue
            found = [
                _cell_of(sheet, patterns, match)
                for match in patterns.cell.finditer(sheet.xml, row.tag_end, row.inner_end)
            ]
            if len(found) != sum(1 for _ in patterns.any_cell.finditer(sheet.xml, row.tag_end, row.inner_end)):
                raise ValueError(f"a cell in row {row.number}")
            for cell in found:
                if cell.column >= first_column[row.number]:
                    layout.cells[cell.row, cell.column] = cell
    return layout


@contextmanager
def _readable(where: str) -> Iterator[None]:
    """Turn what cannot be found or counted in well-formed XML into one line."""
    try:
        yield
    except (ValueError, AttributeError, TypeError, OverflowError) as error:
        raise WorkbookFileError(
            f"{where} is written in a form that cannot be read, and that no office program writes ({error})"
        ) from error


def _rows(sheet: ScannedSheet) -> Iterator[XmlRow]:
    patterns = _patterns(sheet.prefix)
    number, inner_end = 0, -1
    for match in patterns.row.finditer(sheet.xml, sheet.data_start, sheet.data_end):
        named = attributes_of(match[1]).get("r")
        number = int(named) if named else number + 1
        if match.start() < inner_end:
            raise ValueError(f"the end of row {number}")
        inner_end = -1 if match[2] else sheet.xml.index(patterns.row_end, match.end())
        yield XmlRow(number, match.start(), match.end(), inner_end)


@lru_cache(maxsize=1024)
def attributes_of(text: bytes) -> Mapping[str, str]:
    """Return the attributes in a tag, or in what follows its name."""
    return {name.decode(): (one or other).decode() for name, one, other in _ATTRIBUTE.findall(text)}


def _cell_attributes(text: bytes) -> tuple[str, Mapping[str, str]]:
    """Return a cell's name, empty where it has none, and its other attributes, of which few kinds are there."""
    name = _NAME.match(text)
    if name is None:
        attributes = attributes_of(text)
        return attributes.get("r", ""), attributes
    return name[1].decode(), attributes_of(text[name.end() :])


def _formula_cell(sheet: ScannedSheet, patterns: _Patterns, match: re.Match[bytes]) -> FormulaCell:
    letters, number, more, ways, formula, stored, closed = match.groups()
    attributes = attributes_of(more)
    if letters is not None:
        row, column = int(number), column_number(letters.decode())
    else:
        row, column = _row_and_column(sheet, attributes.get("r", ""), match.start())
    formula_end = match.end(5) + patterns.formula_end_length if formula is not None else match.end(4) + 2
    cell = FormulaCell(
        row, column, match.start(), match.end(3) + 1, match.end(), attributes.get("t", ""), attributes.get("s", ""),
        new_value_at=formula_end, formula_start=match.start(4) - patterns.formula_tag_length, formula_end=formula_end,
    )  # fmt: skip
    if formula is not None:
        cell.raw_formula = formula
        cell.formula_tag_end = match.start(5)
    if closed is None:  # something else stands where the value should be
        end = sheet.xml.index(patterns.cell_end, match.end())
        if sheet.xml.find(patterns.cell_sign, formula_end, end) >= 0:
            raise ValueError(f"the end of cell {cell.name}")
        cell.end = end + len(patterns.cell_end)
        _find_value(cell, sheet, patterns, formula_end, end)
    elif stored is not None:
        cell.raw_stored = stored
        cell.value_start = match.start(6) - patterns.value_tag_length
        cell.value_end = match.end(6) + patterns.value_tag_length + 1
    if ways:
        _read_ways(cell, attributes_of(ways), "cm" in attributes)
    return cell


def _read_ways(cell: FormulaCell, ways: Mapping[str, str], is_dynamic: bool) -> None:
    """Note the attributes of a formula's element."""
    cell.formula_kind = ways.get("t", "").replace("normal", "")
    cell.group = ways.get("si", "")
    if cell.formula_kind in ("array", "dataTable"):
        cell.area = read_area(ways.get("ref", cell.name))
        cell.grows = is_dynamic
        cell.inputs = tuple(ways[key] for key in ("r1", "r2") if key in ways)


def _cell_of(sheet: ScannedSheet, patterns: _Patterns, match: re.Match[bytes]) -> XmlCell:
    if match[1].count(b'"') % 2 or match[1].count(b"'") % 2:
        raise ValueError("a > in an attribute")
    name, attributes = _cell_attributes(match[1])
    row, column = _row_and_column(sheet, name, match.start())
    cell = XmlCell(
        row, column, match.start(), match.end(), match.end(), attributes.get("t", ""), attributes.get("s", "")
    )
    if match[2] is not None:
        cell.tag_end = cell.new_value_at = match.start(2)
        _find_value(cell, sheet, patterns, match.start(2), match.end(2))
    return cell


def _find_value(cell: XmlCell, sheet: ScannedSheet, patterns: _Patterns, start: int, end: int) -> None:
    """Note a cell's stored value, which lies between two bytes if there is one."""
    if start == end:
        return
    match = patterns.value.search(sheet.xml, start, end)
    if match is None:
        return
    cell.value_start, cell.value_end = match.span()
    if match[2] is None:
        cell.raw_stored = match[1] or b""
    else:  # an inline text, in runs
        runs = patterns.text.findall(patterns.reading_aid.sub(b"", match[2]))
        cell.raw_stored = b"".join(runs)


def _row_and_column(sheet: ScannedSheet, name: str, start: int) -> tuple[int, int]:
    """Return a cell's row and column; one without a name lies to the right of the one before it."""
    if name:
        return read_cell_name(name)
    if not sheet.unnamed:
        sheet.unnamed.update(_unnamed_cells(sheet))
    if start not in sheet.unnamed:
        raise ValueError("a cell outside of all rows")
    return sheet.unnamed[start]


def _unnamed_cells(sheet: ScannedSheet) -> Iterator[tuple[int, tuple[int, int]]]:
    """Go over the cells without a name: where each starts in the XML, and its row and column."""
    patterns = _patterns(sheet.prefix)
    for row in _rows(sheet):
        column = 0
        if row.inner_end < 0:
            continue
        for match in patterns.cell_start.finditer(sheet.xml, row.tag_end, row.inner_end):
            named = _cell_attributes(match[1])[0]
            column = read_cell_name(named)[1] if named else column + 1
            if not named:
                yield match.start(), (row.number, column)
