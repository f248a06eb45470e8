"""A log of a million lines, and 50 years of days, beside the data frame library, on the same files, in time and memory.

The library reads it, turns its texts into times and groups lows and highs by day, and is given what stands where; ours
also finds that out, and looks at every line for what could be wrong with it.
"""

from __future__ import annotations

import math
import random
import tempfile
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pandas

from sheetfuncs.weather import Options, read_weather_file
from tests import records

from .measure import Ratio, in_turn, peak_memory

LINES = 1_000_000


def write_log(path: Path, lines: int = LINES) -> Path:
    """Write an invented log of readings every ten minutes."""
    dice = random.Random(1)
    time = datetime(2005, 1, 1)
    with path.open("w") as file:
        file.write("time,temperature,humidity\n")
        for _ in range(lines):
            season = math.cos(2 * math.pi * (time.timetuple().tm_yday - 20) / 365)
            hour = math.cos(2 * math.pi * (time.hour + time.minute / 60 - 3) / 24)
            value = 12 - 11 * season - 6 * hour + dice.gauss(0, 0.5)
            file.write(f"{time:%Y-%m-%d %H:%M},{value:.1f},{60 + dice.random() * 20:.0f}\n")
            time += timedelta(minutes=10)
    return path


def _by_pandas(path: Path) -> Callable[[], object]:
    def read() -> object:
        frame = pandas.read_csv(path, parse_dates=["time"])
        return frame.groupby(frame.time.dt.date).temperature.agg(["min", "max", "count"])

    return read


def _fifty_years(folder: Path) -> Ratio:
    """Time a text of 50 years, a day a row."""
    days = [row for row in records.clemson(1971, 2020) if None not in row]
    path = records.write_csv(folder / "days.csv", days)

    def by_pandas() -> object:
        return pandas.read_csv(path, parse_dates=["Date"]).set_index("Date").sort_index()

    def ours() -> object:
        return read_weather_file(path, Options(unit="F"))

    peaks = f"peak {peak_memory(ours):.1f} MiB, pandas {peak_memory(by_pandas):.1f} MiB"
    return in_turn(f"{len(days):,} days, a day a row ({peaks}) / pandas", ours, by_pandas)


def run() -> list[Ratio]:
    """Return the ratios; the peaks of memory stand in the name."""
    with tempfile.TemporaryDirectory() as folder:
        path = write_log(Path(folder) / "log.csv")

        def ours() -> object:
            return read_weather_file(path)

        theirs = _by_pandas(path)
        peaks = f"peak {peak_memory(ours):.1f} MiB, pandas {peak_memory(theirs):.0f} MiB"
        log = in_turn(f"log of {LINES:,} lines ({peaks}) / pandas", ours, theirs, rounds=5)
        return [log, _fifty_years(Path(folder))]
