"""Defined names: what a formula makes of one is right or refused; an error never takes the place of a good value."""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import escape

import pytest

from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from .books import by_hand
from .functions import FUNCTIONS
from .test_left_alone import rows_of

_REFUSED = None
#: What a name stands for, a formula in D3 that uses it, its value; ``None`` where it is to be refused.
MAKINGS = {
    "a range": ("Plan!$A$2:$A$6", "SUM(thing)", 15),
    "a cell": ("Plan!$A$4", "thing*2", 6),
    "a cell of a sheet in quotes": ("'My sheet'!$A$1", "thing+1", 8),
    "a whole column": ("Plan!$A:$A", "SUM(thing)", 15),
    "the row at hand of a column": ("Plan!$A$2:$A$6", "thing*10", 20),
    "a number": ("0.07", "100*thing", 7.000000000000001),
    "a text": ('"kg"', '"5 "&thing', "5 kg"),
    "a list": ("{1,2,3}", "SUM(thing)", 6),
    "a growing range by OFFSET": ("OFFSET(Plan!$A$2,0,0,COUNTA(Plan!$A$2:$A$20),1)", "SUM(thing)", 15),
    "a growing range by INDEX": ("Plan!$A$2:INDEX(Plan!$A$2:$A$20,COUNT(Plan!$A$2:$A$20))", "SUM(thing)", 15),
    "INDIRECT": ('INDIRECT("Plan!A2:A4")', "SUM(thing)", 6),
    "today": ("TODAY()", "IF(thing>46000,1,0)", 1),
    "a range times two": ("Plan!$A$2:$A$6*2", "SUMPRODUCT(thing)", 30),
    "the cell to the left": ("Plan!XFD1", "thing+1", 8),
    "the same row of a column": ("Plan!$A1", "thing+1", 3),
    "two ranges": ("Plan!$A$2,Plan!$A$4", "SUM(thing)", _REFUSED),
    "what two ranges share": ("Plan!$A$2:$A$6 Plan!$A$4:$B$4", "SUM(thing)", _REFUSED),
    "a lookup": ('VLOOKUP("b",Plan!$B$2:$C$6,2,FALSE)', "thing", 7),
    "a call of ours": ("TWICE_OF(Plan!$A$3)", "thing", 4),
    "a name that calls ours": ("other+1", "thing", 9),
    "a lost reference": ("#REF!", 'IFERROR(thing,"lost")', "lost"),
    "a sum": ("SUM(Plan!$A$2:$A$6)", "thing/5", 3),
    "itself": ("thing+1", "thing", _REFUSED),
    "longer than any formula": ("1" + 40_000 * "+1", "thing", _REFUSED),
}
_OTHER = '<definedName name="other">TWICE_OF(Plan!$A$5)</definedName>'


def book(path: Path, making: str, stored: object) -> Path:
    text, formula, _ = MAKINGS[making]
    cells: dict[str, object] = {f"A{row}": row - 1 for row in range(2, 7)}
    cells |= {"B2": "a", "B3": "b", "C2": 5, "C3": 7, "D3": ("", f"IF(TWICE_OF(1)=2,{formula})", stored)}
    cells["F3"] = ("", 'IF(TWICE_OF(1)=2,LEN(""&D3))', 0)
    names = f'<definedNames><definedName name="thing">{escape(text)}</definedName>{_OTHER}</definedNames>'
    ordered = {name: cells[name] for name in sorted(cells, key=lambda name: (name[1:], name))}
    return by_hand(path, {"Plan": rows_of(ordered), "My sheet": rows_of({"A1": 7})}, names=names)


@pytest.mark.parametrize("making", MAKINGS)
def test_a_name_is_right_or_refused(tmp_path: Path, making: str) -> None:
    wanted = MAKINGS[making][2]
    path = book(tmp_path / "book.xlsx", making, "stored" if wanted is _REFUSED else 12345)
    result = recalculate(path, functions=FUNCTIONS)
    found = read_values(path)["Plan"]
    if wanted is _REFUSED:
        assert [cell.cell for cell in result.refused] == ["D3"]
        assert found["D3"] == "stored"
    else:
        assert result.refused == ()
        assert found["D3"] == wanted
    assert found["F3"] == len(str(found["D3"])) or found["D3"] == 7.000000000000001


def test_a_sheet_s_own_name_is_the_one_that_counts_there(tmp_path: Path) -> None:
    names = (
        '<definedNames><definedName name="Heat">TWICE_OF(1000)</definedName>'
        '<definedName name="HEAT" localSheetId="0">TWICE_OF(First!$A$1)</definedName>'
        '<definedName name="heat" localSheetId="1">TWICE_OF(Second!$A$1)</definedName>'
        '<definedName name="Base" localSheetId="0">First!$A$1</definedName>'
        '<definedName name="Base" localSheetId="1">Second!$A$1</definedName></definedNames>'
    )
    rows = {
        name: rows_of({"A1": number, "B1": ("", "HEAT+0", 0), "C1": ("", "TWICE_OF(Base)", 0)})
        for name, number in (("First", 1), ("Second", 2), ("Third", 3))
    }
    rows["Third"] = rows_of({"B1": ("", "heat", 0), "C1": ("", "TWICE_OF(First!Base)", 77)})
    path = by_hand(tmp_path / "book.xlsx", rows, names=names)
    result = recalculate(path, functions=FUNCTIONS)
    found = read_values(path)
    assert [found[name]["B1"] for name in rows] == [2, 4, 2000]
    assert [found[name]["C1"] for name in rows] == [2, 4, 77]
    assert [(cell.sheet, cell.cell) for cell in result.refused] == [("Third", "C1")]
