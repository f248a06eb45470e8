"""Single arguments given as columns: one answer a line, blank lines stay blank, nothing is taken for another line."""

from __future__ import annotations

import pytest

import sheetfuncs
from sheetfuncs.functions.examples import valley_days

FUNCTIONS = {function.name: function for function in sheetfuncs.all_functions()}


@pytest.fixture(scope="module")
def valley():
    return FUNCTIONS["climate_of"].in_cell([[list(row) for row in valley_days()]])


def one(valley, need):
    return FUNCTIONS["latest_prune_date"].in_cell([valley, 2026, need])


def test_a_column_gives_what_its_cells_give(valley):
    needs = [[1100.0], [1150.0], [1300.0]]
    column = FUNCTIONS["latest_prune_date"].in_cell([valley, 2026, needs])
    assert column == [[one(valley, need)] for (need,) in needs]
    assert len({row[0] for row in column}) == 3


def test_a_row_is_a_column_too(valley):
    assert FUNCTIONS["latest_prune_date"].in_cell([valley, 2026, [[1150.0, 1300.0]]]) == [
        [one(valley, 1150.0)],
        [one(valley, 1300.0)],
    ]


def test_blank_lines_stay_blank_and_one_filled_line_is_not_spread(valley):
    answer = FUNCTIONS["latest_prune_date"].in_cell([valley, 2026, [[1150.0], [None], [""], [None]]])
    assert answer == [[one(valley, 1150.0)], [None], [None], [None]]


def test_two_columns_go_line_by_line(valley):
    climates = [[valley], [None], [valley]]
    answer = FUNCTIONS["latest_prune_date"].in_cell([climates, 2026, [[1150.0], [None], ["much"]]])
    assert answer[0] == [one(valley, 1150.0)]
    assert answer[1] == [None]
    assert answer[2][0].startswith('Check: heat need is "much"')


def test_a_half_filled_line_says_what_is_missing(valley):
    answer = FUNCTIONS["latest_prune_date"].in_cell([[[valley], [valley]], 2026, [[1150.0], [None]]])
    assert answer[1] == ["Check: heat need is blank, wanted heat units"]


def test_a_function_with_a_row_gives_a_table(valley):
    answer = FUNCTIONS["ripen_window"].in_cell([valley, [["2026-06-10"], [None], ["2026-07-30"]], 1150.0])
    assert [len(row) for row in answer] == [3, 3, 3]
    assert answer[1] == [None, None, None]
    assert all(cell.startswith("Check: not ripe") for cell in answer[2])


def test_a_whole_column_of_the_sheet_ends_with_its_last_filled_cell(valley):
    whole = [[1150.0], [1300.0]] + [[None]] * 1_048_574
    assert len(FUNCTIONS["latest_prune_date"].in_cell([valley, 2026, whole])) == 2
    assert FUNCTIONS["latest_prune_date"].in_cell([valley, 2026, [[None]] * 1_048_576]) is None


def test_in_python_a_column_is_any_sequence():
    valley = sheetfuncs.climate_of(valley_days())
    wanted = [sheetfuncs.latest_prune_date(valley, 2026, need) for need in (1150, 1300)]
    numpy = pytest.importorskip("numpy")
    for needs in ([1150, 1300], (1150, 1300), range(1150, 1301, 150), numpy.array([1150, 1300.0])):
        assert sheetfuncs.latest_prune_date(valley, 2026, needs) == wanted


def test_in_python_one_bad_line_does_not_stop_the_others():
    valley = sheetfuncs.climate_of(valley_days())
    good = sheetfuncs.crop_ripe_share(valley, "2026-06-10", 1150)
    first, second, blank, fourth = sheetfuncs.crop_ripe_share(valley, "2026-06-10", [1150, -5, 1150, "x"])
    assert first == blank == good
    assert isinstance(second, sheetfuncs.InputError)
    assert str(second).startswith("Check: line 2: heat need is -5, wanted heat units")
    assert str(fourth).startswith('Check: line 4: heat need is "x", wanted heat units')
