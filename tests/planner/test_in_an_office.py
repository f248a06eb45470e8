"""The filled workbook in a real Calc: with the functions the same answers, without them the stored ones."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from openpyxl import load_workbook
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from sheetfuncs.planner import pages
from sheetfuncs.planner.sheets.what_would_help import NAME, TABLE, WORKING

from ..calc.office import RunningOffice

pytestmark = pytest.mark.office


def hidden_columns(sheet: Worksheet) -> set[int]:
    """Return the numbers of a sheet's hidden columns."""
    groups = (group for group in sheet.column_dimensions.values() if group.hidden)
    return {number for group in groups for number in range(group.min, group.max + 1)}


def sheets(book: Path, folder: Path, office: RunningOffice) -> dict[str, list[list[str]]]:
    """Return what an office shows on each sheet of a workbook; hidden columns are blank."""
    office.convert(book, folder / "csv" / "demo.csv")
    shown = {}
    for sheet in load_workbook(book):
        hidden = hidden_columns(sheet)
        with (folder / "csv" / f"demo-{sheet.title}.csv").open(encoding="utf-8") as lines:
            shown[sheet.title] = [
                ["" if number in hidden else cell for number, cell in enumerate(row, start=1)]
                for row in csv.reader(lines)
            ]
    return shown


@pytest.fixture
def without_functions(
    demo_with_answers: Path, plain_office: RunningOffice, tmp_path: Path
) -> dict[str, list[list[str]]]:
    return sheets(demo_with_answers, tmp_path / "without", plain_office)


def test_calc_answers_as_the_headless_recalculation_does(
    without_functions: dict, demo_path: Path, office: RunningOffice, tmp_path: Path
) -> None:
    with_functions = sheets(demo_path, tmp_path, office)  # formulas, no answers
    assert "Yes, they answer." in cells_of(with_functions["Start"])
    assert any("cut on 17 jun" in cell.lower() for cell in cells_of(with_functions["Trees"]))
    assert with_functions.keys() == without_functions.keys()
    for name in with_functions.keys() - {"Start"}:
        # The second line of a sheet says where the functions do not answer.
        assert with_functions[name][:1] == without_functions[name][:1], name
        assert with_functions[name][2:] == without_functions[name][2:], name


def test_the_whole_book_prints_on_a_dozen_pages(demo_with_answers: Path, tmp_path: Path) -> None:
    books = {"whole": demo_with_answers.read_bytes()}
    [printed] = pages.print_books(books, tmp_path / "printed", ".xlsx", pages.office_or_line())
    assert len(re.findall(rb"/Type\s*/Page\b", printed.read_bytes())) == 12


def cells_of(rows: list[list[str]]) -> list[str]:
    """Return all cells of a sheet, one after the other."""
    return [cell for row in rows for cell in row]


def test_without_the_functions_the_stored_answers_stay_and_start_says_so(without_functions: dict) -> None:
    start = "No: this program does not know them yet."
    assert any(cell.startswith(start) for cell in cells_of(without_functions["Start"]))
    assert any("cut on 17 jun" in cell.lower() for cell in cells_of(without_functions["Trees"]))
    assert not any(cell.startswith("#NAME") for rows in without_functions.values() for cell in cells_of(rows))


def test_calc_evaluates_arrays_on_opening_even_those_that_it_saved_itself(
    demo_path: Path, office: RunningOffice, plain_office: RunningOffice, tmp_path: Path
) -> None:
    """Why all arrays of the workbook lie in hidden columns, and plain cells show what is in them."""
    saved = office.convert(demo_path, tmp_path / "saved.xlsx")
    array = f"{WORKING.letter('all_measure')}{WORKING.first_row}"
    plain = f"{TABLE.letter('measure')}{TABLE.first_row}"
    stored = load_workbook(saved, data_only=True)[NAME][array].value
    assert stored.startswith("early")
    document = plain_office.open(path=str(saved))
    assert plain_office.shown(document=document, sheet=NAME, address=array) == [["#NAME?"]]
    assert plain_office.shown(document=document, sheet=NAME, address=plain) == [[stored]]
    shown_arrays = [
        cell.coordinate
        for sheet in load_workbook(demo_path)
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, ArrayFormula) and cell.column not in hidden_columns(sheet)
    ]
    assert not shown_arrays
