"""Renaming our functions for a host: the names change and not a byte more."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from sheetfuncs.recalc import recalculate, rename_functions
from sheetfuncs.xlsx import WorkbookFileError

from .books import MAIN, by_hand, by_openpyxl, by_xlsxwriter, raw_entries
from .functions import FUNCTIONS


def rename(path: Path, host: str, out: Path | None = None) -> int:
    return rename_functions(path, host, out, functions=FUNCTIONS)


def part(path: Path, name: str) -> str:
    with zipfile.ZipFile(path) as archive:
        return archive.read(name).decode()


@pytest.mark.parametrize("maker", [by_openpyxl, by_xlsxwriter])
def test_there_and_back_is_the_same(tmp_path: Path, maker: object) -> None:
    path = maker(tmp_path / "book.xlsx")  # type: ignore[operator]
    recalculate(path, functions=FUNCTIONS)
    calc, excel = tmp_path / "calc.xlsx", tmp_path / "excel.xlsx"
    count = rename(path, "calc", calc)
    assert count == rename(calc, "excel", excel)
    assert count > 10
    with zipfile.ZipFile(path) as one, zipfile.ZipFile(excel) as other:
        assert one.namelist() == other.namelist()
        assert all(one.read(name) == other.read(name) for name in one.namelist())
    changed = {name for name, raw in raw_entries(path).items() if raw != raw_entries(calc)[name]}
    assert all("sheet" in name or "table" in name for name in changed)
    assert rename(path, "plain") == 0


def test_every_place_that_holds_a_formula(tmp_path: Path) -> None:
    rows = (
        '<row r="1"><c r="A1"><f>[1]!TWICE_OF(1)&amp;"&lt;TWICE_OF("</f><v>2</v></c>'
        '<c r="B1"><f t="shared" ref="B1:B2" si="0">&apos;a b&apos;!A1+twice_of ( 1 )+twice_of(A1)</f></c></row>'
        '<row r="2"><c r="B2"><f t="shared" si="0"/></c><c r="C2" t="str"><v>TWICE_OF(</v></c></row>'
    )
    names = '<definedNames><definedName name="n">SHEETFUNCS.TWICE_OF(Plan!$A$1)</definedName></definedNames>'
    sheet = (
        f'<?xml version="1.0" encoding="UTF-8"?><worksheet xmlns="{MAIN}" xmlns:xm="m"><sheetData>{rows}</sheetData>'
        '<conditionalFormatting sqref="A1"><cfRule type="expression" priority="1">'
        "<formula>_xll.TWICE_OF(A1)&gt;2</formula></cfRule></conditionalFormatting><dataValidations><dataValidation "
        'sqref="A2"><formula1>Twice_Of(3)</formula1><formula2/></dataValidation></dataValidations>'
        "<extLst><ext><xm:f>TWICE_OF(9)</xm:f></ext></extLst></worksheet>"
    )
    path = by_hand(tmp_path / "book.xlsx", {"Plan": sheet}, names=names)
    assert rename(path, "calc") == 5
    found = part(path, "xl/worksheets/sheet1.xml")
    for wanted in (
        '<f>SHEETFUNCS.TWICE_OF(1)&amp;"&lt;TWICE_OF("</f><v>2</v>',
        "&apos;a b&apos;!A1+twice_of ( 1 )+SHEETFUNCS.TWICE_OF(A1)</f>",
        '<f t="shared" si="0"/>',
        "<v>TWICE_OF(</v>",
        "<formula>SHEETFUNCS.TWICE_OF(A1)&gt;2</formula>",
        "<formula1>SHEETFUNCS.TWICE_OF(3)</formula1>",
        "<xm:f>SHEETFUNCS.TWICE_OF(9)</xm:f>",
    ):
        assert wanted in found
    assert ">SHEETFUNCS.TWICE_OF(Plan!$A$1)</definedName>" in part(path, "xl/workbook.xml")
    assert rename(path, "excel") == 6
    assert "SHEETFUNCS" not in part(path, "xl/worksheets/sheet1.xml") + part(path, "xl/workbook.xml")


def test_nothing_to_rename_leaves_the_file_alone(tmp_path: Path) -> None:
    path = by_hand(tmp_path / "book.xlsx", {"Plan": '<row r="1"><c r="A1"><f>SUM(1)</f></c></row>'})
    before = path.read_bytes(), path.stat().st_mtime_ns
    assert rename(path, "calc") == 0
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


def test_another_host(tmp_path: Path) -> None:
    with pytest.raises(WorkbookFileError, match="wanted one of excel, plain, calc"):
        rename(tmp_path / "book.xlsx", "abacus")
