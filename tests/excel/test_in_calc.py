"""The macro workbook in a real LibreOffice Calc, which reads it by its own means."""

from __future__ import annotations

import re
import zipfile
from datetime import date
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from sheetfuncs.cells.dates import EPOCH_1900
from sheetfuncs.hosts.excel.book import make_macro_book
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from .samples import FUNCTIONS, NAMES

pytest.importorskip("xlwings", reason="xlwings is not installed")
pytestmark = pytest.mark.office
DEMO = Path(__file__).parents[2] / "workbook_templates" / "fig-trees-demo.xlsx"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo as a macro workbook."""
    return make_macro_book(DEMO, tmp_path_factory.mktemp("made") / "season.xlsm")


def test_calc_finds_every_macro_and_every_sheet_s_module_and_keeps_the_values(made, plain_office, tmp_path):
    plain_office.convert(made, tmp_path / "season.ods")
    with zipfile.ZipFile(tmp_path / "season.ods") as archive:
        modules = {Path(name).stem for name in archive.namelist() if name.startswith("Basic/VBAProject/")}
        source = "".join(ElementTree.fromstring(archive.read("Basic/VBAProject/xlwings_udfs.xml")).itertext())
        content = archive.read("content.xml").decode()
    sheets = len(read_values(made))
    documents = {"ThisWorkbook", *(f"Sheet{n + 1}" for n in range(sheets))}
    assert modules - {"script-lb"} == {*documents, "xlwings_udfs", "sheetfuncs_server"}
    assert re.findall(r"^Public Function (\w+)\(", source, re.MULTILINE) == NAMES
    assert content.count("<table:table ") == sheets
    assert re.search(r'LATEST_PRUNE_DATE\([^"]*"[^>]*office:date-value="2026-', content)


def test_calc_without_the_functions_and_with_macros_shows_one_line_with_what_to_do(made, plain_office):
    document = plain_office.open(path=str(made), macros=True)
    plain_office.add_sheet(document=document, name="Free")
    rows = [[f"={one.worksheet_name}({';'.join('1' * len(one.parameters))})"] for one in FUNCTIONS]
    address = f"A1:A{len(rows)}"
    plain_office.put(document=document, sheet="Free", address=address, rows=rows)
    shown = plain_office.shown(document=document, sheet="Free", address=address)
    plain_office.recalculate(document=document, hard=True)
    loaded = plain_office.shown(document=document, sheet="Start", address="A7:B40")
    plain_office.close(document=document)
    line = "the functions are not in Calc yet; run: sheetfuncs install calc, then restart Calc"
    assert {text for [text] in shown} == {f"Check: {line}"}
    assert ["Are the functions loaded?", f"No: {line}"] in loaded


def test_calc_with_the_functions_and_with_macros_takes_the_functions(made, office):
    document = office.open(path=str(made), macros=True)
    office.add_sheet(document=document, name="Free")
    office.type(document=document, address="$Free.A1", text='=LATEST_PRUNE_DATE_BY_DAYS("2026-10-30";90;14)')
    [[shown]] = office.get(document=document, sheet="Free", address="A1")
    loaded = office.shown(document=document, sheet="Start", address="A7:B40")
    office.close(document=document)
    assert shown == date(2026, 7, 18).toordinal() - EPOCH_1900.toordinal()
    assert ["Are the functions loaded?", "Yes, they answer."] in loaded


def test_calc_with_the_functions_answers_as_the_recalculation_without_it_does(made, office, tmp_path):
    answered = tmp_path / "season.xlsm"
    recalculate(made, answered)  # today's answers: some hang on the date
    document = office.open(path=str(made))
    office.recalculate(document=document, hard=True)
    differ: list[Any] = []
    for sheet, cells in read_values(answered).items():
        column, row = office.used(document=document, sheet=sheet)
        rows = office.get(document=document, sheet=sheet, address=f"A1:{_letters(column)}{row + 1}")
        for address, value in cells.items():
            letters, row_number = re.fullmatch(r"([A-Z]+)(\d+)", address).groups()
            found = rows[int(row_number) - 1][_number(letters)]
            if _plain(value) != _plain(found):
                differ.append((sheet, address, value, found))
    office.close(document=document)
    assert differ == []


def _plain(value: Any) -> Any:
    if isinstance(value, (int, float)):
        return round(float(value), 6)
    if isinstance(value, date):
        return float(value.toordinal() - EPOCH_1900.toordinal())
    return value or ""


def _letters(column: int) -> str:
    return chr(65 + column) if column < 26 else _letters(column // 26 - 1) + chr(65 + column % 26)


def _number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1
