"""The macro workbook: nothing of the plain one is lost, and what comes in is well formed."""

from __future__ import annotations

import importlib.metadata
import importlib.util
import re
import sys
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest
from openpyxl import load_workbook
from openpyxl.worksheet.formula import ArrayFormula

from sheetfuncs.cells.errors import InputError
from sheetfuncs.functions import all_functions
from sheetfuncs.hosts.excel import book
from sheetfuncs.hosts.excel.book import make_macro_book, renew_macro_book
from sheetfuncs.hosts.excel.vba import PYTHON_MODULE, SERVER, SETTINGS_SHEET, WRAPPERS, macro_modules
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

pytest.importorskip("xlwings", reason="xlwings is not installed")
ExcelFile = pytest.importorskip("pyopenvba", reason="pyOpenVBA is not installed").ExcelFile
MODULES = macro_modules(all_functions(), importlib.metadata.version("xlwings"))
SETTINGS_PART = "xl/worksheets/settings.xml"
TEMPLATES = Path(__file__).parents[2] / "workbook_templates"
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
NEW_PARTS = {"xl/vbaProject.bin", SETTINGS_PART}


def parts(path: Path) -> dict[str, bytes]:
    """Return the parts of a workbook file."""
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        assert len(set(archive.namelist())) == len(archive.namelist())
        return {name: archive.read(name) for name in archive.namelist()}


def code_names(content: dict[str, bytes]) -> dict[str, str]:
    """Return each sheet's code name by the sheet's name, following the links as a program does."""
    links = {
        link.get("Id"): link.get("Target").lstrip("/")
        for link in ElementTree.fromstring(content["xl/_rels/workbook.xml.rels"])
    }
    found = {}
    for sheet in ElementTree.fromstring(content["xl/workbook.xml"]).find(f"{MAIN}sheets"):
        target = links[sheet.get(LINK)]
        part = target if target.startswith("xl/") else f"xl/{target}"
        root = ElementTree.fromstring(content[part])
        assert [child.tag for child in root].index(f"{MAIN}sheetPr") == 0
        found[sheet.get("name")] = root.find(f"{MAIN}sheetPr").get("codeName")
    return found


def content_types(content: dict[str, bytes]) -> dict[str, str]:
    """Return the content type of every part."""
    root = ElementTree.fromstring(content["[Content_Types].xml"])
    defaults = {item.get("Extension"): item.get("ContentType") for item in root if item.tag.endswith("Default")}
    overrides = [(item.get("PartName"), item.get("ContentType")) for item in root if item.tag.endswith("Override")]
    assert len(dict(overrides)) == len(overrides)
    by_part = {name: defaults.get(name.rpartition(".")[2]) for name in content}
    return by_part | {name[1:]: kind for name, kind in overrides}


def test_every_part_of_the_plain_workbook_is_there_unchanged(plain, made):
    before, after = parts(plain), parts(made)
    added = set(after) - set(before)
    assert set(before) <= set(after)
    assert added == NEW_PARTS
    changed = {name for name in before if before[name] != after[name]}
    assert changed == {
        "[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/worksheets/sheet1.xml",
        "xl/worksheets/sheet2.xml",
    }  # fmt: skip
    for name in ("xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml"):
        assert re.sub(rb' codeName="Sheet[12]"', b"", after[name]) == before[name]
    assert any("chart" in name for name in before)


def test_what_came_in_is_declared(made):
    content = parts(made)
    kinds = content_types(content)
    assert kinds["xl/workbook.xml"] == "application/vnd.ms-excel.sheet.macroEnabled.main+xml"
    assert kinds["xl/vbaProject.bin"] == "application/vnd.ms-office.vbaProject"
    assert kinds[SETTINGS_PART].endswith("spreadsheetml.worksheet+xml")
    assert all(kinds.values())
    links = list(ElementTree.fromstring(content["xl/_rels/workbook.xml.rels"]))
    assert len({link.get("Id") for link in links}) == len(links)
    (project,) = [link for link in links if link.get("Type").endswith("/vbaProject")]
    assert project.get("Target") == "vbaProject.bin"
    assert project.get("Type") == "http://schemas.microsoft.com/office/2006/relationships/vbaProject"


def test_code_names_fit_the_macro_project(made):
    content = parts(made)
    names = code_names(content)
    assert names == {"Trees & shrubs": "Sheet1", "Notes": "Sheet2", SETTINGS_SHEET: "Sheet3"}
    properties = ElementTree.fromstring(content["xl/workbook.xml"]).find(f"{MAIN}workbookPr")
    assert properties.get("codeName") == "ThisWorkbook"
    with ExcelFile(made) as file:
        assert sorted(file.module_names()) == sorted(["ThisWorkbook", *names.values(), WRAPPERS, SERVER])
        for name, source in MODULES.items():
            assert file.get_module(name) == source
        assert file.validate() == []


def test_the_project_needs_no_other_library_and_carries_no_compiled_code(made):
    from pyopenvba import vba
    from pyopenvba.cfb import CFB

    with ExcelFile(made) as file:
        assert [one.name for one in file.references()] == ["stdole", "Office"]  # as in every project of Excel's
    container = CFB.from_bytes(parts(made)["xl/vbaProject.bin"])
    assert container.get_stream_in_storage("VBA", "_VBA_PROJECT") == b"\xcc\x61\xff\xff\x00\x00\x00"
    assert [module.text_offset for module in vba.parse_vba_project(container).modules] == [0] * 6
    listing = container.get_stream("PROJECT").decode("cp1252").splitlines()
    assert [line for line in listing if line.startswith(("Document=", "Module=", "Class="))] == [
        "Document=ThisWorkbook/&H00000000", "Document=Sheet1/&H00000000", "Document=Sheet2/&H00000000",
        "Document=Sheet3/&H00000000", f"Module={WRAPPERS}", f"Module={SERVER}",
    ]  # fmt: skip


def test_formulas_and_values_equal_the_plain_workbook_s(plain, made):
    for data_only in (False, True):
        one, other = load_workbook(plain, data_only=data_only), load_workbook(made, keep_vba=True, data_only=data_only)
        other.vba_archive.close()
        assert other.sheetnames == [*one.sheetnames, SETTINGS_SHEET]
        for sheet in one:
            cells = [[_content(cell.value) for cell in row] for row in sheet.iter_rows()]
            assert cells == [[_content(cell.value) for cell in row] for row in other[sheet.title].iter_rows()]
            assert sheet.data_validations.count == other[sheet.title].data_validations.count
            assert len(sheet.conditional_formatting) == len(other[sheet.title].conditional_formatting)
        assert other.vba_archive is not None
        assert dict(other.defined_names).keys() == dict(one.defined_names).keys()


def _content(value: object) -> object:
    return (value.ref, value.text) if isinstance(value, ArrayFormula) else value


def settings(path: Path) -> dict[str, str]:
    """Return the settings as xlwings reads them: down from A1 to the first blank cell, keys in capitals."""
    sheet = load_workbook(path)[SETTINGS_SHEET]
    assert sheet.sheet_state == "hidden"
    return {str(key).upper(): value for key, value in sheet.iter_rows(min_row=1, values_only=True)}


def test_the_settings_stand_where_xlwings_reads_them(made):
    assert settings(made) == {"UDF MODULES": PYTHON_MODULE, "ADD_WORKBOOK_TO_PYTHONPATH": "False"}
    assert importlib.util.find_spec(PYTHON_MODULE) is not None


def test_on_windows_the_workbook_names_its_python_and_another_computer_s_can_be_put_in(plain, tmp_path, monkeypatch):
    monkeypatch.setattr(book, "python_to_start", lambda: "C:\\Jo & Co\\python.exe")
    path = make_macro_book(plain, tmp_path / "garden.xlsm")
    before = settings(path)
    assert before["INTERPRETER_WIN"] == "C:\\Jo & Co\\python.exe"
    with ExcelFile(path) as file:
        file.set_module(SERVER, "' an older one\r\n")
        file.vba_project().add_module("Mine", "Sub Mine()\r\nEnd Sub\r\n")
        file.save(path)
    values = read_values(path)
    monkeypatch.setattr(book, "python_to_start", lambda: "D:\\fig\\python.exe")
    renew_macro_book(path)
    assert settings(path) == {**before, "INTERPRETER_WIN": "D:\\fig\\python.exe"}
    with ExcelFile(path) as file:
        assert file.get_module(SERVER) == MODULES[SERVER]
        assert "Sub Mine()" in file.get_module("Mine")
        sheets = code_names(parts(path)).values()
        assert sorted(file.module_names()) == sorted([*sheets, "ThisWorkbook", "Mine", WRAPPERS, SERVER])
        assert file.validate() == []
    assert {**read_values(path), SETTINGS_SHEET: {}} == {**values, SETTINGS_SHEET: {}}
    with pytest.raises(InputError, match=r"wanted a \.xlsm that was made here"):
        renew_macro_book(plain)


def test_the_macro_workbook_recalculates_without_excel(plain, made, tmp_path):
    target = tmp_path / made.name
    target.write_bytes(made.read_bytes())
    before = {sheet: cells for sheet, cells in read_values(target).items() if sheet != SETTINGS_SHEET}
    assert before == read_values(plain)
    done = recalculate(target)
    assert done.formulas > 5
    assert not done.changed
    assert parts(target)["xl/vbaProject.bin"] == parts(made)["xl/vbaProject.bin"]


def test_the_same_workbook_comes_out_the_same(plain, tmp_path):
    one, other = (make_macro_book(plain, tmp_path / name).read_bytes() for name in ("one.xlsm", "two.xlsm"))
    assert one == other


@pytest.mark.parametrize("file", sorted(TEMPLATES.glob("*.xlsx")), ids=lambda file: file.name)
def test_the_shipped_workbooks_become_macro_workbooks(file, tmp_path):
    target = make_macro_book(file, tmp_path / "season.xlsm")
    one, other = parts(file), parts(target)
    formulas = [re.findall(rb"<f[ >].*?</f>", content[name]) for content in (one, other) for name in sorted(one)]
    assert formulas[: len(one)] == formulas[len(one) :]
    assert any(formulas)
    values = read_values(target)
    assert values.pop(SETTINGS_SHEET)
    assert values == read_values(file)
    names = code_names(other)
    assert list(names.values()) == [f"Sheet{number}" for number in range(1, len(names) + 1)]


def test_another_name_and_a_missing_folder_or_library_get_one_line(plain, tmp_path, monkeypatch):
    with pytest.raises(InputError, match=r"the file name must end in \.xlsm"):
        make_macro_book(plain, tmp_path / "season.xlsx")
    with pytest.raises(InputError, match=r"no folder.* is not there"):
        make_macro_book(plain, tmp_path / "no folder" / "season.xlsm")
    wanted = re.escape('not installed, wanted: pip install "pyopenvba>=6.5,<6.6" "xlwings>=0.33,<1"')
    with monkeypatch.context() as gone:
        gone.setitem(sys.modules, "pyopenvba", None)
        with pytest.raises(InputError, match=f"pyOpenVBA is {wanted}"):
            make_macro_book(plain, tmp_path / "season.xlsm")

    def version(name: str) -> str:
        raise importlib.metadata.PackageNotFoundError(name)

    monkeypatch.setattr(importlib.metadata, "version", version)
    with pytest.raises(InputError, match=f"xlwings is {wanted}"):
        make_macro_book(plain, tmp_path / "season.xlsm")
    assert list(tmp_path.iterdir()) == []
