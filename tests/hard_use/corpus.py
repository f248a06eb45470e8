"""Workbooks of many kinds, by two writers and by hand, each with formulas of ours in it."""

from __future__ import annotations

import io
import random
import re
import zipfile
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from xml.sax.saxutils import quoteattr

import openpyxl
import xlsxwriter
from openpyxl.chart import BarChart, LineChart, PieChart, Reference, ScatterChart, Series
from openpyxl.comments import Comment
from openpyxl.drawing.image import Image
from openpyxl.formatting.rule import ColorScaleRule, DataBarRule, FormulaRule, IconSetRule
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Protection, Side
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.table import Table, TableStyleInfo

from ..recalc.books import OFFICE, PACKAGE, by_hand, png

#: What cells E2, E3 and E4 of the first sheet of every book hold once recalculated; F2 is twice E3.
WANTED = {"E3": 9.5, "F2": 19.0}
_OURS = {
    "E2": "=LATEST_PRUNE_DATE_BY_DAYS(D2,90)",
    "E3": '=HEAT_UNITS_DAY(10,25,8,36,"average")',
    "E4": '=HEAT_UNITS_DAY("warm",25,8,36)',
    "F2": "=E3*2",
    "F3": '=IF(F2>1,"ja <&> 表","")',
}


def _by_openpyxl(path: Path, dress: Callable[[openpyxl.Workbook], None], sheet: str = "Plan") -> None:
    book = openpyxl.Workbook()
    first = book.active
    first.title = sheet
    first.append(["tree", "Baum", "木", "frost", "cut", "more"])
    first["D2"] = date(2026, 10, 30)
    first["D2"].number_format = first["E2"].number_format = "yyyy-mm-dd"
    for cell, formula in _OURS.items():
        first[cell] = formula
    for row in range(2, 12):
        first[f"A{row}"], first[f"B{row}"] = f"tree {row}", row * 1.5
    dress(book)
    book.save(path)


def _looks(book: openpyxl.Workbook) -> None:
    sheet = book.active
    style = NamedStyle("planned", font=Font("Arial", 12, b=True), border=Border(left=Side("double", "00FF00")))
    book.add_named_style(style)
    for row in range(2, 6):
        sheet[f"A{row}"].style = "planned"
        sheet[f"B{row}"].fill = PatternFill("darkTrellis", "FF0000")
        sheet[f"B{row}"].alignment = Alignment(textRotation=45, wrap_text=True)
        sheet[f"B{row}"].number_format = '[Red][<2]0.00" kg";[Blue]0.0'
    sheet.conditional_formatting.add("B2:B11", ColorScaleRule("min", None, "FF0000", "max", None, "00FF00"))
    sheet.conditional_formatting.add("B2:B11", DataBarRule("min", None, "max", None, "0000FF"))
    sheet.conditional_formatting.add("C2:C11", IconSetRule("3Arrows", "percent", [0, 33, 67]))
    rule = FormulaRule(["HEAT_UNITS_DAY(10,25,8,36)>$B2"], fill=PatternFill("solid", "CCCCCC"))
    sheet.conditional_formatting.add("A2:A11", rule)
    sheet.merge_cells("H1:J3")
    sheet.column_dimensions["A"].width, sheet.row_dimensions[3].height = 30, 40
    sheet.column_dimensions.group("L", "N", hidden=True)
    sheet.freeze_panes, sheet.auto_filter.ref = "B2", "A1:F11"
    sheet.print_title_rows, sheet.oddHeader.center.text = "1:1", "&A ä"


def _drawings(book: openpyxl.Workbook) -> None:
    sheet = book.active
    for corner, kind in zip(("H2", "H20", "P2", "P20"), (BarChart, LineChart, PieChart, ScatterChart)):
        chart = kind()
        values = Reference(sheet, min_col=2, min_row=2, max_row=11)
        if kind is ScatterChart:
            chart.series.append(Series(values, Reference(sheet, min_col=6, min_row=2, max_row=11)))
        else:
            chart.add_data(values)
        sheet.add_chart(chart, corner)
    sheet.add_image(Image(io.BytesIO(png())), "A20")
    for row in range(2, 5):
        sheet[f"A{row}"].comment = Comment(f"seen by me\n{row} ö", "nobody")
        sheet[f"B{row}"].hyperlink = "https://example.org/?a=1&b=2"


def _rules(book: openpyxl.Workbook) -> None:
    sheet = book.active
    for kind, more in (
        ("list", {"formula1": '"a,b"'}), ("decimal", {"operator": "between", "formula1": "0", "formula2": "E3"}),
        ("custom", {"formula1": "E3>1"}), ("date", {"operator": "greaterThan", "formula1": "D2"}),
    ):  # fmt: skip
        rule = DataValidation(kind, showErrorMessage=True, error="ä", **more)
        rule.add("G2:G11")
        sheet.add_data_validation(rule)
    sheet.protection.sheet = sheet.protection.formatCells = True
    sheet.protection.set_password("secret")
    sheet["A2"].protection = Protection(locked=False, hidden=True)
    book.security.lockStructure = True
    kinds = book.create_sheet("Arten")
    for row in (["Kind", "Need"], ["früh", 1150], ["spät", 1450]):
        kinds.append(row)
    kinds.add_table(Table(displayName="Kinds", ref="A1:B3", tableStyleInfo=TableStyleInfo("TableStyleMedium9")))
    kinds["D1"], kinds["D2"] = "=SUM(Kinds[Need])", "=Base*2"
    book.defined_names["Base"] = DefinedName("Base", attr_text="Plan!$E$3")
    book.create_sheet("hidden").sheet_state = "veryHidden"


def _1904(book: openpyxl.Workbook) -> None:
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    book.active["D2"] = date(2026, 10, 30)


def _by_xlsxwriter(path: Path, dress: Callable[[xlsxwriter.Workbook, object], None], **options: object) -> None:
    book = xlsxwriter.Workbook(str(path), options)
    sheet = book.add_worksheet("Plan")
    dates = book.add_format({"num_format": "yyyy-mm-dd"})
    sheet.write_row(0, 0, ["tree", "Baum", "木", "frost", "cut", "more"])
    for row in range(1, 11):
        if row == 1:
            sheet.write_string(row, 0, "tree")
            sheet.write_number(row, 1, 1.5)
            sheet.write_datetime("D2", datetime(2026, 10, 30), dates)
        for cell, formula in _OURS.items():
            if cell.endswith(str(row + 1)):
                sheet.write_formula(cell, formula, dates if cell == "E2" else None, 0)
        if row > 1:
            sheet.write_row(row, 0, [f"tree {row}", row * 1.5])
    dress(book, sheet)
    book.close()


def _everything(book: xlsxwriter.Workbook, sheet: object) -> None:
    sheet.write_rich_string("H1", "plain ", book.add_format({"bold": True}), "bold", " ö")
    sheet.write_url("H2", "https://example.org/", string="out")
    sheet.write_comment("A2", "a remark", {"author": "nobody", "visible": True})
    sheet.insert_image("H5", "a.png", {"image_data": io.BytesIO(png()), "description": "a dot"})
    sheet.insert_textbox("H8", "text <box>", {"width": 90})
    sheet.insert_button("H12", {"macro": "say_hello", "caption": "Press"})
    sheet.set_header("&L&G", {"image_left": "b.png", "image_data_left": io.BytesIO(png())})
    sheet.set_background(io.BytesIO(png()))
    for kind, more in (
        ("2_color_scale", {}), ("data_bar", {"data_bar_2010": True}), ("icon_set", {"icon_style": "5_ratings"}),
        ("duplicate", {}), ("top", {"value": 3}), ("text", {"criteria": "containing", "value": "ä"}),
        ("formula", {"criteria": "=HEAT_UNITS_DAY(1,2,3,4)>1"}),
    ):  # fmt: skip
        sheet.conditional_format("B2:B11", {"type": kind, **more})
    sheet.add_sparkline("G2", {"range": "Plan!B2:B11", "type": "column"})
    for kind in ("area", "bar", "doughnut", "radar", "stock"):
        chart = book.add_chart({"type": kind})
        for _ in range(3):
            chart.add_series({"values": "=Plan!$B$2:$B$11", "trendline": None})
        sheet.insert_chart("P2", chart)
    sheet.ignore_errors({"formula_differs": "A1:F20"})
    sheet.outline_settings(True, False, True, False)
    sheet.set_row(14, None, None, {"level": 1, "hidden": True})
    sheet.protect("secret", {"sort": True})
    sheet.repeat_rows(0)
    other = book.add_worksheet("Übersicht 表 'x' y")
    other.add_table("A1:B4", {"name": "Kinds", "columns": [{"header": "Kind"}, {"header": "Need"}], "total_row": True})
    other.write_dynamic_array_formula("D1:D3", "=SORT(Plan!B2:B4,,-1)", None, 0)
    other.write_array_formula("E1:E3", "{=Plan!B2:B4*2}", None, 0)
    other.write_formula("G1", "='Übersicht 表 ''x'' y'!D1+Plan!E3", None, 0)
    book.set_custom_property("field", 7)
    book.define_name("Plan!local", "=Plan!$B$2")
    book.add_chartsheet("Picture").set_chart(_one_chart(book))


def _one_chart(book: xlsxwriter.Workbook) -> object:
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "=Plan!$B$2:$B$11"})
    return chart


def _macros(book: xlsxwriter.Workbook, sheet: object) -> None:
    book.add_vba_project(io.BytesIO(b"\xd0\xcf\x11\xe0" + random.Random(1).randbytes(5000)), is_stream=True)
    sheet.insert_button("H2", {"macro": "say_hello"})


def _by_hand(path: Path, prefix: str = "") -> None:
    p = prefix
    rows = "".join(
        f'<{p}row r="{row}" spans="1:6">{cells}</{p}row>'
        for row, cells in (
            (1, f'<{p}c r="A1" t="s"><{p}v>0</{p}v></{p}c>'),
            (2, f'<{p}c r="D2" s="0"><{p}v>46325</{p}v></{p}c>' + _cell(p, "E2") + _cell(p, "F2")),
            (3, _cell(p, "E3") + _cell(p, "F3")),
            (4, _cell(p, "E4")),
            (5, f'<{p}c r="B5"><{p}f t="shared" ref="B5:B7" si="0">E$3+ROW()</{p}f><{p}v>0</{p}v></{p}c>'),
            (6, f'<{p}c r="B6"><{p}f t="shared" si="0"/><{p}v>0</{p}v></{p}c>'),
            (7, f'<{p}c r="B7"><{p}f t="shared" si="0"/><{p}v>0</{p}v></{p}c>'),
        )
    )
    people = "http://schemas.microsoft.com/office/2017/10/relationships/person"
    cache = f'<pivotCacheDefinition xmlns:r="{OFFICE}" r:id="r"><cacheFields count="0"/></pivotCacheDefinition>'
    note = (
        '<ThreadedComments xmlns="http://schemas.microsoft.com/office/spreadsheetml/2018/threadedcomments">'
        '<threadedComment ref="A1" id="{1}" personId="{2}"><text>a remark</text></threadedComment></ThreadedComments>'
    )
    by_hand(
        path, {"План &amp; 表": rows}, ("<t>tree</t>",), prefix=prefix,
        extra={
            "links": f'<Relationship Id="pc" Type="{OFFICE}/pivotCacheDefinition" '
            'Target="pivotCache/pivotCacheDefinition1.xml"/>'
            f'<Relationship Id="pp" Type="{people}" Target="persons/person.xml"/>',
            "xl/pivotCache/pivotCacheDefinition1.xml": cache,
            "xl/pivotCache/pivotCacheRecords1.xml": "<pivotCacheRecords><r><n v='1'/></r></pivotCacheRecords>",
            "xl/threadedComments/threadedComment1.xml": note,
            "xl/persons/person.xml": "<personList><person displayName='nobody' id='{2}'/></personList>",
            "xl/worksheets/_rels/sheet1.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships"/>',
            "customXml/item1.xml": "<a> kept  as\r\nit is </a>",
            "docProps/thumbnail.jpeg": random.Random(2).randbytes(999),
        },
    )  # fmt: skip


def _cell(p: str, name: str) -> str:
    formula = _OURS[name][1:].replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return f'<{p}c r="{name}"><{p}f>{formula}</{p}f><{p}v>0</{p}v></{p}c>'


def flat_with_pivot(path: Path) -> Path:
    """Write a flat OpenDocument file with the formulas and a pivot table, for LibreOffice to save.

    No writer here makes pivot tables; LibreOffice saves them with the cache that Excel wants.
    """
    names = ("office", "table", "text")
    spaces = "".join(f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in names)

    def text(words: str) -> str:
        return f'<table:table-cell office:value-type="string"><text:p>{words}</text:p></table:table-cell>'

    def number(value: float) -> str:
        return f'<table:table-cell office:value-type="float" office:value="{value}"/>'

    def formula(cell: str) -> str:
        written = re.sub(r"\b([A-F]\d+)\b", r"[.\1]", _OURS[cell]).replace(",", ";")
        return f"<table:table-cell table:formula={quoteattr('of:' + written)}/>"

    rows = [[text(word) for word in ("tree", "kind", "kg", "frost", "cut", "more")]]
    rows += [[text(f"tree {row}"), text(("früh", "spät")[row % 2]), number(row * 1.5)] for row in range(2, 12)]
    rows[1] += [number(46325), formula("E2"), formula("F2")]
    rows[2] += [text(""), formula("E3"), formula("F3")]
    rows[3] += [text(""), formula("E4")]
    plan = "".join(f"<table:table-row>{''.join(cells)}</table:table-row>" for cells in rows)
    fields = "".join(
        f'<table:data-pilot-field table:source-field-name="{name}" table:orientation="{axis}"'
        f' table:function="{what}"/>'
        for name, axis, what in (("kind", "row", "auto"), ("tree", "column", "auto"), ("kg", "data", "sum"))
    )
    pivot = (
        '<table:data-pilot-table table:name="Sums" table:target-range-address="Sums.A1:Sums.L7">'
        f'<table:source-cell-range table:cell-range-address="Plan.A1:Plan.C11"/>{fields}</table:data-pilot-table>'
    )
    path.write_text(
        f'<?xml version="1.0" encoding="UTF-8"?><office:document{spaces} '
        'xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2" office:version="1.2" '
        'office:mimetype="application/vnd.oasis.opendocument.spreadsheet"><office:body><office:spreadsheet>'
        f'<table:table table:name="Plan">{plan}</table:table><table:table table:name="Sums"/>'
        f"<table:data-pilot-tables>{pivot}</table:data-pilot-tables></office:spreadsheet></office:body></office:document>",
        encoding="utf-8",
    )
    return path


def make(folder: Path) -> list[Path]:
    """Write all of them into a folder and return their paths."""
    makers: dict[str, Callable[[Path], None]] = {
        "plain.xlsx": lambda path: _by_openpyxl(path, lambda book: None),
        "looks.xlsx": lambda path: _by_openpyxl(path, _looks),
        "drawings.xlsx": lambda path: _by_openpyxl(path, _drawings),
        "rules.xlsx": lambda path: _by_openpyxl(path, _rules),
        "calendar 1904.xlsx": lambda path: _by_openpyxl(path, _1904),
        "non-latin.xlsx": lambda path: _by_openpyxl(path, _looks, "Дерева ' 木 & שלום"),
        "everything.xlsx": lambda path: _by_xlsxwriter(path, _everything),
        "everything 1904.xlsx": lambda path: _by_xlsxwriter(path, _everything, date_1904=True),
        "streamed.xlsx": lambda path: _by_xlsxwriter(path, lambda book, sheet: None, constant_memory=True),
        "zip64.xlsx": lambda path: _by_xlsxwriter(path, _everything, use_zip64=True),
        "macros.xlsm": lambda path: _by_xlsxwriter(path, _macros),
        "by hand.xlsx": _by_hand,
        "with prefixes.xlsx": lambda path: _by_hand(path, "x:"),
    }
    for name, write in makers.items():
        write(folder / name)
    return [folder / name for name in makers]


def sheet_parts(path: Path) -> set[str]:
    """Return the names of an archive's worksheet parts."""
    with zipfile.ZipFile(path) as archive:
        return {name for name in archive.namelist() if name.startswith("xl/worksheets/sheet")}
