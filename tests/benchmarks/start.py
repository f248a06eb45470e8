"""Start of the command line beside Python that does nothing, each in a process of its own, modules compiled before."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from tests import records

from .measure import PROJECT, Ratio, seconds

ROUNDS = 15
_RUN = "from sheetfuncs.cli import main; main()"
#: What the packages that are used cost before a line of ours is run: the command line's and the core's.
_PACKAGES = "import click, dataclasses, hashlib, statistics"


def run() -> list[Ratio]:
    """Time each way of starting in turn with all others."""
    with tempfile.TemporaryDirectory() as folder:
        rows = records.in_celsius(records.clemson(1971, 2020))
        weather = records.write_csv(Path(folder) / "weather.csv", [row for row in rows if None not in row])
        environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
        environment |= {"PYTHONPYCACHEPREFIX": str(Path(folder) / "compiled"), "PYTHONPATH": str(PROJECT)}
        ways = {
            "nothing": ["pass"],
            "the packages used, no line of ours": [_PACKAGES],
            "click alone": ["import click"],
            "import sheetfuncs": ["import sheetfuncs"],
            "sheetfuncs latest-prune-date-by-days …": [_RUN, "latest-prune-date-by-days", "2026-10-01", "85"],
            "sheetfuncs --help": [_RUN, "--help"],
            "sheetfuncs latest-prune-date …, 50 years of weather": [
                _RUN, "latest-prune-date", "2021", "1300", "--weather", str(weather)
            ],
        }  # fmt: skip
        taken: dict[str, list[float]] = {name: [] for name in ways}
        for turn in range(ROUNDS + 1):
            for name, way in ways.items():
                command = [sys.executable, "-c", *way]
                one = seconds(
                    lambda command=command: subprocess.run(
                        command, env=environment, cwd=folder, check=True, stdout=subprocess.DEVNULL
                    )
                )
                if turn:  # the first one compiles
                    taken[name].append(one)
    medians = {name: statistics.median(times) for name, times in taken.items()}
    bare = medians.pop("nothing")
    return [
        Ratio(f"{name} / python -c pass", own, bare, "at most 3" if name.startswith("sheetfuncs") else "")
        for name, own in medians.items()
    ]
