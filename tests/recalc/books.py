"""Workbook files for the tests, made by two libraries and by hand, and a comparison of two of them."""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from datetime import date
from pathlib import Path
from typing import Any, Mapping

import openpyxl
import xlsxwriter
from openpyxl.chart import LineChart, Reference
from openpyxl.comments import Comment
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import PatternFill
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.table import Table

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"


def simple(path: Path, cells: Mapping[str, Any], sheet: str = "Plan") -> Path:
    """Save cells of one sheet with openpyxl, which stores no values beside formulas."""
    book = openpyxl.Workbook()
    book.active.title = sheet
    for name, value in cells.items():
        book.active[name] = value
    book.save(path)
    return path


def by_openpyxl(path: Path) -> Path:
    """Save a workbook with a bit of everything that openpyxl can write."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Bäume & 'Reihe' ß"
    sheet.append(["tag", "day", "value", "twice", "next day", "text"])
    for row in range(2, 8):
        sheet.append([f"t{row}", date(2026, 7, row), row / 2, f"=TWICE_OF(C{row})", f"=DAY_AFTER(B{row},3)"])
        sheet[f"B{row}"].number_format = sheet[f"E{row}"].number_format = "yyyy-mm-dd"
    sheet["F2"] = '=IF(D2>1,"über & <1>","")'
    sheet["F3"] = "=JOINED_BY(A3,,F2)"
    sheet["F4"] = "=VLOOKUP(C4,$C$2:$D$7,2,FALSE)"
    sheet["F5"] = "=ABOVE_ZERO(-1)"
    sheet["F6"] = "=TWICE_OF(A6)"
    sheet["H1"] = ArrayFormula("H1:J1", "=MULTIPLES_OF(Start)")
    sheet["H3"] = ArrayFormula("H3:H9", "=SUMS_SO_FAR(C2:C7)")
    sheet["K2"].comment = Comment("A remark", "nobody")
    sheet.conditional_formatting.add(
        "C2:C7", CellIsRule("greaterThan", ["TWICE_OF(1)"], fill=PatternFill("solid", "FF0000"))
    )
    validation = DataValidation("list", formula1='"ground,container"')
    validation.add("L2:L7")
    sheet.add_data_validation(validation)
    chart = LineChart()
    chart.add_data(Reference(sheet, min_col=4, min_row=1, max_row=7), titles_from_data=True)
    sheet.add_chart(chart, "N2")
    sheet.freeze_panes = "B2"
    book.defined_names["Start"] = DefinedName("Start", attr_text="'Bäume & ''Reihe'' ß'!$C$3")
    other = book.create_sheet("表")
    other.append(["Kind", "Need"])
    for row in range(2, 5):
        other.append([f"kind {row}", row * 100])
    other.add_table(Table(displayName="Kinds", ref="A1:B4"))
    other["D1"] = "=SUM(Kinds[Need])"
    other["D2"] = "=TWICE_OF(Kinds[[#This Row],[Need]])"
    other["D3"] = "='Bäume & ''Reihe'' ß'!D2+1"
    other["D4"] = '=COUNTIF(Kinds[Kind],"kind*")+INDEX(Kinds[Need],MATCH("kind 3",Kinds[Kind],0))'
    book.save(path)
    return path


def by_xlsxwriter(path: Path, is_1904: bool = False) -> Path:
    """Save a workbook with a bit of everything that xlsxwriter can write."""
    book = xlsxwriter.Workbook(str(path), {"date_1904": is_1904})
    book.set_properties({"title": "A test", "comments": "made by a test"})
    dates = book.add_format({"num_format": "yyyy-mm-dd"})
    sheet = book.add_worksheet("Plan")
    sheet.write_row(0, 0, ["day", "value", "next", "twice"])
    for row in range(1, 6):
        sheet.write_datetime(row, 0, date(2026, 7, row), dates)
        sheet.write_number(row, 1, row * 1.5)
        sheet.write_formula(row, 2, f"=DAY_AFTER(A{row + 1})", dates, 0)
        sheet.write_formula(row, 3, f"=TWICE_OF(B{row + 1})", None, "old")
    sheet.write_formula("E2", "=TWICE_OF(1)=2", None, True)
    sheet.write_formula("E3", "=IF(TWICE_OF(1)=2,NA())", None, "#N/A")
    sheet.write_formula("E4", '=IF(TWICE_OF(1)=2,"a "&TEXT(A2,"yyyy-mm-dd"))', None, "a")
    sheet.write_formula("E5", "=AND(TWICE_OF(1)=2,TODAY()>A2)", None, False)
    sheet.write_formula("E6", "=DATE(2026,7,TWICE_OF(1))-A2", None, 1)
    sheet.write_array_formula("G2:G6", "{=B2:B6*2}")
    sheet.write_array_formula("H2:H6", "{=SUMS_SO_FAR(B2:B6)}", None, 9)
    sheet.write_dynamic_array_formula("I2:I6", "=SUMS_SO_FAR(B2:B6)", None, 1)
    sheet.write_comment("B2", "A remark")
    sheet.conditional_format("B2:B6", {"type": "3_color_scale"})
    sheet.data_validation("F2:F6", {"validate": "list", "source": ["yes", "no"]})
    sheet.insert_image("K2", "dot.png", {"image_data": io.BytesIO(png())})
    chart = book.add_chart({"type": "column"})
    chart.add_series({"values": "=Plan!$D$2:$D$6"})
    sheet.insert_chart("K10", chart)
    sheet.add_sparkline("J2", {"range": "Plan!B2:B6"})
    tables = book.add_worksheet("The 'kinds' we grow")
    columns = [{"header": "Kind"}, {"header": "Need"}, {"header": "Twice", "formula": "=TWICE_OF([@Need])"}]
    tables.add_table("B2:D5", {"name": "Kinds", "columns": columns, "data": [["a", 1], ["b", 2], ["c", 3]]})
    tables.write_formula("F2", "=SUM(Kinds[Twice])")
    book.define_name("Start", "=Plan!$B$2")
    tables.write_formula("F3", "=TWICE_OF(Start)")
    chart_sheet = book.add_chartsheet("Picture")
    other = book.add_chart({"type": "line"})
    other.add_series({"values": "=Plan!$D$2:$D$6"})
    chart_sheet.set_chart(other)
    after = book.add_worksheet("After")
    after.write_formula("A1", "='The ''kinds'' we grow'!F2+Plan!D2")
    book.close()
    return path


def png() -> bytes:
    """Return a picture of one dot."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = chunk(b"IHDR", struct.pack(">2I5B", 1, 1, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0\xff\0\0")) + chunk(b"IEND", b"")


def by_hand(
    path: Path,
    rows: Mapping[str, str],
    strings: tuple[str, ...] = (),
    names: str = "",
    settings: str = "",
    prefix: str = "",
    extra: Mapping[str, str | bytes] | None = None,
    outer: str = "",
) -> Path:
    """Save the XML of sheets' rows as they are; ``prefix`` is put before the tags of the sheets' frames."""
    p = prefix
    tabs = links = types = ""
    parts: dict[str, str | bytes] = {}
    xmlns = f'xmlns:{p[:-1]}="{MAIN}"' if p else f'xmlns="{MAIN}"'
    for number, (name, xml) in enumerate(rows.items(), start=1):
        tabs += f'<sheet name="{name}" sheetId="{number}" r:id="s{number}"/>'
        links += f'<Relationship Id="s{number}" Type="{OFFICE}/worksheet" Target="worksheets/sheet{number}.xml"/>'
        types += (
            f'<Override PartName="/xl/worksheets/sheet{number}.xml" '
            'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>'
        )
        if not xml.startswith("<?xml"):
            xml = (
                '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\r\n'
                f"<{p}worksheet {xmlns}><{p}sheetData>{xml}</{p}sheetData></{p}worksheet>"
            )
        parts[f"xl/worksheets/sheet{number}.xml"] = xml
    if strings:
        parts["xl/sharedStrings.xml"] = f'<sst xmlns="{MAIN}">{"".join(f"<si>{item}</si>" for item in strings)}</sst>'
        links += f'<Relationship Id="t" Type="{OFFICE}/sharedStrings" Target="/xl/sharedStrings.xml"/>'
        types += (
            '<Override PartName="/xl/sharedStrings.xml" '
            'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/>'
        )
    parts["xl/workbook.xml"] = (
        f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}">{settings}<sheets>{tabs}</sheets>{outer}{names}</workbook>'
    )
    extra_links = (extra or {}).get("links", "")
    parts["xl/_rels/workbook.xml.rels"] = (
        f'<Relationships xmlns="{PACKAGE}/relationships">{links}{extra_links}</Relationships>'
    )
    parts["_rels/.rels"] = (
        f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="b" Type="{OFFICE}/officeDocument" '
        'Target="xl/workbook.xml"/></Relationships>'
    )
    parts["[Content_Types].xml"] = (
        f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="xml" ContentType="application/xml"/>'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Override PartName="/xl/workbook.xml" '
        'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
        f"{types}</Types>"
    )
    parts.update({name: content for name, content in (extra or {}).items() if name != "links"})
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(zipfile.ZipInfo(name, (2001, 2, 3, 4, 5, 6)), content)
    return path


_CELL_TAG = re.compile(rb"<(?:\w+:)?c\b[^<>]*>")
_KIND = re.compile(rb'\s+t="[^"]*"')
_VALUE = re.compile(rb"<((?:\w+:)?)v>[^<]*</\1v>|<(?:\w+:)?v\s*/>")


def without_values(xml: bytes) -> bytes:
    """Return a worksheet's XML without its stored values and their kinds."""
    xml = _VALUE.sub(b"", xml)
    return _CELL_TAG.sub(lambda match: _KIND.sub(b"", match[0]), xml)


def raw_entries(path: Path) -> dict[str, bytes]:
    """Return every entry of an archive as it lies in the file, header and packed bytes, by its name."""
    raw = path.read_bytes()
    with zipfile.ZipFile(path) as archive:
        entries = sorted(archive.infolist(), key=lambda entry: entry.header_offset)
        ends = [entry.header_offset for entry in entries[1:]] + [archive.start_dir]
    return {entry.filename: raw[entry.header_offset : end] for entry, end in zip(entries, ends)}


def assert_only_values_differ(before: Path, after: Path, sheets: set[str]) -> None:
    """Assert that two files are one but for stored values in the named worksheet parts."""
    old, new = raw_entries(before), raw_entries(after)
    assert list(old) == list(new)
    assert {name for name in old if old[name] != new[name]} == sheets
    with zipfile.ZipFile(before) as first, zipfile.ZipFile(after) as second:
        assert first.comment == second.comment
        for one, other in zip(first.infolist(), second.infolist()):
            for fact in (
                "filename",
                "date_time",
                "compress_type",
                "external_attr",
                "create_system",
                "comment",
                "extra",
            ):
                assert getattr(one, fact) == getattr(other, fact), (one.filename, fact)
        assert second.testzip() is None
        for part in sheets:
            assert first.read(part) != second.read(part)
            assert without_values(first.read(part)) == without_values(second.read(part))
