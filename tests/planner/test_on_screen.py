"""What a small screen shows of the sheets: headings whole, and of Trees all that is wanted week by week.

Widths of letters: Helvetica-Bold of the core font metrics (Adobe, 1985–1997), which Arial Bold shares, thousandths of
the font's size.
"""

from __future__ import annotations

import openpyxl
import pytest

from sheetfuncs.planner.sheets import trees
from sheetfuncs.planner.sheets.layout import Role

_WIDTHS = {
    **dict.fromkeys("abcdeghknopqsuvxy0123456789", 556), **dict.fromkeys("bdghnopqu", 611), **dict.fromkeys("il", 278),
    "f": 333, "j": 278, "k": 556, "m": 889, "r": 389, "t": 333, "v": 556, "w": 778, "z": 500, "A": 722, "B": 722,
    "C": 722, "D": 722, "E": 667, "F": 611, "G": 778, "H": 722, "I": 278, "J": 556, "K": 722, "L": 611, "M": 833,
    "N": 722, "O": 778, "P": 667, "R": 722, "S": 667, "T": 611, "U": 722, "V": 667, "W": 944, "Y": 667, "%": 889,
    "±": 584, "-": 333, ",": 278, ".": 278, "'": 238, "[": 333, "]": 333, "(": 333, ")": 333, "°": 400, "/": 278,
    ":": 333, "·": 278,
}  # fmt: skip
#: Nine points on a screen of 96 dots an inch.
_SIZE = 9 / 72 * 96
#: One unit of a column's width in Excel, and in Calc where its letters are measured largest [dots].
_EXCEL, _CALC = 7, 7.8
#: What a cell keeps clear at its sides, and more where the text is set in from the left [dots].
_CLEAR, _INDENT = 4, 9
#: Of 1,366 dots Calc keeps these for the rows' numbers, the bar at the side and the one that scrolls.
_SEEN = 1366 - 37 - 17 - 45


def _dots(word: str) -> float:
    return sum(_WIDTHS[letter] for letter in word) / 1000 * _SIZE


def test_no_heading_is_broken_inside_a_word(blank: openpyxl.Workbook) -> None:
    found = 0
    for sheet in blank:
        for row in sheet.iter_rows(max_row=60):
            for cell in row:
                if cell.coordinate in sheet.merged_cells:
                    continue
                dimension = sheet.column_dimensions[cell.column_letter]
                # A heading: bold, nine points, wrapped.
                if not (cell.font.b and cell.font.sz == 9 and cell.alignment.wrap_text and isinstance(cell.value, str)):
                    continue
                if dimension.hidden or cell.data_type == "f":
                    continue
                room = _EXCEL * dimension.width - _CLEAR - (_INDENT if cell.alignment.indent else 0)
                longest = max(map(_dots, cell.value.split()))
                assert longest <= room, (sheet.title, cell.coordinate, cell.value, longest, room)
                found += 1
    assert found > 100


def test_all_that_is_wanted_of_a_tree_week_by_week_is_in_sight(blank: openpyxl.Workbook) -> None:
    table, sheet = trees.table(1), blank["Trees"]
    letters = [table.letter(column.key) for column in table.columns if column.role is Role.ENTRY]
    letters += [table.letter(key) for key in ("advice", "latest", "give")]
    assert letters == sorted(letters), "they stand side by side, from the first column on"
    assert sum(_CALC * sheet.column_dimensions[letter].width for letter in letters) <= _SEEN


@pytest.mark.parametrize("rows", [1, 100])
def test_the_filter_holds_all_trees(rows: int) -> None:
    table = trees.table(rows)
    assert table.shown_row + 1 == table.heading_row == table.first_row - 1
