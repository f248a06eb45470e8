"""What a small screen shows of the sheets: headings whole, and of Trees all that is wanted week by week."""

from __future__ import annotations

import openpyxl
import pytest

from sheetfuncs.planner.sheets import trees
from sheetfuncs.planner.sheets.layout import Role
from sheetfuncs.planner.sheets.rules import LONGEST_FOUND

from ..letters import CLEAR, EXCEL, INDENT, LINE, advice_room, dots, lines_in

#: One unit of a column's width in Calc, where its letters are measured largest [dots].
_CALC = 7.8
#: Of 1,366 × 768 dots Calc keeps these for the rows' numbers, the bar at the side and the one that scrolls; and for
#: menus, symbols, the line of the formula, the columns' letters, the sheets' names and the line of state.
_SEEN, _SEEN_BELOW = 1366 - 37 - 17 - 45, 768 - 153 + 28 - 58
#: Points in an inch, and dots.
_POINT = 96 / 72


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
                room = EXCEL * dimension.width - CLEAR - (INDENT if cell.alignment.indent else 0)
                longest = max(map(dots, cell.value.split()))
                assert longest <= room, (sheet.title, cell.coordinate, cell.value, longest, room)
                found += 1
    assert found > 100


def test_all_that_is_wanted_of_a_tree_week_by_week_is_in_sight(blank: openpyxl.Workbook) -> None:
    table, sheet = trees.table(1), blank["Trees"]
    letters = [table.letter(column.key) for column in table.columns if column.role is Role.ENTRY]
    letters += [table.letter(key) for key in ("advice", "latest", "give")]
    assert letters == sorted(letters), "they stand side by side, from the first column on"
    assert sum(_CALC * sheet.column_dimensions[letter].width for letter in letters) <= _SEEN


@pytest.mark.parametrize("name", ["blank", "demo"])
def test_a_dozen_trees_are_in_sight(name: str, request: pytest.FixtureRequest) -> None:
    sheet = request.getfixturevalue(name)["Trees"]
    heights = [sheet.row_dimensions[row].height or 15 for row in range(1, trees.table(1).first_row + 12)]
    assert all(column.outlineLevel == 0 for column in sheet.column_dimensions.values()), "a bar above the letters"
    assert sum(heights) * _POINT <= _SEEN_BELOW


def test_a_row_of_trees_has_room_for_two_lines_and_the_longest_line_that_asks_fits_them() -> None:
    assert trees.table(1).row_height >= 2 * LINE
    found = "early violet from the hills and the valley"[:LONGEST_FOUND]
    for column in trees.table(1).columns:
        if column.rule:
            line = f'Check: {column.heading} is "{found}", wanted {column.rule.wanted}'
            assert lines_in(line, advice_room(), bold=True) <= 2, line


@pytest.mark.parametrize("rows", [1, 100])
def test_the_filter_holds_all_trees(rows: int) -> None:
    table = trees.table(rows)
    assert table.shown_row + 1 == table.heading_row == table.first_row - 1
