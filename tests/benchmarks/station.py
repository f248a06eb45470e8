"""What one weather station and its trees take: the figure for a region's service.

Reading the station's text of 30 years, making its climate, and 100 trees, each of its own need, with the last cut
date, the chance and the window of ripening.
"""

from __future__ import annotations

import statistics
import tempfile
from datetime import date
from pathlib import Path

import sheetfuncs
from sheetfuncs.weather import read_weather
from tests import records

from .measure import Ratio, processor_time

SEASON, TREES, ROUNDS = 2021, 100, 7


def ask(climate: object, trees: int = TREES) -> list:
    """Return the answers for so many trees."""
    return [
        (
            sheetfuncs.latest_prune_date(climate, SEASON, 1100 + tree),
            sheetfuncs.ripen_chance(climate, date(SEASON, 6, 20), 1100 + tree),
            sheetfuncs.ripen_window(climate, date(SEASON, 6, 20), 1100 + tree),
        )
        for tree in range(trees)
    ]


def run() -> list[Ratio]:
    """Time the steps; each beside the whole."""
    with tempfile.TemporaryDirectory() as folder:
        rows = [row for row in records.in_celsius(records.clemson(1991, 2020)) if None not in row]
        path = records.write_csv(Path(folder) / "station.csv", rows)
        steps: dict[str, list[float]] = {"read": [], "make": [], "ask": []}
        for _ in range(ROUNDS):
            moments = [processor_time()]
            days = read_weather(path, "C")
            moments.append(processor_time())
            climate = sheetfuncs.climate_of(days)
            moments.append(processor_time())
            ask(climate)
            moments.append(processor_time())
            for times, start, end in zip(steps.values(), moments, moments[1:]):
                times.append(end - start)
        taken = {name: statistics.median(times) for name, times in steps.items()}
    whole = sum(taken.values())
    names = {"read": "its text read", "make": "its climate made", "ask": f"{TREES} trees, three answers each"}
    return [Ratio(f"a station of 30 years: {names[name]} / the whole", taken[name], whole) for name in taken]
