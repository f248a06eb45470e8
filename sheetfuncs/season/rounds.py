"""Rounds: on which day each tree is cut, so that one goes out as few times as possible and misses no deadline.

A tree can be cut on any day from the day it is ready to its last useful day. Without a limit of minutes a day, a visit
takes in every tree whose window holds its day, and the fewest visits are the fewest days that stab all windows. With
one, a tree is cut in one go, and the minutes of a day never exceed the limit: first as many trees as can be are kept in
time, then on as few days as can be.

Without a limit, and where all trees take equal minutes, the plan is proven to be the best (:func:`due_days` and
:func:`gathered`). Unequal minutes hold the packing of bins, for which no quick and exact way is known. There the plan
is the best of a few greedy ones where it meets a bound that no plan can beat (:meth:`_Search.bound`), and else the
outcome of a search of limited length: for the trees kept in time it is exact if it ends within ``STEPS``, for
the days on which those trees are cut likewise; past that, the best found.
"""

from __future__ import annotations

from bisect import insort
from contextlib import suppress
from functools import reduce
from math import gcd
from typing import Callable, Dict, Iterator, List, NamedTuple, Sequence, Tuple

Visits = Dict[int, List[int]]

#: Length of the search over all trees, and over one stretch of days, in trees looked at (judgement: for 200 trees a few
#: tenths of a second where the days are far too short, and nothing to search where the trees fit in with ease).
STEPS = 40_000
STRETCH_STEPS = 2_000
#: How many days (or visits) in a row are planned anew together, and how often all stretches in turn (judgement).
STRETCH = 8
PASSES = 2

_BEFORE_ALL = -(10**9)
_AFTER_ALL = 10**9


class Tree(NamedTuple):
    """A tree's window and work.

    ready, latest : first and last day on which it may be cut [day number]. minutes : whole, in any small unit.
    """

    ready: int
    latest: int
    minutes: int


class Plan(NamedTuple):
    """visits : the trees cut on each day. left : the trees that no day has room for."""

    visits: Visits
    left: list[int]

    @property
    def cost(self) -> tuple[int, int]:
        """What makes a plan worse: trees left first, then days."""
        return len(self.left), len(self.visits)


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
    plan = _best_greedy(trees, limit)
    if len({tree.minutes for tree in trees}) > 1:
        plan = _with_fewer_days(trees, limit, _with_more_kept(trees, limit, plan))
    return _settled(trees, limit, plan)


def nearest_room(trees: Sequence[Tree], limit: int, plan: Plan, tree: int) -> tuple[int, int]:
    """Return the day of its window on which a tree left would exceed the limit least, and the minutes too many."""
    ready, latest, minutes = trees[tree]
    over = {day: _minutes(trees, plan.visits.get(day, ())) + minutes - limit for day in range(ready, latest + 1)}
    day = min(over, key=lambda day: (over[day], day))
    return day, over[day]


def _minutes(trees: Sequence[Tree], group: Sequence[int]) -> int:
    return sum(trees[tree].minutes for tree in group)


# -- greedy plans -----------------------------------------------------------------------------------------


def due_days(trees: Sequence[Tree], limit: int, longest_first: bool) -> tuple[Visits, list[int]]:
    """Return the trees due on each day so that each day's fit into it, and the trees that cannot.

    Backwards from the last day: of the trees due on a day, those that were ready last stay, the others are due a day
    earlier. With equal minutes this loses nothing: if one of the others were cut on that day, one that stays would be
    cut on an earlier day (or not at all), and the two can change places. So those that fall out of their
    windows here are as few as can be, and all that remain can be kept. First phase of "lazy activation" (Chang,
    Gabow & Khuller, "A model for minimizing active processor time", Algorithmica 2014,
    doi:10.1007/s00453-013-9807-y).
    """
    coming = sorted(range(len(trees)), key=lambda tree: trees[tree].latest)
    sign = -1 if longest_first else 1
    due: Visits = {}
    waiting: list[int] = []
    lost: list[int] = []
    day = _AFTER_ALL
    while waiting or coming:
        day = day - 1 if waiting else trees[coming[-1]].latest
        while coming and trees[coming[-1]].latest >= day:
            waiting.append(coming.pop())
        waiting.sort(key=lambda tree: (-trees[tree].ready, sign * trees[tree].minutes, tree))
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


Urgency = Callable[[Tree, int], Tuple[int, ...]]


def gathered(trees: Sequence[Tree], limit: int, due: Visits, urgency: Urgency) -> Visits:
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


def _due_first(tree: Tree, due: int) -> tuple[int, ...]:
    return due, -tree.minutes


def _longest_first(tree: Tree, due: int) -> tuple[int, ...]:
    return -tree.minutes, due


def _deadline_first(tree: Tree, due: int) -> tuple[int, ...]:
    return tree.latest, -tree.minutes


def _best_greedy(trees: Sequence[Tree], limit: int) -> Plan:
    """Return the best of a few greedy plans; they are all the same, and proven, where minutes are equal."""
    unequal = len({tree.minutes for tree in trees}) > 1
    plans = []
    for longest_first in (True, False) if unequal else (True,):
        due, lost = due_days(trees, limit, longest_first)
        for urgency in (_due_first, _longest_first, _deadline_first) if unequal else (_due_first,):
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
    settled = _with_left_put_in(trees, limit, Plan(visits, plan.left))
    return settled if len(settled.left) == len(plan.left) else _settled(trees, limit, settled)


# -- unequal minutes: a bound, and a search ---------------------------------------------------------------


class _Spent(Exception):
    """The search has used up its steps."""


class _Search:
    """A branch-and-bound over the days in their order: which trees are cut on each."""

    def __init__(self, trees: Sequence[Tree], limit: int, steps: int) -> None:
        self.trees = trees
        self.limit = limit
        self.steps = steps
        self.sizes = _piece_sizes(trees, limit)
        # The order of every group: earliest deadline first, and the longest of one deadline.
        self.members = sorted(range(len(trees)), key=lambda tree: (trees[tree].latest, -trees[tree].minutes, tree))

    def spend(self, steps: int) -> None:
        self.steps -= steps
        if self.steps < 0:
            raise _Spent

    def bound(self, members: Sequence[int], day: int) -> tuple[int, int]:
        """Return how many trees are lost, and how many days are needed, at least, if one starts on a day.

        Trees cut into pieces that may be spread over days can only do better, and how pieces of one size do best is
        known (:func:`_pieces_lost_and_days`). If pieces are lost, so are the few longest trees that make them up.
        """
        lost = days = 0
        for sizes, room in self.sizes:
            pieces = [(max(self.trees[tree].ready, day), self.trees[tree].latest, sizes[tree]) for tree in members]
            over, needed = _pieces_lost_and_days(pieces, room)
            lost = max(lost, _fewest_to_make_up(over, sorted((sizes[tree] for tree in members), reverse=True)))
            days = max(days, needed)
        return lost, days

    def groups(self, ready: Sequence[int], room: int) -> Iterator[list[int]]:
        """Yield the groups of ready trees worth cutting on one day, the most urgent first.

        A group is worth it if no other tree fits in, and if none of its trees could give its place to one that takes
        as long or longer, fits, and is due no later: exchanging the two does no harm to any plan.
        """
        minutes = [self.trees[tree].minutes for tree in ready]
        rest = [0]
        for length in reversed(minutes):
            rest.append(rest[-1] + length)
        rest.reverse()
        stack: list[tuple[int, int, tuple[int, ...], tuple[int, ...]]] = [(0, room, (), ())]
        while stack:
            place, room, taken, out = stack.pop()
            self.spend(1)
            if rest[place] <= room:
                taken, room = taken + tuple(range(place, len(ready))), room - rest[place]
                if not self._worse(ready, taken, out, room):
                    yield [ready[each] for each in taken]
                continue
            stack.append((place + 1, room, taken, (*out, place)))
            if minutes[place] <= room:
                stack.append((place + 1, room - minutes[place], (*taken, place), out))

    def _worse(self, ready: Sequence[int], taken: Sequence[int], out: Sequence[int], room: int) -> bool:
        for place in out:
            outside = self.trees[ready[place]]
            if outside.minutes <= room:
                return True
            for other in taken:
                inside = self.trees[ready[other]]
                if 0 <= outside.minutes - inside.minutes <= room and place < other:
                    return True
        return False

    def most_kept(self, lost: int) -> Plan | None:
        """Return a plan with fewer trees lost than that, the fewest if the steps suffice, whatever its days."""
        found: list[Plan] = []
        least = self.bound(self.members, _BEFORE_ALL)[0]
        seen: dict[tuple, int] = {}

        def go(day: int, open_trees: list[int], gone: list[int], visits: Visits) -> None:
            gone = gone + [tree for tree in open_trees if self.trees[tree].latest < day]
            open_trees = [tree for tree in open_trees if self.trees[tree].latest >= day]
            best = len(found[-1].left) if found else lost
            if len(gone) >= best:
                return
            if not open_trees:
                found.append(Plan(dict(visits), gone))
                return
            day = max(day, min(self.trees[tree].ready for tree in open_trees))
            key = (day, *open_trees)
            if seen.get(key, best) <= len(gone):
                return
            seen[key] = len(gone)
            self.spend(len(open_trees))
            if len(gone) + self.bound(open_trees, day)[0] >= best:
                return
            for group in self.groups([tree for tree in open_trees if self.trees[tree].ready <= day], self.limit):
                go(day + 1, _without(open_trees, group), gone, {**visits, day: group})
                if found and len(found[-1].left) <= least:
                    return

        with suppress(_Spent):
            go(_BEFORE_ALL, self.members, [], {})
        return found[-1] if found else None

    def fewest_days(self, days: int) -> Visits | None:
        """Return visits to all trees on fewer days than that, the fewest if the steps suffice.

        A visit that could be held a day later without loss is never tried: so one goes out on the first day on which
        a tree is due, and on some days in a row right before it.
        """
        found: list[Visits] = []
        least = self.bound(self.members, _BEFORE_ALL)[1]
        seen: dict[tuple, int] = {}

        def best() -> int:
            return len(found[-1]) if found else days

        def go(day: int, in_a_row: bool, open_trees: list[int], visits: Visits) -> None:
            if not open_trees:
                found.append(visits)
                return
            key = (day, in_a_row, *open_trees)
            if seen.get(key, best()) <= len(visits):
                return
            seen[key] = len(visits)
            self.spend(len(open_trees))
            lost, needed = self.bound(open_trees, day)
            if lost or len(visits) + needed >= best():
                return
            due = self.trees[open_trees[0]].latest
            first = day if in_a_row else max(day, due - (best() - len(visits)) + 1)
            for start in [day] if in_a_row else range(due, first - 1, -1):
                visit(start, open_trees, visits)

        def visit(day: int, open_trees: list[int], visits: Visits) -> None:
            due = [tree for tree in open_trees if self.trees[tree].latest == day]
            others = [tree for tree in open_trees[len(due) :] if self.trees[tree].ready <= day]
            room = self.limit - _minutes(self.trees, due)
            if room < 0 or not (due or others):
                return
            for group in self.groups(others, room):
                if best() <= max(least, len(visits) + 1):
                    return
                taken = due + group
                go(day + 1, not due, _without(open_trees, taken), {**visits, day: taken})

        with suppress(_Spent):
            go(_BEFORE_ALL, False, self.members, {})
        return found[-1] if found else None


def _without(trees: Sequence[int], gone: Sequence[int]) -> list[int]:
    taken = set(gone)
    return [tree for tree in trees if tree not in taken]


def _fewest_to_make_up(total: int, falling: Sequence[int]) -> int:
    """Return how many of some falling numbers make up a total at least."""
    count = 0
    while total > 0:
        total -= falling[count]
        count += 1
    return count


def _piece_sizes(trees: Sequence[Tree], limit: int) -> list[tuple[list[int], int]]:
    """Return ways to count each tree and a day's room in pieces, none of which lets less into a day than fits.

    The minutes themselves; and, with a day cut into k + 1 parts, the parts that a tree more than fills: trees that
    fit into one day fill k of them at most (a dual feasible function, as used for bins).
    """
    unit = reduce(gcd, (tree.minutes for tree in trees), 0) or 1
    ways = [([tree.minutes // unit for tree in trees], limit // unit)]
    for parts in (2, 3, 4):
        # The parts more than filled: minutes × parts ÷ limit, rounded up, less one.
        ways.append(([max(0, -(-parts * tree.minutes // max(limit, 1)) - 1) for tree in trees], parts - 1))
    return ways


def _pieces_lost_and_days(pieces: Sequence[tuple[int, int, int]], room: int) -> tuple[int, int]:
    """Return the fewest pieces lost, and then the fewest days, where each day takes so many pieces.

    pieces : (first day, last day, how many). The two phases of "lazy activation", as for trees of equal minutes, with
    like pieces moved together.
    """
    coming = sorted((piece for piece in pieces if piece[2]), key=lambda piece: piece[1])
    due, lost = _pieces_due(coming, room)
    days = 0
    for place, (day, _, count) in enumerate(due):
        if not count:
            continue
        days += 1
        free = room
        for later in range(place, len(due)):
            piece = due[later]
            if piece[2] and piece[1] <= day:
                taken = min(free, piece[2])
                piece[2] -= taken
                free -= taken
                if not free:
                    break
    return lost, days


def _pieces_due(coming: list[tuple[int, int, int]], room: int) -> tuple[list[list[int]], int]:
    """Return pieces as [day due, first day, how many], days rising, and how many are lost."""
    due: list[list[int]] = []
    waiting: list[tuple[int, int]] = []
    lost, day = 0, _AFTER_ALL
    while waiting or coming:
        day = day - 1 if waiting else coming[-1][1]
        while coming and coming[-1][1] >= day:
            first, _, count = coming.pop()
            insort(waiting, (first, count))
        free = room
        while free and waiting:
            first, count = waiting.pop()
            taken = min(count, free)
            free -= taken
            due.append([day, first, taken])
            if count > taken:
                waiting.append((first, count - taken))
        while waiting and waiting[-1][0] >= day:
            lost += waiting.pop()[1]
    due.reverse()
    return due, lost


# -- the search, put to use -------------------------------------------------------------------------------


def _with_more_kept(trees: Sequence[Tree], limit: int, plan: Plan) -> Plan:
    """Return a plan that keeps more trees where one is found: stretch by stretch, then over all days."""
    if not plan.left:
        return plan
    search = _Search(trees, limit, STEPS)
    least = search.bound(search.members, _BEFORE_ALL)[0]
    before = len(plan.left)
    if before > least:
        plan = _kept_by_stretches(trees, limit, plan)
    if len(plan.left) > least:
        plan = search.most_kept(len(plan.left)) or plan
    if len(plan.left) == before:
        return plan
    # The search did not look at days; a greedy plan of the same trees does.
    kept = sorted(tree for group in plan.visits.values() for tree in group)
    again = _best_greedy([trees[tree] for tree in kept], limit)
    if again.left or len(again.visits) >= len(plan.visits):
        return plan
    return Plan({day: [kept[tree] for tree in group] for day, group in again.visits.items()}, plan.left)


def _kept_by_stretches(trees: Sequence[Tree], limit: int, plan: Plan) -> Plan:
    half = STRETCH // 2
    for _ in range(PASSES):
        left = len(plan.left)
        near = {
            day // half * half
            for tree in plan.left
            for day in range(trees[tree].ready - STRETCH + 1, trees[tree].latest + 1, half)
        }
        for start in sorted(near):
            found = _kept_in_stretch(trees, limit, plan, start, start + STRETCH - 1)
            plan = found or plan
        if len(plan.left) == left:
            break
    return plan


def _kept_in_stretch(trees: Sequence[Tree], limit: int, plan: Plan, first: int, last: int) -> Plan | None:
    """Return the plan with some days planned anew, with trees left that could be cut on them, if that keeps more."""
    left = [tree for tree in plan.left if trees[tree].ready <= last and trees[tree].latest >= first]
    if not left:
        return None
    days = [day for day in plan.visits if first <= day <= last]
    members = left + [tree for day in days for tree in plan.visits[day]]
    search = _Search(_clipped(trees, members, first, last), limit, STRETCH_STEPS)
    if search.bound(search.members, _BEFORE_ALL)[0] >= len(left):
        return None
    found = search.most_kept(len(left))
    if found is None:
        return None
    visits = {day: group for day, group in plan.visits.items() if day not in days}
    visits.update({day: [members[each] for each in group] for day, group in found.visits.items()})
    return Plan(visits, _without(plan.left, left) + [members[each] for each in found.left])


def _with_fewer_days(trees: Sequence[Tree], limit: int, plan: Plan) -> Plan:
    """Return a plan of the same trees on fewer days where one is found: stretch by stretch, then over all days."""
    kept = sorted(tree for group in plan.visits.values() for tree in group)
    search = _Search([trees[tree] for tree in kept], limit, STEPS)
    least = search.bound(search.members, _BEFORE_ALL)[1]
    if len(plan.visits) > least:
        plan = _days_by_stretches(trees, limit, plan)
    if len(plan.visits) > least:
        found = search.fewest_days(len(plan.visits))
        if found is not None:
            return Plan({day: [kept[tree] for tree in group] for day, group in found.items()}, plan.left)
    return plan


def _days_by_stretches(trees: Sequence[Tree], limit: int, plan: Plan) -> Plan:
    start = 0
    while start < len(plan.visits):
        found = _days_in_stretch(trees, limit, plan, start)
        if found is None:
            start += STRETCH // 2
        else:
            plan, start = found, max(0, start - STRETCH)
    return plan


def _days_in_stretch(trees: Sequence[Tree], limit: int, plan: Plan, start: int) -> Plan | None:
    """Return the plan with some visits in a row planned anew, between their neighbours, if that takes fewer."""
    days = sorted(plan.visits)
    part = days[start : start + STRETCH]
    first = days[start - 1] + 1 if start else _BEFORE_ALL
    last = days[start + STRETCH] - 1 if start + STRETCH < len(days) else _AFTER_ALL
    members = [tree for day in part for tree in plan.visits[day]]
    search = _Search(_clipped(trees, members, first, last), limit, STRETCH_STEPS)
    if search.bound(search.members, _BEFORE_ALL)[1] >= len(part):
        return None
    found = search.fewest_days(len(part))
    if found is None:
        return None
    visits = {day: group for day, group in plan.visits.items() if day not in part}
    visits.update({day: [members[each] for each in group] for day, group in found.items()})
    return Plan(visits, plan.left)


def _clipped(trees: Sequence[Tree], members: Sequence[int], first: int, last: int) -> list[Tree]:
    """Return some trees with their windows cut to a stretch of days."""
    return [
        Tree(max(trees[tree].ready, first), min(trees[tree].latest, last), trees[tree].minutes) for tree in members
    ]
