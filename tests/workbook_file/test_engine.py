"""What is relied on in the engine: tests that fail when another release of it behaves in another way."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from sheetfuncs.hosts.workbook_file import read_values, recalculate
from sheetfuncs.hosts.workbook_file.engine import unknown_functions
from sheetfuncs.hosts.workbook_file.ranges import RANGE_PLACES

from .books import simple
from .functions import FUNCTIONS

_NUMBERS, _TEXTS = "A1:A5", "B1:B5"


def answers(tmp_path: Path, *formulas: str) -> list[Any]:
    cells: dict[str, Any] = {f"A{row}": value for row, value in enumerate((4, 8, 15, 16, 23), start=1)}
    cells.update({f"B{row}": value for row, value in enumerate(("d", "a", "c", "b", "a"), start=1)})
    cells.update({f"D{row}": f"={formula}" for row, formula in enumerate(formulas, start=1)})
    path = simple(tmp_path / "engine.xlsx", cells)
    recalculate(path, functions=FUNCTIONS)
    found = read_values(path)["Plan"]
    return [found.get(f"D{row}") for row in range(1, len(formulas) + 1)]


def test_it_knows_all_functions_that_are_listed_as_safe_with_ranges() -> None:
    assert unknown_functions(sorted(RANGE_PLACES)) == frozenset()


@pytest.mark.parametrize(
    ("formula", "wanted"),
    [
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
    ],
)  # fmt: skip
def test_ranges(tmp_path: Path, formula: str, wanted: Any) -> None:
    assert answers(tmp_path, formula) == [wanted]


def test_functions_of_single_values(tmp_path: Path) -> None:
    formulas = {
        "ROUND(2.5,0)": 3, "ROUND(-2.5,0)": -3, "MOD(-3,2)": 1, "INT(-1.5)": -2, "TEXT(0.256,\"0%\")": "26%",
        "TEXT(46204,\"dd/mm/yyyy\")": "01/07/2026", "TEXT(1234.5,\"#,##0.00\")": "1,234.50", "YEAR(46204)": 2026,
        "WEEKDAY(46204,2)": 3, "EOMONTH(46204,0)": 46234, "DATEDIF(46204,46234,\"d\")": 30, "LEFT(\"abc\",2)": "ab",
        "SUBSTITUTE(\"a-b-a\",\"a\",\"x\")": "x-b-x", "FIND(\"b\",\"abc\")": 2, "1&2": "12", "\"a\"=\"A\"": True,
        "2^-1": 0.5, "-2^2": 4, "50%": 0.5, "TRUE+1": 2, "IF(,1,2)": 2, "\"3\"*2": 6,
        "NORM.S.INV(0.9)": pytest.approx(1.2815515655),
        "ISNUMBER(\"3\")": False, "IFERROR(1/0,\"x\")": "x", "A9&\"\"": "", "A9=0": True, "ISBLANK(A9)": True, "A9": 0,
    }  # fmt: skip
    found = answers(tmp_path, *formulas)
    assert [value or ("" if wanted == "" else value) for value, wanted in zip(found, formulas.values())] == list(
        formulas.values()
    )
