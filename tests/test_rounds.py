"""Rounds against brute force, against a general solver, and against what must hold whatever the trees."""

from __future__ import annotations

import random
from datetime import date, timedelta
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sheetfuncs
from sheetfuncs.season import rounds
from sheetfuncs.season.rounds import Tree, plan_rounds

from .hard_use.rounds import best_by_solver, drawn

FIRST = date(2026, 6, 1)


def _day(number):
    return FIRST + timedelta(days=number)


def _trees(seed, count, days, window, minutes=(1,), limit=None):
    """Return random trees; a limit bounds their minutes."""
    dice = random.Random(seed)
    trees = []
    for _ in range(count):
        ready = dice.randrange(days)
        trees.append(Tree(ready, ready + dice.randrange(window), min(dice.choice(minutes), limit or 10**9)))
    return trees


def _answers(trees, limit=None, days_in_hand=0, work_days=None):
    """Return the worksheet function's answers."""
    minutes = None if limit is None else [tree.minutes for tree in trees]
    return sheetfuncs.prune_rounds(
        [_day(tree.ready) for tree in trees],
        [_day(tree.latest) for tree in trees],
        minutes,
        limit,
        days_in_hand,
        work_days,
    )


def _cost(answers):
    """Return (trees without a day, days)."""
    days = [answer for answer in answers or () if not isinstance(answer, sheetfuncs.InputError)]
    return len(answers or ()) - len(days), len(set(days))


def _checked(trees, limit=None):
    """Return the answers of a plan that keeps the rules: each tree in its window, no day longer than the limit."""
    answers = _answers(trees, limit)
    assert len(answers) == len(trees)
    loads = {}
    for tree, answer in zip(trees, answers):
        if isinstance(answer, sheetfuncs.InputError):
            assert limit is not None
            assert answer.line.startswith("Check: could not be scheduled by ")
            continue
        assert _day(tree.ready) <= answer <= _day(tree.latest)
        loads[answer] = loads.get(answer, 0) + tree.minutes
    assert limit is None or max(loads.values(), default=0) <= limit
    return answers


# -- the judges -------------------------------------------------------------------------------------------


def _fewest_by_trying(trees):
    """Return the fewest days that reach all windows, by trying all sets of days."""
    days = range(max(tree.latest for tree in trees) + 1)
    for count in range(len(trees) + 1):
        for chosen in combinations(days, count):
            if all(any(tree.ready <= day <= tree.latest for day in chosen) for tree in trees):
                return count
    raise AssertionError


def _best_by_trying(trees, limit):
    """Return the least (trees left, days), by trying all days for each tree."""
    best = (len(trees) + 1, 0)
    for days in product(*([None, *range(tree.ready, tree.latest + 1)] for tree in trees)):
        loads = {}
        for tree, day in zip(trees, days):
            if day is not None:
                loads[day] = loads.get(day, 0) + tree.minutes
        if max(loads.values(), default=0) <= limit:
            best = min(best, (days.count(None), len(loads)))
    return best


# -- without a limit --------------------------------------------------------------------------------------

windows = st.tuples(st.integers(0, 9), st.integers(0, 5)).map(lambda pair: Tree(pair[0], sum(pair), 1))
small = st.lists(windows, min_size=1, max_size=7)


@given(small)
def test_no_fewer_visits_reach_all_trees(trees):
    assert _cost(_checked(trees)) == (0, _fewest_by_trying(trees))


@pytest.mark.parametrize("seed", range(8))
def test_as_few_visits_as_a_general_solver_finds(seed):
    trees = _trees(seed, 80, 70, (4, 10, 25, 40)[seed % 4])
    assert _cost(_checked(trees)) == best_by_solver(trees, len(trees))


def test_two_hundred_trees_in_a_season():
    trees = _trees(7, 200, 120, 30)
    answers = _checked(trees)
    # Windows that share no day need a visit each: so many prove that no plan does with fewer.
    apart, last = 0, -1
    for tree in sorted(trees, key=lambda tree: tree.latest):
        if tree.ready > last:
            apart, last = apart + 1, tree.latest
    assert _cost(answers) == (0, apart)


@given(small)
def test_a_visit_is_held_on_the_earliest_last_day_of_its_trees(trees):
    answers = _checked(trees)
    for visit in set(answers):
        assert visit == min(_day(tree.latest) for tree, day in zip(trees, answers) if day == visit)


@given(small)
def test_a_tree_goes_with_the_first_visit_that_finds_it_ready(trees):
    answers = _checked(trees)
    for tree, answer in zip(trees, answers):
        assert answer == min(day for day in answers if day >= _day(tree.ready))


@given(small, st.data())
def test_a_wider_window_never_adds_a_visit(trees, data):
    index = data.draw(st.integers(0, len(trees) - 1))
    wider = list(trees)
    wider[index] = Tree(
        max(0, trees[index].ready - data.draw(st.integers(0, 4))), trees[index].latest + data.draw(st.integers(0, 4)), 1
    )
    assert _cost(_answers(wider)) <= _cost(_answers(trees))
    assert _cost(_answers(trees[:index] + trees[index + 1 :])) <= _cost(_answers(trees))


@given(small, st.randoms(use_true_random=False))
def test_the_order_of_the_rows_does_not_matter(trees, dice):
    shuffled = list(trees)
    dice.shuffle(shuffled)
    assert dict(zip(trees, _answers(trees))) == dict(zip(shuffled, _answers(shuffled)))


@given(small, st.integers(1, 400))
def test_all_dates_later_by_some_days_gives_visits_later_by_as_many(trees, days):
    later = [Tree(tree.ready + days, tree.latest + days, 1) for tree in trees]
    assert _answers(later) == [day + timedelta(days=days) for day in _answers(trees)]


# -- a limit, equal minutes -------------------------------------------------------------------------------

tight = st.lists(
    st.tuples(st.integers(0, 4), st.integers(0, 2)).map(lambda pair: Tree(pair[0], sum(pair), 20)),
    min_size=1,
    max_size=7,
)


@given(tight, st.sampled_from([20, 45, 60]))
def test_equal_minutes_are_planned_as_well_as_can_be(trees, limit):
    assert _cost(_checked(trees, limit)) == _best_by_trying(trees, limit)


@pytest.mark.parametrize(
    ("count", "days", "window", "limit"),
    [(40, 30, 6, 40), (40, 12, 5, 50), (60, 20, 8, 65), (60, 12, 12, 100), (80, 60, 10, 60), (50, 8, 8, 100)],
)
@pytest.mark.parametrize("seed", range(3))
def test_equal_minutes_against_a_general_solver(seed, count, days, window, limit):
    trees = _trees(seed, count, days, window, (20,))
    assert _cost(_checked(trees, limit)) == best_by_solver(trees, limit)


@given(tight, st.data())
def test_a_wider_window_or_a_longer_day_never_makes_the_plan_worse(trees, data):
    limit = data.draw(st.sampled_from([20, 40, 60]))
    cost = _cost(_answers(trees, limit))
    assert _cost(_answers(trees, limit + 20)) <= cost
    index = data.draw(st.integers(0, len(trees) - 1))
    wider = list(trees)
    wider[index] = trees[index]._replace(latest=trees[index].latest + data.draw(st.integers(0, 3)))
    assert _cost(_answers(wider, limit)) <= cost


@given(small)
def test_a_limit_that_never_binds_changes_nothing(trees):
    assert _answers(trees, 1440) == _answers(trees)


# -- a limit, unequal minutes -----------------------------------------------------------------------------

mixed = st.lists(
    st.tuples(st.integers(0, 4), st.integers(0, 2), st.sampled_from([5, 15, 20, 25, 35])).map(
        lambda parts: Tree(parts[0], parts[0] + parts[1], parts[2])
    ),
    min_size=1,
    max_size=7,
)


@given(mixed, st.sampled_from([35, 40, 60]))
def test_unequal_minutes_keep_the_rules_and_are_never_better_than_can_be(trees, limit):
    assert _cost(_checked(trees, limit)) >= _best_by_trying(trees, limit)


@given(mixed, st.randoms(use_true_random=False))
def test_the_order_of_the_rows_matters_only_between_trees_alike(trees, dice):
    shuffled = list(trees)
    dice.shuffle(shuffled)

    def shown(rows):
        return sorted(zip(rows, map(str, _answers(rows, 40))))

    assert shown(trees) == shown(shuffled)


@pytest.mark.parametrize("name", ["garden", "short season", "two sizes"])
@pytest.mark.parametrize("seed", [0, 2])
def test_unequal_minutes_with_days_enough_against_a_general_solver(name, seed):
    """A slice of ``python -m tests.hard_use.rounds``; a plan may take a day more than need be."""
    trees, limit = drawn(name, seed)
    left, days = best_by_solver(trees, limit)
    assert _cost(_checked(trees, limit)) in ((left, days), (left, days + 1))


@pytest.mark.parametrize("name", ["crowded", "very crowded", "one last day", "halves", "thirds"])
def test_far_too_much_work_against_a_general_solver(name):
    """Where days are full to the last minutes, a tree more than need be may be left, of 10 to 35."""
    for seed in (0, 2):
        trees, limit = drawn(name, seed)
        assert _cost(_checked(trees, limit))[0] <= best_by_solver(trees, limit)[0] + 1


@pytest.mark.parametrize("seed", range(3))
def test_days_far_too_short_for_two_hundred_trees(seed):
    trees = _trees(seed, 200, 40, 15, range(5, 51), 90)
    left, used = _cost(_checked(trees, 90))
    # So much work cannot be done: even without the longest trees it must fit into the days.
    most = sum(tree.minutes for tree in trees) - 90 * (max(tree.latest for tree in trees) + 1)
    longest = sorted((tree.minutes for tree in trees), reverse=True)
    assert sum(longest[: left + 1]) > most > 0
    assert left < 0.2 * len(trees)
    assert used <= 54


@pytest.mark.parametrize("limit", [120, 240, 480])
def test_two_hundred_trees_with_time_enough_are_all_kept(limit):
    trees = _trees(3, 200, 90, 30, range(5, 41))
    left, used = _cost(_checked(trees, limit))
    assert left == 0
    # No plan does with fewer days than the same trees without a limit, or than their minutes fill.
    fewest = max(_cost(_answers(trees))[1], -(-sum(tree.minutes for tree in trees) // limit))
    assert used <= 1.15 * fewest + 1


@given(mixed)
@settings(max_examples=30)
def test_a_tree_left_says_how_many_minutes_its_best_day_lacks(trees):
    plan = plan_rounds(trees, 40)
    for tree in plan.left:
        day, over = rounds.nearest_room(trees, 40, plan, tree)
        load = sum(trees[other].minutes for other in plan.visits[day])
        assert trees[tree].ready <= day <= trees[tree].latest
        assert over == load + trees[tree].minutes - 40 > 0
