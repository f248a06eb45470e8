"""Packing work of unequal length into days: first as few trees left as can be, then as few days.

Three things together do what can be done: a bound that no plan can beat, an exchange that improves a plan, and a search
through all plans worth a look. Where the bound is met or the search comes to its end, the outcome is proven. Each has a
length in steps, never in seconds, and none rolls dice, so that the answer is the same wherever it is asked.
"""

from __future__ import annotations

from typing import Dict, List, Sequence

from .packing_bounds import Work, least_left, lost_and_days, measures
from .packing_exchange import Exchange
from .packing_search import Search, Spent

Visits = Dict[int, List[int]]

#: Steps of all exchanges for trees left, and of all for days; of one exchange for days, a tree (judgement: together
#: with the search, a second or so at the most for 200 trees, and none where greedy plans meet the bound).
EXCHANGE_STEPS = 150_000
EXCHANGE_STEPS_A_TREE = 600
#: Steps of the search for trees left, and of that for days (judgement, likewise).
SEARCH_STEPS = 80_000


class Packing:
    """A plan to improve.

    visits, left : as in a plan, days and trees as in ``work``. fewest_left, fewest_days : whether it is proven that no
    plan leaves fewer, and that none that leaves as many does with fewer days.
    """

    def __init__(self, work: Work, visits: Visits, left: Sequence[int]) -> None:
        self.work = work
        self.visits = visits
        self.left = list(left)
        self.ways = measures(work)
        self.fewest_left = self.fewest_days = False

    def leave_fewer(self) -> None:
        """Leave fewer trees, on whatever days."""
        least = least_left(self.work, self.ways) if self.left else 0
        exchange = Exchange(self.work, self.visits, self.left)
        while len(self.left) > least and exchange.improve(len(self.left) - 1, self.work.days, EXCHANGE_STEPS):
            self._take(exchange.groups, exchange.out)
        search = Search(self.work, self.ways, SEARCH_STEPS)
        try:
            while len(self.left) > least:
                found = search.find(len(self.left) - 1, self.work.days)
                if found is None:
                    break
                self._take(*found)
        except Spent:
            return
        self.fewest_left = True

    def take_fewer_days(self) -> None:
        """Take fewer days, with no more trees left."""
        trees = range(len(self.work.ready))
        least = max(lost_and_days(self.work, way, trees, 0, len(self.left))[1] for way in self.ways)
        steps = EXCHANGE_STEPS
        while len(self.visits) > least and steps > 0:
            steps = self._without_a_day(steps)
        search = Search(self.work, self.ways, SEARCH_STEPS)
        try:
            while len(self.visits) > least:
                found = search.find(len(self.left), len(self.visits) - 1)
                if found is None:
                    break
                self._take(*found)
        except Spent:
            return
        self.fewest_days = True

    def _without_a_day(self, steps: int) -> int:
        """Put the trees of a day elsewhere, of the least full one that can be, and return the steps left."""
        most = EXCHANGE_STEPS_A_TREE * len(self.work.ready)
        for day in sorted(self.visits, key=lambda day: (self._minutes(day), day)):
            others = {other: group for other, group in self.visits.items() if other != day}
            exchange = Exchange(self.work, others, self.left + self.visits[day])
            done = exchange.improve(len(self.left), len(others), min(steps, most))
            steps -= exchange.steps
            if done:
                self._take(exchange.groups, exchange.out)
                return steps
            if steps <= 0:
                break
        return 0

    def _minutes(self, day: int) -> int:
        return sum(self.work.minutes[tree] for tree in self.visits[day])

    def _take(self, visits: Visits, left: Sequence[int]) -> None:
        self.visits = {day: list(group) for day, group in visits.items()}
        self.left = list(left)
