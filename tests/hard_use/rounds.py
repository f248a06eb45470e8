"""PRUNE_ROUNDS beside a general solver on random trees: ``python -m tests.hard_use.rounds --cases 300``.

Each case is drawn from one of several shapes, planned, and given to scipy's integer programming, which looks for the
fewest trees left and then the fewest days. Prints a line a shape: cases, those that the solver finished, and the
differences. Ends with exit code 1 where a plan leaves three trees more than need be.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from typing import NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from sheetfuncs.season.rounds import Tree, plan_rounds


class Shape(NamedTuple):
    """counts, days, windows, minutes, limits : what a case is drawn from; last : one last day for all trees."""

    counts: range
    days: range
    windows: range
    minutes: range | tuple[int, ...]
    limits: range | tuple[int, ...]
    last: bool = False


SHAPES = {
    "garden": Shape(range(15, 61), range(30, 91), range(5, 61), range(3, 31), (60, 90, 120, 240)),
    "short season": Shape(range(20, 61), range(8, 25), range(5, 21), range(3, 31), (60, 90, 120)),
    "crowded": Shape(range(15, 36), range(6, 15), range(1, 9), range(5, 51), (60, 90)),
    "very crowded": Shape(range(15, 31), range(4, 9), range(1, 7), range(10, 51), (60, 75)),
    "one last day": Shape(range(15, 41), range(4, 15), range(1, 2), range(5, 46), (60, 90), last=True),
    "halves": Shape(range(10, 31), range(6, 15), range(2, 10), range(22, 40), (60,)),
    "thirds": Shape(range(15, 31), range(5, 12), range(2, 10), range(24, 40), (90,)),
    "two sizes": Shape(range(15, 36), range(5, 15), range(2, 12), (20, 35), (60, 75, 90, 100)),
    "three sizes": Shape(range(15, 36), range(5, 15), range(2, 12), (15, 25, 40), (60, 70, 90)),
}


def drawn(name: str, seed: int) -> tuple[list[Tree], int]:
    """Return trees and a limit."""
    shape, dice = SHAPES[name], random.Random(f"{name} {seed}")
    days, limit = dice.choice(shape.days), dice.choice(shape.limits)
    trees = []
    for _ in range(dice.choice(shape.counts)):
        ready = dice.randrange(days)
        latest = days if shape.last else ready + dice.choice(shape.windows) - 1
        trees.append(Tree(ready, latest, min(limit, dice.choice(shape.minutes))))
    return trees, limit


def best_by_solver(trees: list[Tree], limit: int, seconds: float | None = None) -> tuple[int, int] | None:
    """Return the least (trees left, days) by integer programming, ``None`` where it takes longer than that.

    x = tree on day, y = day used.
    """
    days = sorted({day for tree in trees for day in range(tree.ready, tree.latest + 1)})
    indexes = {day: index for index, day in enumerate(days)}
    pairs = [(row, indexes[day]) for row, tree in enumerate(trees) for day in range(tree.ready, tree.latest + 1)]
    xs, ys = len(pairs), len(days)
    cost = np.r_[-np.full(xs, ys + 1.0), np.ones(ys)]
    entries = []  # row, column, value
    for column, (tree, day) in enumerate(pairs):
        entries.append((tree, column, 1))
        entries.append((len(trees) + day, column, trees[tree].minutes))
        # A tree on a day needs the day; stronger than the sum of minutes alone.
        entries += [(len(trees) + ys + column, column, 1), (len(trees) + ys + column, xs + day, -1)]
    entries += [(len(trees) + day, xs + day, -limit) for day in range(ys)]
    rows, columns, values = zip(*entries)
    matrix = coo_array((values, (rows, columns)), shape=(len(trees) + ys + xs, xs + ys)).tocsr()
    most = np.r_[np.ones(len(trees)), np.zeros(ys + xs)]
    solved = milp(
        cost,
        constraints=LinearConstraint(matrix, -np.inf, most),
        integrality=np.ones(xs + ys),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0} if seconds is None else {"mip_rel_gap": 0, "time_limit": seconds},
    )
    if solved.status != 0:
        return None
    chosen = np.round(solved.x)
    return len(trees) - int(chosen[:xs].sum()), int(chosen[xs:].sum())


def main(cases: int, seconds: float, names: list[str]) -> int:
    """Try so many cases, as many of each shape, and return how many plans leave three trees more than need be."""
    wrong = 0
    for name in names:
        solved = more_left = more_days = 0
        longest = 0.0
        for seed in range(cases // len(names)):
            trees, limit = drawn(name, seed)
            before = time.perf_counter()
            plan = plan_rounds(trees, limit)
            longest = max(longest, time.perf_counter() - before)
            best = best_by_solver(trees, limit, seconds)
            if best is None:
                continue
            solved += 1
            if plan.cost == best:
                continue
            left = plan.cost[0] - best[0]
            more_left += left > 0
            more_days += not left
            wrong += left > 2
            print(f"  {name} {seed}: (left, days) {plan.cost}, solver {best}", flush=True)
        print(
            f"{name}: {cases // len(names)} cases, {solved} solved; {more_left} with more trees left,"
            f" {more_days} with more days; {longest:.2f} s the longest",
            flush=True,
        )
    return wrong


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.hard_use.rounds")
    parser.add_argument("--cases", type=int, default=300)
    parser.add_argument("--seconds", type=float, default=20, help="the solver's time for a case")
    parser.add_argument("--shapes", nargs="*", default=list(SHAPES), choices=list(SHAPES))
    options = parser.parse_args()
    sys.exit(min(1, main(options.cases, options.seconds, options.shapes)))
