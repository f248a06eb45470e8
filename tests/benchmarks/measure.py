"""Timing two things in turn, so that a machine's moods fall on both, and the memory of processes of their own.

Times are the processor's, of this process and of those it started, so that other work on the machine counts little.
"""

from __future__ import annotations

import json
import os
import platform
import resource
import statistics
import subprocess
import sys
import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

PROJECT = Path(__file__).parents[2]


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


def machine() -> str:
    """Return what this runs on."""
    cpu, memory = platform.processor() or platform.machine(), ""
    if Path("/proc/cpuinfo").exists():
        lines = Path("/proc/cpuinfo").read_text().splitlines()
        cpu = next((line.partition(":")[2].strip() for line in lines if line.startswith("model name")), cpu)
        total = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
        memory = f", {total / 2**30:.0f} GiB, load {os.getloadavg()[0]:.1f}"
    system = f"{platform.system()} {platform.release()}, Python {platform.python_version()}"
    return f"{cpu}, {os.cpu_count()} cores{memory}, {system}"


def processor_time() -> float:
    """Return how long the processor has worked for this process and those it started that have ended [s]."""
    times = [resource.getrusage(whose) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(time.ru_utime + time.ru_stime for time in times)


def seconds(work: Callable[[], object], times: int = 1) -> float:
    """Return how long a call takes, as the mean of so many in a row."""
    start = processor_time()
    for _ in range(times):
        work()
    return (processor_time() - start) / times


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


def in_child(module: str, *arguments: object) -> dict[str, float]:
    """Run ``python -m tests.benchmarks.MODULE`` and return what it prints, one JSON object."""
    command = [sys.executable, "-m", f"{__package__}.{module}", *map(str, arguments)]
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    done = subprocess.run(command, cwd=PROJECT, check=True, capture_output=True, text=True, env=environment)
    return json.loads(done.stdout)


def resident() -> dict[str, float]:
    """Return the most memory that this process, and the largest that it started and that has ended, took [MiB]."""
    return {
        "self": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "started": resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024,
    }


def show(ratios: list[Ratio]) -> None:
    """Print ratios as a table."""
    width = max(len(ratio.name) for ratio in ratios)
    print(f"{'':<{width}}  {'ours':>12}  {'peer':>12}  {'ours/peer':>9}  target")
    for ratio in ratios:
        print(
            f"{ratio.name:<{width}}  {_time(ratio.ours)}  {_time(ratio.theirs)}  {ratio.ratio:>9.3f}  {ratio.target}"
        )


def _time(taken: float) -> str:
    return f"{taken * 1e6:>9,.1f} µs" if taken < 0.01 else f"{taken * 1e3:>9,.1f} ms"
