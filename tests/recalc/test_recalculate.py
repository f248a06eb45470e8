"""Recalculating whole files: the values are right, and nothing but values differs."""

from __future__ import annotations

import shutil
import zipfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from sheetfuncs.recalc import ChangedCell, CheckCell, Recalculated, recalculate
from sheetfuncs.xlsx import read_values

from .books import (
    MAIN,
    OFFICE,
    assert_only_values_differ,
    by_hand,
    by_openpyxl,
    by_xlsxwriter,
    raw_entries,
    simple,
)
from .functions import FUNCTIONS


def done(path: Path, out: Path | None = None) -> Recalculated:
    return recalculate(path, out, functions=FUNCTIONS)


def values(path: Path, sheet: str = "Plan") -> dict[str, Any]:
    return read_values(path)[sheet]


def answer(tmp_path: Path, formula: str, **cells: Any) -> Any:
    """Return what one formula in cell Z9 answers beside other cells."""
    path = simple(tmp_path / "one.xlsx", {"Z9": formula, **cells})
    done(path)
    return values(path).get("Z9")


class TestFilesOfOtherPrograms:
    def test_openpyxl(self, tmp_path: Path) -> None:
        path = by_openpyxl(tmp_path / "before.xlsx")
        out = tmp_path / "after.xlsx"
        result = done(path, out)
        trees, kinds = read_values(out).values()
        assert [trees[f"D{row}"] for row in range(2, 8)] == [2, 3, 4, 5, 6, 7]
        assert trees["E2"] == datetime(2026, 7, 5)
        assert [trees[f"F{row}"] for row in (2, 3, 4)] == ["über & <1>", "t3-über & <1>", 4]
        assert trees.get("F5", "") == ""
        assert trees["F6"] == 'Check: value is "t6", wanted a number'
        assert [trees[f"{column}1"] for column in "HIJ"] == [1.5, 3, 4.5]
        assert [trees[f"H{row}"] for row in range(3, 10)] == [1, 2.5, 4.5, 7, 10, 13.5, "#N/A"]
        assert [kinds[f"D{row}"] for row in range(1, 5)] == [900, 400, 3, 303]
        assert result.checks == (CheckCell("Bäume & 'Reihe' ß", "F6", 'Check: value is "t6", wanted a number'),)
        assert (result.path, result.formulas, result.ours, result.errors) == (out, 23, 18, 1)

    def test_openpyxl_s_other_parts_stay(self, tmp_path: Path) -> None:
        path = by_openpyxl(tmp_path / "before.xlsx")
        out = tmp_path / "after.xlsx"
        done(path, out)
        old, new = raw_entries(path), raw_entries(out)
        assert list(old) == list(new)
        # It leaves no cells for an array formula's other values, so the first sheet gets more than values.
        changed = {f"xl/worksheets/sheet{number}.xml" for number in (1, 2)}
        assert {name for name in old if old[name] != new[name]} == changed
        done(out, tmp_path / "again.xlsx")
        assert (tmp_path / "again.xlsx").read_bytes() == out.read_bytes()

    @pytest.mark.parametrize("is_1904", [False, True])
    def test_xlsxwriter(self, tmp_path: Path, is_1904: bool) -> None:
        path = by_xlsxwriter(tmp_path / "before.xlsx", is_1904)
        out = tmp_path / "after.xlsx"
        done(path, out)
        book = read_values(out)
        plan, tables = book["Plan"], book["The 'kinds' we grow"]
        assert [plan[f"C{row}"] for row in range(2, 7)] == [datetime(2026, 7, day) for day in range(2, 7)]
        assert [plan[f"D{row}"] for row in range(2, 7)] == [3, 6, 9, 12, 15]
        assert [plan[f"E{row}"] for row in range(2, 7)] == [
            True,
            "#N/A",
            "a 2026-07-01",
            date.today() > date(2026, 7, 1),
            1,
        ]
        for column, wanted in {
            "G": [0, 0, 0, 0, 0],  # the user's own, with the values that the file has
            "H": [1.5, 4.5, 9, 15, 22.5],
            "I": [1.5, 4.5, 9, 15, 22.5],
        }.items():
            assert [plan[f"{column}{row}"] for row in range(2, 7)] == wanted
        assert [tables[f"D{row}"] for row in (3, 4, 5)] == [2, 4, 6]
        assert (tables["F2"], tables["F3"], book["After"]["A1"]) == (12, 3, 15)

    @pytest.mark.parametrize("is_1904", [False, True])
    def test_nothing_but_values_differs(self, tmp_path: Path, is_1904: bool) -> None:
        path = by_xlsxwriter(tmp_path / "before.xlsx", is_1904)
        out = tmp_path / "after.xlsx"
        done(path, out)
        numbers = {1, 2, 3}  # worksheets; the chart sheet has a number of its own
        assert_only_values_differ(path, out, {f"xl/worksheets/sheet{number}.xml" for number in numbers})

    def test_a_second_time_changes_nothing(self, tmp_path: Path) -> None:
        path = by_xlsxwriter(tmp_path / "book.xlsx")
        done(path)
        first, moment = path.read_bytes(), path.stat().st_mtime_ns
        assert done(path).changed == ()
        assert path.read_bytes() == first
        assert path.stat().st_mtime_ns == moment

    def test_macros_stay(self, tmp_path: Path) -> None:
        plain = simple(tmp_path / "plain.xlsx", {"A1": "=TWICE_OF(2)"})
        path = tmp_path / "macros.xlsm"
        shutil.copy(plain, path)
        with zipfile.ZipFile(path, "a") as archive:
            archive.writestr("xl/vbaProject.bin", bytes(range(256)) * 9)
        out = tmp_path / "out.xlsm"
        done(path, out)
        assert_only_values_differ(path, out, {"xl/worksheets/sheet1.xml"})
        assert values(out)["A1"] == 4


class TestFormsOfXml:
    def test_shared_formulas(self, tmp_path: Path) -> None:
        rows = "".join(
            f'<row r="{row}"><c r="A{row}"><v>{row}</v></c><c r="B{row}" s="0">{formula}<v>99</v></c></row>'
            for row, formula in enumerate(
                ['<f t="shared" ref="B1:B3" si="0">[1]!twice_of(A1)+$A$3</f>', *['<f t="shared" si="0"/>'] * 2], start=1
            )
        )
        path = by_hand(tmp_path / "shared.xlsx", {"Plan": rows})
        out = tmp_path / "out.xlsx"
        done(path, out)
        assert [values(out)[f"B{row}"] for row in (1, 2, 3)] == [5, 7, 9]
        assert_only_values_differ(path, out, {"xl/worksheets/sheet1.xml"})

    @pytest.mark.parametrize("prefix", ["", "x:"])
    def test_prefixes_and_kinds_of_value(self, tmp_path: Path, prefix: str) -> None:
        rows = (
            '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>in &amp; line</t></is></c>'
            '<c r="C1" t="b"><v>1</v></c><c r="D1" t="e"><v>#DIV/0!</v></c><c r="E1" t="d"><v>2026-07-01</v></c></row>'
            '<row r="2"><c r="A2" t="s"><f>JOINED_BY(A1,B1)</f><v>0</v></c>'
            '<c r="B2" t="inlineStr"><f>B1</f><is><t>in &amp; line</t></is></c>'
            '<c r="C2" t="str"><f>C1</f><v>x</v></c><c r="D2"><f>D1</f></c><c r="H2"><f>HOW_MANY(A2:G2)</f></c>'
            '<c r="E2" t="n"><f>DAY_AFTER(E1)</f><v>1</v></c>'
            '<c r="F2"><f>D1</f><v/></c><c s="0" t = "str"  r="G2" ><f>1/4</f><v>x</v></c></row>'
        )
        if prefix:
            for tag in ("row", "c", "v", "f", "is", "t"):
                rows = rows.replace(f"<{tag}>", f"<{prefix}{tag}>").replace(f"</{tag}>", f"</{prefix}{tag}>")
                rows = rows.replace(f"<{tag} ", f"<{prefix}{tag} ").replace(f"<{tag}/>", f"<{prefix}{tag}/>")
        strings = ('<r><t>rich</t></r><r><t xml:space="preserve"> text</t></r><rPh sb="0" eb="1"><t>no</t></rPh>',)
        path = by_hand(tmp_path / "kinds.xlsx", {"Plan": rows}, strings, prefix=prefix)
        out = tmp_path / "out.xlsx"
        result = done(path, out)
        found = values(out)
        assert found["A2"] == "rich textin & line!"
        assert (found["B2"], found["C2"], found["D2"], found["E2"]) == ("in & line", True, "#DIV/0!", 46205)
        assert (found["F2"], found["G2"]) == ("#DIV/0!", 0.25)
        assert {change.cell for change in result.changed} == {"A2", "C2", "D2", "E2", "F2", "G2", "H2"}
        assert result.changed[0] == ChangedCell("Plan", "A2", "rich text", "rich textin & line!")

    def test_cells_and_rows_without_names(self, tmp_path: Path) -> None:
        rows = (
            "<row><c><v>1</v></c><c><f>TWICE_OF(A1)</f></c></row>"
            '<row r="3"><c r="B3"><v>5</v></c><c><f>B3+A1</f></c></row><row><c/><c><f>C3</f></c></row>'
        )
        path = by_hand(tmp_path / "bare.xlsx", {"Plan": rows})
        done(path)
        found = values(path)
        assert (found["B1"], found["C3"], found["B4"]) == (2, 6, 6)

    def test_letters_that_xml_cannot_hold(self, tmp_path: Path) -> None:
        path = simple(tmp_path / "letters.xlsx", {"A1": '=CHAR(1)&"_x0041_"&CHAR(10)&"<&>"""', "A2": "=A1"})
        done(path)
        with zipfile.ZipFile(path) as archive:
            assert b'<v>_x0001__x005F_x0041_\n&lt;&amp;&gt;"</v>' in archive.read("xl/worksheets/sheet1.xml")
        assert done(path).changed == ()

    def test_strange_names_of_sheets(self, tmp_path: Path) -> None:
        name = "Été 'n & <Ω> 図"
        path = simple(tmp_path / "sheet.xlsx", {"A1": 4, "A2": "='Été ''n & <Ω> 図'!A1*2", "A3": "=TWICE_OF(A2)"}, name)
        done(path)
        assert values(path, name) == {"A1": 4, "A2": 8, "A3": 16}

    def test_a_byte_order_mark(self, tmp_path: Path) -> None:
        xml = (
            f'<?xml version="1.0" encoding="utf-8"?>\n<worksheet xmlns="{MAIN}"><sheetData><row r="1"><c r="A1">'
            "<f>TWICE_OF(4)</f></c></row></sheetData></worksheet>"
        )
        path = by_hand(
            tmp_path / "mark.xlsx", {"Plan": xml}, extra={"xl/worksheets/sheet1.xml": b"\xef\xbb\xbf" + xml.encode()}
        )
        done(path)
        assert values(path)["A1"] == 8

    def test_the_strict_form_of_the_standard(self, tmp_path: Path) -> None:
        """Office programs can save with other namespaces and with dates as texts."""
        rows = (
            '<row r="1"><c r="A1" t="d"><v>2026-07-01T00:00:00.000</v></c>'
            '<c r="B1"><f>DAY_AFTER(A1,2)</f><v>0</v></c></row>'
        )
        path = by_hand(tmp_path / "strict.xlsx", {"Plan": rows})
        with zipfile.ZipFile(path) as archive:
            parts = {name: archive.read(name) for name in archive.namelist()}
        with zipfile.ZipFile(path, "w") as archive:
            for name, content in parts.items():
                content = content.replace(MAIN.encode(), b"http://purl.oclc.org/ooxml/spreadsheetml/main")
                archive.writestr(
                    name, content.replace(OFFICE.encode(), b"http://purl.oclc.org/ooxml/officeDocument/relationships")
                )
        done(path)
        with zipfile.ZipFile(path) as archive:
            assert b"<v>46206</v>" in archive.read("xl/worksheets/sheet1.xml")


class TestNamesOfOurFunctions:
    @pytest.mark.parametrize(
        "formula",
        [
            "=twice_of(4)",
            "=SHEETFUNCS.TWICE_OF(4)",
            "=SheetFuncs.Twice_Of(4)",
            "=[1]!TWICE_OF(4)",
            "='C:\\my tools\\it''s.xlam'!TWICE_OF(4)",
            "=tools.xlam!TWICE_OF(4)",
            "=_xll.TWICE_OF(4)",
            "=_xlfn.TWICE_OF(4)",
            "=_xludf.TWICE_OF(4)",
            "=_xlfn.SHEETFUNCS.TWICE_OF(4)",
            "=SUM([1]!TWICE_OF(1),_xll.TWICE_OF(SHEETFUNCS.TWICE_OF(1)),2)",
        ],
    )
    def test_prefixes(self, tmp_path: Path, formula: str) -> None:
        assert answer(tmp_path, formula) == 8

    @pytest.mark.parametrize(
        ("formula", "wanted"),
        [
            ('=JOINED_BY("a",,"c")', "a-c"),
            ('=JOINED_BY("a","b",)', "ab!"),
            ('=JOINED_BY("a", ,"c")', "a-c"),
            ("=JOINED_BY(,2,3)", None),
            ("=JOINED_BY()", None),
            ('=JOINED_BY("a",A1)', "a-!"),
            ("=DAY_AFTER(46204)", 46205),
        ],
    )
    def test_arguments_left_out(self, tmp_path: Path, formula: str, wanted: object) -> None:
        assert (answer(tmp_path, formula) or None) == wanted

    def test_a_defined_name_may_hold_a_call(self, tmp_path: Path) -> None:
        names = (
            '<definedNames><definedName name="Eight">SHEETFUNCS.TWICE_OF(Plan!$A$1)</definedName>'
            '<definedName name="Sixteen">TWICE_OF(Eight)+0</definedName></definedNames>'
        )
        rows = '<row r="1"><c r="A1"><v>4</v></c><c r="B1"><f>Sixteen+1</f></c><c r="C1"><f>eight</f></c></row>'
        path = by_hand(tmp_path / "names.xlsx", {"Plan": rows}, names=names)
        done(path)
        assert (values(path)["B1"], values(path)["C1"]) == (17, 8)
