"""A real LibreOffice opens the recalculated files and shows the values that were stored."""

from __future__ import annotations

import csv
import re
from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook

from sheetfuncs.cells.dates import to_serial
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from ..calc.office import RunningOffice
from .books import by_hand, by_openpyxl, by_xlsxwriter
from .functions import FUNCTIONS
from .test_engine import OF_EACH_CELL, OF_RANGES, OF_SINGLE_VALUES, book_of

_NOT_IN_EVERY_OFFICE = re.compile(r"XLOOKUP|UNIQUE|FILTER|SORT|LET\(|TWICE_OF")
# Functions that files hold with a mark, for they came later than the format.
_NEWER = re.compile(r"\b(?:NORM\.S\.INV|VAR\.P|TEXTJOIN|CONCAT|MAXIFS)\(")

pytestmark = pytest.mark.office


def shown(path: Path, office: RunningOffice) -> list[list[list[str]]]:
    """Return what each worksheet shows, rows of texts."""
    out = path.parent / f"{path.stem}-csv"
    office.convert(path, out / "sheet.csv")
    files = sorted(out.iterdir(), key=lambda file: file.stat().st_mtime_ns)
    return [list(csv.reader(file.read_text(encoding="utf-8-sig").splitlines())) for file in files]


def test_openpyxl(tmp_path: Path, plain_office: RunningOffice) -> None:
    path = by_openpyxl(tmp_path / "book.xlsx")
    recalculate(path, functions=FUNCTIONS)
    trees, kinds = shown(path, plain_office)
    assert [row[3] for row in trees[1:7]] == ["2", "3", "4", "5", "6", "7"]
    assert trees[1][4] == "2026-07-05"
    assert trees[2][5] == "t3-über & <1>"
    assert trees[5][5] == 'Check: value is "t6", wanted a number'
    # Array formulas it evaluates itself on loading, whatever is stored, and it does not know this function.
    assert trees[0][7:10] == ["#NAME?"] * 3
    assert kinds[0][3] == "900"


def test_spaces_at_the_ends_of_a_text(tmp_path: Path, plain_office: RunningOffice) -> None:
    path = tmp_path / "book.xlsx"
    book = Workbook()
    book.active.append([2, '="   "&TWICE_OF(A1)&"  "'])
    book.save(path)
    recalculate(path, functions=FUNCTIONS)
    assert read_values(path)["Sheet"]["B1"] == "   4  "
    assert shown(path, plain_office) == [[["2", "   4  "]]]


@pytest.mark.parametrize("is_1904", [False, True])
def test_xlsxwriter(tmp_path: Path, plain_office: RunningOffice, is_1904: bool) -> None:
    path = by_xlsxwriter(tmp_path / "book.xlsx", is_1904)
    recalculate(path, functions=FUNCTIONS)
    plan, *_ = shown(path, plain_office)
    assert [row[2] for row in plan[1:6]] == [f"2026-07-0{day}" for day in range(2, 7)]
    assert [row[3] for row in plan[1:6]] == ["3", "6", "9", "12", "15"]
    assert [row[6] for row in plan[1:6]] == ["3", "6", "9", "12", "15"]


def test_cells_and_rows_that_were_added(tmp_path: Path, plain_office: RunningOffice) -> None:
    rows = (
        '<row r="1" spans="1:1"><c r="A1"><f t="array" ref="A1:B3">{1,2;3,4;5,6}*2</f></c><c r="D1"><v>7</v></c></row>'
        '<row r="5"><c r="A5"><v>1</v></c></row>'
    )
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows})
    recalculate(path, functions=FUNCTIONS)
    (plan,) = shown(path, plain_office)
    assert plan == [["2", "4", "", "7"], ["6", "8", "", ""], ["10", "12", "", ""], [""] * 4, ["1", "", "", ""]]


def test_a_file_that_the_office_saved(tmp_path: Path, plain_office: RunningOffice) -> None:
    """What LibreOffice writes is read, and what is stored in it is shown by it."""
    made = by_openpyxl(tmp_path / "made.xlsx")
    recalculate(made, functions=FUNCTIONS)
    path = plain_office.convert(made, tmp_path / "saved" / "made.xlsx")
    result = recalculate(path, functions=FUNCTIONS)
    assert (result.formulas, result.ours) == (23, 18)
    assert [row[3] for row in shown(path, plain_office)[0][1:7]] == ["2", "3", "4", "5", "6", "7"]


def as_number(text: str) -> float:
    """Return the number of a text as the office shows it: it makes dates and shares of some by itself."""
    if text.endswith("%"):
        return float(text[:-1]) / 100
    match = re.fullmatch(r"(\d\d)/(\d\d)/(\d\d(?:\d\d)?)", text)
    if match:
        year = int(match[3]) if len(match[3]) == 4 else 2000 + int(match[3])
        return to_serial(date(year, int(match[1]), int(match[2])))
    return float(text)


def test_the_office_and_the_engine_answer_alike(tmp_path: Path, plain_office: RunningOffice) -> None:
    """The office's functions, with single values, with ranges, and applied to each cell of a range."""
    formulas = [
        _NEWER.sub(r"_xlfn.\g<0>", formula)
        for formula in (*OF_SINGLE_VALUES, *(formula for formula, _ in (*OF_RANGES, *OF_EACH_CELL)))
        if not _NOT_IN_EVERY_OFFICE.search(formula)
    ]
    path = book_of(tmp_path / "book.xlsx", *formulas)
    (plan,) = shown(path, plain_office)  # without stored values it evaluates all of them itself
    recalculate(path, functions=FUNCTIONS)
    found = read_values(path)["Plan"]
    for row, formula in enumerate(formulas, start=1):
        ours, theirs = found.get(f"D{row}", ""), plan[row - 1][3]
        if isinstance(ours, bool):
            assert theirs == str(ours).upper(), formula
        elif isinstance(ours, (int, float)):
            assert as_number(theirs) == pytest.approx(ours, rel=1e-4), formula  # shown to some digits only
        else:
            assert theirs == ours, formula
