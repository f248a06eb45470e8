"""Finding cells in worksheets: the same as a reader of XML finds, whatever the file looks like."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfuncs.xlsx import WorkbookFileError
from sheetfuncs.xlsx.package import Package
from sheetfuncs.xlsx.patch import patched, value_edits
from sheetfuncs.xlsx.references import Area
from sheetfuncs.xlsx.sheet import ScannedSheet, lay_out, scan
from sheetfuncs.xlsx.workbook import Book

from ..recalc.books import MAIN, by_openpyxl, by_xlsxwriter

_ROW = st.sampled_from(["", ' spans="1:3"', ' ht="15.0" customHeight="1"'])
_SPACE = st.sampled_from(["", " ", "\n  "])
_TEXT = st.text(alphabet="ab1 &<>\"'ü表\n", max_size=8)


def sheet_of(rows: str) -> ScannedSheet:
    return scan(f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'.encode(), "S", "s.xml", "book")


def quoted(text: str) -> str:
    for sign, name in (("&", "&amp;"), ("<", "&lt;"), ('"', "&quot;")):
        text = text.replace(sign, name)
    return text


@st.composite
def cells(draw: Any) -> tuple[str, dict[str, tuple[str, str | None]]]:
    """Return rows of cells as XML, in many ways of writing them, and their formulas and values."""
    xml, wanted = "", {}
    for row in range(1, draw(st.integers(1, 4))):
        xml += f'<row r="{row}"{draw(_ROW)}>'
        for column in "ABC":
            kind = draw(st.sampled_from(["none", "empty", "value", "formula", "inline"]))
            name, space = f"{column}{row}", draw(_SPACE)
            start = draw(
                st.sampled_from(['<c r="{}"', '<c s="3" r="{}"', "<c r='{}' s='1'", '<c r="{}" t="str" '])
            ).format(name)
            value = draw(_TEXT)
            stored = draw(
                st.sampled_from([f"<v>{quoted(value)}</v>", f'<v xml:space="preserve">{quoted(value)}</v>', ""])
            )
            if kind == "empty":
                xml += f"{start}/>{space}"
            elif kind == "value":
                xml += f"{start}>{stored}{space}</c>"
            elif kind == "inline":
                xml += f"{start}><is><t>{quoted(value)}</t></is></c>"
            elif kind == "formula":
                formula = draw(_TEXT)
                wanted[name] = (formula, value if stored else None)
                way = draw(st.sampled_from(["<f>", '<f t="normal">', "<f ca='1'>"]))
                xml += f"{start}>{space}{way}{quoted(formula)}</f>{space}{stored}</c>"
        xml += "</row>"
    return xml, wanted


@given(cells())
def test_formulas_and_values_are_those_that_were_written(made: tuple[str, dict[str, tuple[str, str | None]]]) -> None:
    xml, wanted = made
    found = {cell.name: (cell.formula, cell.stored) for cell in sheet_of(xml).formulas}
    assert found == wanted


@given(cells(), st.sampled_from([1.5, "t<&\n", True, None]))
def test_a_patched_sheet_is_what_a_reader_of_xml_would_make(made: Any, value: Any) -> None:
    xml, _ = made
    sheet = sheet_of(xml)
    edits = [edit for cell in sheet.formulas for edit in value_edits(sheet, cell, value)]
    root, before = ElementTree.fromstring(patched(sheet.xml, edits)), ElementTree.fromstring(sheet.xml)
    names = {cell.name for cell in sheet.formulas}
    texts = {1.5: "1.5", "t<&\n": "t<&\n", True: "1", None: None}
    for cell, old in zip(root.iter(f"{{{MAIN}}}c"), before.iter(f"{{{MAIN}}}c")):
        if cell.get("r") in names:
            assert cell.findtext(f"{{{MAIN}}}v") == texts[value]
            assert cell.get("t") == {1.5: None, "t<&\n": "str", True: "b", None: None}[value]
            assert cell.get("s") == old.get("s")
            assert cell.findtext(f"{{{MAIN}}}f") == old.findtext(f"{{{MAIN}}}f")
        else:
            assert ElementTree.tostring(cell) == ElementTree.tostring(old)


@given(cells())
def test_a_layout_holds_every_cell(made: Any) -> None:
    xml, _ = made
    sheet = sheet_of(xml)
    layout = lay_out(sheet, [Area(1, 1, 9, 1)], "book")
    root = ElementTree.fromstring(sheet.xml)
    assert {cell.name for cell in layout.cells.values()} == {cell.get("r") for cell in root.iter(f"{{{MAIN}}}c")}
    for cell in layout.cells.values():
        assert sheet.xml[cell.start : cell.tag_end].startswith(b"<c ")
        assert sheet.xml[: cell.end].endswith((b"</c>", b"/>"))


@pytest.mark.parametrize("maker", [by_openpyxl, by_xlsxwriter])
def test_real_files(tmp_path: Path, maker: Any) -> None:
    book = Book(Package(maker(tmp_path / "book.xlsx").read_bytes(), "book.xlsx"))
    for sheet in book.sheets:
        if sheet.part:
            xml = book.package.read(sheet.part)
            found = {cell.name: (cell.formula, cell.stored or "") for cell in scan(xml, "S", "p", "book").formulas}
            wanted = {}
            for cell in ElementTree.fromstring(xml).iter(f"{{{MAIN}}}c"):
                formula = cell.find(f"{{{MAIN}}}f")
                if formula is not None:
                    wanted[cell.get("r")] = (formula.text or "", cell.findtext(f"{{{MAIN}}}v") or "")
            assert found == wanted


@pytest.mark.parametrize(
    "rows",
    [
        '<row r="1"><c r="A1"><f>1</f><v>2</v></c ><c r="B1"><f>2</f><v>3</v></c></row>',
        '<row r="1"><c r="A1"><f>1</f ><v>2</v></c></row>',
        '<row r="1"><c r="A1" x=">"><f>1</f><v>2</v></c></row>',
        '<row r="1"><f>1</f></row>',
        '<row r="1"><c r="1A"><f>1</f></c></row>',
        '<row r="x"><c><f>1</f></c></row>',
        '<row r="1"><c r="A1"><f t="array" ref="?">1</f></c></row>',
        '<row r="1"><!-- a --><c r="A1"><f>1</f></c></row>',
        '<row r="1"><c r="A1"><f><![CDATA[1]]></f></c></row>',
    ],
)
def test_what_no_office_program_writes_is_refused_and_not_misread(rows: str) -> None:
    with pytest.raises(WorkbookFileError, match="cannot be read, and that no office program writes"):
        sheet_of(rows)


@pytest.mark.parametrize(
    "rows",
    [
        '<row r="1"><c r="A1"><v>2</v></c ><c r="B1"><v>3</v></c></row>',
        '<row r="1"><c r="A1"><v>2</v></c></row ><row r="2"><c r="A2"/></row>',
        '<row r="1"><c r="A1" x=">"><v>2</v></c></row>',
    ],
)
def test_nor_is_a_layout(rows: str) -> None:
    with pytest.raises(WorkbookFileError, match="cannot be read"):
        lay_out(sheet_of(rows), [Area(1, 1, 9, 1)], "book")


@pytest.mark.parametrize("data", ["", "<sheetData/>", "<sheetData></sheetData>"])
def test_a_sheet_without_cells(data: str) -> None:
    sheet = scan(f'<worksheet xmlns="{MAIN}">{data}</worksheet>'.encode(), "S", "s.xml", "book")
    assert sheet.formulas == []
    assert sheet.xml[sheet.data_start : sheet.data_end].decode() == data
