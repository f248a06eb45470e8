"""Does a promised chance hold? Each season of the open records foretold from a few seasons before it alone.

Counting (k of n seasons left enough heat) stands beside the chance of the worksheet functions; needs are exact, or
drawn around the need in use, as kinds and trees differ. Interval: Clopper and Pearson's, of as many cases as seasons
judged, since the needs of one season share its weather; neighbouring stations share some of it, too. Brier: mean of
(chance − 1 or 0)² over a cut on each fifth day. Pinball: mean over the promises of the days that a date lies before the
true last one times (1 − promise), or after it times the promise; the least is the best.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from statistics import mean

import sheetfuncs
from sheetfuncs.season.chances import ChanceCurve
from sheetfuncs.season.daily import DailyClimate
from sheetfuncs.season.hindcast import outcome_of
from sheetfuncs.season.intervals import binomial_interval
from sheetfuncs.season.ripening import latest_cut
from sheetfuncs.season.traces import millionths

from ..records import chicago, clemson, great_lakes, seattle

PROMISES = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
KNOWN = (3, 5, 10, 20)
SPREADS = (0.0, 0.06, 0.12)
NEEDS = (1150, 1300, 1450)
LAG_DAYS = 10
LONG = 20
SEED = 14


@dataclass
class Tally:
    """What came of the forecasts of one way: hits and cases by promise, and the parts of both scores."""

    held: dict[float, list[bool]] = field(default_factory=lambda: {promise: [] for promise in PROMISES})
    pinball: list[float] = field(default_factory=list)
    brier: list[float] = field(default_factory=list)
    seasons: set[tuple[str, int]] = field(default_factory=set)

    def line(self) -> str:
        """Return what was held for each promise, with its interval, and the scores."""
        parts = []
        for cases in self.held.values():
            share = mean(cases)
            low, high = binomial_interval(round(share * len(self.seasons)), len(self.seasons))
            parts.append(f"{100 * share:5.1f} ({100 * low:.0f}–{100 * high:.0f})")
        return f"{'  '.join(parts)}   {mean(self.brier):.4f}   {mean(self.pinball):.2f}"


@lru_cache(maxsize=None)
def places() -> dict[str, DailyClimate]:
    """Return the climates of the open records, each of one place."""
    made = {name: sheetfuncs.climate_of(rows) for name, rows in great_lakes().items()}
    made["Clemson"] = sheetfuncs.climate_of(clemson(), "F")
    made["Chicago"] = sheetfuncs.climate_of(chicago(), "F")
    made["Seattle"] = sheetfuncs.climate_of(seattle())
    return made


def judged(climate: DailyClimate, known: int) -> Iterator[tuple[int, DailyClimate]]:
    """Return each season that has so many complete ones before it, and the climate of the last of these alone."""
    for season in climate.days.complete[known:]:
        morning = climate.season_days(season).first
        yield season, climate.until(morning).last_seasons(known)


def true_last(climate: DailyClimate, season: int, need: float) -> date | None:
    """Return the last cut whose figs ripened in a season, None where none did; LookupError where days are missing."""
    outcome = outcome_of(climate, season, need, LAG_DAYS)
    if outcome is None:
        raise LookupError(season)
    return outcome.last_date


def tallies(names: tuple[str, ...], known: int, spread: float) -> dict[str, Tally]:
    """Return what each way held in the named places, from so many known seasons, for needs of a spread."""
    found = {"counting": Tally(), "chance": Tally()}
    for name in names:
        climate = places()[name]
        for season, past in judged(climate, known):
            for need in NEEDS:
                dice = random.Random(f"{SEED} {name} {season} {need}")
                wanted = need * (1.8 if climate.unit == "F" else 1.0)
                try:
                    last = true_last(climate, season, dice.gauss(wanted, spread * wanted))
                except LookupError:
                    continue
                counting = ChanceCurve(past.traces(season), millionths(wanted), 0.0)
                curves = {"counting": counting, "chance": past.curve(season, wanted, spread)}
                days = past.season_days(season)
                for way, curve in curves.items():
                    tally = found[way]
                    tally.seasons.add((name, season))
                    _score(tally, curve, days.index, last, date(season, 5, 1))
                    for promise in PROMISES:
                        cut: date | None
                        if way == "chance":
                            cut = latest_cut(past, season, wanted, promise, LAG_DAYS, spread)
                        else:
                            index = counting.last_start(promise - 1e-9) - LAG_DAYS
                            cut = days.day(min(index, days.year_end - 1))
                            cut = cut if index >= past.first_leaf(season) else None
                        if cut is None:
                            continue
                        tally.held[promise].append(last is not None and cut <= last)
                        if last is not None:
                            late = (cut - last).days
                            tally.pinball.append(late * promise if late > 0 else -late * (1 - promise))
    return found


def _score(tally: Tally, curve: ChanceCurve, index_of, last: date | None, first: date) -> None:
    """Add the squares of the chance's misses for a cut on each fifth day of four months."""
    for step in range(0, 123, 5):
        cut = first + timedelta(days=step)
        chance = curve.chance(index_of(cut) + LAG_DAYS)
        tally.brier.append((chance - (last is not None and cut <= last)) ** 2)


def run() -> None:
    """Print, for long records and for all that have the seasons, what each way promised and held."""
    groups = {
        f"records of {LONG} seasons or more": [n for n, c in places().items() if len(c.days.complete) >= LONG],
        "all records": list(places()),
    }
    for title, names in groups.items():
        print(f"\n{title}: " + ", ".join(f"{name} ({len(places()[name].days.complete)})" for name in names))
        print("known need ± way        " + "        ".join(f"{100 * promise:.0f} % held" for promise in PROMISES))
        for spread in SPREADS:
            for known in KNOWN:
                found = tallies(tuple(names), known, spread)
                for way, tally in found.items():
                    label = f"{known:>5} {100 * spread:>4.0f} % {way:<9}"
                    print(f"{label}{tally.line()}   {len(tally.seasons)} seasons", flush=True)
