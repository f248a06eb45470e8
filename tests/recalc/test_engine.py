"""What is relied on in the engine: tests that fail when another release of it behaves in another way."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import formualizer
import openpyxl
import pytest
from openpyxl.worksheet.formula import ArrayFormula

from sheetfuncs.recalc import engine, recalculate
from sheetfuncs.recalc.engine import unknown_functions
from sheetfuncs.recalc.ranges import ONE_BY_ONE, RANGE_ARGUMENTS
from sheetfuncs.recalc.tree import Reader, written
from sheetfuncs.xlsx import WorkbookFileError, read_values

from .books import by_hand, simple
from .functions import FUNCTIONS

_NUMBERS, _TEXTS = "A1:A5", "B1:B5"


def book_of(path: Path, *formulas: str) -> Path:
    """Save formulas in column D beside numbers and texts."""
    cells: dict[str, Any] = {f"A{row}": value for row, value in enumerate((4, 8, 15, 16, 23), start=1)}
    cells.update({f"B{row}": value for row, value in enumerate(("d", "a", "c", "b", "a"), start=1)})
    cells.update({f"D{row}": f"={formula}" for row, formula in enumerate(formulas, start=1)})
    return simple(path, cells)


def answers(tmp_path: Path, *formulas: str) -> list[Any]:
    path = book_of(tmp_path / "engine.xlsx", *formulas)
    recalculate(path, functions=FUNCTIONS)
    found = read_values(path)["Plan"]
    return [found.get(f"D{row}") for row in range(1, len(formulas) + 1)]


def test_it_knows_all_functions_that_are_listed_as_safe_with_ranges() -> None:
    assert unknown_functions(sorted({*RANGE_ARGUMENTS, *ONE_BY_ONE})) == frozenset()


OF_RANGES = [
    (f"SUM({_NUMBERS})", 66), (f"AVERAGE({_NUMBERS})", 13.2), (f"COUNT({_NUMBERS},{_TEXTS})", 5),
    (f"COUNTA({_TEXTS})", 5), (f"COUNTBLANK({_NUMBERS})", 0), (f"MIN({_NUMBERS})", 4), (f"MAX({_NUMBERS})", 23),
    (f"MEDIAN({_NUMBERS})", 15), (f"LARGE({_NUMBERS},2)", 16), (f"SMALL({_NUMBERS},2)", 8),
    (f"RANK(15,{_NUMBERS})", 3), (f"SUMPRODUCT({_NUMBERS},{_NUMBERS})", 1090),
    (f"SUMPRODUCT(({_TEXTS}=\"a\")*{_NUMBERS})", 31), (f"SUMPRODUCT(--({_NUMBERS}>10))", 3),
    (f"SUMIF({_TEXTS},\"a\",{_NUMBERS})", 31), (f"SUMIF({_NUMBERS},\">10\")", 54),
    (f"SUMIFS({_NUMBERS},{_TEXTS},\"a\",{_NUMBERS},\">10\")", 23), (f"COUNTIF({_TEXTS},\"<>a\")", 3),
    (f"COUNTIFS({_TEXTS},\"a\",{_NUMBERS},\">10\")", 1), (f"AVERAGEIF({_TEXTS},\"a\",{_NUMBERS})", 15.5),
    (f"MAXIFS({_NUMBERS},{_TEXTS},\"a\")", 23), (f"MATCH(15,{_NUMBERS},0)", 3), (f"MATCH(17,{_NUMBERS},1)", 4),
    (f"INDEX({_NUMBERS},4)", 16), ("INDEX(A1:B5,2,2)", "a"), ("VLOOKUP(16,A1:B5,2,FALSE)", "b"),
    (f"LOOKUP(17,{_NUMBERS},{_TEXTS})", "b"), (f"XLOOKUP(\"c\",{_TEXTS},{_NUMBERS})", 15),
    (f"TEXTJOIN(\"-\",TRUE,{_TEXTS})", "d-a-c-b-a"), (f"CONCAT({_TEXTS})", "dacba"),
    (f"ROWS({_NUMBERS})*COLUMNS(A1:C1)", 15), (f"AND({_NUMBERS}>3)", True), (f"OR({_NUMBERS}>30)", False),
    (f"STDEV({_NUMBERS})", pytest.approx(7.395944834840239)), (f"VAR.P({_NUMBERS})", pytest.approx(43.76)),
    (f"PERCENTILE({_NUMBERS},0.25)", 8), (f"QUARTILE({_NUMBERS},3)", 16), (f"SUBTOTAL(9,{_NUMBERS})", 66),
    ("SUM(OFFSET(A1,1,0,3))", 39), ("SUM(INDIRECT(\"A2:A3\"))", 23), (f"SUM(UNIQUE({_NUMBERS}))", 66),
    (f"SUM(FILTER({_NUMBERS},{_TEXTS}=\"a\"))", 31), (f"INDEX(SORT({_TEXTS}),1)", "a"),
    (f"SUM(TRANSPOSE({_NUMBERS}))", 66), (f"CORREL({_NUMBERS},{_NUMBERS})", pytest.approx(1)),
    (f"SLOPE({_NUMBERS},{_NUMBERS})", pytest.approx(1)), (f"CHOOSE(2,5,{_NUMBERS})+0", 4),
    ("NETWORKDAYS(46204,46234,A1:A5)", 23), ("SUMPRODUCT(IF(A1:A5>10,1,0))", 3), ("LET(x,A1*2,x+1)", 9),
]  # fmt: skip


@pytest.mark.parametrize(("formula", "wanted"), OF_RANGES)
def test_ranges(tmp_path: Path, formula: str, wanted: Any) -> None:
    assert answers(tmp_path, formula) == [wanted]


OF_EACH_CELL = [
    ("SUMPRODUCT(LEN(B1:B5))", 5), ("SUMPRODUCT((MONTH(A1:A5*9)>2)*A1:A5)", 62),
    ("SUMPRODUCT(--ISNUMBER(A1:B5))", 5),
    ("SUMPRODUCT(1/COUNTIF(B1:B5,B1:B5))", 4), ("SUMPRODUCT(--(LEFT(B1:B5,1)=\"a\"),A1:A5)", 31),
    ("SUMPRODUCT(--(LEN(TRIM(B1:B5&\" x\"))=3))", 5), ("SUM(SUMIF(B1:B5,{\"a\",\"b\"},A1:A5))", 47),
    ("SUMPRODUCT(--ISERROR(1/(A1:A5-4)))", 1), ("SUMPRODUCT(MOD(A1:A5,{2,3}))", 2 + 6),
    ("SUMPRODUCT(LARGE(A1:A5,{1,2}))", 39),
    ("SUMPRODUCT(ROUND(A1:A5/3,0)*(B1:B5<>\"d\"))", 3 + 5 + 5 + 8), ("SUMPRODUCT(SUMIF(B1:B5,B1:B5,A1:A5))", 97),
    ("SUMPRODUCT(--ISBLANK(A1:A9))", 4), ("SUMPRODUCT(TWICE_OF(LEN(B1:B5)))", 10), ("SUMPRODUCT(LEN(C1:C5))", 0),
    ("SUMPRODUCT((YEAR(A1:A5)=1900)*1)", 5), ("SUMPRODUCT(ISNA(MATCH(B1:B5,{\"a\",\"b\"},0))*1)", 2),
]  # fmt: skip


@pytest.mark.parametrize(("formula", "wanted"), OF_EACH_CELL)
def test_functions_of_single_values_are_applied_to_each_cell_of_a_range(
    tmp_path: Path, formula: str, wanted: Any
) -> None:
    (found,) = answers(tmp_path, formula)
    assert found == pytest.approx(wanted)


def test_each_cell_of_a_range_has_the_book_s_own_calendar(tmp_path: Path) -> None:
    rows = '<row r="1"><c r="A1"><v>0</v></c><c r="B1"><f>SUMPRODUCT(YEAR(A1:A2))</f></c></row>'
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows}, settings='<workbookPr date1904="1"/>')
    recalculate(path, functions=FUNCTIONS)
    assert read_values(path)["Plan"]["B1"] == 2 * 1904


def test_array_formulas_apply_functions_to_each_cell(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "Plan"
    for row, text in enumerate(("one", "three", None), start=1):
        book.active.cell(row, 1, text)
    book.active["B1"] = ArrayFormula("B1:B3", "=LEN(A1:A3)")
    book.active["C1"] = ArrayFormula("C1", "=MAX(LEN(UPPER(A1:A3)))")
    book.save(tmp_path / "book.xlsx")
    recalculate(tmp_path / "book.xlsx", functions=FUNCTIONS)
    found = read_values(tmp_path / "book.xlsx")["Plan"]
    assert [found[name] for name in ("B1", "B2", "B3", "C1")] == [3, 5, 0, 5]


def test_too_many_cells_one_by_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "MOST_EACH", 4)
    with pytest.raises(WorkbookFileError, match="LEN is given 5 cells one by one, wanted at most 4"):
        answers(tmp_path, "SUMPRODUCT(LEN(B1:B5))")


OF_SINGLE_VALUES = {
    "ROUND(2.5,0)": 3, "ROUND(-2.5,0)": -3, "MOD(-3,2)": 1, "INT(-1.5)": -2, "TEXT(0.256,\"0%\")": "26%",
    "TEXT(46204,\"dd/mm/yyyy\")": "01/07/2026", "TEXT(1234.5,\"#,##0.00\")": "1,234.50", "YEAR(46204)": 2026,
    "WEEKDAY(46204,2)": 3, "EOMONTH(46204,0)": 46234, "DATEDIF(46204,46234,\"d\")": 30, "LEFT(\"abc\",2)": "ab",
    "SUBSTITUTE(\"a-b-a\",\"a\",\"x\")": "x-b-x", "FIND(\"b\",\"abc\")": 2, "1&2": "12", "\"a\"=\"A\"": True,
    "2^-1": 0.5, "-2^2": 4, "50%": 0.5, "TRUE+1": 2, "IF(,1,2)": 2, "\"3\"*2": 6,
    "NORM.S.INV(0.9)": pytest.approx(1.2815515655),
    "ISNUMBER(\"3\")": False, "IFERROR(1/0,\"x\")": "x", "A9&\"\"": "", "A9=0": True, "ISBLANK(A9)": True, "A9": 0,
}  # fmt: skip


def test_functions_of_single_values(tmp_path: Path) -> None:
    found = answers(tmp_path, *OF_SINGLE_VALUES)
    assert [
        value or ("" if wanted == "" else value) for value, wanted in zip(found, OF_SINGLE_VALUES.values())
    ] == list(OF_SINGLE_VALUES.values())


def any_formula(chosen: random.Random, depth: int) -> str:
    """Return a formula, all of whose operations stand in brackets."""
    if depth == 0:
        return chosen.choice(["1", "2", "3", "0.5", "7", "A1", "$B1", "A$2", "Plan!B2", "SUM(A1:B2)", '"2"'])
    one, other = (any_formula(chosen, chosen.randrange(depth)) for _ in range(2))
    signs = "+-*/^&=<" if depth == 1 else "+-*/^"
    pair = f"({one}){chosen.choice(signs)}({other})"
    return chosen.choice([pair, pair, pair, f"-({one})", f"({one})%", f"IF({one},{other},)"])


def test_a_formula_means_the_same_once_it_is_read_and_written() -> None:
    chosen, reader = random.Random(7), Reader({}, "Plan")
    formulas = [any_formula(chosen, 4) for _ in range(1000)]
    book = formualizer.Workbook()
    book.add_sheet("Plan")
    book.set_values_batch("Plan", 1, 1, [[3.0, 4.0], [-2.0, 0.5]])
    for row, formula in enumerate(formulas, start=5):
        book.set_formula("Plan", row, 3, f"={formula}")
        book.set_formula("Plan", row, 4, f"={written(reader.read(formula, row, 3)).at(row, 3)}")
    book.evaluate_all()
    values = [[book.get_value("Plan", row, column) for row in range(5, 1005)] for column in (3, 4)]
    assert values[0] == values[1]
    assert sum(isinstance(value, float) for value in values[0]) > 700
