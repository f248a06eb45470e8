"""Leaves and nodes."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

import sheetfuncs
from sheetfuncs import prune_node, ready_to_prune_from
from sheetfuncs.planner.invented import TREES


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
