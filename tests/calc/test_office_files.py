"""Files in a real Calc: opened with the functions alive, saved, opened again, interrupted."""

from __future__ import annotations

import re
import zipfile
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.table import Table

from sheetfuncs import all_functions
from sheetfuncs.cells.dates import EPOCH_1904, to_serial
from sheetfuncs.functions.examples import valley_days
from sheetfuncs.recalc import recalculate, rename_functions
from sheetfuncs.xlsx import read_sheet

from .expected import expected_cell, plain, same
from .office import RunningOffice

pytestmark = pytest.mark.office

FUNCTIONS = {function.name: function for function in all_functions()}
DAYS = [list(day) for day in valley_days()[: 4 * 365 + 1]]
FROST, NEEDS = date(2026, 10, 10), (1100, 1150, 1200)
#: Where the plan's answers stand.
CLIMATE, FROSTY, DATES, CHANCES = "B1", "B3", ("B5", "B6", "B7"), ("C5", "C6", "C7")
ANSWERS = "B1:C7"


def a_plan(path: Path, warmer: float = 0.0) -> Path:
    """Write a small book as a grower would: a record, a climate, a typed frost date, three trees; no stored values."""
    book = openpyxl.Workbook()
    plan = book.active
    plan.title = "Plan"
    weather = book.create_sheet("Weather")
    for day, low, high in DAYS:
        weather.append([day, round(low + warmer, 1), round(high + warmer, 1)])
    plan["B1"] = f"=CLIMATE_OF(Weather!$A$1:$C${len(DAYS)})"
    plan["B2"] = FROST
    plan["B3"] = "=CLIMATE_WITH_FROST(B1,B2)"
    plan["B4"] = None  # the lag, blank
    for row, need in enumerate(NEEDS, start=5):
        plan[f"A{row}"] = need
        plan[f"B{row}"] = f"=LATEST_PRUNE_DATE($B$3,2026,A{row},0.5,$B$4)"
        plan[f"B{row}"].number_format = "yyyy-mm-dd"
        plan[f"C{row}"] = f'=IF(ISNUMBER(B{row}),RIPEN_CHANCE($B$3,B{row},A{row}),"no date")'
    book.save(path)
    return path


def answers_of(frost: date = FROST, lag: float | None = None, warmer: float = 0.0) -> list[list[Any]]:
    """Return what the plan's answers must be, by the declarations."""
    rows = [[to_serial(day), round(low + warmer, 1), round(high + warmer, 1)] for day, low, high in DAYS]
    climate = FUNCTIONS["climate_of"].in_cell([rows])
    frosty = FUNCTIONS["climate_with_frost"].in_cell([climate, frost])
    trees = []
    for need in NEEDS:
        latest = expected_cell(FUNCTIONS["latest_prune_date"], [frosty, 2026, need, 0.5, lag])
        trees.append([latest, expected_cell(FUNCTIONS["ripen_chance"], [frosty, latest, need])])
    return [[climate, ""], [to_serial(frost), ""], [frosty, ""], ["" if lag is None else lag, ""], *trees]


def equal(shown: list[list[Any]], wanted: list[list[Any]]) -> bool:
    return all(same(one, other) for line, wish in zip(shown, wanted) for one, other in zip(line, wish))


def with_other_stored_values(path: Path) -> Path:
    """Put 99 instead of every stored answer, as if the book had been saved long ago with other weather."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    sheet = parts["xl/worksheets/sheet1.xml"].decode()
    stale = re.sub(r'(<c r="\w+"[^>]*?)(?: t="\w+")?(>\s*<f>.*?</f>)<v>[^<]*</v>', r"\1\2<v>99</v>", sheet)
    assert stale.count("<v>99</v>") == 8
    parts["xl/worksheets/sheet1.xml"] = stale.encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


@pytest.mark.parametrize("hidden", [True, False], ids=["hidden", "window"])
@pytest.mark.parametrize("names", ["excel", "calc"], ids=["bare names", "prefixed names"])
@pytest.mark.parametrize("stored", ["no values", "values", "other values"])
def test_an_xlsx_opens_with_the_functions_alive(
    office: RunningOffice, tmp_path: Path, hidden: bool, names: str, stored: str
) -> None:
    path = a_plan(tmp_path / "plan.xlsx")
    if stored != "no values":
        recalculate(path)
    if stored == "other values":
        with_other_stored_values(path)
    rename_functions(path, names)
    before = path.read_bytes()
    book = office.open(path=str(path), hidden=hidden)
    try:
        assert equal(office.get(document=book, sheet="Plan", address=ANSWERS), answers_of())
        assert not office.modified(document=book), "closing would ask to save a book that nobody touched"
        assert office.undo_steps(document=book) == []
        later = date(2026, 9, 28)
        office.put(document=book, sheet="Plan", address="B2", rows=[[to_serial(later)]])
        assert equal(office.get(document=book, sheet="Plan", address=ANSWERS), answers_of(later))
        office.put(document=book, sheet="Plan", address="B4", rows=[[0]])
        assert equal(office.get(document=book, sheet="Plan", address=ANSWERS), answers_of(later, lag=0.0))
    finally:
        office.close(document=book)
    assert path.read_bytes() == before


def test_dates_are_shown_as_dates(office: RunningOffice, tmp_path: Path) -> None:
    book = office.open(path=str(a_plan(tmp_path / "plan.xlsx")))
    [[shown]] = office.shown(document=book, sheet="Plan", address="B5")
    wanted = FUNCTIONS["latest_prune_date"].in_cell([answers_of()[2][0], 2026, NEEDS[0], 0.5])
    assert shown == str(wanted)
    office.close(document=book)


def test_array_formulas_names_and_tables_open_alive(office: RunningOffice, tmp_path: Path) -> None:
    path = a_plan(tmp_path / "plan.xlsx")
    book = openpyxl.load_workbook(path)
    plan = book["Plan"]
    plan["E1"] = ArrayFormula("E1:G1", "=RIPEN_WINDOW($B$1,DATE(2026,6,1),1150)")
    plan["E3"] = ArrayFormula("E3:E5", "=_xlfn.SINGLE(LATEST_PRUNE_DATE($B$1,2026,A5:A7,0.5))")
    book.defined_names["Best"] = DefinedName("Best", attr_text="LATEST_PRUNE_DATE(Plan!$B$1,2026,1100,0.5)")
    plan["E7"] = "=Best"
    for column, heading in enumerate(("need", "lag"), start=9):
        plan.cell(1, column, heading)
        plan.cell(2, column, 1150 if heading == "need" else None)
        plan.cell(3, column, 1150 if heading == "need" else 0)
    plan.add_table(Table(displayName="trees", ref="I1:J3"))
    plan["L2"] = plan["L3"] = "=LATEST_PRUNE_DATE($B$1,2026,trees[[#This Row],[need]],0.5,trees[[#This Row],[lag]])"
    book.save(path)

    document = office.open(path=str(path))
    climate = answers_of()[0][0]
    latest = FUNCTIONS["latest_prune_date"]
    window = FUNCTIONS["ripen_window"].in_cell([climate, date(2026, 6, 1), 1150])
    assert office.get(document=document, sheet="Plan", address="E1:G1") == [[plain(day) for day in window[0]]]
    assert office.get(document=document, sheet="Plan", address="E3:E5") == [
        [expected_cell(latest, [climate, 2026, need, 0.5])] for need in NEEDS
    ]
    assert office.get(document=document, sheet="Plan", address="E7") == [
        [expected_cell(latest, [climate, 2026, 1100, 0.5])]
    ]
    blank, zero = (expected_cell(latest, [climate, 2026, 1150, 0.5, lag]) for lag in (None, 0))
    assert office.get(document=document, sheet="Plan", address="L2:L3") == [[blank], [zero]]
    assert blank != zero
    office.close(document=document)


@pytest.mark.parametrize("kind", [".xlsx", ".ods"])
def test_a_book_saved_by_calc_opens_alive_in_another_process(
    office: RunningOffice, extension: Path, tmp_path: Path, kind: str
) -> None:
    """The climate's text in the file means nothing to the new process: everything is recalculated on loading."""
    saved = tmp_path / f"saved{kind}"
    book = office.open(path=str(a_plan(tmp_path / "plan.xlsx")))
    office.save(document=book, path=str(saved))
    office.close(document=book)
    other = RunningOffice(tmp_path / "other", extension)
    try:
        book = other.open(path=str(saved))
        assert equal(other.get(document=book, sheet="Plan", address=ANSWERS), answers_of())
        later = date(2026, 10, 20)
        other.put(document=book, sheet="Plan", address="B2", rows=[[to_serial(later)]])
        assert equal(other.get(document=book, sheet="Plan", address=ANSWERS), answers_of(later))
        again = tmp_path / f"again{kind}"
        other.save(document=book, path=str(again))
        other.close(document=book)
        book = other.open(path=str(again))
        assert equal(other.get(document=book, sheet="Plan", address=ANSWERS), answers_of(later))
    finally:
        other.stop()


def test_an_xlsx_saved_by_calc_is_recalculated_headless_to_the_same(office: RunningOffice, tmp_path: Path) -> None:
    saved = tmp_path / "saved.xlsx"
    book = office.open(path=str(a_plan(tmp_path / "plan.xlsx")))
    office.put(document=book, sheet="Plan", address="B4", rows=[[3]])
    office.save(document=book, path=str(saved))
    office.close(document=book)
    before = read_sheet(saved, "Plan")
    assert before["B1"] == answers_of()[0][0]
    done = recalculate(saved)
    assert (done.errors, [change for change in done.changed if change.sheet == "Plan"]) == (0, [])
    rename_functions(saved, "excel")
    formulas = openpyxl.load_workbook(saved)["Plan"]
    assert formulas["B5"].value.startswith("=LATEST_PRUNE_DATE(")
    recalculate(saved)
    after = read_sheet(saved, "Plan")
    assert after.keys() == before.keys()
    for cell, value in before.items():
        wanted = value if not isinstance(value, (int, float)) else pytest.approx(value, abs=1e-9)
        assert after[cell] == wanted, cell


def test_a_text_of_no_climate_here_names_the_keys(office: RunningOffice, book: str) -> None:
    formula = '=SHEETFUNCS.SEASON_END("9 seasons 1991–1999 · 00000000";2026)'
    office.put(document=book, sheet=0, address="A1", rows=[[formula]])
    [[line]] = office.get(document=book, sheet=0, address="A1")
    assert line == "Check: climate not loaded here, recalculate the whole workbook (Ctrl+Shift+F9)"


def test_several_books_with_climates_of_their_own(office: RunningOffice, tmp_path: Path) -> None:
    gains = (0.0, 0.5, 1.0, 2.0)
    books = {
        gain: office.open(path=str(a_plan(tmp_path / f"plan {number}.xlsx", warmer=gain)))
        for number, gain in enumerate(gains)
    }
    try:
        for day in (date(2026, 10, 1), FROST):
            for book in books.values():
                office.put(document=book, sheet="Plan", address="B2", rows=[[to_serial(day)]])
            for gain, book in books.items():
                assert equal(office.get(document=book, sheet="Plan", address=ANSWERS), answers_of(day, warmer=gain))
    finally:
        for book in books.values():
            office.close(document=book)


def test_a_book_that_counts_from_1904_has_the_same_dates(office: RunningOffice, tmp_path: Path) -> None:
    path = a_plan(tmp_path / "plan.xlsx")
    book = openpyxl.load_workbook(path)
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    book.save(path)
    document = office.open(path=str(path))
    climate, _, _, _, *trees = answers_of()
    moved = to_serial(date(1904, 1, 1)) - to_serial(date(1899, 12, 30))
    assert office.get(document=document, sheet="Plan", address="B1") == [[climate[0]]]
    shown = office.get(document=document, sheet="Plan", address="B5:C7")
    assert equal(shown, [[day - moved, chance] for day, chance in trees])
    assert to_serial(FROST, EPOCH_1904) == office.get(document=document, sheet="Plan", address="B2")[0][0]

    # Beside a book of the usual calendar Calc does not say which book asks: better no date than a wrong one.
    usual = office.open(path=str(a_plan(tmp_path / "usual.xlsx")))
    [[line]] = office.get(document=usual, sheet="Plan", address="B5")
    assert line.startswith("Check: open books count days from different years")
    office.close(document=document)
    office.recalculate(document=usual, hard=True)
    assert equal(office.get(document=usual, sheet="Plan", address=ANSWERS), answers_of())
    office.close(document=usual)
