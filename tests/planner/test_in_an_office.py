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
from sheetfuncs.recalc import recalculate

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


def advices(shown: dict[str, list[list[str]]]) -> dict[str, str]:
    """Return the advice of each tree by its tag, wherever their columns stand."""
    rows = shown["Trees"]
    first = next(number for number, row in enumerate(rows) if row[0] == "Tag")
    advice = rows[first].index("Advice")
    return {row[0]: row[advice] for row in rows[first + 2 :] if row[0]}


def raw_errors(shown: dict[str, list[list[str]]]) -> list[tuple[str, str]]:
    """Return the errors of the program itself that a book shows, with their sheets."""
    cells = [(name, cell) for name, rows in shown.items() for cell in cells_of(rows)]
    return [(name, cell) for name, cell in cells if cell.startswith(("#", "Err:"))]


def test_columns_moved_and_rows_deleted_leave_the_answers_or_a_line(
    small_demo_formulas: Path, office: RunningOffice, tmp_path: Path
) -> None:
    document = office.open(path=str(small_demo_formulas))

    def shown(name: str) -> dict[str, list[list[str]]]:
        office.recalculate(document=document, hard=True)
        office.save(document=document, path=str(tmp_path / f"{name}.xlsx"))
        return sheets(tmp_path / f"{name}.xlsx", tmp_path / name, office)

    before = advices(shown("before"))
    for sheet in ("Trees", "Varieties", "Log", "Positions", "Weather"):
        office.unprotect(document=document, sheet=sheet)
    for sheet, column, to in (("Trees", "D", "H"), ("Trees", "P", "F"), ("Varieties", "B", "D"), ("Log", "C", "F"),
                              ("Positions", "B", "D")):  # fmt: skip
        office.move_column(document=document, sheet=sheet, column=column, before=to)
    moved = shown("moved")
    assert raw_errors(moved) == []
    assert advices(moved) == before

    gone = next(row[0] for row in moved["Trees"][7:])
    for sheet, first, last in (("Trees", 8, 8), ("Log", 29, 72), ("Varieties", 9, 9)):
        office.delete_rows(document=document, sheet=sheet, first=first, last=last)
    deleted = shown("deleted")
    assert raw_errors(deleted) == []
    assert deleted["Log"][3] == moved["Log"][3]
    lines = advices(deleted)
    assert lines.keys() == before.keys() - {gone}
    late = {tag for tag, line in lines.items() if line != before[tag]}
    assert late
    assert {lines[tag] for tag in late} == {'Check: Variety is "late", wanted a variety from the sheet Varieties'}
    recalculate(tmp_path / "deleted.xlsx")
    assert advices(sheets(tmp_path / "deleted.xlsx", tmp_path / "headless", office)) == lines

    office.delete_rows(document=document, sheet="Weather", first=100, last=400)
    office.move_column(document=document, sheet="Weather", column="B", before="D")
    asking = shown("asking")
    assert raw_errors(asking) == []
    line = "Check: weather has fewer than 3 columns, wanted date, low, high"
    del asking["Start"]
    assert [cell for rows in asking.values() for cell in cells_of(rows) if cell.startswith("Check: ")] == [line]
