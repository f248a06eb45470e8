"""Formula texts: tokens, calls, our functions' names, structured references."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfuncs.recalc.formulas import UnreadableFormulaError, tokens
from sheetfuncs.recalc.rename import renamed
from sheetfuncs.recalc.spelling import with_plain_calls
from sheetfuncs.recalc.tree import Node, Reader, written
from sheetfuncs.xlsx.references import Area
from sheetfuncs.xlsx.workbook import Table

OURS = {"CROP", "LATEST_DATE"}


def tree_of(formula: str) -> Node:
    """Return a formula of C3 as a tree."""
    return Reader({}, "Plan").read(formula, 3, 3)


def text_of(tree: Node) -> str:
    """Return a tree as it is written in C3."""
    return written(tree).at(3, 3)


class TestReading:
    @given(st.text(alphabet="AB1$:'\"!()[],.#& _xé{}%@\n", max_size=40))
    def test_any_text_can_be_read(self, text: str) -> None:
        try:
            assert "".join(piece.text for piece in tokens(text)) == text
            tree = tree_of(text)
        except UnreadableFormulaError:
            return
        renamed(text, OURS, "{}")
        assert tree_of(text_of(tree)) == tree

    @pytest.mark.parametrize(
        ("formula", "wanted"),
        [
            (
                "IF('My ''s'!$A$1<>\"a\"\"(\",#N/A,[1]S!A1+1.5E-3)",
                "IF('My ''s'!$A$1<>\"a\"\"(\",#N/A,'[1]S'!A1+0.0015)",
            ),
            ("(1+2)*3-(4-5)-6", "(1+2)*3-(4-5)-6"),
            ("((a&b)&c)&(d&e)", "a&b&c&(d&e)"),
            ("-(2^2)+(-2)^2", "-(2^2)+-2^2"),  # a sign before a number binds first
            ("(1+2)%*-(A1%)", "(1+2)%*-A1%"),
            ("(a=b)=c", "a=b=c"),
            ("a=(b=c)", "a=(b=c)"),
            ("SUM((A1:A2,B1))", "SUM((A1:A2,B1))"),
            ("A1:INDEX(B:B,2)", "A1:INDEX(B:B,2)"),
            ("XFD1+XFE1+A1048577", "XFD1+XFE1+A1048577"),
        ],
    )
    def test_brackets_are_written_where_they_are_needed(self, formula: str, wanted: str) -> None:
        assert text_of(tree_of(formula)) == wanted
        assert tree_of(wanted) == tree_of(formula)

    @pytest.mark.parametrize("formula", ["(" * 200 + "1" + ")" * 200, "+".join("1" * 400), "1+" * 40_000 + "1"])
    def test_what_is_too_deep_or_too_long_says_so(self, formula: str) -> None:
        with pytest.raises(UnreadableFormulaError, match="more than 72 brackets or 256 operations"):
            tree_of(formula)


class TestOurNames:
    @pytest.mark.parametrize(
        ("formula", "wanted"),
        [
            ("crop(1)+CROP(2)", "CROP(1)+CROP(2)"),
            ("SHEETFUNCS.CROP(1)", "CROP(1)"),
            ("sheetfuncs.latest_date(A1)", "LATEST_DATE(A1)"),
            ("[1]!CROP(1)", "CROP(1)"),
            ("'C:\\a (b)\\[x].xlam'!CROP(1)", "CROP(1)"),
            ("'C:\\it''s, ok.xlam'!CROP(1)", "CROP(1)"),
            ("x.xlam!CROP(1)*2", "CROP(1)*2"),
            ("_xll.CROP(1)", "CROP(1)"),
            ("_xlfn._xlws.CROP(1)", "CROP(1)"),
            ("IF(A1,[2]!_xll.CROP(B1),0)", "IF(A1,CROP(B1),0)"),
            ('"CROP("&CROP(1)', '"CROP("&CROP(1)'),
            ("'CROP('!A1+CROP(1)", "'CROP('!A1+CROP(1)"),
            ("MYCROP(1)+CROPS(2)+A.CROP(3)", "MYCROP(1)+CROPS(2)+A.CROP(3)"),
            ("CROP", "CROP"),
            ("_xlfn.XLOOKUP(1,A:A,B:B)", "_xlfn.XLOOKUP(1,A:A,B:B)"),
            ("Crop[Crop]", "Crop[Crop]"),
        ],
    )
    def test_become_plain(self, formula: str, wanted: str) -> None:
        assert (renamed(formula, OURS, "{}") or formula) == wanted

    def test_can_be_written_for_calc(self) -> None:
        formula = "IF(A1,crop(B1),[1]!Latest_Date(CROP(1)))"
        assert (
            renamed(formula, OURS, "SHEETFUNCS.{}")
            == "IF(A1,SHEETFUNCS.CROP(B1),SHEETFUNCS.LATEST_DATE(SHEETFUNCS.CROP(1)))"
        )

    @pytest.mark.parametrize(
        ("formula", "wanted"),
        [
            ("CROP(a,,c)", 'CROP(a,"",c)'),
            ("CROP(,,)", 'CROP("","","")'),
            ("CROP( , 1)", 'CROP("",1)'),
            ("CROP()", "CROP()"),
            ("CROP(IF(a,,b),)", 'CROP(IF(a,,b),"")'),
            ("CROP({1,2;3,4},,(1,2))", 'CROP({1, 2; 3, 4},"",(1,2))'),
            ("CROP(\",\",,'a,b'!A1)", 'CROP(",","",\'a,b\'!A1)'),
            ("IF(a,,CROP(1,))", 'IF(a,,CROP(1,""))'),
        ],
    )
    def test_arguments_left_out_become_blank(self, formula: str, wanted: str) -> None:
        assert text_of(with_plain_calls(tree_of(formula), OURS)) == wanted


class TestTables:
    TABLES = {  # noqa: RUF012
        "trees": Table("Trees", "It's", Area(2, 2, 6, 4), 1, 1, ("Kind", "Need [°C]", "It's #1")),
        "bare": Table("Bare", "Other", Area(1, 1, 3, 1), 0, 0, ("Column1",)),
    }

    def with_cells(self, formula: str, row: int) -> str:
        return written(Reader(self.TABLES, "It's").read(formula, row, 3)).at(row, 3)

    @pytest.mark.parametrize(
        ("formula", "wanted"),
        [
            ("Trees[Kind]", "'It''s'!$B$3:$B$5"),
            ("TREES[kind]", "'It''s'!$B$3:$B$5"),
            ("Trees", "'It''s'!$B$3:$D$5"),
            ("Trees[]", "'It''s'!$B$3:$D$5"),
            ("Trees[#All]", "'It''s'!$B$2:$D$6"),
            ("Trees[#Data]", "'It''s'!$B$3:$D$5"),
            ("Trees[#Headers]", "'It''s'!$B$2:$D$2"),
            ("Trees[#Totals]", "'It''s'!$B$6:$D$6"),
            ("Trees[[#Headers],[Kind]]", "'It''s'!$B$2"),
            ("Trees[[#Headers],[#Data],[Kind]]", "'It''s'!$B$2:$B$5"),
            ("Trees[[#All],[Kind]:[Need '[°C']]]", "'It''s'!$B$2:$C$6"),
            ("Trees[[Kind]:[It''s '#1]]", "'It''s'!$B$3:$D$5"),
            ("Trees[It''s '#1]", "'It''s'!$D$3:$D$5"),
            ("Trees[[#This Row],[Kind]]", "'It''s'!$B4"),
            ("Trees[[#This Row],[Kind]:[It''s '#1]]", "'It''s'!$B4:$D4"),
            ("Trees[@Kind]", "'It''s'!$B4"),
            ("Trees[@[Need '[°C']]]", "'It''s'!$C4"),
            ("[@Kind]&[@[Need '[°C']]]", "'It''s'!$B4&'It''s'!$C4"),
            ("[Kind]", "'It''s'!$B$3:$B$5"),
            ("[[#This Row],Kind]", "'It''s'!$B4"),
            ("Bare[Column1]", "'Other'!$A$1:$A$3"),
            ("Bare[#Headers]", "#REF!"),
            ("Bare[@Column1]", "#VALUE!"),
            ("SUM(Trees[Kind],Bare)*COUNT(Trees)", "SUM('It''s'!$B$3:$B$5,'Other'!$A$1:$A$3)*COUNT('It''s'!$B$3:$D$5)"),
            ('"Trees[Kind]"&Trees!A1&[1]Trees!A1', "\"Trees[Kind]\"&'Trees'!A1&'[1]Trees'!A1"),
            ("Trees(1)+'Trees'!B2+Treeses", "Trees(1)+'Trees'!B2+Treeses"),
        ],
    )
    def test_become_cells(self, formula: str, wanted: str) -> None:
        assert self.with_cells(formula, 4) == wanted

    @pytest.mark.parametrize("formula", ["Trees[Height]", "Unknown[Kind]"])
    def test_that_lead_nowhere(self, formula: str) -> None:
        with pytest.raises(UnreadableFormulaError):
            self.with_cells(formula, 4)

    def test_of_no_table_s_own(self) -> None:
        with pytest.raises(UnreadableFormulaError):
            self.with_cells("[@Kind]", 40)
