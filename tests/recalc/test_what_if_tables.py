"""What-if tables: what is known of their values once a cell that they depend on was written."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.formula import DataTableFormula

from sheetfuncs.recalc import recalculate
from sheetfuncs.recalc.stale import without_stale_values
from sheetfuncs.xlsx import read_values

from ..calc.office import RunningOffice
from .books import by_hand
from .functions import FUNCTIONS

#: A table down a column, with the result D1 above it, of what A1 feeds; values of another day beside the formulas.
ONE_INPUT = (
    '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><f>TWICE_OF(A1)</f><v>{twice}</v></c><c r="C1"><f>1+1</f><v>2</v></c>'
    '<c r="D1"><f>B1*10</f><v>{tenfold}</v></c></row>'
    '<row r="2"><c r="C2"><v>5</v></c>'
    '<c r="D2"><f t="dataTable" ref="D2:D3" dt2D="0" dtr="0" r1="A1"/><v>100</v></c>'
    '<c r="E2"><f>SUM(D2:D3)</f><v>240</v></c></row>'
    '<row r="3"><c r="C3"><v>7</v></c><c r="D3"><v>140</v></c><c r="E3"><f>D3+1</f><v>141</v></c></row>'
)
#: A table of two inputs, with the result in its corner, beside cells that it has nothing to do with.
TWO_INPUTS = (
    '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>2</v></c></row>'
    '<row r="3"><c r="A3"><f>A1*B1</f><v>2</v></c><c r="B3"><v>3</v></c><c r="C3"><f>B3+1</f><v>4</v></c></row>'
    '<row r="4"><c r="A4"><v>5</v></c><c r="B4"><f t="dataTable" ref="B4:C4" dt2D="1" dtr="1" r1="A1" r2="B1"/>'
    '<v>15</v></c><c r="C4"><v>20</v></c><c r="D4"><v>9</v></c></row>'
)


def one_input(path: Path, twice: int) -> Path:
    """Save a book with a table whose result a function of ours feeds, and what stands for its answer in the file."""
    return by_hand(path, {"Plan": ONE_INPUT.format(twice=twice, tenfold=twice * 10)})


def test_a_table_that_one_of_our_functions_feeds_is_named(tmp_path: Path) -> None:
    path = one_input(tmp_path / "book.xlsx", 8)
    result = recalculate(path, functions=FUNCTIONS)
    because = "depends on Plan!D2, which is not recalculated"
    assert [(cell.cell, cell.why) for cell in result.refused] == [
        ("D2", "is a what-if table, which only office programs work out"), ("E2", because), ("E3", because),
    ]  # fmt: skip
    values = read_values(path)["Plan"]
    assert (values["B1"], values["D1"]) == (2, 20)
    assert [values[cell] for cell in ("D2", "D3", "E2", "E3")] == [100, 140, 240, 141]


def test_what_uses_a_table_whose_values_hold_is_recalculated(tmp_path: Path) -> None:
    path = one_input(tmp_path / "book.xlsx", 2)
    result = recalculate(path, functions=FUNCTIONS)
    assert [cell.cell for cell in result.refused] == ["D2"]
    assert result.recalculated == 4  # B1, D1, E2, E3
    assert result.changed == ()


def test_a_table_without_our_functions_keeps_its_values(tmp_path: Path) -> None:
    path = by_hand(
        tmp_path / "book.xlsx", {"Plan": TWO_INPUTS, "Own": '<row r="1"><c r="A1"><f>TWICE_OF(1)</f></c></row>'}
    )
    result = recalculate(path, functions=FUNCTIONS)
    assert (result.refused, result.left_alone) == ((), 3)
    assert read_values(path)["Plan"]["B4"] == 15


@pytest.mark.parametrize(
    ("written", "gone"),
    [
        ((1, 1), {"B1", "D1", "D2", "D3", "E2", "E3"}),  # the input
        ((3, 3), {"D2", "D3", "E2", "E3"}),  # a value beside the table
        ((1, 3), set()),  # what stands in the corner of a table of one input is a heading
        ((2, 1), set()),
    ],
)
def test_a_table_of_one_input_loses_values_that_hold_no_longer(
    tmp_path: Path, written: tuple[int, int], gone: set[str]
) -> None:
    path = one_input(tmp_path / "book.xlsx", 2)
    before = read_values(path)["Plan"]
    path.write_bytes(without_stale_values(path.read_bytes(), path.name, {"Plan": [written]}))
    assert before.keys() - read_values(path)["Plan"].keys() == gone


@pytest.mark.parametrize(
    ("written", "gone"),
    [
        ((1, 2), {"A3", "B4", "C4"}),  # an input
        ((3, 2), {"C3", "B4", "C4"}),  # a value above it
        ((4, 1), {"B4", "C4"}),  # a value beside it
        ((4, 4), set()),
    ],
)
def test_a_table_of_two_inputs_loses_values_that_hold_no_longer(
    tmp_path: Path, written: tuple[int, int], gone: set[str]
) -> None:
    path = by_hand(tmp_path / "book.xlsx", {"Plan": TWO_INPUTS})
    before = read_values(path)["Plan"]
    path.write_bytes(without_stale_values(path.read_bytes(), path.name, {"Plan": [written]}))
    assert before.keys() - read_values(path)["Plan"].keys() == gone
    assert before["D4"] == read_values(path)["Plan"]["D4"]
    result = recalculate(path, functions=FUNCTIONS)
    assert [cell.cell for cell in result.refused] == (["B4"] if gone else [])


def test_a_table_that_a_library_wrote(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    for name, value in {"A1": 1, "B1": "=TWICE_OF(A1)", "A2": 5, "A3": 7}.items():
        sheet[name] = value
    sheet["B2"] = DataTableFormula(ref="B2:B3", dt2D=False, dtr=False, r1="A1")
    path = tmp_path / "book.xlsx"
    book.save(path)
    (refused,) = recalculate(path, functions=FUNCTIONS).refused
    assert (refused.cell, refused.why) == ("B2", "is a what-if table, which only office programs work out")


def test_tables_as_calc_saves_them(tmp_path: Path) -> None:
    rows = (
        '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><f>TWICE_OF(A1)</f><v>8</v></c></row>'
        '<row r="2"><c r="A2"><v>5</v></c><c r="B2"><f aca="true">TABLE($B$1,$A$1,$A2)</f><v>10</v></c>'
        '<c r="C2"><f>B2+1</f><v>11</v></c></row>'
    )
    path = by_hand(tmp_path / "book.xlsx", {"Sheet1": rows})
    result = recalculate(path, functions=FUNCTIONS)
    assert [(cell.cell, cell.why) for cell in result.refused] == [
        ("B2", "calls TABLE, which this recalculation does not know"),
        ("C2", "depends on Sheet1!B2, which is not recalculated"),
    ]


@pytest.mark.office
def test_an_office_program_works_out_a_table_without_values(tmp_path: Path, plain_office: RunningOffice) -> None:
    path = by_hand(tmp_path / "book.xlsx", {"Plan": TWO_INPUTS})
    path.write_bytes(without_stale_values(path.read_bytes(), path.name, {"Plan": [(4, 1)]}))
    document = plain_office.open(path=str(path))
    assert plain_office.get(document=document, sheet="Plan", address="B4:C4") == [[15, 20]]
