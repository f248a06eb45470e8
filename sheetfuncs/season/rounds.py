"""Rounds: on which day each tree is cut, so that one goes out as few times as possible and misses no deadline.

A tree can be cut on any day from the day it is ready to its last useful day. Without a limit of minutes a day, a visit
takes in every tree whose window holds its day, and the fewest visits are the fewest days that stab all windows. With
one, a tree is cut in one go, and the minutes of a day never exceed the limit.

Without a limit, and where all trees take equal minutes, as few trees as can be are left without a day, and of all plans
that leave so few, the one returned has the fewest days (:func:`due_days` and :func:`gathered`). Unequal minutes hold
the packing of bins, for which no quick and exact way is known: the best of a few greedy plans is taken.
"""

from __future__ import annotations

from typing import Callable, Collection, Dict, List, NamedTuple, Sequence, Tuple

Visits = Dict[int, List[int]]

#: What comes first of trees on a day: the least of these.
Order = Callable[["Tree", int], Tuple[int, ...]]

_AFTER_ALL = 10**9


class Tree(NamedTuple):
    """A tree's window and work.

    ready, latest : first and last day on which it may be cut [day number]. minutes : whole, in any small unit.
    """

    ready: int
    latest: int
    minutes: int


class Plan(NamedTuple):
    """visits : the trees cut on each day. left : the trees for which no day was found."""

    visits: Visits
    left: list[int]

    @property
    def cost(self) -> tuple[int, int]:
        """What makes a plan worse: trees left first, then days."""
        return len(self.left), len(self.visits)


class WorkDays:
    """The days on which one works, numbered one after the other, so that a plan knows no others.

    weekdays : 0 for Monday to 6 for Sunday.
    """

    def __init__(self, weekdays: Collection[int] = range(7)) -> None:
        self._weekdays = sorted(weekdays)

    def before(self, ordinal: int) -> int:
        """Return how many days of work lie before a date: the number of the first one on or after it."""
        weeks, weekday = divmod(ordinal - 1, 7)  # 1 January of year 1 was a Monday
        return weeks * len(self._weekdays) + sum(each < weekday for each in self._weekdays)

    def ordinal(self, number: int) -> int:
        """Return the date with a number."""
        weeks, index = divmod(number, len(self._weekdays))
        return weeks * 7 + self._weekdays[index] + 1

    def window(self, ready: int, latest: int, days_in_hand: int) -> tuple[int, int, int] | None:
        """Return the numbers of the first and last day of work in a window; ``None`` where there is none.

        days_in_hand : days to keep before the last one. Between the two stands the last day that keeps them, or the
        first where none does.
        """
        first, last = self.before(ready), self.before(latest + 1) - 1
        kept = max(first, self.before(latest - days_in_hand + 1) - 1)
        return None if last < first else (first, kept, last)


def plan_with_days_in_hand(trees: Sequence[Tree], kept: Sequence[int], limit: int | None) -> Plan:
    """Return the day of each tree, with days in hand as far as they cost no tree its day.

    trees, limit : as for :func:`plan_rounds`. kept : each tree's last day that keeps days in hand, in its window.
    """
    early = [tree._replace(latest=last) for tree, last in zip(trees, kept)]
    plan = plan_rounds(early, limit)
    if plan.left:
        plan = min(
            _with_left_put_in(trees, limit or 0, plan), plan_rounds(trees, limit), key=lambda plan: len(plan.left)
        )
    return plan


def plan_rounds(trees: Sequence[Tree], limit: int | None) -> Plan:
    """Return the day of each tree.

    trees : with ``ready <= latest``, and ``minutes <= limit``. limit : minutes a day, ``None`` for no limit.

    Each visit is held as late as its trees and the visits after it allow (without a limit: on the earliest last day
    among its trees), because the buds must be there; it may be made on any day from the last ``ready`` among
    its trees on. Without a limit, a tree goes with the first visit that finds it ready, because an earlier cut ripens
    more surely.
    """
    if limit is None:
        trees, limit = [tree._replace(minutes=0) for tree in trees], 0
    # In an order of their own, so that the order of the lines decides nothing but between trees alike in all.
    lines = sorted(range(len(trees)), key=lambda line: (trees[line].latest, trees[line].ready, trees[line].minutes))
    ordered = [trees[line] for line in lines]
    plan = _settled(ordered, limit, _best_greedy(ordered, limit))
    visits = {day: sorted(lines[tree] for tree in group) for day, group in plan.visits.items()}
    return Plan(visits, sorted(lines[tree] for tree in plan.left))


def nearest_room(trees: Sequence[Tree], limit: int, plan: Plan, tree: int) -> tuple[int, int]:
    """Return the day of its window on which a tree left would exceed the limit least, and the minutes too many."""
    ready, latest, minutes = trees[tree]
    over = {day: _minutes(trees, plan.visits.get(day, ())) + minutes - limit for day in range(ready, latest + 1)}
    day = min(over, key=lambda day: (over[day], day))
    return day, over[day]


def _minutes(trees: Sequence[Tree], group: Sequence[int]) -> int:
    return sum(trees[tree].minutes for tree in group)


# -- greedy plans -----------------------------------------------------------------------------------------


def due_days(trees: Sequence[Tree], limit: int, staying: Order) -> tuple[Visits, list[int]]:
    """Return the trees due on each day so that each day's fit into it, and the trees that cannot.

    Backwards from the last day: of the trees due on a day, those first in order stay, the others are due a day
    earlier. Where minutes are equal and those that were ready last stay, this loses nothing: if one of the others were
    cut on that day, one that stays would be cut on an earlier day (or not at all), and the two can change places. So
    those that fall out of their windows here are as few as can be, and all that remain can be kept. First phase of
    "lazy activation" (Chang, Gabow & Khuller, "A model for minimizing active processor time", Algorithmica 2014,
    doi:10.1007/s00453-013-9807-y).
    """
    coming = sorted(range(len(trees)), key=lambda tree: trees[tree].latest)
    due: Visits = {}
    waiting: list[int] = []
    lost: list[int] = []
    day = _AFTER_ALL
    while waiting or coming:
        day = day - 1 if waiting else trees[coming[-1]].latest
        while coming and trees[coming[-1]].latest >= day:
            waiting.append(coming.pop())
        waiting.sort(key=lambda tree: (*staying(trees[tree], day), tree))
        due[day], others = _filled(trees, waiting, limit)
        lost += [tree for tree in others if trees[tree].ready == day]
        waiting = [tree for tree in others if trees[tree].ready < day]
    return due, lost


def _filled(trees: Sequence[Tree], queue: Sequence[int], room: int) -> tuple[list[int], list[int]]:
    """Return the trees of a queue that fit into a room, taken in their order, and the others."""
    taken, others = [], []
    for tree in queue:
        if trees[tree].minutes <= room:
            room -= trees[tree].minutes
            taken.append(tree)
        else:
            others.append(tree)
    return taken, others


def gathered(trees: Sequence[Tree], limit: int, due: Visits, urgency: Order) -> Visits:
    """Return visits that take the trees due on their day, and fill up with the most urgent of those that are ready.

    One goes out only when a tree is due: second phase of "lazy activation", which gives the fewest days where minutes
    are equal. Without a limit it is the textbook way to stab windows with the fewest points, earliest
    deadline first: the windows of the trees that make one go out share no day, so no plan does with fewer visits.
    """
    day_due = {tree: day for day, group in due.items() for tree in group}
    open_trees = sorted(day_due, key=lambda tree: (*urgency(trees[tree], day_due[tree]), tree))
    visits: Visits = {}
    for day in sorted(due):
        group = [tree for tree in open_trees if day_due[tree] == day]
        if not group:
            continue
        others = [tree for tree in open_trees if day_due[tree] > day and trees[tree].ready <= day]
        visits[day] = group + _filled(trees, others, limit - _minutes(trees, group))[0]
        gone = set(visits[day])
        open_trees = [tree for tree in open_trees if tree not in gone]
    return visits


def _best_greedy(trees: Sequence[Tree], limit: int) -> Plan:
    """Return the best of a few greedy plans; they are all the same, and proven, where minutes are equal."""
    staying: list[Order] = [lambda tree, day: (-tree.ready, -tree.minutes)]
    urgent: list[Order] = [lambda tree, due: (due, -tree.minutes)]
    if len({tree.minutes for tree in trees}) > 1:
        urgent += [lambda tree, due: (-tree.minutes, due), lambda tree, due: (tree.latest, -tree.minutes)]
        staying += [
            lambda tree, day: (-tree.ready, tree.minutes),
            lambda tree, day: (tree.minutes, -tree.ready),
            # An eighth of a day's work weighs as much as a day more to wait (judgement).
            lambda tree, day: (8 * tree.minutes + (day - tree.ready) * limit,),
        ]
    plans = []
    for order in staying:
        due, lost = due_days(trees, limit, order)
        for urgency in urgent:
            plans.append(_with_left_put_in(trees, limit, Plan(gathered(trees, limit, due, urgency), lost)))
    return min(plans, key=lambda plan: plan.cost)


def _with_left_put_in(trees: Sequence[Tree], limit: int, plan: Plan) -> Plan:
    """Return the plan with the trees left put where there is still room, the shortest first."""
    visits = {day: list(group) for day, group in plan.visits.items()}
    left = []
    for tree in sorted(plan.left, key=lambda tree: (trees[tree].minutes, tree)):
        day = _day_with_room(trees, limit, visits, tree)
        if day is None:
            left.append(tree)
        else:
            visits.setdefault(day, []).append(tree)
    return Plan(visits, left)


def _day_with_room(trees: Sequence[Tree], limit: int, visits: Visits, tree: int) -> int | None:
    ready, latest, minutes = trees[tree]
    for day in sorted(visits):
        if ready <= day <= latest and _minutes(trees, visits[day]) + minutes <= limit:
            return day
    return next((day for day in range(latest, ready - 1, -1) if day not in visits), None)


def _settled(trees: Sequence[Tree], limit: int, plan: Plan) -> Plan:
    """Return the plan with each visit as late as it can be, and trees left put in where that made room."""
    visits: Visits = {}
    after = _AFTER_ALL
    for day in sorted(plan.visits, reverse=True):
        group = sorted(plan.visits[day])
        after = min(after - 1, min(trees[tree].latest for tree in group))
        visits[after] = group
    settled = Plan(visits, plan.left)
    fuller = _with_left_put_in(trees, limit, settled)
    return settled if len(fuller.left) == len(plan.left) else _settled(trees, limit, fuller)
