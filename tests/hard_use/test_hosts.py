"""The same troublemakers through the hosts: each hands over what its program takes, and nothing else."""

from __future__ import annotations

import math
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from sheetfuncs.cells.dates import EPOCH_1900, EPOCH_1904
from sheetfuncs.hosts.calc.values import answer as in_calc
from sheetfuncs.hosts.excel.values import in_excel
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from .arguments import EDGE_NUMBERS, EDGE_TEXTS, FUNCTIONS
from .test_every_argument import good

#: What a cell of a sheet can hold: no whole number beyond a float, no half of a letter.
HELD = [float(number) for number in EDGE_NUMBERS if abs(number) < 1e308 and math.isfinite(number)]
HELD += [text for text in EDGE_TEXTS if text.isprintable() and len(text) < 5001]


def plain(value: Any) -> Any:
    """Return an argument as a sheet holds it: dates as numbers."""
    if isinstance(value, (list, tuple)):
        return [[plain(cell) for cell in row] for row in value]
    return float((value - EPOCH_1900).days) if isinstance(value, date) else value


@pytest.mark.parametrize("name", FUNCTIONS)
def test_excel_and_calc(name: str) -> None:
    function = FUNCTIONS[name]
    cells = [plain(good(parameter)) for parameter in function.parameters]
    for at in range(len(cells)):
        for trouble in HELD:
            given = [*cells[:at], trouble, *cells[at + 1 :]]
            for epoch in (EPOCH_1900, EPOCH_1904):
                _check_calc(in_calc(function, [_for_calc(cell) for cell in given], epoch), given)
                _check_excel(in_excel(function, given, epoch), given)


def _for_calc(cell: Any) -> Any:
    if isinstance(cell, list):
        return tuple(tuple("" if one is None else one for one in row) for row in cell)
    return "" if cell is None else cell


def _check_calc(rows: Any, given: Any) -> None:
    assert isinstance(rows, tuple), given
    assert len({len(row) for row in rows}) == 1, given
    for cell in (cell for row in rows for cell in row):
        assert isinstance(cell, str) or (type(cell) in (int, float) and math.isfinite(cell)), (cell, given)
        assert "failed, please report it" not in str(cell), (cell, given)


def _check_excel(answer: Any, given: Any) -> None:
    rows = answer if isinstance(answer, list) else [[answer]]
    assert rows, given
    for cell in (cell for row in rows for cell in row):
        is_number = type(cell) in (int, float) and math.isfinite(cell)
        assert is_number or isinstance(cell, (str, datetime)), (cell, given)


def test_a_blank_column_gives_blank_cells(tmp_path: Path) -> None:
    """An array formula over rows that are kept ready shows nothing, not #N/A and not 0."""
    path = tmp_path / "book.xlsx"
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Plan")
    sheet.write_array_formula("A1:A4", "{=PICKING_BY_WEEK(E1:E4,F1:F4,G1:G4,H1:H4)}", None, 0)
    sheet.write_array_formula("B1:B4", "{=PRUNE_ROUNDS(E1:E4,F1:F4)}", None, 0)
    sheet.write_dynamic_array_formula("C1:C4", "=PRUNE_ROUNDS(E1:E4,F1:F4)", None, 0)
    sheet.write_formula("D1", "=PRUNE_ROUNDS(E1:E4,F1:F4)", None, 0)
    book.close()
    assert recalculate(path).errors == 0
    assert set(read_values(path)["Plan"].values()) <= {""}
    blank = [[None]] * 4
    assert in_excel(FUNCTIONS["prune_rounds"], [blank, blank]) == ""


@pytest.mark.parametrize("is_1904", [False, True])
@pytest.mark.parametrize("serial", [2_957_003, 2_957_100, 2_958_465, 2_958_466, -5, 1e300, 0.5])
def test_numbers_at_the_end_of_the_calendar_in_cells_with_a_date_format(
    tmp_path: Path, is_1904: bool, serial: float
) -> None:
    path = tmp_path / "book.xlsx"
    book = xlsxwriter.Workbook(str(path), {"date_1904": is_1904})
    sheet = book.add_worksheet("Plan")
    sheet.write_formula("A1", f"={serial!r}+0", book.add_format({"num_format": "yyyy-mm-dd"}), 0)
    sheet.write_formula("B1", "=LATEST_PRUNE_DATE_BY_DAYS(A1,5)", None, 0)
    book.close()
    recalculate(path)
    assert read_values(path)["Plan"]["B1"].startswith("Check: frost date is ")
