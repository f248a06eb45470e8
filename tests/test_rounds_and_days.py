"""Rounds with days in hand, and on the days on which one works."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

import sheetfuncs

from .test_rounds import _answers, _checked, _cost, _day, small, tight


@given(small, st.integers(0, 4))
def test_days_in_hand_are_kept_as_far_as_a_tree_has_days(trees, in_hand):
    kept = [tree._replace(latest=max(tree.ready, tree.latest - in_hand)) for tree in trees]
    assert _answers(trees, days_in_hand=in_hand) == _answers(kept)


@given(tight, st.sampled_from([20, 45, 60]), st.integers(1, 3))
def test_days_in_hand_cost_no_tree_its_day(trees, limit, in_hand):
    answers = _answers(trees, limit, in_hand)
    assert _cost(answers)[0] == _cost(_checked(trees, limit))[0]


def test_two_days_are_kept_in_hand_where_nothing_is_typed():
    assert sheetfuncs.prune_rounds([_day(5)], [_day(20)]) == [_day(18)]
    assert sheetfuncs.prune_rounds([_day(19)], [_day(20)]) == [_day(19)]


weekdays = st.sets(st.integers(0, 6), min_size=1)
NAMES = ("Monday", "tue", "Wed", "th", "fri", "Sat", "SUN")


@given(small, weekdays)
def test_only_days_of_work_are_used_and_as_few_as_can_be(trees, week):
    answers = _answers(trees, work_days=" ".join(NAMES[day] for day in week))
    open_days = [day for day in range(20) if _day(day).weekday() in week]
    reached = []
    for tree, answer in zip(trees, answers):
        if isinstance(answer, sheetfuncs.InputError):
            assert not any(tree.ready <= day <= tree.latest for day in open_days)
            assert "none of your work days" in answer.line
            assert len(answer.line) < 100
        else:
            assert answer.weekday() in week
            assert _day(tree.ready) <= answer <= _day(tree.latest)
            reached.append(tree)
    fewest = next(
        count
        for count in range(len(reached) + 1)
        for chosen in combinations(open_days, count)
        if all(any(tree.ready <= day <= tree.latest for day in chosen) for tree in reached)
    )
    assert _cost(answers)[1] == fewest
