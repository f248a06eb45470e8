"""What is refused: a cell, which keeps its value, or the whole file, of which then nothing is written."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.formula import ArrayFormula

from sheetfuncs.cells.errors import InputError
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import WorkbookFileError, read_values

from .books import by_hand, simple
from .functions import FUNCTIONS


def refusal(path: Path) -> str:
    """Return the line with which a file is refused, having made sure that it and its folder stay as they are."""
    before = path.read_bytes()
    there = sorted(path.parent.iterdir())
    with pytest.raises(InputError) as caught:
        recalculate(path, functions=FUNCTIONS)
    assert isinstance(caught.value, WorkbookFileError)
    assert path.read_bytes() == before
    assert sorted(path.parent.iterdir()) == there
    line = caught.value.line
    assert line.startswith("Check: ")
    assert "\n" not in line
    return line


def refused_cell(path: Path) -> str:
    """Return the line with which the one refused cell of a file is named, having made sure that it kept its value."""
    before = {(sheet, cell): value for sheet, cells in read_values(path).items() for cell, value in cells.items()}
    result = recalculate(path, functions=FUNCTIONS)
    (refused,) = result.refused
    assert read_values(path)[refused.sheet].get(refused.cell) == before.get((refused.sheet, refused.cell))
    assert result.recalculated + result.left_alone + 1 == result.formulas
    return f"{refused.sheet}!{refused.cell} {refused.why}"


@pytest.mark.parametrize(
    ("formula", "wanted"),
    [
        # Names that nobody knows
        ("=TWICE_OFF(1)", "Plan!B2 calls TWICE_OFF, which this recalculation does not know; did you mean TWICE_OF?"),
        ("=SHEETFUNCS.WEATHER(1)", "Plan!B2 calls SHEETFUNCS.WEATHER, which this version does not have"),
        ('=GETPIVOTDATA("a",A1)', "Plan!B2 calls GETPIVOTDATA, which this recalculation does not know"),
        ("=IFERROR(VBA_FUNCTION(A1),5)", "Plan!B2 calls VBA_FUNCTION"),
        ("=[1]!OTHER(A1)", "Plan!B2 calls OTHER"),
        ("=ÉTÉ(1)", "Plan!B2 calls ÉTÉ"),
        ("=Missing_name+1", "Plan!B2 uses the name missing_name, which the workbook does not define"),
        ("=IFERROR(missing_name,1)", "Plan!B2 uses the name missing_name"),
        ("=SUM(Nothing[Need])", "Plan!B2 names the table Nothing, which is not in the workbook"),
        # Formulas that the engine would get wrong without a word
        ("=SUMPRODUCT(EDATE(A1:A3,1))", "Plan!B2 gives EDATE several cells where it takes one"),
        ("=SUMPRODUCT((WEEKNUM(A1:A3)=7)*1)", "Plan!B2 gives WEEKNUM several cells"),
        ("=SUM(Plan:Other!A1)", "Plan!B2 goes over several sheets at once"),
        ("=SUM('Plan:Other'!A1)", "Plan!B2 goes over several sheets at once"),
        ("=SUM((A1:A2,A3))", "Plan!B2 joins several ranges into one"),
        ("=SUM(A1:A3 A2:B2)", "Plan!B2 takes what two ranges share"),
        # Formulas that it cannot read or follow
        ("=LAMBDA(x,x+1)(3)", "Plan!B2 is beyond this recalculation"),
        ("=SUM(", "Plan!B2 is beyond this recalculation"),
        ("=1+*2", "Plan!B2 is beyond this recalculation"),
    ],
)
def test_formulas(tmp_path: Path, formula: str, wanted: str) -> None:
    path = simple(tmp_path / "book.xlsx", {"A1": 1, "B2": formula, "C1": "=TWICE_OF(A1)"})
    assert wanted in refused_cell(path)
    assert read_values(path)["Plan"]["C1"] == 2


@pytest.mark.parametrize("formula", ["=B2+1", "=TWICE_OF(B2)"])
def test_circles(tmp_path: Path, formula: str) -> None:
    path = simple(tmp_path / "book.xlsx", {"A1": 1, "B2": formula, "C1": "=TWICE_OF(A1)"})
    assert "Plan!B2 depends on itself, in a circle" in refusal(path)


class TestWhatDependsOnARefusedCell:
    """A1 is typed, B1 calls ours, C1 is refused, D1 depends on C1, E1 on D1, F1 on B1 alone."""

    def book(self, tmp_path: Path, typed: int, refused_value: str = "<v>100</v>") -> Path:
        rows = (
            f'<row r="1"><c r="A1"><v>{typed}</v></c><c r="B1"><f>TWICE_OF(A1)</f><v>2</v></c>'
            f'<c r="C1"><f>B1+SUM(NOT_KNOWN(1),98)</f>{refused_value}</c><c r="D1"><f>TWICE_OF(C1)</f><v>7</v></c>'
            '<c r="E1"><f>D1+1</f><v>8</v></c><c r="F1"><f>B1+1</f><v>0</v></c></row>'
        )
        return by_hand(tmp_path / "book.xlsx", {"Plan": rows})

    def test_it_is_evaluated_with_a_stored_value_that_holds(self, tmp_path: Path) -> None:
        path = self.book(tmp_path, typed=1)
        result = recalculate(path, functions=FUNCTIONS)
        assert [cell.cell for cell in result.refused] == ["C1"]
        assert read_values(path)["Plan"] == {"A1": 1, "B1": 2, "C1": 100, "D1": 200, "E1": 201, "F1": 3}

    def test_it_is_refused_where_the_value_holds_no_longer(self, tmp_path: Path) -> None:
        path = self.book(tmp_path, typed=5)
        result = recalculate(path, functions=FUNCTIONS)
        assert {cell.cell: cell.why for cell in result.refused} == {
            "C1": "calls NOT_KNOWN, which this recalculation does not know",
            "D1": "depends on Plan!C1, which is not recalculated",
            "E1": "depends on Plan!C1, which is not recalculated",
        }
        assert read_values(path)["Plan"] == {"A1": 5, "B1": 10, "C1": 100, "D1": 7, "E1": 8, "F1": 11}

    def test_it_is_refused_where_there_is_no_value(self, tmp_path: Path) -> None:
        path = self.book(tmp_path, typed=1, refused_value="")
        result = recalculate(path, functions=FUNCTIONS)
        assert [cell.cell for cell in result.refused] == ["C1", "D1", "E1"]
        assert read_values(path)["Plan"] == {"A1": 1, "B1": 2, "D1": 7, "E1": 8, "F1": 3}


def test_a_circle_is_named_by_one_of_its_cells(tmp_path: Path) -> None:
    cells = {"A1": "=B1", "B1": "=SUM(C1:C2)", "C2": "=D9+1", "D9": "=TWICE_OF(B1)", "A2": "=A1"}
    line = refusal(simple(tmp_path / "book.xlsx", cells))
    assert any(f"Plan!{cell} depends on itself" in line for cell in ("B1", "C2", "D9"))


def test_a_workbook_that_wants_its_circles_has_them(tmp_path: Path) -> None:
    rows = '<row r="1"><c r="A1"><f>(A1+10)/2</f></c><c r="B1"><f>TWICE_OF(2)</f></c></row>'
    settings = '<calcPr iterate="1" iterateCount="200" iterateDelta="1E-9"/>'
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows}, names=settings)
    recalculate(path, functions=FUNCTIONS)
    assert read_values(path)["Plan"]["A1"] == pytest.approx(10)
    assert read_values(path)["Plan"]["B1"] == 4


def test_a_user_s_own_unknown_name_may_stay_one(tmp_path: Path) -> None:
    rows = (
        '<row r="1"><c r="A1" t="e"><f>NOBODY_KNOWS(1)</f><v>#NAME?</v></c>'
        '<c r="B1" t="e"><f>no_such_name</f><v>#NAME?</v></c><c r="C1"><f>TWICE_OF(3)</f><v>0</v></c></row>'
    )
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows})
    result = recalculate(path, functions=FUNCTIONS)
    assert read_values(path)["Plan"] == {"A1": "#NAME?", "B1": "#NAME?", "C1": 6}
    assert result.errors == 2


def test_a_name_of_ours_that_an_office_did_not_know_is_answered(tmp_path: Path) -> None:
    rows = (
        '<row r="1"><c r="A1" t="e"><f>TWICE_OF(3)</f><v>#NAME?</v></c>'
        '<c r="B1" t="e"><f>A1+1</f><v>#NAME?</v></c></row>'
    )
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows})
    recalculate(path, functions=FUNCTIONS)
    assert read_values(path)["Plan"] == {"A1": 6, "B1": 7}


def test_a_function_of_ours_next_to_an_unknown_name_is_refused_even_so(tmp_path: Path) -> None:
    rows = '<row r="1"><c r="A1" t="e"><f>TWICE_OF(no_such_name)</f><v>#NAME?</v></c></row>'
    assert "no_such_name" in refused_cell(by_hand(tmp_path / "book.xlsx", {"Plan": rows}))


def test_a_what_if_table(tmp_path: Path) -> None:
    rows = '<row r="1"><c r="A1"><f t="dataTable" ref="A1:A3" dt2D="0" dtr="0" r1="B1"/></c></row>'
    assert "Plan!A1 is a what-if table" in refused_cell(by_hand(tmp_path / "book.xlsx", {"Plan": rows}))


@pytest.mark.parametrize(
    ("area", "more", "wanted"),
    [
        ("A1:A2", "", "Plan!A1 has an answer for A1:A3, but fills A1:A2 in the file"),
        ("A1", "", "Plan!A1 has an answer for A1:A3, but fills A1 in the file"),
        ("A1", '<row r="2"><c r="A2"><v>5</v></c></row>', "Plan!A1 has an answer of several cells and no room"),
        ("A1:A4", '<row r="3"><c r="A3"><f>1+1</f></c></row>', "Plan!A1 fills A1:A4, but A3 holds another formula"),
        ("A1:XFD1048576", "", "wanted at most"),
    ],
)
def test_an_array_that_does_not_fit(tmp_path: Path, area: str, more: str, wanted: str) -> None:
    rows = f'<row r="1"><c r="A1" cm="1"><f t="array" ref="{area}">SUMS_SO_FAR({{1;2;3}})</f><v>0</v></c></row>{more}'
    assert wanted in refusal(by_hand(tmp_path / "book.xlsx", {"Plan": rows}))


def test_array_formulas_are_held_to_whole_ranges(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "Plan"
    book.active["B2"] = ArrayFormula("B2:B4", "=EDATE(A1:A3,1)")
    book.save(tmp_path / "book.xlsx")
    assert "Plan!B2 gives EDATE several cells" in refused_cell(tmp_path / "book.xlsx")


def test_a_mistake_of_ours_is_no_value(tmp_path: Path) -> None:
    path = simple(tmp_path / "book.xlsx", {"A1": "=IFERROR(FAILS_ON(13),0)", "A2": "=TWICE_OF(1)"})
    before = path.read_bytes()
    with pytest.raises(ZeroDivisionError, match="a mistake"):
        recalculate(path, functions=FUNCTIONS)
    assert path.read_bytes() == before


def test_ctrl_c_stops_it(tmp_path: Path) -> None:
    path = simple(tmp_path / "book.xlsx", {f"A{row}": f"=TWICE_OF({row})" for row in range(1, 400)})
    before = path.read_bytes()

    def press(done: int, total: int) -> None:
        if done > 100:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        recalculate(path, functions=FUNCTIONS, progress=press)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]
