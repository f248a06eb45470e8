"""How much real seasons differ in heat from the smooth year of their normals, and whether normals with this hold.

Every place is judged with what the other places show. Its normals and its frost estimate (mean and spread of the first
freeze) come from all its seasons but the one judged; the heat needs are exact.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from statistics import mean, median, stdev
from unittest.mock import patch

from sheetfuncs.season import normals
from sheetfuncs.season.frost import FrostEstimate
from sheetfuncs.season.monthly import MonthlyClimate, climate_of_normals
from sheetfuncs.season.ripening import Outlook

from .calibration import LAG_DAYS, NEEDS, places, true_last

PROMISES = (0.5, 0.8, 0.9)
#: Of a long record as many seasons are judged, evenly spread.
MOST_SEASONS = 30


@dataclass(frozen=True)
class Held:
    """How many cases there were of a promise, and how many held."""

    cases: int
    held: int

    @property
    def share(self) -> float:
        """The share that held [%]."""
        return 100 * self.held / self.cases


@lru_cache(maxsize=None)
def _months(name: str) -> dict[tuple[int, int], tuple[float, float, int]]:
    """Return the sums of a record's lows and highs and the number of days, of each (year, month)."""
    record = places()[name].days.record
    sums: dict[tuple[int, int], tuple[float, float, int]] = {}
    for ordinal, (low, high) in enumerate(zip(record.lows, record.highs), start=record.first):
        if low == low and high == high:
            day = date.fromordinal(ordinal)
            lows, highs, count = sums.get((day.year, day.month), (0.0, 0.0, 0))
            sums[day.year, day.month] = lows + low, highs + high, count + 1
    return sums


def normals_of(name: str, without: int) -> MonthlyClimate:
    """Return the normals of a place's record with its own mean first freeze and spread, one year left out."""
    climate = places()[name]
    lows, highs = [], []
    for month in range(1, 13):
        kept = [sums for (year, at), sums in _months(name).items() if at == month and year != without]
        low, high, count = (sum(column) for column in zip(*kept))
        lows.append(low / count)
        highs.append(high / count)
    freezes = [number for year, number in climate.freeze_of_years(True) if number is not None and year != without]
    return climate_of_normals(lows, highs, climate.rules).with_frost(FrostEstimate(mean(freezes), stdev(freezes)))


@lru_cache(maxsize=None)
def heat_spread(name: str) -> float:
    """Return how much a place's seasons differ in their heat from July to September, as a share of it."""
    climate = places()[name]
    heats = []
    for season in climate.days.complete:
        days = climate.season_days(season)
        total = climate.days.overlay(season, days).total
        heats.append(total[days.index(date(season, 10, 1))] - total[days.index(date(season, 7, 1))])
    return stdev(heats) / mean(heats)


def fitted(left_out: str = "") -> float:
    """Return the median of the places' spreads, one place left out."""
    return median(heat_spread(name) for name in places() if name != left_out)


def held(name: str, spread: float, promises: Iterable[float] = PROMISES) -> dict[float, Held]:
    """Return how often promises from a place's normals held, with a spread of the heat."""
    found: dict[float, list[bool]] = {promise: [] for promise in promises}
    climate = places()[name]
    complete = climate.days.complete
    with patch.object(normals, "HEAT_SPREAD", spread):
        for season in complete[:: -(-len(complete) // MOST_SEASONS)]:
            smooth = normals_of(name, season)
            for need in NEEDS:
                wanted = need * (1.8 if climate.unit == "F" else 1.0)
                try:
                    last = true_last(climate, season, wanted)
                except LookupError:
                    continue
                for promise, cases in found.items():
                    cut = Outlook(smooth, season, wanted, promise, LAG_DAYS, 0.0).last_cut()
                    if cut is not None:
                        cases.append(last is not None and cut <= last)
    return {promise: Held(len(cases), sum(cases)) for promise, cases in found.items()}


def run() -> None:
    """Print what each place's seasons show, and what its normals held without a spread and with the others'."""
    shares: dict[float, list[tuple[float, float]]] = {promise: [] for promise in PROMISES}
    titles = ", ".join(f"{100 * promise:.0f} %" for promise in PROMISES)
    print(f"place       heat    held at {titles}: without, with [%] of cases")
    for name in places():
        without, with_it = held(name, 0.0), held(name, fitted(name))
        line = [f"{name:<10} {100 * heat_spread(name):4.1f} %  "]
        for promise in PROMISES:
            shares[promise].append((without[promise].share, with_it[promise].share))
            line.append(f"{without[promise].share:5.0f} {with_it[promise].share:3.0f} of {with_it[promise].cases:<3}")
        print(" ".join(line), flush=True)
    print(f"median     {100 * fitted():4.1f} %")
    for promise, pairs in shares.items():
        without, with_it = (mean(side) for side in zip(*pairs))
        least = min(share for _, share in pairs)
        kept = f"{without:.1f} without, {with_it:.1f} with, least {least:.0f}"
        print(f"{100 * promise:.0f} %: mean of {len(pairs)} places {kept}")
