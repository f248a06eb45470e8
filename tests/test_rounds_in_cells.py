"""PRUNE_ROUNDS in cells: what is blank, what is wrong, and the line of a tree without a day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

import sheetfuncs
from sheetfuncs.cells.errors import CellFault

rows_of = sheetfuncs.prune_rounds.declaration.in_cell
JUNE = [date(2026, 6, 1) + timedelta(days=number) for number in range(30)]


def _cost(answers):
    """Return (trees without a day, days)."""
    days = [answer for answer in answers if not isinstance(answer, sheetfuncs.InputError)]
    return len(answers) - len(days), len(set(days))


def test_one_answer_has_a_line_for_each_row_blank_ones_too():
    rows = 40
    ready, latest = ([[day]] + [[None]] * (rows - 1) for day in (JUNE[1], JUNE[9]))
    assert rows_of([ready, latest]) == [[JUNE[7]]] + [[None]] * (rows - 1)


def test_of_a_whole_column_of_a_sheet_the_blank_end_is_no_part():
    ready, latest = ([[None], [day]] + [[None]] * 70_000 for day in (JUNE[1], JUNE[9]))
    assert rows_of([ready, latest]) == [[None], [JUNE[7]]]


def test_rows_that_are_not_complete_stay_blank():
    ready = [JUNE[9], None, JUNE[9], "", JUNE[12], JUNE[2]]
    latest = [JUNE[20], JUNE[1], None, None, "Check: no cut in season 2026 ripens figs", JUNE[12]]
    wanted = [JUNE[12], None, None, None, None, JUNE[12]]
    assert rows_of([_column(ready), _column(latest), None, None, 0]) == _column(wanted)


def _column(cells):
    return [[cell] for cell in cells]


def test_columns_of_unequal_length_and_columns_laid_as_rows():
    assert rows_of([[[JUNE[1], JUNE[2], None]], [[JUNE[5], JUNE[6], JUNE[7], JUNE[8]]], None, None, 0]) == [
        [JUNE[5]], [JUNE[5]], [None], [None],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("minutes", "limit", "words"),
    [
        (None, None, ("ready on 8 Jul", "4 Jul")),
        ([20, 20], 60, ("ready on 8 Jul", "4 Jul")),
    ],
)
def test_a_tree_that_is_ready_too_late_says_so_and_the_others_are_planned(minutes, limit, words):
    answers = sheetfuncs.prune_rounds(["2026-07-08", JUNE[3]], ["2026-07-04", JUNE[5]], minutes, limit, 0)
    assert answers[1] == JUNE[5]
    for word in words:
        assert word in answers[0].line


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        ([None, 20], ("minutes, line 1", "blank")),
        (["", 20], ("minutes, line 1", "blank")),
        (["Check: minutes?", 20], ("minutes, line 1", "blank")),
        ([61, 20], ("minutes, line 1", "61", "60")),
    ],
)
def test_a_tree_whose_minutes_are_missing_or_too_many_says_so(minutes, words):
    answers = sheetfuncs.prune_rounds(JUNE[:2], JUNE[4:6], minutes, 60, 0)
    assert answers[1] == JUNE[5]
    for word in words:
        assert word in answers[0].line
    assert len(answers[0].line) < 100


def test_minutes_without_a_limit_are_not_looked_at():
    assert sheetfuncs.prune_rounds(JUNE[:2], JUNE[4:6], [None, 500], None, 0) == [JUNE[4]] * 2


@pytest.mark.parametrize(
    ("minutes", "limit", "named"), [([0, 20], 60, "minutes, line 1"), ([20, 20], 0, "minutes a day")]
)
def test_no_minutes_are_not_0_minutes(minutes, limit, named):
    with pytest.raises(sheetfuncs.InputError, match=f"{named} is 0, wanted minutes above 0"):
        sheetfuncs.prune_rounds(JUNE[:2], JUNE[4:6], minutes, limit)


def test_the_line_of_a_tree_without_a_day():
    shown = rows_of([_column([JUNE[26]] * 3), _column([JUNE[27], JUNE[26], JUNE[26]]), _column([40, 30, 45]), 60])
    assert shown == [
        [JUNE[27]], ["Check: could not be scheduled by 27 Jun: 27 Jun would be 15 minutes over"], [JUNE[26]],
    ]  # fmt: skip


def test_parts_of_minutes_add_up():
    assert sheetfuncs.prune_rounds([JUNE[0]] * 3, [JUNE[0]] * 3, [0.1, 0.2, 0.7], 1) == [JUNE[0]] * 3
    assert _cost(sheetfuncs.prune_rounds([JUNE[0]] * 3, [JUNE[0]] * 3, [0.1, 0.2, 0.701], 1)) == (1, 1)


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ([JUNE[:2], JUNE[4:6], ["long", 20], 60], ("minutes, line 1", "long")),
        ([["soon", JUNE[0]], JUNE[4:6]], ("ready, line 1", "soon")),
        ([JUNE[:2], [JUNE[4], CellFault("#N/A")]], ("latest, line 2", "#N/A")),
        ([JUNE[:2], JUNE[4:6], [20, 20], "all day"], ("minutes a day", "all day")),
        ([JUNE[:2], JUNE[4:6], [20, 20], 3000], ("minutes a day", "3000")),
        ([JUNE[:2], None], ("latest", "blank")),
        ([JUNE[:2], JUNE[4:6], None, None, -1], ("days in hand", "-1")),
        ([JUNE[:2], JUNE[4:6], None, None, 2, "holidays"], ("work days", "holidays")),
    ],
)
def test_cells_that_cannot_be_read_are_named(cells, words):
    line = rows_of(cells)
    assert line.startswith("Check: ")
    for word in words:
        assert word in line


def test_windows_of_hundreds_of_years_are_planned_like_any_other():
    ready, latest = [date(1700, 1, 1)] * 3 + [date(2100, 1, 1)] * 3, [date(2399, 12, 31)] * 6
    assert _cost(sheetfuncs.prune_rounds(ready, latest)) == (0, 1)
    assert _cost(sheetfuncs.prune_rounds(ready, latest, [30, 40, 50, 30, 40, 45], 60)) == (0, 5)


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("Sat Sun", 21), ("sat,sun", 21), ("Sunday", 21), ("Mon-Fri", 22), ("Fri to Mon", 22), ("Wed – Friday", 19),
        ("we", 17),
    ],
)  # fmt: skip
def test_weekdays_as_they_are_typed(typed, day):
    # Ready from Saturday 6 June, last date Monday 22 June.
    assert sheetfuncs.prune_rounds(["2026-06-06"], ["2026-06-22"], None, None, 0, typed) == [date(2026, 6, day)]
