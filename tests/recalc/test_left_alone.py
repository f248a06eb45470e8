"""What is not ours to write keeps the value that an office program gave it, byte for byte."""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import escape

from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from .books import by_hand
from .functions import FUNCTIONS

#: A grower's own formulas, each with the value that LibreOffice stored; the engine answers most in another way.
OWN_FORMULAS = (
    ("array", 'INDEX(A2:A5,SMALL(IF(B2:B5="late",ROW(B2:B5)-1),2))', "P-03"),
    ("", "SUMPRODUCT(ROW(C2:C5)*C2:C5)", 96),
    ("", "SUMPRODUCT(MAX((C2:C5>0)*ROW(C2:C5)))", 5),
    ("", "WORKDAY(DATE(2026,6,5),1,DATE(2026,6,8))", 46182),
    ("", "NETWORKDAYS(DATE(2026,6,5),DATE(2026,6,9),DATE(2026,6,8))", 2),
    ("", 'COUNTIF(D2:D5,">=50%")', 2),
    ("", 'SUMIF(D2:D5,">=50%",C2:C5)', 15),
    ("", 'IF(0.1+0.2=0.3,"same","other")', "same"),
    ("", '1.1*3&" kg"', "3.3 kg"),
    ("", 'UPPER("é")&LOWER("Ä")', "Éä"),
    ("", 'IF("é"="É","same","other")', "same"),
    ("", "CEILING(-2.5,1)+FLOOR(-2.5,1)", -5),
    ("", 'TEXT(1234567,"0.00E+00")', "1.23E+06"),
    ("", 'TEXT(1234,"00-00")', "12-34"),
    ("", 'VLOOKUP("12",E2:F5,2,FALSE)', "text"),
    ("", 'COUNTIF(G2:G5,"#N/A")', 1),
    ("", "SUMPRODUCT(H2:H5*1)", 10),
)


def stored(value: object) -> tuple[str, str]:
    """Return the attribute and the element of a stored value."""
    if isinstance(value, str):
        return (' t="e"' if value.startswith("#") else ' t="str"'), f"<v>{escape(value)}</v>"
    return "", f"<v>{value}</v>"


def rows_of(cells: dict[str, object]) -> str:
    """Return rows of typed values, and of formulas as (kind, formula, stored value)."""
    lines: dict[int, str] = {}
    for name, value in cells.items():
        row = int("".join(letter for letter in name if letter.isdigit()))
        formula = ""
        if isinstance(value, tuple):
            kind, text, value = value
            area = f' t="array" ref="{name}"' if kind else ""
            formula = f"<f{area}>{escape(text)}</f>"
        kind, element = stored(value)
        lines[row] = lines.get(row, "") + f'<c r="{name}"{kind}>{formula}{element}</c>'
    return "".join(f'<row r="{row}">{line}</row>' for row, line in sorted(lines.items()))


def holding() -> dict[str, object]:
    """Return the typed cells that the formulas refer to."""
    cells: dict[str, object] = {}
    columns = {
        "A": ("P-01", "P-02", "P-03", "P-04"), "B": ("late", "early", "late", "early"), "C": (2, 7, 8, 9),
        "D": (0.1, 0.6, 0.5, 0.4), "E": (11, "12", 12, 13), "F": ("one", "text", "number", "last"),
        "G": ("a", "#N/A", "b", "c"), "H": ("1", "2", "3", "4"),
    }  # fmt: skip
    for row in range(4):
        for column, values in columns.items():
            cells[f"{column}{row + 2}"] = values[row]
    return cells


def test_a_book_of_formulas_of_a_grower_s_own(tmp_path: Path) -> None:
    cells = holding()
    cells |= {f"K{row}": formula for row, formula in enumerate(OWN_FORMULAS, start=2)}
    path = by_hand(tmp_path / "own.xlsx", {"Own": rows_of(cells)})
    before = path.read_bytes()
    result = recalculate(path, functions=FUNCTIONS)
    assert path.read_bytes() == before
    assert (result.changed, result.refused, result.recalculated, result.left_alone) == ((), (), 0, len(OWN_FORMULAS))


def test_beside_calls_of_ours_only_those_are_written(tmp_path: Path) -> None:
    cells = holding()
    cells |= {f"K{row}": formula for row, formula in enumerate(OWN_FORMULAS, start=2)}
    cells |= {"M2": ("", "C2+C3", 0), "N2": ("", "TWICE_OF(M2)", 0), "O2": ("", "SUM(N1:N9)", 0), "P2": ("", "C3+1", 0)}
    path = by_hand(tmp_path / "own.xlsx", {"Own": rows_of(cells)})
    before = read_values(path)["Own"]
    result = recalculate(path, functions=FUNCTIONS)
    assert read_values(path)["Own"] == {**before, "M2": 9, "N2": 18, "O2": 18}
    assert {change.cell for change in result.changed} == {"M2", "N2", "O2"}
    assert (result.recalculated, result.left_alone) == (3, len(OWN_FORMULAS) + 1)


class TestWhatDependsAndWhatFeeds:
    """Each way in which a formula can reach another; a cell holds 0 where it is to be written."""

    def written(self, tmp_path: Path, cells: dict[str, object], names: str = "", **more: str) -> set[str]:
        path = by_hand(tmp_path / "book.xlsx", {"Plan": rows_of(cells), **more}, names=names)
        result = recalculate(path, functions=FUNCTIONS)
        assert result.refused == ()
        return {change.cell for change in result.changed}

    def test_through_ranges_columns_and_rows(self, tmp_path: Path) -> None:
        cells: dict[str, object] = {
            "A1": ("", "TWICE_OF(1)", 0), "C1": ("", "SUM(A:A)", 0), "C2": ("", "SUM($1:$1)+0*C1", 0),
            "C3": ("", "SUM(C1:C2)", 0), "C4": ("", "SUM(D:D)", 7), "C5": ("", "SUM(A2:B9)", 7),
        }  # fmt: skip
        cells = {name: cells[name] for name in sorted(cells) if name != "C2"}
        assert self.written(tmp_path, cells) == {"A1", "C1", "C3"}

    def test_through_names(self, tmp_path: Path) -> None:
        names = (
            "<definedNames><definedName name='Base'>Plan!$A$1</definedName><definedName name='Twice'>TWICE_OF(Base)"
            "</definedName><definedName name='More'>Twice+1</definedName></definedNames>"
        )
        cells: dict[str, object] = {"A1": ("", "1+1", 0), "B1": ("", "More", 0), "C1": ("", "B1", 0)}
        cells["D1"] = ("", "9", 7)
        assert self.written(tmp_path, cells, names) == {"A1", "B1", "C1"}

    def test_through_ranges_that_are_worked_out(self, tmp_path: Path) -> None:
        cells: dict[str, object] = {
            "A1": ("", "TWICE_OF(1)", 0), "B1": ("", "SUM(OFFSET(C1,0,-2))", 0), "C1": 0,
            "D1": ("", 'INDIRECT("A1")', 0), "E1": ("", "9", 7),
        }  # fmt: skip
        assert self.written(tmp_path, cells) == {"A1", "B1", "D1", "E1"} - {"E1"}

    def test_on_other_sheets_only_what_is_meant(self, tmp_path: Path) -> None:
        other = rows_of({"A1": ("", "5", 7), "B1": ("", "Plan!A1+A1", 0)})
        cells: dict[str, object] = {"A1": ("", "TWICE_OF(1)", 0)}
        assert self.written(tmp_path, cells, Other=other) == {"A1", "B1"}

    def test_through_a_long_chain(self, tmp_path: Path) -> None:
        cells: dict[str, object] = {"A1": ("", "TWICE_OF(1)", 0)}
        cells |= {f"A{row}": ("", f"SUM(A$1:A{row - 1})", 0) for row in range(2, 60)}
        cells["B1"] = ("", "9", 7)
        assert self.written(tmp_path, cells) == {f"A{row}" for row in range(1, 60)}


def test_where_they_depend_on_us_each_is_right_or_refused(tmp_path: Path) -> None:
    cells = holding()
    for row, (kind, formula, value) in enumerate(OWN_FORMULAS, start=2):
        cells[f"K{row}"] = (kind, f"IF(TWICE_OF(1)=2,{formula})", value)
    path = by_hand(tmp_path / "own.xlsx", {"Own": rows_of(cells)})
    result = recalculate(path, functions=FUNCTIONS)
    assert result.changed == ()
    assert result.recalculated + len(result.refused) == len(OWN_FORMULAS)
