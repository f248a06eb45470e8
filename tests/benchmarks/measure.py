"""Timing two things in turn, so that a machine's moods fall on both."""

from __future__ import annotations

import statistics
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Ratio:
    """How long one thing takes beside another: medians of runs taken in turn [s]."""

    name: str
    ours: float
    theirs: float
    target: str = ""

    @property
    def ratio(self) -> float:
        """Ours over theirs."""
        return self.ours / self.theirs


def seconds(work: Callable[[], object], times: int = 1) -> float:
    """Return how long a call takes, as the mean of so many in a row."""
    start = time.perf_counter()
    for _ in range(times):
        work()
    return (time.perf_counter() - start) / times


def in_turn(
    name: str,
    ours: Callable[[], object],
    theirs: Callable[[], object],
    rounds: int = 7,
    times: int = 1,
    target: str = "",
) -> Ratio:
    """Time two calls in turn, after one of each that is not counted."""
    ours()
    theirs()
    mine, other = [], []
    for _ in range(rounds):
        mine.append(seconds(ours, times))
        other.append(seconds(theirs, times))
    return Ratio(name, statistics.median(mine), statistics.median(other), target)


def peak_memory(work: Callable[[], object]) -> float:
    """Return the most memory that Python objects take during a call [MiB]."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1] / 2**20
    finally:
        tracemalloc.stop()


def show(ratios: list[Ratio]) -> None:
    """Print ratios as a table."""
    width = max(len(ratio.name) for ratio in ratios)
    print(f"{'':<{width}}  {'ours':>11}  {'peer':>11}  {'ours/peer':>9}  target")
    for ratio in ratios:
        print(
            f"{ratio.name:<{width}}  {ratio.ours * 1e6:>8,.1f} µs  {ratio.theirs * 1e6:>8,.1f} µs"
            f"  {ratio.ratio:>9.3f}  {ratio.target}"
        )
