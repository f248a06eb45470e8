"""All plans worth a look, gone through in order, as far as a number of steps goes."""

from __future__ import annotations

from itertools import islice
from typing import Dict, Iterator, List, NamedTuple, Sequence

from .packing_bounds import Measure, Work, lost_and_days

Visits = Dict[int, List[int]]

#: Groups of trees that are compared before one is cut (judgement).
FEW = 20


class Spent(Exception):
    """The search has used up its steps."""


class _Part(NamedTuple):
    """The first visits of a plan.

    day : from which to go on. in_a_row : whether the next visit must be on it. still_open : trees to come, by
    deadline, of one deadline the longest first. left : trees that have no visit.
    """

    day: int
    in_a_row: bool
    still_open: tuple[int, ...]
    left: tuple[int, ...]
    visits: Visits


class Search:
    """A search, the days in their order: which trees are cut on each.

    Of plans as good, only one need be found: the one whose first visit is latest, then with the most minutes on it,
    then with its most urgent trees, and so on with the next. In it, a visit is held when one of its trees is due, or
    right before the next one; no other tree fits in; and no tree could give its place to one that takes as long or
    longer, fits, and is due no later (the two would change places, and if the other was left, the one is left).
    """

    def __init__(self, work: Work, ways: Sequence[Measure], steps: int) -> None:
        self.work = work
        self.ways = list(ways)
        self.steps = steps
        self.most_left = self.most_days = 0
        self.seen: dict[tuple, list[tuple[int, int]]] = {}

    def find(self, most_left: int, most_days: int) -> tuple[Visits, list[int]] | None:
        """Return visits on no more days, with no more trees left than that, or ``None`` where there are none.

        Raises :class:`Spent` where the steps do not suffice to know.
        """
        self.most_left, self.most_days, self.seen = most_left, most_days, {}
        trees = range(len(self.work.ready))
        order = sorted(trees, key=lambda tree: (self.work.latest[tree], -self.work.minutes[tree], tree))
        # An iterator a visit, not a call a visit: a program that recalculates may leave little room for calls.
        stack = [iter((_Part(0, self._every_day, tuple(order), (), {}),))]
        while stack:
            part = next(stack[-1], None)
            if part is None:
                stack.pop()
                continue
            part = self._with_late_ones_left(part)
            if len(part.left) + len(part.still_open) <= most_left:
                return part.visits, [*part.left, *part.still_open]
            if self._worth_a_look(part):
                stack.append(self._longer(part))
        return None

    @property
    def _every_day(self) -> bool:
        """Whether days do not count: then there is a visit on each."""
        return self.most_days >= self.work.days

    def _spend(self, steps: int) -> None:
        self.steps -= steps
        if self.steps < 0:
            raise Spent

    def _with_late_ones_left(self, part: _Part) -> _Part:
        late = sum(self.work.latest[tree] < part.day for tree in part.still_open)
        return part._replace(left=part.left + part.still_open[:late], still_open=part.still_open[late:])

    def _worth_a_look(self, part: _Part) -> bool:
        spare, days = self.most_left - len(part.left), self.most_days - len(part.visits)
        if spare < 0 or days <= 0:
            return False
        self._spend(len(part.still_open))
        day = max(part.day, min(self.work.ready[tree] for tree in part.still_open))
        before = self.seen.setdefault((day, part.in_a_row, part.still_open), [])
        if any(left <= len(part.left) and visits <= len(part.visits) for left, visits in before):
            return False
        before.append((len(part.left), len(part.visits)))
        for place, way in enumerate(self.ways):
            lost, needed = lost_and_days(self.work, way, part.still_open, day, spare)
            if lost > spare or needed > days:
                # The measure that told tells again, as a rule.
                self.ways.insert(0, self.ways.pop(place))
                return False
        return True

    def _longer(self, part: _Part) -> Iterator[_Part]:
        """Yield the part with one more visit."""
        day = max(part.day, min(self.work.ready[tree] for tree in part.still_open))
        if part.in_a_row:
            yield from self._with_visit(part, day)
            return
        # The first tree that is not left in the end makes one go out on its last day, or on days in a row before.
        for left in range(self.most_left - len(part.left) + 1):
            rest = part._replace(left=part.left + part.still_open[:left], still_open=part.still_open[left:])
            due = self.work.latest[rest.still_open[0]]
            first = max(day, due - (self.most_days - len(part.visits)) + 1)
            for start in range(due, first - 1, -1):
                yield from self._with_visit(rest, start)

    def _with_visit(self, part: _Part, day: int) -> Iterator[_Part]:
        here = [tree for tree in part.still_open if self.work.ready[tree] <= day]
        groups = self._groups(here, day, self.most_left - len(part.left)) if here else iter(())
        for group in groups if self._every_day else self._fullest_first(groups):
            taken = set(group)
            yield _Part(
                day + 1,
                self._every_day or self.work.latest[group[0]] > day,
                tuple(tree for tree in part.still_open if tree not in taken),
                part.left,
                {**part.visits, day: group},
            )

    def _fullest_first(self, groups: Iterator[list[int]]) -> Iterator[list[int]]:
        """Yield groups, of each few the one with the most minutes first: full days make for few."""
        few = list(islice(groups, FEW))
        while few:
            yield from sorted(few, key=lambda group: -sum(self.work.minutes[tree] for tree in group))
            few = list(islice(groups, FEW))

    def _groups(self, here: Sequence[int], day: int, spare: int) -> Iterator[list[int]]:
        """Yield the groups of trees worth cutting on a day, the most urgent first."""
        minutes = [self.work.minutes[tree] for tree in here]
        due = sum(self.work.latest[tree] == day for tree in here)
        rest = [0]
        for length in reversed(minutes):
            rest.append(rest[-1] + length)
        rest.reverse()
        stack: list[tuple[int, int, tuple[int, ...], tuple[int, ...]]] = [(0, self.work.room, (), ())]
        while stack:
            place, room, taken, out = stack.pop()
            self._spend(1)
            if rest[place] <= room:
                taken, room = taken + tuple(range(place, len(here))), room - rest[place]
                if taken and not _is_worse(minutes, taken, out, room):
                    yield [here[each] for each in taken]
                continue
            if place >= due or len(out) < spare:
                stack.append((place + 1, room, taken, (*out, place)))
            if minutes[place] <= room:
                stack.append((place + 1, room - minutes[place], (*taken, place), out))


def _is_worse(minutes: Sequence[int], taken: Sequence[int], out: Sequence[int], room: int) -> bool:
    """Return whether a group is no better than another one that the search looks at."""
    for place in out:
        if minutes[place] <= room:
            return True
        for other in reversed(taken):
            if other < place:
                break
            if 0 <= minutes[place] - minutes[other] <= room:
                return True
    return False
