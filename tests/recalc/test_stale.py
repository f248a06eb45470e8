"""Where something is written into cells, what depends on them loses its stored value; nothing else does."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from openpyxl import load_workbook

from sheetfuncs.recalc import recalculate
from sheetfuncs.recalc.stale import without_stale_values
from sheetfuncs.xlsx import read_values
from sheetfuncs.xlsx.inputs import open_book, read_cells, write_cells
from sheetfuncs.xlsx.references import Area

from ..calc.office import RunningOffice
from .books import by_hand, by_openpyxl
from .functions import FUNCTIONS
from .test_left_alone import rows_of

NAMES = "<definedNames><definedName name='Days'>Data!$A$2:$A$99</definedName></definedNames>"
DATA: dict[str, object] = {
    "A1": 5, "A2": 0.25, "A3": 0.75, "B1": 1, "C1": ("", "COUNT(A2:A9)", 2), "C2": ("", "B1+1", 2),
    "C3": ("", "1+1", 2),
}  # fmt: skip
OTHER: dict[str, object] = {
    "A1": ("", "SUM(Days)", 1), "A2": ("", 'A1*2&""', "2"), "A3": ("", "SUM(Data!$B:$B)", 1),
    "B1": ("", 'COUNTIF(Days,">=50%")', 1), "B2": ("", "B1+1", 2), "C1": ("", "TWICE_OF(A1)", 2),
    "C2": ("", "TWICE_OF(A3)", 2), "D1": ("array", "Data!A2", 0.25),
}  # fmt: skip


def written(tmp_path: Path) -> Path:
    """Return a book into which a third day was written."""
    path = by_hand(tmp_path / "own.xlsx", {"Data": rows_of(DATA), "Other": rows_of(OTHER)}, names=NAMES)
    area = Area(2, 1, 99, 1)
    write_cells(
        open_book(path), "Data", area, {(4, 1): 0.5},
        finish=lambda content: without_stale_values(content, path.name, {"Data": [(4, 1)]}),
    )  # fmt: skip
    return path


def test_what_depends_on_the_cells_has_no_value_and_the_rest_keeps_its_own(tmp_path: Path) -> None:
    values = read_values(written(tmp_path))
    assert values["Data"] == {"A1": 5, "A2": 0.25, "A3": 0.75, "A4": 0.5, "B1": 1, "C2": 2, "C3": 2}
    assert values["Other"] == {"A3": 1, "C2": 2, "D1": 0.25}


def test_a_recalculation_gives_new_values_and_names_what_it_cannot_do(tmp_path: Path) -> None:
    path = written(tmp_path)
    result = recalculate(path, functions=FUNCTIONS)
    values = read_values(path)
    assert values["Data"]["C1"] == 3
    assert values["Other"] == {"A1": 1.5, "A2": "3", "A3": 1, "C1": 3, "C2": 2, "D1": 0.25}
    assert [(cell.cell, cell.why) for cell in result.refused] == [
        ("B1", "gives COUNTIF a share or an error to look for"),
        ("B2", "depends on Other!B1, which is not recalculated"),
    ]


@pytest.mark.office
def test_an_office_program_works_them_out(tmp_path: Path, plain_office: RunningOffice) -> None:
    document = plain_office.open(path=str(written(tmp_path)))
    assert plain_office.get(document=document, sheet="Data", address="C1:C3") == [[3], [2], [2]]
    assert plain_office.get(document=document, sheet="Other", address="A1:B2") == [[1.5, 2], ["3", 3]]


def test_all_cells_of_an_array_lose_their_values_and_formulas_stay(tmp_path: Path) -> None:
    path = by_openpyxl(tmp_path / "book.xlsx")
    recalculate(path, functions=FUNCTIONS)
    sheet = "Bäume & 'Reihe' ß"
    before = read_values(path)
    content = without_stale_values(path.read_bytes(), path.name, {sheet: [(7, 3)]})  # C7 feeds H3:H9
    dropped = Path(shutil.copyfile(path, tmp_path / "dropped.xlsx"))
    dropped.write_bytes(content)
    after = read_values(dropped)
    gone = {(name, cell) for name in before for cell in before[name].keys() - after[name].keys()}
    # F4 looks a value up in C2:D7.
    assert gone == {(sheet, cell) for cell in ("D7", "F4", *(f"H{row}" for row in range(3, 10)))}
    assert load_workbook(dropped)[sheet]["H3"].value.text == load_workbook(path)[sheet]["H3"].value.text
    recalculate(dropped, functions=FUNCTIONS)
    assert read_values(dropped) == before


def test_over_several_sheets_at_once(tmp_path: Path) -> None:
    typed: dict[str, object] = {"A1": 5, "B1": ("", "1+1", 2)}
    sums: dict[str, object] = {"A1": ("", "SUM(May:July!A1)", 15), "B1": ("", "SUM('May:July'!A1)", 15)}
    sheets = {"May": rows_of(typed), "June": rows_of(typed), "July": rows_of(typed), "Sum": rows_of(sums)}
    path = by_hand(tmp_path / "own.xlsx", sheets)
    path.write_bytes(without_stale_values(path.read_bytes(), path.name, {"June": [(1, 1)]}))
    kept = {"A1": 5, "B1": 2}
    assert read_values(path) == {"May": kept, "June": kept, "July": kept, "Sum": {}}


def test_cells_on_which_nothing_depends_change_nothing(tmp_path: Path) -> None:
    path = by_hand(tmp_path / "own.xlsx", {"Data": rows_of(DATA)}, names=NAMES)
    raw = path.read_bytes()
    assert without_stale_values(raw, path.name, {"Data": [(1, 1), (1, 9)], "Nowhere": [(1, 2)]}) is raw
    assert read_cells(open_book(path), "Data", Area(1, 3, 1, 3)) == {(1, 3): 2}
