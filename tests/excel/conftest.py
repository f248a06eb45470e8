"""What the tests of the Excel host share."""

from __future__ import annotations

from pathlib import Path
from typing import Iterator

import pytest
from openpyxl import Workbook
from openpyxl.chart import LineChart, Reference
from openpyxl.formatting.rule import CellIsRule
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula

from sheetfuncs.hosts.excel.book import make_macro_book
from sheetfuncs.recalc import recalculate

from .windows import Windows, windows


@pytest.fixture(scope="module")
def excel() -> Iterator[Windows]:
    """xlwings as on Windows, with Excel's side played by stand-ins."""
    pytest.importorskip("xlwings", reason="xlwings is not installed")
    with windows() as running:
        yield running


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


@pytest.fixture(scope="module")
def made(plain, tmp_path_factory) -> Path:
    """The macro workbook."""
    target = tmp_path_factory.mktemp("made") / "garden.xlsm"
    assert make_macro_book(plain, target) == target
    return target
