"""Workbooks of other programs as macro workbooks, and what cannot be made one."""

from __future__ import annotations

import importlib.util
import io
import re
import sys
import zipfile
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest
from openpyxl import Workbook, load_workbook

from sheetfuncs.cells.errors import InputError
from sheetfuncs.hosts.excel.book import macro_book, make_macro_book
from sheetfuncs.hosts.excel.vba import SETTINGS_SHEET

from .test_book import MAIN, code_names, parts

# -- workbooks that other programs wrote ------------------------------------------------------------------------

pytest.importorskip("xlwings", reason="xlwings is not installed")


def rewritten(path: Path, changes: dict[str, list[tuple[str, str]]]) -> bytes:
    """Return a workbook with patterns in its parts exchanged."""
    content = parts(path)
    for name, pairs in changes.items():
        text = content[name].decode()
        for pattern, made in pairs:
            text, count = re.subn(pattern, made, text, flags=re.DOTALL)
            assert count, pattern
        content[name] = text.encode(errors="surrogateescape")
    raw = io.BytesIO()
    with zipfile.ZipFile(raw, "w") as archive:
        for name, data in content.items():
            archive.writestr(name, data)
    return raw.getvalue()


SHEET = "xl/worksheets/sheet1.xml"


@pytest.mark.parametrize(
    "changes",
    [
        {SHEET: [(r"<sheetPr>.*?</sheetPr>", "")]},
        {SHEET: [(r"<sheetPr>.*?</sheetPr>", "<sheetPr/>")]},
        {SHEET: [(r"<sheetPr>", "<sheetPr codeName='Old' filterMode=\"1\">")]},
        {"xl/workbook.xml": [(r"<workbookPr ?/?>", '<workbookPr date1904="0" codeName="Mine"></workbookPr>')]},
        {"xl/workbook.xml": [(r"<workbookPr ?/?>", "")]},
        {"xl/workbook.xml": [(r"<workbookPr ?/?>", '<fileVersion appName="xl"/><fileSharing userName="me"/>')]},
        {"xl/workbook.xml": [(r"<workbookPr ?/?>", '<fileVersion appName="xl"></fileVersion>')]},
        {SHEET: [(r"<worksheet xmlns=", "<x:worksheet xmlns:x="), ("</worksheet>", "</x:worksheet>"),
                 (r"<(/?)(?!x:|\?)(\w)", r"<\1x:\2")]},
    ],
    ids=["no sheetPr", "empty sheetPr", "an old code name", "an old name of the workbook", "no workbookPr",
         "fileSharing before", "fileVersion before", "prefixed"],
)  # fmt: skip
def test_workbooks_as_other_programs_write_them(plain, tmp_path, changes):
    source = tmp_path / "other.xlsx"
    source.write_bytes(rewritten(plain, changes))
    content = parts(make_macro_book(source, tmp_path / "other.xlsm"))
    assert list(code_names(content).values()) == ["Sheet1", "Sheet2", "Sheet3"]
    root = ElementTree.fromstring(content["xl/workbook.xml"])
    assert root.find(f"{MAIN}workbookPr").get("codeName") == "ThisWorkbook"
    order = [child.tag.partition("}")[2] for child in root]
    first = ["fileVersion", "fileSharing", "workbookPr", "workbookProtection", "bookViews", "sheets"]
    assert [name for name in order if name in first] == [name for name in first if name in order]
    assert content["xl/workbook.xml"].count(b"codeName") == 1
    sheet = load_workbook(tmp_path / "other.xlsm", keep_vba=True).worksheets[0]
    assert sheet["C2"].value == "=LATEST_PRUNE_DATE_BY_DAYS(A2,B2,14)"


# -- what cannot be done ----------------------------------------------------------------------------------------


def test_other_files_are_refused_and_the_old_file_stays(plain, made, tmp_path):
    old = tmp_path / "season.xlsm"
    old.write_bytes(b"the user's own")
    for content, reason in (
        (made.read_bytes(), "macros already|not a plain workbook"),
        (b"", "empty"),
        (b"PK\3\4 no archive", "broken"),
        (b"date;low;high\n", "not a workbook"),
        (plain.read_bytes()[:-200], "broken"),
        (rewritten(plain, {"xl/workbook.xml": [("http://schemas.*?/main", "http://purl.oclc.org/ooxml/x")]}), "Strict"),
        (rewritten(plain, {SHEET: [("by hand|cut by|</worksheet>", "\udcff</worksheet>")]}), "UTF-8|broken"),
    ):
        source = tmp_path / "source.xlsx"
        source.write_bytes(content)
        with pytest.raises(InputError, match=reason) as caught:
            make_macro_book(source, old)
        assert caught.value.line.startswith("Check: ")
        assert old.read_bytes() == b"the user's own"
    with pytest.raises(InputError, match=r"wanted one that ends in \.xlsm"):
        make_macro_book(plain, tmp_path / "season.xlsx")
    with pytest.raises(InputError, match=r"none\.xlsx is not there"):
        make_macro_book(tmp_path / "none.xlsx", old)
    with pytest.raises(InputError, match=r"no folder.* is not there"):
        make_macro_book(plain, tmp_path / "no folder" / "season.xlsm")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["season.xlsm", "source.xlsx"]


def test_a_sheet_of_the_settings_name_is_not_overwritten(tmp_path):
    book = Workbook()
    book.create_sheet(SETTINGS_SHEET)
    book.save(tmp_path / "a.xlsx")
    with pytest.raises(InputError, match=r"has a sheet xlwings\.conf already"):
        make_macro_book(tmp_path / "a.xlsx", tmp_path / "a.xlsm")


def test_without_xlwings_or_the_macro_library_one_line_says_what_to_install(plain, monkeypatch):
    wanted = re.escape('not installed, wanted: pip install "pyopenvba>=6.5,<6.6" "xlwings>=0.33,<1"')
    monkeypatch.setitem(sys.modules, "pyopenvba", None)
    with pytest.raises(InputError, match=f"pyOpenVBA is {wanted}"):
        macro_book(plain.read_bytes(), "garden.xlsx")
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(InputError, match=f"xlwings is {wanted}"):
        macro_book(plain.read_bytes(), "garden.xlsx")


def test_an_xlwings_without_its_starting_workbook_says_so(plain, monkeypatch, tmp_path):
    found = SimpleNamespace(submodule_search_locations=[str(tmp_path)])
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: found)
    with pytest.raises(InputError, match=r"has no quickstart\.xlsm"):
        macro_book(plain.read_bytes(), "garden.xlsx")
