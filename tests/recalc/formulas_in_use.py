"""Formulas that people use, over one small sheet: what the engine and an office program are compared by.

The table ``formulas_in_use.tsv`` has one formula a line, and how the two were judged: "same", "refused" (the engine has
another answer, or can have, so the cell is left alone), "office" (LibreOffice has a way of its own, or several are
right; the engine's answer stands). The sheet's cells are invented. Rows 2 to 9 hold them; the formulas stand far below.
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple, Sequence

import openpyxl
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.formula import ArrayFormula

PLAIN: dict[str, tuple[Any, ...]] = {
    "A": ("P-01", "P-02", "P-03", "P-04", "P-05", "P-06", "P-07", "P-08"),
    "B": ("late", "early", "late", "mid", "Early", "late", None, "MID"),
    "C": (2, 7, 8, 9, -3, 0, 12.5, 100),
    "D": (0.1, 0.6, 0.5, 0.4, 0.55, 1, 0, 0.25),
    "E": (11, "12", 12, "x", True, None, "3.5", "1e3"),
    "F": tuple(date(2026, month, day) for month, day in (
        (6, 5), (6, 8), (7, 1), (7, 31), (8, 15), (9, 30), (12, 31), (2, 28))),
    "G": ("Été", "été", "Ähre", "ahre", "Straße", "STRASSE", "fig", "FIG*"),
    "H": (1, "=NA()", "#N/A", "=1/0", 5, "a", None, 0),
    "I": (1, 3, 5, 7, 9, 11, 13, 15),
    "J": ("apple", "berry", "cherry", "fig", "grape", "plum", "quince", "rye"),
    "K": (0.25, 0.5, 0.75, 0.999, 1.5, 0.01, 0.375, 0.875),
    "L": ("a b c", " two  words ", "10 kg", "x-y-z", "mixed Case", "", "née", "1,234.5"),
    "M": (1, 1, 2, 3, 5, 8, 13, 21),
}  # fmt: skip
MIXED: dict[str, tuple[Any, ...]] = {
    "A": ("P-01", "P-02", "P-03", "P-04"), "B": ("late", "early", "late", "middle"), "C": (12, 5.5, -3, 20),
    "D": (date(2026, 6, 5), date(2026, 6, 15), date(2026, 7, 1), date(2027, 1, 10)), "E": ("12", "5.5", "abc", None),
    "F": (True, False, True, False), "G": (0.5, 0.8, 0.25, 1), "H": ("Früh", "FRÜH", "früh ", "straße"),
    "I": ("=NA()", "=1/0", 1, 2), "K": (1, 2, 2, 3),
}  # fmt: skip
HEADINGS = ("tag", "kind", "number", "day", "text", "truth", "share", "letters", "error", "blank", "rank")
FIRST_ROW, FORMULAS_FROM = 2, 20

#: Common makings of a name, for the mixed sheet: what it stands for, and a formula with it.
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


class Judged(NamedTuple):
    """A formula of the table.

    sheet : "plain" or "mixed", on which it stands. kind : "single" or "array", as which it is entered.
    """

    sheet: str
    kind: str
    judged: str
    formula: str
    note: str

    @property
    def is_wide(self) -> bool:
        """Whether its range is worked out, so that it depends on all cells of the sheet, refused ones too."""
        names = [text for name, (text, _) in NAMES.items() if name in self.formula]
        return any(re.search("OFFSET|INDIRECT|:INDEX", text) for text in (self.formula, *names))


def judged_formulas() -> list[Judged]:
    """Return the lines of the table."""
    lines = Path(__file__).with_suffix(".tsv").read_text(encoding="utf-8").splitlines()
    return [Judged(*line.split("\t")) for line in lines[1:]]


def book_of(path: Path, formulas: Sequence[Judged]) -> Path:
    """Save a sheet with formulas below its data, one a row in column Z, without values; all are of one sheet."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Data"
    is_mixed = formulas[0].sheet == "mixed"
    for column, values in (MIXED if is_mixed else PLAIN).items():
        for row, value in enumerate(values, start=FIRST_ROW):
            if value is not None:
                sheet[f"{column}{row}"] = value
            if isinstance(value, str) and value and not value.startswith("="):
                sheet[f"{column}{row}"].data_type = "s"  # the text of an error is a text here
    for column, heading in enumerate(HEADINGS if is_mixed else (), start=1):
        sheet.cell(1, column).value = heading
    for name, (text, _) in NAMES.items() if is_mixed else ():
        book.defined_names[name] = DefinedName(name, attr_text=text)
    for row, (_, kind, _, formula, _) in enumerate(formulas, start=FORMULAS_FROM):
        text = f"={in_file(formula)}"
        sheet[f"Z{row}"] = ArrayFormula(f"Z{row}", text) if kind == "array" else text
    book.save(path)
    return path

_NEWER = re.compile(
    r"\b(?:IFS|SWITCH|TEXTJOIN|CONCAT|MAXIFS|MINIFS|XLOOKUP|XMATCH|XOR|DAYS|ISOWEEKNUM|UNICODE|UNICHAR|NUMBERVALUE|BASE|"
    r"ARABIC|IFNA|RANK\.AVG|PERCENTILE\.EXC|QUARTILE\.EXC|CEILING\.MATH|FLOOR\.MATH|NORM\.DIST|NORM\.INV|NORM\.S\.DIST|"
    r"ISFORMULA|AGGREGATE|STDEV\.S|STDEV\.P|VAR\.P|VAR\.S|RANK\.EQ|PERCENTILE\.INC|NORM\.S\.INV|SHEET)\("
)


def in_file(formula: str) -> str:
    """Return a formula as files hold it: functions that came later than the format have a mark."""
    return _NEWER.sub(r"_xlfn.\g<0>", formula)
