"""Cells of workbooks that other programs wrote are typed into, and nothing else changes."""

from __future__ import annotations

import re
import zipfile

import openpyxl
import pytest
from openpyxl.styles import Font, PatternFill
from openpyxl.workbook.defined_name import DefinedName

from sheetfuncs.xlsx import read_sheet, read_values
from sheetfuncs.xlsx.inputs import named_area, open_book, read_cells, write_cells

from ..weather.test_in_workbook import parts

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<m:worksheet xmlns:m="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:x="urn:other">'
    '<m:dimension ref="A1:E3"/><m:cols><m:col min="3" max="3" width="9" style="4"/></m:cols><m:sheetData>'
)
ROWS = (
    '<m:row r="1" spans="1:3"><m:c r="A1" s="1" t="s"><m:v>0</m:v></m:c></m:row>'
    '<m:row r="2" spans="1:3" ht="20" customHeight="1" x:y="z"><m:c r="A2" s="2"/><m:c r="B2" s="3"></m:c>'
    '<m:c r="E2"><m:v>7</m:v></m:c></m:row>'
    '<m:row r="3" ht="20" customHeight="1"><m:c r="B3" t="s"><m:v>0</m:v></m:c>'
    '<m:c r="D3"><m:f>B3</m:f><m:v>1</m:v></m:c></m:row>'
    '<m:row r="5" spans="5:6"/>'
)
TAIL = '</m:sheetData><m:pageMargins left="1" right="1" top="1" bottom="1" header="0" footer="0"/></m:worksheet>'
OPEN_XML = "http://schemas.openxmlformats.org"
TEXTS = f'<sst xmlns="{OPEN_XML}/spreadsheetml/2006/main"><si><t>old</t></si></sst>'
TEXTS_LINK = (
    f'<Relationship Id="rId99" Type="{OPEN_XML}/officeDocument/2006/relationships/sharedStrings"'
    ' Target="sharedStrings.xml"/></Relationships>'
)
TEXTS_TYPE = (
    '<Override PartName="/xl/sharedStrings.xml"'
    ' ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/></Types>'
)


@pytest.fixture
def strange(tmp_path):
    """A workbook as no library of ours writes it: prefixes, spans, shared texts, a row that is an empty tag."""
    book = openpyxl.Workbook()
    book.active.title = "It's"
    for row in range(1, 5):
        book.active.cell(row, row).font = Font(bold=True, size=row + 9)
        book.active.cell(row, row).fill = PatternFill("solid", fgColor=f"FF00000{row}")
    book.defined_names["Cells"] = DefinedName("Cells", attr_text="'It''s'!$A$2:$C$6")
    path = tmp_path / "strange.xlsx"
    book.save(path)
    content = parts(path)
    content["xl/worksheets/sheet1.xml"] = (HEAD + ROWS + TAIL).encode()
    content["xl/sharedStrings.xml"] = TEXTS.encode()
    for part, end, more in (
        ("xl/_rels/workbook.xml.rels", b"</Relationships>", TEXTS_LINK),
        ("[Content_Types].xml", b"</Types>", TEXTS_TYPE),
    ):
        content[part] = content[part].replace(end, more.encode())
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for part, data in content.items():
            archive.writestr(part, data)
    return path


def sheet_text(path):
    return parts(path)["xl/worksheets/sheet1.xml"].decode()


def test_cells_are_written_where_they_belong(strange):
    opened = open_book(strange)
    name, area = named_area(opened, "cells")
    assert (name, str(area)) == ("It's", "A2:C6")
    before = sheet_text(strange)
    values = {(row, column): row + column / 10 for row in (2, 3, 4, 5, 6) for column in (1, 2, 3)}
    write_cells(opened, name, area, values)
    cells = openpyxl.load_workbook(strange)["It's"]
    assert {(row, column): cells.cell(row, column).value for row, column in values} == values
    assert (cells["A1"].value, cells["E2"].value, cells["D3"].value) == ("old", 7, "=B3")
    after = sheet_text(strange)
    # The cells' own styles stay; new ones take the column's, or that of the cell above in the table.
    styles = dict(re.findall(r'<m:c r="([ABC]\d)" s="(\d)"', after))
    assert (styles["A2"], styles["B2"], styles["C2"]) == ("2", "3", "4")
    assert "B3" not in styles
    assert [styles[f"C{row}"] for row in (3, 4, 5, 6)] == ["4"] * 4
    assert [styles[f"A{row}"] for row in (3, 4, 5, 6)] == ["2"] * 4
    assert '<m:row r="4" ht="20" customHeight="1">' in after
    assert 'spans="5:6"' not in after
    assert 'spans="1:3" ht="20"' in after
    assert '<m:dimension ref="A1:E6"/>' in after
    assert re.findall(r'<m:row r="(\d)"', after) == list("123456")
    for row in re.findall(r"<m:row .*?</m:row>", after):
        letters = re.findall(r'<m:c r="([A-Z])', row)
        assert letters == sorted(letters)
    assert before.partition("</m:sheetData>")[2] == after.partition("</m:sheetData>")[2]


def test_the_same_numbers_again_leave_the_file_as_it_is(strange):
    area = named_area(open_book(strange), "Cells")[1]
    write_cells(open_book(strange), "It's", area, {(2, 1): 1.25, (6, 2): -3.0})
    once = strange.read_bytes()
    write_cells(open_book(strange), "It's", area, {(2, 1): 1.25, (6, 2): -3.0})
    assert strange.read_bytes() == once
    assert read_cells(open_book(strange), "It's", area) == {(2, 1): 1.25, (3, 2): "old", (6, 2): -3.0}


def test_a_formula_is_never_written_over(strange):
    before = strange.read_bytes()
    opened = open_book(strange)
    with pytest.raises(ValueError, match="D3 holds a formula"):
        write_cells(opened, "It's", named_area(opened, "Cells")[1], {(2, 1): 1.0, (3, 4): 2.0})
    assert strange.read_bytes() == before


def test_another_file_can_be_written(strange, tmp_path):
    before = strange.read_bytes()
    out = tmp_path / "out.xlsx"
    opened = open_book(strange)
    write_cells(opened, "It's", named_area(opened, "Cells")[1], {(2, 1): 1.5}, out)
    assert strange.read_bytes() == before
    assert openpyxl.load_workbook(out)["It's"]["A2"].value == 1.5


def test_a_sheet_without_a_row(tmp_path):
    path = tmp_path / "empty.xlsx"
    book = openpyxl.Workbook()
    book.defined_names["Cells"] = DefinedName("Cells", attr_text="Sheet!$A$2:$C$6")
    book.save(path)
    opened = open_book(path)
    write_cells(opened, "Sheet", named_area(opened, "Cells")[1], {(2, 1): 1.5, (4, 3): 2.5})
    cells = openpyxl.load_workbook(path)["Sheet"]
    assert [cells["A2"].value, cells["C4"].value] == [1.5, 2.5]


def test_names_that_are_no_cells(strange):
    with pytest.raises(ValueError, match="no cells with the name Nowhere"):
        named_area(open_book(strange), "Nowhere")


def test_one_sheet_is_read_as_with_all_others_whatever_its_note_of_its_own_size_says(strange):
    content = parts(strange)
    sheet = content["xl/worksheets/sheet1.xml"]
    content["xl/worksheets/sheet1.xml"] = sheet.replace(b'<m:dimension ref="A1:E3"/>', b'<m:dimension ref="A1"/>')
    with zipfile.ZipFile(strange, "w") as archive:
        for name, part in content.items():
            archive.writestr(name, part)
    cells = read_sheet(strange, "It's")
    assert cells == read_values(strange)["It's"]
    assert (cells["A1"], cells["E2"], cells["D3"]) == ("old", 7, 1)
    assert read_sheet(strange, "Its") == {}
