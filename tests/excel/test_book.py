"""The macro workbook: nothing of the plain one is lost, and what comes in is well formed."""

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
from openpyxl.chart import LineChart, Reference
from openpyxl.formatting.rule import CellIsRule
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula

from sheetfuncs.cells.errors import InputError
from sheetfuncs.functions import all_functions
from sheetfuncs.hosts.excel.book import SETTINGS_SHEET, macro_book, make_macro_book, starting_project
from sheetfuncs.hosts.excel.vba import MODULE, PYTHON_MODULE, wrapper_module
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

pytest.importorskip("xlwings", reason="xlwings is not installed")
TEMPLATES = Path(__file__).parents[2] / "workbook_templates"
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
NEW_PARTS = {"xl/vbaProject.bin"}


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workbook with all sorts in it, its answers stored."""
    path = tmp_path_factory.mktemp("plain") / "garden.xlsx"
    book = Workbook()
    trees = book.active
    trees.title = "Trees & shrubs"
    trees.append(["frost", "days", "cut by"])
    for row in range(2, 6):
        trees.append([46325 + row, 80 + row, f"=LATEST_PRUNE_DATE_BY_DAYS(A{row},B{row},14)"])
    trees["E2"] = ArrayFormula("E2:E5", "=LATEST_PRUNE_DATE_BY_DAYS(A2:A5,B2:B5)")
    trees["F2"] = '=IF(C2>B2,"later","sooner")&" ä"'
    chart = LineChart()
    chart.add_data(Reference(trees, min_col=2, min_row=1, max_row=5), titles_from_data=True)
    trees.add_chart(chart, "H2")
    trees.add_data_validation(DataValidation(type="whole", operator="greaterThan", formula1="1", sqref="B2:B5"))
    trees.conditional_formatting.add("C2:C5", CellIsRule(operator="lessThan", formula=["TODAY()"]))
    trees.print_title_rows = "1:1"
    book.create_sheet("Notes")["A1"] = "by hand"
    book.defined_names["spare"] = DefinedName("spare", attr_text="'Trees & shrubs'!$B$2")
    book.save(path)
    recalculate(path)
    return path


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


@pytest.fixture(scope="module", params=["put in", "left to xlwings"])
def made(request, plain, tmp_path_factory) -> Path:
    """The macro workbook, with the functions' module and without."""
    target = tmp_path_factory.mktemp("made") / "garden.xlsm"
    assert make_macro_book(plain, target, wrappers=request.param == "put in") == target
    return target


def test_every_part_of_the_plain_workbook_is_there_unchanged(plain, made):
    before, after = parts(plain), parts(made)
    added = set(after) - set(before)
    assert set(before) <= set(after)
    assert added == NEW_PARTS | {"xl/worksheets/sheet3.xml"}
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
    assert kinds["xl/worksheets/sheet3.xml"].endswith("spreadsheetml.worksheet+xml")
    assert all(kinds.values())
    links = list(ElementTree.fromstring(content["xl/_rels/workbook.xml.rels"]))
    assert len({link.get("Id") for link in links}) == len(links)
    (project,) = [link for link in links if link.get("Type").endswith("/vbaProject")]
    assert project.get("Target") == "vbaProject.bin"
    assert project.get("Type") == "http://schemas.microsoft.com/office/2006/relationships/vbaProject"


def test_code_names_fit_the_macro_project(made):
    pytest.importorskip("pyopenvba", reason="pyOpenVBA is not installed")
    from pyopenvba import ExcelFile

    content = parts(made)
    names = code_names(content)
    assert names == {"Trees & shrubs": "Sheet1", "Notes": "Sheet2", SETTINGS_SHEET: "Sheet3"}
    properties = ElementTree.fromstring(content["xl/workbook.xml"]).find(f"{MAIN}workbookPr")
    assert properties.get("codeName") == "ThisWorkbook"
    with ExcelFile(made) as file:
        modules = file.module_names()
        assert {"ThisWorkbook", "Sheet1", "Sheet2"} <= set(modules)
        if MODULE in modules:
            assert sorted(modules) == sorted(["ThisWorkbook", *names.values(), MODULE])
            assert file.get_module(MODULE) == wrapper_module(all_functions())
            assert file.validate() == []
        else:
            assert content["xl/vbaProject.bin"] == starting_project()


def test_the_project_refers_to_the_add_in_and_carries_no_compiled_code(plain, tmp_path):
    pytest.importorskip("pyopenvba", reason="pyOpenVBA is not installed")
    from pyopenvba import ExcelFile, vba
    from pyopenvba.cfb import CFB

    target = make_macro_book(plain, tmp_path / "garden.xlsm")
    start_book = Path(importlib.util.find_spec("xlwings").origin).with_name("quickstart.xlsm")
    with ExcelFile(target) as file, ExcelFile(start_book) as start:
        assert [reference.libid for reference in file.references()] == [one.libid for one in start.references()]
        assert ("xlwings", "project") in [(one.name, one.kind) for one in file.references()]
        assert "RunPython" not in "".join(file.vba_modules().values())
    container = CFB.from_bytes(parts(target)["xl/vbaProject.bin"])
    assert container.get_stream_in_storage("VBA", "_VBA_PROJECT") == b"\xcc\x61\xff\xff\x00\x00\x00"
    assert [module.text_offset for module in vba.parse_vba_project(container).modules] == [0] * 5
    listing = container.get_stream("PROJECT").decode("cp1252").splitlines()
    assert [line for line in listing if line.startswith(("Document=", "Module=", "Class="))] == [
        "Document=ThisWorkbook/&H00000000", "Document=Sheet1/&H00000000", "Document=Sheet2/&H00000000",
        "Document=Sheet3/&H00000000", f"Module={MODULE}",
    ]  # fmt: skip


def test_formulas_and_values_equal_the_plain_workbook_s(plain, made):
    for data_only in (False, True):
        one, other = load_workbook(plain, data_only=data_only), load_workbook(made, keep_vba=True, data_only=data_only)
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


def test_the_settings_stand_where_the_add_in_reads_them(made):
    sheet = load_workbook(made, keep_vba=True)[SETTINGS_SHEET]
    assert sheet.sheet_state == "hidden"
    # The add-in reads down from A1 to the first blank cell, keys in capitals.
    settings = {str(key).upper(): value for key, value in sheet.iter_rows(min_row=1, values_only=True)}
    assert settings == {"UDF MODULES": PYTHON_MODULE, "ADD_WORKBOOK_TO_PYTHONPATH": "False"}
    assert importlib.util.find_spec(PYTHON_MODULE) is not None


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
    assert list(names.values()) == [f"Sheet{place}" for place in range(1, len(names) + 1)]


# -- workbooks that other programs wrote ------------------------------------------------------------------------


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
    with pytest.raises(InputError, match="cannot be read"):
        make_macro_book(tmp_path / "none.xlsx", old)
    with pytest.raises(InputError, match="cannot be written"):
        make_macro_book(plain, tmp_path / "no folder" / "season.xlsm")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["season.xlsm", "source.xlsx"]


def test_a_sheet_of_the_settings_name_is_not_overwritten(tmp_path):
    book = Workbook()
    book.create_sheet(SETTINGS_SHEET)
    book.save(tmp_path / "a.xlsx")
    with pytest.raises(InputError, match=r"has a sheet xlwings\.conf already"):
        make_macro_book(tmp_path / "a.xlsx", tmp_path / "a.xlsm")


def test_without_xlwings_or_the_macro_library_one_line_says_what_to_install(plain, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyopenvba", None)
    with pytest.raises(InputError, match=r'pyOpenVBA is not installed, wanted: pip install "sheetfuncs\[excel\]"'):
        macro_book(plain.read_bytes(), "garden.xlsx")
    assert macro_book(plain.read_bytes(), "garden.xlsx", wrappers=False)
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(InputError, match=r'xlwings is not installed, wanted: pip install "sheetfuncs\[excel\]"'):
        macro_book(plain.read_bytes(), "garden.xlsx", wrappers=False)


def test_an_xlwings_without_its_starting_workbook_says_so(plain, monkeypatch, tmp_path):
    found = SimpleNamespace(submodule_search_locations=[str(tmp_path)])
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: found)
    with pytest.raises(InputError, match=r"has no quickstart\.xlsm"):
        macro_book(plain.read_bytes(), "garden.xlsx")
