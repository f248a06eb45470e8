"""What is written: cells that have to do with functions of ours, and none of the user's own."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName

from sheetfuncs.recalc import recalculate
from sheetfuncs.recalc.formulas import Template
from sheetfuncs.xlsx import read_values

from .books import by_hand, raw_entries, simple
from .functions import FUNCTIONS


def values(path: Path) -> dict[str, object]:
    """Return the stored values of the first sheet."""
    return next(iter(read_values(path).values()))


#: A grower's own formulas with the values that an office program gave them; the engine would write other ones.
OWN = {
    "E1": ("SUMPRODUCT(ROW(C2:C5)*C2:C5)", "96"),
    "E2": ("SUMPRODUCT(MAX((C2:C5&gt;0)*ROW(C2:C5)))", "5"),
    "E3": ("WORKDAY(DATE(2026,6,5),1,DATE(2026,6,8))", "46182"),
    "E4": ("NETWORKDAYS(DATE(2026,6,5),DATE(2026,6,15),DATE(2026,6,8))", "6"),
    "E5": ('COUNTIF(D2:D5,"&gt;=50%")', "3"),
    "E6": ('IF(0.1+0.2=0.3,"same","not")', "same"),
    "E7": ('1.1*3&amp;" kg"', "3.3 kg"),
    "E8": ('UPPER("früh")', "FRÜH"),
    "E9": ('SEARCH("Ü","früh")', "3"),
    "E10": ("CEILING(-2.5,-1)", "-3"),
    "E11": ("FLOOR(-2.5,-1)", "-2"),
    "E12": ('TEXT(1234567,"0.00E+00")', "1.23E+06"),
    "E13": ('TEXT(1234,"00-00")', "12-34"),
    "E14": ('IF("é"="É","same","not")', "same"),
    "E15": ('COUNTIF(B2:B5,"#N/A")', "0"),
    "E16": ("SUM(C2:C5)", "24"),
}
ARRAY = '<f t="array" ref="E17">INDEX(A2:A5,SMALL(IF(B2:B5="late",ROW(B2:B5)-1),2))</f><v>P-03</v>'


def own_book(path: Path) -> Path:
    """Write the book of 17 formulas beside one of ours that has nothing to do with them."""
    rows = ""
    data = (("P-01", "late", 3, 0.5), ("P-02", "early", 6, 0.8), ("P-03", "late", 9, 0.25), ("P-04", "late", 6, 1))
    for row in range(1, 18):
        cells = ""
        if 2 <= row <= 5:
            for letter, value in zip("ABCD", data[row - 2]):
                kind = ' t="str"' if isinstance(value, str) else ""
                cells += f'<c r="{letter}{row}"{kind}><v>{value}</v></c>'
        if f"E{row}" in OWN:
            formula, value = OWN[f"E{row}"]
            kind = "" if value.lstrip("-").isdigit() else ' t="str"'
            cells += f'<c r="E{row}"{kind}><f>{formula}</f><v>{value}</v></c>'
        else:
            cells += f'<c r="E17" t="str">{ARRAY}</c>'
        if row == 1:
            cells += '<c r="G1"><f>TWICE_OF(21)</f><v>0</v></c>'
        rows += f'<row r="{row}">{cells}</row>'
    return by_hand(path, {"Plan": rows})


def test_a_grower_s_own_formulas_keep_their_values(tmp_path: Path) -> None:
    path = own_book(tmp_path / "own.xlsx")
    before = values(path)
    result = recalculate(path, functions=FUNCTIONS)
    assert values(path) == {**before, "G1": 42}
    assert (result.formulas, result.recalculated, result.refused) == (18, 1, ())
    assert [change.cell for change in result.changed] == ["G1"]


def test_without_a_function_of_ours_the_file_is_the_same_byte_for_byte(tmp_path: Path) -> None:
    path = own_book(tmp_path / "own.xlsx")
    rows = read_values(path)
    plain = by_hand(tmp_path / "plain.xlsx", {"Plan": '<row r="1"><c r="A1"><f>1+1</f><v>7</v></c></row>'})
    before = plain.read_bytes()
    assert recalculate(plain, functions=FUNCTIONS).recalculated == 0
    assert plain.read_bytes() == before
    assert rows  # the other book is read as it was written


def test_what_hangs_on_ours_feeds_ours_or_has_no_value_is_written(tmp_path: Path) -> None:
    rows = (
        '<row r="1"><c r="A1"><v>5</v></c><c r="B1"><f>A1+1</f><v>0</v></c><c r="C1"><f>TWICE_OF(B1)</f><v>0</v></c>'
        '<c r="D1"><f>C1+1</f><v>0</v></c><c r="E1"><f>SUM(A1:D1)</f><v>0</v></c><c r="F1"><f>A1*2</f><v>0</v></c>'
        '<c r="G1"><f>A1*3</f></c><c r="H1"><f>SUM($C:$C)</f><v>0</v></c><c r="I1"><f>G1+1</f><v>0</v></c></row>'
    )
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows})
    result = recalculate(path, functions=FUNCTIONS)
    found = values(path)
    assert [found[f"{letter}1"] for letter in "BCDEGH"] == [6, 12, 13, 36, 15, 12]
    assert (found["F1"], found["I1"]) == (0, 0)
    assert (result.formulas, result.recalculated) == (8, 6)


def test_names_lead_from_cell_to_cell_too(tmp_path: Path) -> None:
    rows = (
        '<row r="1"><c r="A1"><v>5</v></c><c r="B1"><f>TWICE_OF(A1)</f><v>0</v></c>'
        '<c r="C1"><f>doubled+1</f><v>0</v></c><c r="D1"><f>ours_in_it</f><v>0</v></c>'
        '<c r="E1"><f>around+1</f><v>0</v></c></row>'
    )
    names = (
        "<definedNames><definedName name=\"doubled\">Plan!$B$1</definedName>"
        "<definedName name=\"ours_in_it\">TWICE_OF(Plan!$A$1)+doubled</definedName>"
        "<definedName name=\"around\">ours_in_it*2</definedName></definedNames>"
    )  # fmt: skip
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows}, names=names)
    recalculate(path, functions=FUNCTIONS)
    assert [values(path)[f"{letter}1"] for letter in "BCDE"] == [10, 11, 20, 41]


def test_a_name_of_one_sheet_is_that_sheet_s(tmp_path: Path) -> None:
    path = simple(tmp_path / "book.xlsx", {"A1": "=heat", "A2": "=Other!heat", "A3": "=everywhere"})
    book = openpyxl.load_workbook(path)
    first, other = book.active, book.create_sheet("Other")
    other["A1"] = "=heat"
    first.defined_names["heat"] = DefinedName("heat", attr_text="TWICE_OF(1)")
    other.defined_names["heat"] = DefinedName("heat", attr_text="TWICE_OF(50)")
    book.defined_names["heat"] = DefinedName("heat", attr_text="TWICE_OF(7)")
    book.defined_names["everywhere"] = DefinedName("everywhere", attr_text="TWICE_OF(3)")
    third = book.create_sheet("Third")
    third["A1"] = "=heat"
    book.save(path)
    refused = recalculate(path, functions=FUNCTIONS).refused
    found = read_values(path)
    assert (found[first.title]["A1"], found[first.title]["A3"]) == (2, 6)
    assert [(one.cell, one.why) for one in refused] == [("A2", "uses the name heat through a sheet")]
    assert (found[other.title]["A1"], found["Third"]["A1"]) == (100, 14)


def test_a_shared_formula_is_written_where_it_hangs_on_ours_alone(tmp_path: Path) -> None:
    rows = (
        '<row r="1"><c r="A1"><f>TWICE_OF(1)</f><v>0</v></c>'
        '<c r="B1"><f t="shared" ref="B1:B3" si="0">A1+$D$1</f><v>9</v></c></row>'
        '<row r="2"><c r="A2"><v>4</v></c><c r="B2"><f t="shared" si="0"/><v>9</v></c></row>'
        '<row r="3"><c r="A3"><f>TWICE_OF(3)</f><v>0</v></c><c r="B3"><f t="shared" si="0"/><v>9</v></c></row>'
    )
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows})
    recalculate(path, out := tmp_path / "out.xlsx", functions=FUNCTIONS)
    assert [values(out)[f"B{row}"] for row in (1, 2, 3)] == [2, 9, 6]
    old, new = raw_entries(path), raw_entries(out)
    assert {name for name in old if old[name] != new[name]} == {"xl/worksheets/sheet1.xml"}


def test_a_left_cell_that_is_still_right_serves_those_that_use_it(tmp_path: Path) -> None:
    """It is left for what the engine does, its value is the office program's, and nothing that it uses changes."""
    rows = (
        '<row r="1"><c r="A1"><f>SUMPRODUCT(ROW(C2:C5)*1)</f><v>14</v></c>'
        '<c r="B1"><f>TWICE_OF(A1)</f><v>0</v></c></row>'
        '<row r="2"><c r="A2"><f>SUMPRODUCT(ROW(C2:C5)*B1)</f><v>392</v></c>'
        '<c r="B2"><f>TWICE_OF(A2)</f><v>0</v></c></row>'
    )
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows})
    result = recalculate(path, functions=FUNCTIONS)
    assert values(path) == {"A1": 14, "B1": 28, "A2": 392, "B2": 0}
    assert [f"{one.cell} {one.why}" for one in result.refused] == [
        "A1 gives ROW several cells at once", "A2 gives ROW several cells at once",
        "B2 depends on Plan!A2, which is not recalculated",
    ]  # fmt: skip


@pytest.mark.parametrize("formula", ["OFFSET(A1,0,1)", 'INDIRECT("B"&amp;1)'])
def test_what_can_refer_to_any_cell_hangs_on_ours(tmp_path: Path, formula: str) -> None:
    rows = f'<row r="1"><c r="B1"><f>TWICE_OF(4)</f><v>0</v></c><c r="C1"><f>{formula}</f><v>0</v></c></row>'
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows})
    recalculate(path, functions=FUNCTIONS)
    assert values(path) == {"B1": 8, "C1": 8}


def template(formula: str) -> Template:
    return Template.of_text(formula, 1, 1)


def test_references_without_dollars_go_along_and_round_the_edges() -> None:
    assert template("A1+$B$2&Data!C$3:$D4").at(3, 2) == "B3+$B$2&Data!D$3:$D6"
    assert template('SUM(A:B,2:3)&"A1{0}"&LOG10(C1)').at(2, 2) == 'SUM(B:C,3:4)&"A1{0}"&LOG10(D2)'
    at_the_end = template("$K1048576")
    assert (at_the_end.stays_on_sheet(1, 17), at_the_end.stays_on_sheet(3, 17)) == (True, False)
    assert at_the_end.at(3, 17) == "$K2"
