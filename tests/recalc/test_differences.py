"""Every formula of a long list, evaluated by the engine and by LibreOffice: the same, the office's own way, or refused.

``differences.csv`` holds what was decided for each, one by one. *same*: both say the same. *own way*: LibreOffice does
it otherwise than Excel is documented to (from memory), and we with Excel. *refused*: the cell keeps its stored value.
"""

from __future__ import annotations

import csv
import re
import subprocess
from datetime import date, datetime, time, timedelta
from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.formula import ArrayFormula

from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

HERE = Path(__file__).parent
LINES = list(csv.DictReader((HERE / "differences.csv").open(encoding="utf-8")))
_FIRST = 10
#: Functions that files mark as newer than the format.
_NEWER = re.compile(
    r"\b(?=(?:STDEV\.S|STDEV\.P|VAR\.P|RANK\.EQ|RANK\.AVG|PERCENTILE\.INC|PERCENTILE\.EXC|NORM\.DIST|NORM\.S\.INV|MAXIFS|"
    r"CEILING\.MATH|FLOOR\.MATH|MINIFS|XLOOKUP|XMATCH|UNICHAR|UNICODE|CONCAT|TEXTJOIN|NUMBERVALUE|ISOWEEKNUM|DAYS|IFNA|"
    r"IFS|SWITCH|XOR|AGGREGATE|ARABIC|BASE|SHEET)\()"
)
_DATA = (
    ("tag", "kind", "number", "day", "text", "truth", "share", "letters", "error", "blank", "rank"),
    ("P-01", "late", 12, date(2026, 6, 5), "12", True, 0.5, "Früh", "=NA()", None, 1),
    ("P-02", "early", 5.5, date(2026, 6, 15), "5.5", False, 0.8, "FRÜH", "=1/0", None, 2),
    ("P-03", "late", -3, date(2026, 7, 1), "abc", True, 0.25, "früh ", 1, None, 2),
    ("P-04", "middle", 20, date(2027, 1, 10), None, False, 1, "straße", 2, None, 3),
)

#: Common makings of a name: what it stands for, and a formula with it.
NAMES = {
    "same_row": ("Data!$C1", "same_row"),  # without $ it goes with the cell that uses it, from A1
    "row_below": ("Data!$K2", "row_below*2"),
    "one_cell": ("Data!$C$2", "one_cell*2"),
    "column_of": ("Data!$C$2:$C$5", "SUM(column_of)"),
    "as_long_as": ("OFFSET(Data!$C$2,0,0,COUNTA(Data!$C$2:$C$5),1)", "SUM(as_long_as)"),
    "up_to": ("Data!$C$2:INDEX(Data!$C$2:$C$5,3)", "SUM(up_to)"),
    "by_text": ('INDIRECT("Data!C2:C3")', "SUM(by_text)"),
    "constants": ("{1,2,3}", "SUM(constants)"),
    "a_number": ("0.8", "a_number*10"),
    "a_text": ('"late"', "COUNTIF(Data!$B$2:$B$5,a_text)"),
    "this_day": ("TODAY()", "this_day>DATE(2020,1,1)"),
    "twice": ("Data!$C$2:$C$5*2", "SUMPRODUCT(twice)"),
    "union_of": ("Data!$C$2:$C$3,Data!$C$5", "SUM(union_of)"),
    "shared_by": ("Data!$A$3:$C$3 Data!$C$2:$C$5", "shared_by"),
    "looked_up": ('VLOOKUP("P-02",Data!$A$2:$C$5,3,FALSE)', "looked_up+1"),
    "sum_of": ("SUM(Data!$C$2:$C$5)", "sum_of/2"),
    "of_a_name": ("sum_of*2", "of_a_name"),
    "whole_column": ("Data!$K:$K", "SUM(whole_column)"),
    "chosen": ("IF(Data!$F$2,Data!$C$2,Data!$C$3)", "chosen"),
}


def _as_written(formula: str) -> str:
    """Return a formula with the marks that files put before newer functions."""
    return "=" + _NEWER.sub("_xlfn.", formula)


def _book(path: Path, alone: bool) -> dict[str, dict[str, str]]:
    """Write a workbook with the formulas, and return by cell what was decided.

    alone : those that can refer to any cell, and would be left with every one that is; or all others, and the names.
    """
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Data"
    for row in _DATA:
        sheet.append(row)
    decided = {}
    for row, line in enumerate(LINES, start=_FIRST):
        can_be_anywhere = any(sign in line["formula"] for sign in ("INDIRECT(", "OFFSET(", ":INDEX("))
        if can_be_anywhere == alone:
            cell = f"{'M' if line['kind'] == 'one' else 'O'}{row}"
            text = _as_written(line["formula"])
            sheet[cell] = text if line["kind"] == "one" else ArrayFormula(cell, text)
            decided[cell] = line
    for row, (name, (stands_for, formula)) in enumerate(NAMES.items(), start=2):
        if alone == (name not in ("union_of", "shared_by")):
            book.defined_names[name] = DefinedName(name, attr_text=stands_for)
            sheet[f"Q{row}"] = "=" + formula
            what = f"{formula} with {name} = {stands_for}"
            decided[f"Q{row}"] = {"formula": what, "decided": "same" if alone else "refused"}
    book.save(path)
    return decided


@pytest.fixture(scope="module")
def by_the_office(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Path, dict, dict]]:
    """Return the two workbooks with what was decided and what LibreOffice says."""
    folder = tmp_path_factory.mktemp("differences")
    paths = {folder / "most.xlsx": False, folder / "anywhere.xlsx": True}
    books = [(path, _book(path, alone)) for path, alone in paths.items()]
    subprocess.run(
        ["soffice", f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to", "xlsx",
         "--outdir", str(folder / "office"), *(str(path) for path, _ in books)],
        check=True, capture_output=True, timeout=300,
    )  # fmt: skip
    return [(path, decided, read_values(folder / "office" / path.name)["Data"]) for path, decided in books]


def _plain(value: object) -> object:
    """Return a value as a number or a text, days and times as numbers; an empty text is as good as none."""
    if isinstance(value, datetime):
        return (value - datetime(1899, 12, 30)).total_seconds() / 86400
    if isinstance(value, (time, timedelta)):
        delta = value if isinstance(value, timedelta) else datetime.combine(date.min, value) - datetime.min
        return delta.total_seconds() / 86400
    return "" if value is None else value


def _same(one: object, other: object) -> bool:
    one, other = _plain(one), _plain(other)
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        return one == pytest.approx(other, rel=1e-9, abs=0)
    return one == other


@pytest.mark.office
def test_each_formula_is_the_same_the_office_s_own_way_or_refused(by_the_office) -> None:
    wrong = []
    for path, decided, office in by_the_office:
        left = {one.cell: one.why for one in recalculate(path).refused}
        ours = read_values(path)["Data"]
        for cell, line in decided.items():
            if cell in left:
                found = "refused"
                assert cell not in ours  # there was no value, and none is written
            else:
                found = "same" if _same(ours.get(cell), office.get(cell)) else "own way"
            if found not in line["decided"]:
                wrong.append((line["formula"], found, ours.get(cell), office.get(cell), left.get(cell)))
    assert wrong == []


def test_the_list_is_long_and_gives_a_reason_for_each_difference() -> None:
    kinds = [line["kind"] for line in LINES]
    assert kinds.count("one") >= 400
    assert kinds.count("array") >= 50
    assert all(line["why"] for line in LINES if line["decided"] != "same")
