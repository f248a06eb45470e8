"""The advice for a tree before and at the cut: one sentence for each case."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

import sheetfuncs
from sheetfuncs import prune_advice

from .climates import temperate

READY, LAST = date(2017, 6, 15), date(2017, 7, 4)
UNCUT = "leave it uncut, next year look from 6 Jun."
TOO_LATE = f"Too late: the last date was 4 Jul; {UNCUT}"
LEAVES_TOO_LATE = "Not this year: leaves enough 12 Jul, last date 4 Jul."
IN_CELL = prune_advice.declaration.in_cell


@pytest.mark.parametrize(
    ("today", "buds", "cut_on", "line"),
    [
        (date(2017, 6, 1), "no", None, "Too few leaves: look again on 15 Jun, cut by 4 Jul."),
        (date(2017, 6, 20), None, None, "Look for fig buds: with buds, cut by 4 Jul."),
        (date(2017, 7, 4), None, None, "Look for fig buds today, the last date: with buds, cut now."),
        (date(2017, 7, 5), None, None, TOO_LATE),
        (date(2017, 6, 20), "no", None, "No fig buds: do not cut, look again on 27 Jun."),
        (date(2017, 7, 1), "no", None, "No fig buds: do not cut, look again on 4 Jul."),
        (date(2017, 7, 4), "no", None, "No fig buds, and today is the last date: leave it this year."),
        (date(2017, 6, 20), "yes", None, "Cut by 4 Jul, 14 days to spare."),
        (date(2017, 6, 30), "yes", None, "Cut now: 4 days left, last date 4 Jul."),
        (date(2017, 7, 3), "yes", None, "Cut now: 1 day left, last date 4 Jul."),
        (date(2017, 7, 4), "yes", None, "Cut now: today is the last date."),
        (date(2017, 7, 5), "yes", None, TOO_LATE),
        (date(2017, 7, 5), "no", None, f"Too late: no fig buds, last date 4 Jul; {UNCUT}"),
        (date(2017, 7, 5), "yes", date(2017, 7, 1), "Cut on 1 Jul: figs should show by 11 Jul."),
        (date(2017, 7, 5), "yes", date(2017, 7, 8), "To be cut on 8 Jul."),
    ],
)
def test_every_case_of_the_advice(today, buds, cut_on, line):
    assert prune_advice(today, READY, LAST, buds, cut_on) == line


@pytest.mark.parametrize(
    ("today", "ready", "not_before", "buds", "line"),
    [
        # Leaves enough, now or by the first day: the tree waits for the day.
        ("2017-06-20", READY, "2017-07-01", "yes", "Wait until 1 Jul, then cut by 4 Jul."),
        ("2017-06-01", READY, "2017-07-01", "yes", "Wait until 1 Jul, then cut by 4 Jul."),
        ("2017-06-20", READY, "2017-07-01", "no", "Wait until 1 Jul, look for fig buds, cut by 4 Jul."),
        ("2017-06-20", READY, LAST, "yes", "Wait until 4 Jul, then cut by 4 Jul."),
        ("2017-06-01", READY, READY, "yes", "Wait until 15 Jun, then cut by 4 Jul."),
        # Leaves that come after the first day: the leaves are waited for.
        ("2017-06-01", READY, "2017-06-10", "yes", "Too few leaves: look again on 15 Jun, cut by 4 Jul."),
        # From the first day on the hint is gone.
        ("2017-07-01", READY, "2017-07-01", "yes", "Cut now: 3 days left, last date 4 Jul."),
        ("2017-07-01", READY, "2017-07-01", "no", "No fig buds: do not cut, look again on 4 Jul."),
        ("2017-06-20", READY, "2017-06-10", "yes", "Cut by 4 Jul, 14 days to spare."),
        # A first day after the last date, before, between and after both.
        ("2017-06-20", READY, "2017-07-10", "yes", "Not this year: not before 10 Jul, the last date is 4 Jul."),
        ("2017-07-04", READY, "2017-07-10", "no", "Not this year: not before 10 Jul, the last date is 4 Jul."),
        ("2017-07-06", READY, "2017-07-10", "yes", "Not this year: not before 10 Jul, the last date was 4 Jul."),
        ("2017-07-10", READY, "2017-07-10", "yes", TOO_LATE),
        ("2017-06-20", "2017-07-12", "2017-07-10", "yes", LEAVES_TOO_LATE),
        ("2017-07-06", "2017-07-12", None, "yes", LEAVES_TOO_LATE),
    ],
)
def test_a_tree_that_may_not_be_cut_before_a_day(today, ready, not_before, buds, line):
    assert prune_advice(today, ready, LAST, buds, not_before=not_before) == line


def test_a_tree_cut_before_its_first_day_is_cut():
    line = prune_advice("2017-06-20", READY, LAST, "yes", "2017-06-18", not_before="2017-07-01")
    assert line == "Cut on 18 Jun: figs should show by 28 Jun."


def test_a_late_tree_is_not_cut_before_its_first_day_whatever_the_chance():
    climate = temperate()
    line = prune_advice("2017-07-06", READY, LAST, "yes", None, climate, 1300 * 1.8, 10, "2017-07-10")
    assert line == "Not this year: not before 10 Jul, the last date was 4 Jul."
    line = prune_advice("2017-07-10", READY, LAST, "yes", None, climate, 1300 * 1.8, 10, "2017-07-10")
    assert line.startswith("Late: cut now")


def test_no_first_day_in_a_cell_is_any_day():
    given = [date(2017, 6, 20), READY, LAST, "yes", None, None, None, None]
    for blank in (None, ""):
        assert IN_CELL([*given, blank]) == "Cut by 4 Jul, 14 days to spare."
    assert IN_CELL([*given, "soon"]).startswith('Check: not before is "soon"')


def test_not_this_year():
    late = "Not this year: leaves enough 10 Jul, last date 4 Jul."
    assert prune_advice("2017-06-20", "2017-07-10", LAST, "yes") == late
    none = "Check: no cut in season 2017 ripens figs with chance 0.8, heat need 2900"
    line = IN_CELL([date(2017, 6, 20), READY, none, "yes"])
    assert line == "Not this year: no cut ripens figs with the chance wanted."


def test_a_late_tree_has_the_chance_beside_it():
    climate = temperate()
    need = 1300 * 1.8
    last = sheetfuncs.latest_prune_date(climate, 2017, need)
    today = last + timedelta(days=7)
    chance = sheetfuncs.ripen_chance(climate, today, need)
    line = prune_advice(today, READY, last, "yes", None, climate, need)
    assert line == f"Late: cut now, figs ripen with a chance of {100 * chance:.0f} %; in a tunnel: by 3 Jul."
    assert 0.2 < chance < 0.8
    later = prune_advice(last + timedelta(days=20), READY, last, None, None, climate, need)
    assert re.fullmatch(r"Late: with fig buds, cut now: figs ripen .* chance of \d+ %; or leave it uncut\.", later)
    end = prune_advice("2017-09-20", READY, last, "yes", None, climate, need)
    look = last - timedelta(days=28)
    assert end == f"Too late: figs of a cut now hardly ripen; leave it uncut, next year look from {look.day} {look:%b}."


def test_a_blank_row_stays_blank_and_a_half_row_says_what_is_missing():
    assert IN_CELL([None, None, None, None]) is None
    assert IN_CELL([date(2017, 6, 20), READY, None, "yes"]) == "Check: latest date is blank, wanted date"
    assert IN_CELL([date(2017, 6, 20), READY, LAST, "perhaps"]).startswith('Check: buds seen is "perhaps"')


@pytest.mark.parametrize(
    ("today", "last", "usual", "line"),
    [
        ("2017-06-20", LAST, "2017-07-01", "Cut by 4 Jul, 14 days to spare; usual here: 1 Jul."),
        ("2017-06-20", LAST, "2017-07-15", "Cut by 4 Jul, 14 days to spare; usual here: 15 Jul."),
        ("2017-06-30", LAST, "2017-07-15", "Cut now: 4 days left, last date 4 Jul; usual here: 15 Jul."),
        ("2017-07-02", LAST, "2017-07-01", "Cut now: 2 days left, last date 4 Jul."),
        ("2017-06-20", LAST, None, "Cut by 4 Jul, 14 days to spare."),
    ],
)
def test_the_usual_date_is_a_hint_and_never_a_ban(today, last, usual, line):
    assert prune_advice(today, READY, last, "yes", usual_from=usual) == line


def test_leaves_that_were_not_counted_are_not_too_few():
    assert prune_advice("2017-06-20", None, LAST, None) == "Count leaves, look for fig buds: with buds, cut by 4 Jul."
    wait = "Nothing to do yet: count leaves, look for fig buds from 6 Jun."
    assert prune_advice("2017-05-01", None, LAST, None) == wait
    assert prune_advice("2017-06-20", None, LAST, "yes") == "Cut by 4 Jul, 14 days to spare."


@pytest.mark.parametrize("index", range(17))
def test_a_fault_in_what_it_rests_on_is_passed_on(index):
    cells = [date(2017, 6, 20), READY, LAST, "yes", *[None] * 13]
    cells[index] = "Check: chance is 80, wanted a share above 0 and up to 1, such as 0.8 or 80%"
    line = IN_CELL(cells)
    assert line.startswith("Check: ")
    assert "chance is 80" in line


@pytest.mark.parametrize(
    ("ready", "buds", "line"),
    [
        (READY, "yes", "Cut when you like, the season does not end here."),
        (READY, None, "Look for fig buds: with buds, cut when you like, the season does not end here."),
        (READY, "no", "No fig buds: do not cut, look again on 27 Jun."),
        ("2017-06-25", "yes", "Wait until 25 Jun, then cut where fig buds are seen."),
    ],
)
def test_where_the_season_does_not_end(ready, buds, line):
    days = [(date(2011, 1, 1) + timedelta(days=step), 18.0, 30.0) for step in range(365 * 5)]
    climate = sheetfuncs.climate_of(days, hemisphere="north")
    with pytest.raises(sheetfuncs.InputError) as endless:
        sheetfuncs.latest_prune_date(climate, 2017, 1300)
    assert IN_CELL([date(2017, 6, 20), ready, endless.value.line, buds]) == line
    with pytest.raises(sheetfuncs.InputError, match="no fig shows too late"):
        sheetfuncs.last_useful_fig_date(climate, 2017, 1300)
    assert all(row[1] is None for row in sheetfuncs.what_would_help(climate, "2017-06-20", 1300))


def test_a_last_date_before_the_leaves_is_not_this_year():
    line = "Check: no useful cut in season 2017: it would be by 21 Apr, first leaves 29 Apr"
    assert IN_CELL([date(2017, 6, 20), READY, line, "yes"]).startswith("Not this year: ")
