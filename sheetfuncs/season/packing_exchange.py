"""A plan improved tree by tree: one is put in, and those that it needs the place of are put out, to be put in next.

How often a tree could not be put in counts, and the trees tried least are put out, so that the exchange does not go
round in a circle (guided ejection: Nagata & Bräysy, "A powerful route minimization heuristic for the vehicle routing
problem with time windows", Operations Research Letters 2009, doi:10.1016/j.orl.2009.04.006). What looks like chance is
a fixed row of numbers: the answer is always the same.
"""

from __future__ import annotations

from typing import Dict, List, NamedTuple, Sequence

from .packing_bounds import Work

Visits = Dict[int, List[int]]

#: Random moves after each exchange (judgement; 0 to 8 tried, and most cases were solved with 8).
SHAKES = 8


class _Change(NamedTuple):
    """Trees that go out of a day for another; the least is the best."""

    tries: int
    length: int
    lot: int
    day: int
    out: tuple[int, ...]


class Exchange:
    """An exchange, from one plan."""

    def __init__(self, work: Work, visits: Visits, left: Sequence[int]) -> None:
        self.work = work
        self.groups = {day: list(group) for day, group in visits.items()}
        self.loads = {day: sum(work.minutes[tree] for tree in group) for day, group in visits.items()}
        self.day_of = {tree: day for day, group in visits.items() for tree in group}
        self.out = list(left)
        self.tries = [1] * len(work.ready)
        self.lot = 1
        self.steps = 0

    def improve(self, most_left: int, most_days: int, steps: int) -> bool:
        """Return whether so many steps lead to a plan with no more trees left, on no more days, than that.

        A step is a tree or a day looked at.
        """
        # Where some trees stay out in the end, it had better be long ones.
        sign = -1 if most_left else 1
        while self.steps < steps:
            self.out = [tree for tree in self.out if not self._put_in(tree, most_days)]
            if len(self.out) <= most_left:
                return True
            tree = min(self.out, key=lambda each: (self.tries[each], self.work.minutes[each], each))
            self.tries[tree] += 1
            self._put_in_for_others(tree, sign)
            for _ in range(SHAKES):
                self._shake()
        return False

    def _draw(self, numbers: int) -> int:
        """Return the next of a fixed row of numbers, below that."""
        self.lot = (self.lot * 1103515245 + 12345) % 2**31
        return (self.lot >> 8) % numbers

    def _add(self, tree: int, day: int) -> None:
        self.groups.setdefault(day, []).append(tree)
        self.loads[day] = self.loads.get(day, 0) + self.work.minutes[tree]
        self.day_of[tree] = day

    def _remove(self, tree: int) -> None:
        day = self.day_of.pop(tree)
        self.groups[day].remove(tree)
        self.loads[day] -= self.work.minutes[tree]
        if not self.groups[day]:
            del self.groups[day], self.loads[day]

    def _window(self, tree: int) -> range:
        self.steps += self.work.latest[tree] - self.work.ready[tree] + 1
        return range(self.work.ready[tree], self.work.latest[tree] + 1)

    def _put_in(self, tree: int, most_days: int) -> bool:
        """Put a tree where there is room: on the fullest day, else on a day of its own, else on a visit moved."""
        most = self.work.room - self.work.minutes[tree]
        fullest = free = None
        for day in self._window(tree):
            if day not in self.loads:
                free = day
            elif self.loads[day] <= most and (fullest is None or self.loads[day] > self.loads[fullest]):
                fullest = day
        if fullest is None and free is not None:
            fullest = free if len(self.groups) < most_days else self._moved_visit(tree, most)
        if fullest is None:
            return False
        self._add(tree, fullest)
        return True

    def _moved_visit(self, tree: int, most: int) -> int | None:
        """Move a visit with no more minutes than that into a tree's window, and return its new day."""
        ready, latest = self.work.ready, self.work.latest
        for day, load in self.loads.items():
            if load > most:
                continue
            group = self.groups[day]
            self.steps += len(group)
            first = max(ready[tree], *(ready[each] for each in group))
            last = min(latest[tree], *(latest[each] for each in group))
            for new in range(first, last + 1):
                if new not in self.groups:
                    for each in list(group):
                        self._remove(each)
                        self._add(each, new)
                    return new
        return None

    def _put_in_for_others(self, tree: int, sign: int) -> None:
        """Put a tree in where the others that must go out have been tried least; they go out."""
        days = [day for day in self._window(tree) if day in self.loads]
        changes = [change for day in days for change in self._for_one(tree, day, sign)]
        best = min(changes, default=None)
        if best is None or best.tries > 2:
            best = min(changes + [self._for_several(tree, day, sign) for day in days], default=None)
        if best is not None:
            for each in best.out:
                self._remove(each)
            self.out = [each for each in self.out if each != tree] + list(best.out)
            self._add(tree, best.day)

    def _for_one(self, tree: int, day: int, sign: int) -> list[_Change]:
        minutes, group = self.work.minutes, self.groups[day]
        need = self.loads[day] + minutes[tree] - self.work.room
        self.steps += len(group)
        return [
            _Change(self.tries[each], sign * minutes[each], self._draw(64), day, (each,))
            for each in group
            if minutes[each] >= need
        ]

    def _for_several(self, tree: int, day: int, sign: int) -> _Change:
        minutes, group = self.work.minutes, self.groups[day]
        need = self.loads[day] + minutes[tree] - self.work.room
        self.steps += len(group)
        several: list[int] = []
        for each in sorted(group, key=lambda each: (self.tries[each], -minutes[each])):
            if need > 0:
                several.append(each)
                need -= minutes[each]
        for each in sorted(several, key=lambda each: -self.tries[each]):
            if minutes[each] <= -need:
                several.remove(each)
                need += minutes[each]
        tries, length = sum(self.tries[each] for each in several), sum(minutes[each] for each in several)
        return _Change(tries, sign * length, self._draw(64), day, tuple(several))

    def _shake(self) -> None:
        """Move a tree to another visit, or let it change places with a tree there, if both fit."""
        work = self.work
        tree = self._draw(len(work.ready))
        now = self.day_of.get(tree)
        day = work.ready[tree] + self._draw(work.latest[tree] - work.ready[tree] + 1)
        self.steps += 1
        if now is None or day == now or day not in self.groups:
            return
        free = work.room - self.loads[day]
        if work.minutes[tree] <= free:
            self._remove(tree)
            self._add(tree, day)
            return
        other = self.groups[day][self._draw(len(self.groups[day]))]
        gain = work.minutes[tree] - work.minutes[other]
        if work.ready[other] <= now <= work.latest[other] and self.loads[now] - work.room <= gain <= free:
            self._remove(tree)
            self._remove(other)
            self._add(tree, day)
            self._add(other, now)
