"""Leaves, nodes, and the sentence that tells what to do with a tree."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

import sheetfuncs
from sheetfuncs import prune_advice, prune_node, ready_to_prune_from
from sheetfuncs.planner.invented import TREES

from .records import chicago

READY, LAST = date(2017, 6, 15), date(2017, 7, 4)


def test_miyagi_leaf_rate():
    """Miyagi Prefecture, 2017: 7 leaves on 7 June, 17 on 14 July; so 17 are there from 14 July at 3.7 days a leaf."""
    assert (date(2017, 7, 14) - date(2017, 6, 7)).days / (17 - 7) == pytest.approx(3.7)
    assert ready_to_prune_from("2017-06-07", 7, 17) == date(2017, 7, 14)


def test_miyagi_nodes():
    """Miyagi Prefecture, 2017: node 18–20 is reached about 18–25 July."""
    assert ready_to_prune_from("2017-06-07", 7, 18) == date(2017, 7, 18)
    assert ready_to_prune_from("2017-06-07", 7, 20) == date(2017, 7, 26)  # 48.1 days: the day after the 25th


@pytest.mark.parametrize("latest_set", ["2017-08-12", "2017-08-15", "2017-08-17"])
def test_miyagi_advice(latest_set):
    """Miyagi Prefecture 2017–18: 17 leaves on 14 July, a latest set of 12–17 August, cut at 18–20 nodes."""
    assert 18 <= prune_node("2017-07-14", 17, latest_set) <= 20


def test_miyagi_first_figs():
    """Miyagi Prefecture 2017–18: first figs on 22 June at about node 3, on shoots of 11 to 12 leaves."""
    leaves = 7 + (date(2017, 6, 22) - date(2017, 6, 7)).days / 3.7
    assert 11 <= leaves <= 12
    assert prune_node("2017-06-22", leaves, "2017-06-22", leave_above=0) == 3


def test_a_shoot_with_leaves_enough_is_ready_when_counted():
    assert ready_to_prune_from("2017-06-07", 6) == date(2017, 6, 7)
    assert ready_to_prune_from("2017-06-07", 9) == date(2017, 6, 7)
    assert ready_to_prune_from("2017-06-07", 5) == date(2017, 6, 11)


def test_the_node_rises_with_the_latest_day_and_says_when_there_is_none():
    nodes = [prune_node("2017-07-01", 17, date(2017, 7, 1) + timedelta(days=days)) for days in range(60)]
    assert nodes == sorted(nodes)
    assert nodes[-1] - nodes[0] == pytest.approx(59 / 3.7, abs=1)
    with pytest.raises(sheetfuncs.InputError, match="no fig has set"):
        prune_node("2017-06-07", 2, "2017-05-01")


@given(
    st.floats(1, 40),
    st.integers(-30, 90),
    st.integers(-30, 90),
    st.floats(1, 10),
    st.integers(0, 12),
    st.integers(0, 6),
)
def test_no_node_is_named_that_the_shoot_lacks_on_the_day_of_the_cut(nodes, latest, cut, rate, behind, above):
    counted = date(2017, 6, 20)
    there = nodes + cut / rate
    found = prune_node(
        counted, nodes, counted + timedelta(latest), rate, above, behind, counted + timedelta(cut)
    )
    assert found == "tip alone" or 1 <= found < there
    if found == "tip alone":
        wanted = nodes + latest / rate - behind
        assert wanted < 1 or math.floor(wanted) + above >= math.floor(there) - 1e-6


@pytest.mark.parametrize("tree", TREES, ids=lambda tree: tree["tag"])
def test_the_demonstration_s_trees_are_cut_where_they_have_nodes(tree):
    if not tree["leaves"]:
        return
    for cut in (date(2026, 6, 22) + timedelta(days) for days in range(0, 40, 4)):
        found = prune_node(tree["counted_on"], tree["leaves"], date(2026, 7, 20), cut_date=cut)
        there = tree["leaves"] + (cut - tree["counted_on"]).days / 3.7
        assert found == "tip alone" or 1 <= found < there


@pytest.mark.parametrize(
    ("today", "buds", "cut_on", "said"),
    [
        (date(2017, 6, 1), "no", None, "Too few leaves: look again on 15 Jun, cut by 4 Jul."),
        (date(2017, 6, 20), None, None, "No fig buds: do not cut, look again on 27 Jun."),
        (date(2017, 6, 20), "no", None, "No fig buds: do not cut, look again on 27 Jun."),
        (date(2017, 7, 1), "no", None, "No fig buds: do not cut, look again on 4 Jul."),
        (date(2017, 7, 4), "no", None, "No fig buds, and today is the last date: leave it this year."),
        (date(2017, 6, 20), "yes", None, "Cut by 4 Jul, 14 days to spare."),
        (date(2017, 6, 30), "yes", None, "Cut now: 4 days left, last date 4 Jul."),
        (date(2017, 7, 3), "yes", None, "Cut now: 1 day left, last date 4 Jul."),
        (date(2017, 7, 4), "yes", None, "Cut now: today is the last date."),
        (date(2017, 7, 5), "yes", None, "Too late: the last date was 4 Jul."),
        (date(2017, 7, 5), "no", None, "Too late: no fig buds, and the last date was 4 Jul."),
        (date(2017, 7, 5), "yes", date(2017, 7, 1), "Cut on 1 Jul."),
        (date(2017, 7, 5), "yes", date(2017, 7, 8), "To be cut on 8 Jul."),
    ],
)
def test_every_case_of_the_advice(today, buds, cut_on, said):
    assert prune_advice(today, READY, LAST, buds, cut_on) == said


@pytest.mark.parametrize(
    ("today", "ready", "not_before", "buds", "said"),
    [
        # Leaves enough, now or by the first day: the tree waits for the day.
        ("2017-06-20", READY, "2017-07-01", "yes", "Wait until 1 Jul, then cut by 4 Jul."),
        ("2017-06-01", READY, "2017-07-01", "yes", "Wait until 1 Jul, then cut by 4 Jul."),
        ("2017-06-20", READY, "2017-07-01", "no", "Wait until 1 Jul, look for fig buds, cut by 4 Jul."),
        ("2017-06-20", READY, LAST, "yes", "Wait until 4 Jul, then cut by 4 Jul."),
        ("2017-06-01", READY, READY, "yes", "Wait until 15 Jun, then cut by 4 Jul."),
        # Leaves that come after the first day: the leaves are waited for.
        ("2017-06-01", READY, "2017-06-10", "yes", "Too few leaves: look again on 15 Jun, cut by 4 Jul."),
        # From the first day on it says nothing any more.
        ("2017-07-01", READY, "2017-07-01", "yes", "Cut now: 3 days left, last date 4 Jul."),
        ("2017-07-01", READY, "2017-07-01", "no", "No fig buds: do not cut, look again on 4 Jul."),
        ("2017-06-20", READY, "2017-06-10", "yes", "Cut by 4 Jul, 14 days to spare."),
        # A first day after the last date, before, between and after both.
        ("2017-06-20", READY, "2017-07-10", "yes", "Not this year: not before 10 Jul, the last date is 4 Jul."),
        ("2017-07-04", READY, "2017-07-10", "no", "Not this year: not before 10 Jul, the last date is 4 Jul."),
        ("2017-07-06", READY, "2017-07-10", "yes", "Not this year: not before 10 Jul, the last date was 4 Jul."),
        ("2017-07-10", READY, "2017-07-10", "yes", "Too late: the last date was 4 Jul."),
        ("2017-06-20", "2017-07-12", "2017-07-10", "yes", "Not this year: ready on 12 Jul, the last date is 4 Jul."),
        ("2017-07-06", "2017-07-12", None, "yes", "Not this year: ready on 12 Jul, the last date was 4 Jul."),
    ],
)
def test_a_tree_that_may_not_be_cut_before_a_day(today, ready, not_before, buds, said):
    assert prune_advice(today, ready, LAST, buds, not_before=not_before) == said


def test_a_tree_cut_before_its_first_day_is_cut():
    assert prune_advice("2017-06-20", READY, LAST, "yes", "2017-06-18", not_before="2017-07-01") == "Cut on 18 Jun."


def test_a_late_tree_is_not_cut_before_its_first_day_whatever_the_chance():
    climate = sheetfuncs.climate_of(chicago(), "F")
    said = prune_advice("2017-07-06", READY, LAST, "yes", None, climate, 1300 * 1.8, 10, "2017-07-10")
    assert said == "Not this year: not before 10 Jul, the last date was 4 Jul."
    said = prune_advice("2017-07-10", READY, LAST, "yes", None, climate, 1300 * 1.8, 10, "2017-07-10")
    assert said.startswith("Late: cut now")


def test_no_first_day_in_a_cell_is_any_day():
    advice = next(f for f in sheetfuncs.all_functions() if f.name == "prune_advice")
    asked = [date(2017, 6, 20), READY, LAST, "yes", None, None, None, None]
    for blank in (None, ""):
        assert advice.in_cell([*asked, blank]) == "Cut by 4 Jul, 14 days to spare."
    assert advice.in_cell([*asked, "soon"]).startswith('Check: not before is "soon"')


def test_not_this_year():
    late = "Not this year: ready on 10 Jul, the last date is 4 Jul."
    assert prune_advice("2017-06-20", "2017-07-10", LAST, "yes") == late
    none = "Check: no cut in season 2017 ripens figs with chance 0.8, heat need 2900"
    advice = next(f for f in sheetfuncs.all_functions() if f.name == "prune_advice")
    said = advice.in_cell([date(2017, 6, 20), READY, none, "yes"])
    assert said == "Not this year: no cut ripens figs at the risk accepted."


def test_a_late_tree_is_told_with_what_chance_it_would_do():
    climate = sheetfuncs.climate_of(chicago(), "F")
    need = 1300 * 1.8
    last = sheetfuncs.latest_prune_date(climate, 2017, need)
    today = last + timedelta(days=7)
    chance = sheetfuncs.ripen_chance(climate, today, need)
    said = prune_advice(today, READY, last, "yes", None, climate, need)
    assert said == f"Late: cut now, figs ripen with a chance of {100 * chance:.0f} %."
    assert 0.2 < chance < 0.8
    end = prune_advice("2017-09-20", READY, last, "yes", None, climate, need)
    assert end == "Too late: cut now, figs ripen with a chance of under 1 %."


def test_a_blank_row_stays_blank_and_a_half_row_says_what_is_missing():
    advice = next(f for f in sheetfuncs.all_functions() if f.name == "prune_advice")
    assert advice.in_cell([None, None, None, None]) is None
    assert advice.in_cell([date(2017, 6, 20), None, LAST, "yes"]) == "Check: ready from is blank, wanted date"
    assert advice.in_cell([date(2017, 6, 20), READY, LAST, "perhaps"]).startswith('Check: buds seen is "perhaps"')
