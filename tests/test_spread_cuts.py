"""Cut dates that spread the harvest, on real records: even within a day, the largest step, and what does not fit."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

import sheetfuncs
from sheetfuncs.season.spreading import nearest, ripe_days, widest_even

from .both import mirrored, mirrored_day
from .climates import hot, temperate
from .records import chicago

DAY = timedelta(days=1)
EARLY, MIDDLE, LATE = 1150 * 1.8, 1300 * 1.8, 1450 * 1.8  # °F·day


@lru_cache(maxsize=None)
def _climate(name):
    if name == "Chicago":
        return temperate()
    if name == "Chicago, July 2014":
        return sheetfuncs.climate_until(_climate("Chicago"), date(2014, 7, 1))
    return hot()


def _ripe(climate, cut, need, lag_days=10):
    """Return the middle ripening date as the worksheet shows it."""
    return sheetfuncs.ripen_window(climate, cut, need, None, lag_days)[0]


def _off(days):
    """Return by how much days differ from even ones at worst, for the even ones that suit them best."""
    count = len(days)
    numbers = np.arange(count)
    # first + number · step − most ≤ day, and day ≤ first + number · step + most
    above = np.c_[np.ones(count), numbers, -np.ones(count)]
    below = np.c_[-np.ones(count), -numbers, -np.ones(count)]
    free, positive = (None, None), (0, None)
    solved = linprog([0, 0, 1], np.r_[above, below], np.r_[days, -np.array(days)], bounds=[free, positive, positive])
    return solved.x[2]


def _numbers(dates):
    return [day.toordinal() for day in dates]


def _in_order(needs):
    return sorted(range(len(needs)), key=lambda tree: (needs[tree], tree))


CASES = {
    "one kind": ("Chicago", [EARLY] * 5, date(2017, 5, 10), date(2017, 6, 25), 10),
    "three kinds": ("Chicago", [MIDDLE, EARLY, MIDDLE, EARLY, LATE], date(2017, 5, 20), date(2017, 6, 20), 10),
    "in season": ("Chicago, July 2014", [EARLY, EARLY, MIDDLE], date(2014, 5, 20), date(2014, 6, 25), 10),
    "other lag": ("Chicago", [EARLY, MIDDLE, EARLY], date(2017, 5, 10), date(2017, 6, 20), 21),
    "hot": ("Clemson", [EARLY, EARLY, MIDDLE, MIDDLE, LATE, LATE], date(2021, 5, 10), date(2021, 7, 20), 10),
    "hot, one kind": ("Clemson", [LATE] * 8, date(2021, 5, 1), date(2021, 7, 15), 10),
    "many": ("Clemson", [EARLY + 20 * tree for tree in range(40)], date(2021, 5, 1), date(2021, 7, 31), 10),
}


@pytest.mark.parametrize("name", CASES)
def test_ripening_is_even_within_a_day(name):
    place, needs, earliest, latest, lag_days = CASES[name]
    climate = _climate(place)
    cuts = sheetfuncs.spread_cuts(climate, needs, earliest, latest, lag_days)
    assert all(earliest <= cut <= latest for cut in cuts)
    ripe = [_ripe(climate, cuts[tree], needs[tree], lag_days) for tree in _in_order(needs)]
    assert _off(_numbers(ripe)) <= 1 + 1e-6
    assert ripe[-1] - ripe[0] > 0.5 * (latest - earliest)


@pytest.mark.parametrize("name", ["one kind", "three kinds", "hot", "hot, one kind"])
def test_even_gaps_between_cuts_do_not_give_even_gaps_between_picks(name):
    place, needs, earliest, latest, lag_days = CASES[name]
    climate = _climate(place)
    order = _in_order(needs)
    spread = sheetfuncs.spread_cuts(climate, needs, earliest, latest, lag_days)
    first, last = spread[order[0]], spread[order[-1]]
    evenly_cut = [first + round((last - first) / DAY * tree / (len(needs) - 1)) * DAY for tree in range(len(needs))]
    picked = [_numbers([_ripe(climate, cut, needs[tree], lag_days)])[0] for tree, cut in zip(order, evenly_cut)]
    assert _off(picked) > 1.4
    assert max(np.diff(picked)) - min(np.diff(picked)) > 4


@pytest.mark.parametrize("name", [name for name in CASES if name != "many"])
def test_no_larger_step_is_within_reach(name):
    place, needs, earliest, latest, lag_days = CASES[name]
    reaches = _reaches(_climate(place), sorted(needs), earliest, latest, lag_days)
    even = widest_even(reaches)
    best = _largest_step(reaches)
    # The dates that a tree can meet may lie days apart: then the step is found to half a day over the whole spread.
    assert best - 0.5 / (len(needs) - 1) - 1e-3 <= even.step <= best + 1e-3


def _reaches(climate, needs, earliest, latest, lag_days=10):
    """Return the dates on which each tree can be made to ripen, day by day as the worksheet shows them."""
    days = [earliest + step * DAY for step in range((latest - earliest).days + 1)]
    found = []
    for need in needs:
        dates = [_ripe_or_none(climate, day, need, lag_days) for day in days]
        found.append([day.toordinal() for day in dates if day is not None])
    return found


def _ripe_or_none(climate, cut, need, lag_days):
    answer = sheetfuncs.ripen_window.declaration.in_cell([climate, cut, need, None, lag_days])
    return answer[0][0] if isinstance(answer[0][0], date) else None


def _largest_step(reaches):
    """Return the largest step with which even dates lie in reach and within a day of one, by integer programming."""
    start = min(reach[0] for reach in reaches)
    dates = [np.unique(reach) - start for reach in reaches]
    total = 2 + sum(map(len, dates))
    rows, least, most = [], [], []
    column = 2
    for tree, reach in enumerate(dates):
        even = np.zeros(total)
        even[:2] = 1, tree
        picked, one = even.copy(), np.zeros(total)
        picked[column : column + len(reach)] = -reach
        one[column : column + len(reach)] = 1
        rows += [even, picked, one]
        least += [reach[0], -1, 1]
        most += [reach[-1], 1, 1]
        column += len(reach)
    solved = milp(
        np.r_[0, -1, np.zeros(total - 2)],
        constraints=LinearConstraint(np.array(rows), least, most),
        integrality=np.r_[0, 0, np.ones(total - 2)],
        bounds=Bounds(np.r_[-1000, np.zeros(total - 1)], np.r_[1000, 1000, np.ones(total - 2)]),
        options={"mip_rel_gap": 0},
    )
    assert solved.status == 0, solved.message
    return solved.x[1]


@st.composite
def _unbroken(draw):
    """Draw dates without a gap for each tree, the first and the last ones rising from tree to tree."""
    count = draw(st.integers(2, 6))
    first = sorted(draw(st.lists(st.integers(0, 40), min_size=count, max_size=count)))
    last = sorted(draw(st.lists(st.integers(0, 40), min_size=count, max_size=count)))
    return [list(range(low, max(low, high) + 1)) for low, high in zip(first, last)]


@given(_unbroken())
def test_where_dates_have_no_gaps_the_step_is_the_linear_programme_s(reaches):
    count = len(reaches)
    rows = np.c_[np.ones(count), np.arange(count)]
    low, high = [reach[0] for reach in reaches], [reach[-1] for reach in reaches]
    solved = linprog(
        [0, -1], np.r_[rows, -rows], np.r_[high, -np.array(low)], bounds=[(None, None), (0, None)]
    )
    even = widest_even(reaches)
    goals = [even.first + tree * even.step for tree in range(count)]
    off = max(abs(reach[nearest(reach, goal)] - goal) for reach, goal in zip(reaches, goals))
    if solved.status == 0:
        assert even.step == pytest.approx(solved.x[1], abs=1e-4)
        assert off <= 0.5 + 1e-3
    else:
        # No even dates lie in reach: they are left by no more than they must be.
        beyond = linprog(
            [0, 0, 1],
            np.r_[np.c_[rows, -np.ones(count)], np.c_[-rows, -np.ones(count)]],
            np.r_[high, -np.array(low)],
            bounds=[(None, None), (0, None), (0, None)],
        )
        assert off <= beyond.x[2] + 0.5 + 1e-3


# -- what does not fit ------------------------------------------------------------------------------------


def test_a_tree_that_ripens_with_less_than_half_a_chance_says_so_and_the_others_are_spread():
    climate = _climate("Chicago")
    needs = [EARLY, 2060 * 1.8, EARLY, None, MIDDLE]
    first, last = date(2017, 5, 15), date(2017, 6, 15)
    cuts = sheetfuncs.spread_cuts(climate, needs, first, last)
    line = cuts[1].line
    chance = sheetfuncs.ripen_chance(climate, first, needs[1])
    assert 0.01 < chance < 0.5
    assert line == f"Check: cut on 15 May, figs ripen with a chance of {100 * chance:.0f} %, wanted half or more"
    assert cuts[3] is None
    others = [need for need in needs if need in (EARLY, MIDDLE)]
    assert [cuts[tree] for tree in (0, 2, 4)] == sheetfuncs.spread_cuts(climate, others, first, last)


@pytest.mark.parametrize("need", [EARLY, MIDDLE, LATE])
def test_no_cut_is_so_late_that_figs_ripen_in_fewer_than_half_the_seasons(need):
    climate = _climate("Chicago")
    cuts = sheetfuncs.spread_cuts(climate, [need] * 6, date(2017, 5, 1), date(2017, 9, 30))
    assert all(sheetfuncs.ripen_chance(climate, cut, need) >= 0.5 for cut in cuts)
    last = sheetfuncs.latest_prune_date(climate, 2017, need, 0.5)
    assert last - cuts[-1] <= 3 * DAY


def test_where_no_even_dates_lie_in_reach_the_nearest_are_taken():
    climate = _climate("Clemson")
    needs = [EARLY, EARLY + 20, LATE, LATE + 400]
    first, last = date(2021, 6, 10), date(2021, 6, 12)
    cuts = sheetfuncs.spread_cuts(climate, needs, first, last)
    off = _off(_numbers(_ripe(climate, cut, need) for cut, need in zip(cuts, needs)))
    reaches = _reaches(climate, needs, first, last)
    best = min(_off(days) for days in product(*(sorted(set(reach)) for reach in reaches)))
    assert 1 < best <= off <= best + 1


def test_late_cuts_leave_gaps_between_the_dates_that_can_be_met():
    # By the first of the function's tests these are spread within a day all the same.
    climate = _climate("Chicago")
    traces = climate.traces(2017)
    days = ripe_days(traces, traces.days.index(date(2017, 6, 1)), 60, EARLY, climate.deviation(2017, EARLY, 0.06))
    assert max(np.diff(days)) >= 3
    assert min(np.diff(days)) >= 0


def test_one_tree_is_cut_on_the_first_day():
    cuts = sheetfuncs.spread_cuts(_climate("Chicago"), [MIDDLE], date(2017, 5, 20), date(2017, 6, 20))
    assert cuts == [date(2017, 5, 20)]


def test_one_day_to_cut_is_that_day_for_all():
    day = date(2017, 6, 5)
    assert sheetfuncs.spread_cuts(_climate("Chicago"), [MIDDLE, EARLY, EARLY], day, day) == [day] * 3


def test_two_trees_are_cut_on_the_first_and_on_the_last_day():
    cuts = sheetfuncs.spread_cuts(_climate("Clemson"), [MIDDLE, EARLY], date(2021, 5, 20), date(2021, 6, 20))
    assert cuts[1] == date(2021, 5, 20)
    assert _ripe(_climate("Clemson"), cuts[0], MIDDLE) == _ripe(_climate("Clemson"), date(2021, 6, 20), MIDDLE)


def test_the_order_of_the_rows_decides_only_between_equal_needs():
    place, needs, earliest, latest, lag_days = CASES["three kinds"]
    cuts = sheetfuncs.spread_cuts(_climate(place), needs, earliest, latest, lag_days)
    turned = sheetfuncs.spread_cuts(_climate(place), needs[::-1], earliest, latest, lag_days)
    assert sorted(zip(needs, cuts)) == sorted(zip(needs[::-1], turned))
    assert cuts[1] < cuts[3]  # the early ones, as their rows
    assert cuts[0] < cuts[2]  # the middle ones


def test_a_southern_place_mirrors_a_northern_one():
    place, needs, earliest, latest, lag_days = CASES["three kinds"]
    north = sheetfuncs.spread_cuts(_climate(place), needs, earliest, latest, lag_days)
    south = sheetfuncs.spread_cuts(
        sheetfuncs.climate_of(mirrored(chicago()), "F"), needs, mirrored_day(earliest), mirrored_day(latest), lag_days
    )
    assert south == [mirrored_day(cut) for cut in north]


def test_blank_lines_stay_blank_and_a_check_in_the_needs_is_one():
    in_cell = sheetfuncs.spread_cuts.declaration.in_cell
    needs = [[None], [EARLY], ["Check: kind is blank"], [""], [EARLY]]
    shown = in_cell([_climate("Chicago"), needs, date(2017, 5, 20), date(2017, 6, 20)])
    assert [isinstance(row[0], date) for row in shown] == [False, True, False, False, True]
    assert [row[0] for row in shown if not isinstance(row[0], date)] == [None] * 3
    assert shown[1] == [date(2017, 5, 20)]
    with_zero = in_cell([_climate("Chicago"), [*needs, [0]], date(2017, 5, 20), date(2017, 6, 20)])
    assert with_zero.startswith("Check: heat needs, line 6 is 0, wanted heat units")


@pytest.mark.parametrize(
    ("needs", "earliest", "latest", "words"),
    [
        ([EARLY], date(2017, 6, 20), date(2017, 6, 19), ("latest", "2017-06-19", "2017-06-20")),
        ([EARLY], date(2017, 6, 20), date(2018, 6, 19), ("latest", "2018-06-19", "season")),
        ([EARLY], None, date(2017, 6, 19), ("earliest", "blank")),
        ([EARLY], date(2017, 6, 20), "", ("latest", "blank")),
        ([EARLY, "early"], date(2017, 6, 1), date(2017, 6, 20), ("heat needs, line 2", "early")),
        ([EARLY], "spring", date(2017, 6, 20), ("earliest", "spring")),
        ([EARLY], date(1990, 6, 1), date(1990, 6, 20), ("1990",)),
    ],
)
def test_what_cannot_be_read_is_named(needs, earliest, latest, words):
    with pytest.raises(sheetfuncs.InputError) as caught:
        sheetfuncs.spread_cuts(_climate("Chicago"), needs, earliest, latest)
    line = str(caught.value)
    assert line.startswith("Check: ")
    assert len(line) < 100
    for word in words:
        assert word in line
