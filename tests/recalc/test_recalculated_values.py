"""Values in and out of a recalculated file, ranges, arrays, climates, progress."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format
from openpyxl.workbook.defined_name import DefinedName

from sheetfuncs.cells.climates import CLIMATES
from sheetfuncs.cells.errors import CellFault
from sheetfuncs.functions import all_functions
from sheetfuncs.recalc import ChangedCell, recalculate
from sheetfuncs.xlsx.workbook import _DATE_FORMATS, _shows_date

from .books import (
    MAIN,
    OFFICE,
    PACKAGE,
    by_hand,
    by_xlsxwriter,
    simple,
)
from .functions import FUNCTIONS
from .test_recalculate import answer, done, values


class TestValuesInAndOut:
    @pytest.mark.parametrize(
        ("formula", "wanted"),
        [
            ("=TWICE_OF(1/0)", "Check: value is an error (#DIV/0!), wanted a number"),
            ("=TWICE_OF(NA())", "Check: value is an error (#N/A), wanted a number"),
            ("=TWICE_OF(TRUE)", "Check: value is TRUE, wanted a number"),
            ("=TWICE_OF(1,2)", "Check: TWICE_OF takes 1 arguments, not 2"),
            ("=ENDLESS(1)", "#NUM!"),
            ("=TWICE_OF(1)" + "+0.5" * 200, 102.0),  # as long a row of terms as a person writes
            ("=TWICE_OF(1)" + "-0.5" * 200 + "+1-(3-TWICE_OF(1))", -98.0),
            ("=ENDLESS(0)", "#NUM!"),
            ('=ABOVE_ZERO(0)&"x"', "x"),
            ("=COUNT(ABOVE_ZERO(0))", 0),
            ("=HOW_MANY(A1:A9)", 2),
            ("=HOW_MANY((A1:A9))", 2),
            ("=INDEX(MULTIPLES_OF(2),1,3)", 6),
            ("=SUM(MULTIPLES_OF(2))", 12),
            ("=MULTIPLES_OF(2)", 2),  # entered into one cell, so the first
            ("=FAILS_ON(14)", "Check: value is 14, wanted another number"),
            ('=IFERROR(0+TWICE_OF(B1),"no")', "no"),
            ('=IF(ISNUMBER(TWICE_OF(2)),"yes","no")', "yes"),
            ("=TWICE_OF(0.1)+TWICE_OF(0.2)", 0.6000000000000001),
            ("=1E+20*TWICE_OF(1)", 2e20),
            ("=TWICE_OF(1)/1E+20", 2e-20),
        ],
    )
    def test_answers(self, tmp_path: Path, formula: str, wanted: object) -> None:
        assert answer(tmp_path, formula, A1=1, A3=5, B1="text") == wanted

    def test_dates_change_as_dates(self, tmp_path: Path) -> None:
        path = by_xlsxwriter(tmp_path / "book.xlsx", is_1904=True)
        change = next(change for change in done(path).changed if change.cell == "C2")
        assert (change.sheet, change.before, change.after) == ("Plan", 0.0, date(2026, 7, 2))

    def test_errors_change_as_errors(self, tmp_path: Path) -> None:
        path = simple(tmp_path / "book.xlsx", {"A1": "=1/0"})
        assert done(path).changed == (ChangedCell("Plan", "A1", None, CellFault("#DIV/0!")),)

    def test_a_change_moves_what_hangs_on_it(self, tmp_path: Path) -> None:
        path = simple(tmp_path / "book.xlsx", {"A1": 4, "B1": "=TWICE_OF(A1)", "C1": "=B1+1", "D1": "=5"})
        done(path)
        book = openpyxl.load_workbook(path)
        book["Plan"]["A1"] = 10
        book.save(path)
        done(path)
        assert values(path) == {"A1": 10, "B1": 20, "C1": 21, "D1": 5}

    def test_functions_of_the_office(self, tmp_path: Path) -> None:
        cells = {
            "A1": "b", "A2": "a", "A3": "c", "B1": 10, "B2": 20, "B3": 30, "C1": date(2026, 7, 1),
            "D1": "=SUM(B1:B3)", "D2": '=IF(B1>5,"yes","no")', "D3": '=VLOOKUP("a",A1:B3,2,FALSE)',
            "D4": '=INDEX(B1:B3,MATCH("c",A1:A3,0))', "D5": '=COUNTIF(B1:B3,">15")', "D6": '=TEXT(C1,"d.m.yyyy")',
            "D7": '=SUMIFS(B1:B3,A1:A3,"<>a",B1:B3,">=10")', "D8": "=SUMPRODUCT((B1:B3>10)*B1:B3)",
            "D9": "=ROUND(AVERAGE(B1:B3)/7,2)", "D10": '=LEFT("abc",2)&UPPER("d")', "D11": "=EDATE(C1,2)-C1",
            "D12": '=XLOOKUP("c",A1:A3,B1:B3)', "D13": "=MAX(B:B)-MIN(B1:B3)",
            "D14": '=IFERROR(MATCH("z",A1:A3,0),"none")',
        }  # fmt: skip
        path = simple(tmp_path / "office.xlsx", cells)
        done(path)
        found = values(path)
        wanted = [60, "yes", 20, 30, 2, "1.7.2026", 40, 50, 2.86, "abD", 62, 30, 20, "none"]
        assert [found[f"D{row}"] for row in range(1, 15)] == wanted


class TestRangesThatStandForOneCell:
    """A formula that is no array formula takes, of a range, its cell in the formula's own line."""

    @pytest.mark.parametrize(
        ("formula", "wanted"),
        [
            ("=A:A", 30),
            ("=$A$1:$A$9*2", 60),
            ("=VLOOKUP(A:A,A1:B9,2,FALSE)", "c"),
            ("=LEN(B1:B9)", 1),
            ('=IF(A1:A9>20,"big","small")', "big"),
            ("=SUM(IF(A1:A9>20,1,0))", 1),
            ("=SUM(A1:A2)", 30),
            ("=SUM(IF(TRUE,A1:A3,B1:B3))", 60),
            ("=A1:A2", "#VALUE!"),
            ("=ABS(Numbers)*2", 60),
        ],
    )
    def test_in_row_three(self, tmp_path: Path, formula: str, wanted: object) -> None:
        path = simple(
            tmp_path / "own.xlsx", {"A1": 10, "A2": 20, "A3": 30, "B1": "a", "B2": "b", "B3": "c", "D3": formula}
        )
        book = openpyxl.load_workbook(path)
        book.defined_names["Numbers"] = DefinedName("Numbers", attr_text="Plan!$A$1:$A$9")
        book.save(path)
        done(path)
        assert values(path)["D3"] == wanted


class TestArraysOverSeveralCells:
    def rows(self, attributes: str, formula: str, area: str, cells: str) -> str:
        return (
            f'<row r="1" spans="1:3"><c r="A1"{attributes}><f t="array" ref="{area}">{formula}</f><v>9</v></c>'
            f'<c r="C1"><v>7</v></c></row>{cells}'
        )

    def test_cells_come_where_there_are_none(self, tmp_path: Path) -> None:
        rows = self.rows("", "MULTIPLES_OF({1;2;3;4})", "A1:B4", '<row r="2"/><row r="4"><c r="D4"><v>5</v></c></row>')
        path = by_hand(tmp_path / "array.xlsx", {"Plan": rows})
        done(path)
        found = values(path)
        assert [found[f"A{row}"] for row in range(1, 5)] == [1, 2, 3, 4]
        assert [found[f"B{row}"] for row in range(1, 5)] == [2, 4, 6, 8]
        assert (found["C1"], found["D4"]) == (7, 5)
        assert done(path).changed == ()

    def test_a_dynamic_array_that_shrinks_clears_its_cells(self, tmp_path: Path) -> None:
        cells = "".join(f'<row r="{row}"><c r="A{row}" s="0" t="str"><v>old</v></c></row>' for row in (2, 3, 4))
        rows = self.rows(' cm="1"', "SUMS_SO_FAR(C1:C2)", "A1:A4", cells)
        path = by_hand(tmp_path / "array.xlsx", {"Plan": rows})
        result = done(path)
        found = values(path)
        assert found["A1"] == 7
        assert [found.get(f"A{row}") for row in (2, 3, 4)] == [None] * 3
        assert {change.cell: change.after for change in result.changed} == {"A1": 7, "A2": None, "A3": None, "A4": None}

    def test_a_legacy_array_is_padded(self, tmp_path: Path) -> None:
        rows = self.rows("", "SUMS_SO_FAR(C1:C1)", "A1:B3", '<row r="2"><c r="A2"><v>1</v></c></row>')
        path = by_hand(tmp_path / "array.xlsx", {"Plan": rows})
        done(path)
        found = values(path)
        assert [found[name] for name in ("A1", "B1", "A2", "B3")] == [7, 7, 7, 7]

    def test_what_hangs_on_a_filled_cell(self, tmp_path: Path) -> None:
        rows = self.rows(
            "", "SUMS_SO_FAR({1;2;3})", "A1:A3", '<row r="2"><c r="A2"><v>50</v></c><c r="C2"><f>A2*10</f></c></row>'
        )
        path = by_hand(tmp_path / "array.xlsx", {"Plan": rows})
        done(path)
        assert (values(path)["A2"], values(path)["C2"], values(path)["A3"]) == (3, 30, 6)


class TestOtherWorkbooks:
    def test_what_was_last_seen_of_them_counts(self, tmp_path: Path) -> None:
        link = (
            f'<externalLink xmlns="{MAIN}"><externalBook xmlns:r="{OFFICE}" r:id="x"><sheetNames>'
            '<sheetName val="Other"/></sheetNames>'
            '<sheetDataSet><sheetData sheetId="0"><row r="1"><cell r="A1"><v>21</v></cell></row></sheetData>'
            "</sheetDataSet></externalBook></externalLink>"
        )
        path = by_hand(
            tmp_path / "links.xlsx",
            {"Plan": '<row r="1"><c r="A1"><f>TWICE_OF([1]Other!A1)</f><v>1</v></c></row>'},
            outer='<externalReferences><externalReference r:id="e"/></externalReferences>',
            extra={
                "xl/externalLinks/externalLink1.xml": link,
                "xl/externalLinks/_rels/externalLink1.xml.rels": (
                    f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="x" '
                    f'Type="{OFFICE}/externalLinkPath" Target="other.xlsx" TargetMode="External"/></Relationships>'
                ),
                "links": f'<Relationship Id="e" Type="{OFFICE}/externalLink" '
                'Target="externalLinks/externalLink1.xml"/>',
            },
        )
        done(path)
        assert values(path)["A1"] == 42


class TestClimates:
    def test_a_book_may_have_more_of_them_than_a_process_keeps(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(CLIMATES, "_room", 3)
        cells: dict[str, Any] = {}
        for month in range(1, 13):
            cells.update({f"A{month}": month, f"B{month}": month, f"C{month}": month + 10})
        cells["E1"] = "=CLIMATE_OF(A1:C12)"
        for row in range(1, 9):
            cells.update(
                {f"F{row}": f"=CLIMATE_AT($E$1,{row},0)", f"G{row}": f"=HEAT_UNITS_BETWEEN(F{row},46204,46210)"}
            )
        path = simple(tmp_path / "climates.xlsx", cells)
        result = recalculate(path, functions=all_functions())  # in this process, so that its climates can be counted
        assert result.checks == ()
        heat = [values(path)[f"G{row}"] for row in range(1, 9)]
        assert heat == sorted(set(heat))
        assert len(CLIMATES._things) == 3


class TestProgress:
    def test_goes_up_to_the_number_of_calls(self, tmp_path: Path) -> None:
        cells = {f"A{row}": f"=TWICE_OF({row})" for row in range(1, 301)}
        path = simple(tmp_path / "many.xlsx", {**cells, "B1": "=IF(TRUE,1,TWICE_OF(1))"})
        seen: list[tuple[int, int]] = []
        recalculate(path, functions=FUNCTIONS, progress=lambda *step: seen.append(step))
        assert seen == sorted(seen)
        assert seen[-1] == (301, 301)
        assert 50 < len(seen) < 150


def test_date_formats_are_known_as_another_reader_knows_them() -> None:
    assert {str(number) for number, text in BUILTIN_FORMATS.items() if is_date_format(text)} == set(_DATE_FORMATS)
    others = (
        "d. mmmm yyyy", "[$-409]d mmm yyyy", "[h]:mm:ss", "[mm]:ss", '0 "days"', '[Red][<2]0.00" kg";[Blue]0.0', "\\d0",
        "[$€-407] 0.00", "_(* #,##0.00_)", "0.0 °C", "General", "@", 'General;"h"', "[Color5]0",
    )  # fmt: skip
    for text in (*BUILTIN_FORMATS.values(), *others):
        assert _shows_date(text) == is_date_format(text), text
