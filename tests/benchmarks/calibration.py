"""Does a promised chance hold? Each season of the open records foretold from a few seasons before it alone.

Counting (k of n seasons left enough heat) stands beside the chance of the worksheet functions, and "typed date" is this
chance where a grower has typed the average first freeze (of all seasons but the one judged, later ones too). Needs are
exact, or drawn around the need in use, as kinds and trees differ. Interval: Clopper and Pearson's, of as many cases as
seasons judged, since the needs of one season share its weather; neighbouring stations share some of it, too. Brier:
mean of (chance − 1 or 0)² over a cut on each fifth day. Pinball: mean over the promises of the days that a date lies
before the true last one times (1 − promise), or after it times the promise; the least is the best.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from statistics import mean

import sheetfuncs
from sheetfuncs.season.chances import ChanceCurve
from sheetfuncs.season.daily import DailyClimate
from sheetfuncs.season.frost import TYPED_SPREAD, FrostEstimate
from sheetfuncs.season.hindcast import outcome_of
from sheetfuncs.season.intervals import binomial_interval
from sheetfuncs.season.ripening import Outlook
from sheetfuncs.season.traces import millionths

from ..records import chicago, clemson, great_lakes, new_york, seattle

PROMISES = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
KNOWN = (3, 5, 10, 20)
SPREADS = (0.0, 0.06, 0.12)
NEEDS = (1150, 1300, 1450)
LAG_DAYS = 10
WAYS = ("counting", "chance", "typed date")
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
    made["New York"] = sheetfuncs.climate_of(new_york())
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


def typed(name: str, season: int) -> FrostEstimate:
    """Return the mean first freeze of all seasons but one, as a grower who knows the place would type it."""
    freezes = places()[name].freeze_of_years(True)
    numbers = [number for year, number in freezes if number is not None and year != season]
    return FrostEstimate(mean(numbers), TYPED_SPREAD)


def tallies(names: Iterable[str], known: int, spread: float) -> dict[str, Tally]:
    """Return what each way held in the named places, from so many known seasons, for needs of a spread."""
    found = {way: Tally() for way in WAYS}
    for name in names:
        factor = 1.8 if places()[name].unit == "F" else 1.0
        for season, past in judged(places()[name], known):
            for need in NEEDS:
                dice = random.Random(f"{SEED} {name} {season} {need}")
                try:
                    last = true_last(places()[name], season, factor * dice.gauss(need, spread * need))
                except LookupError:
                    continue
                _judge(found["counting"], Counting(past, factor * need), season, last)
                _judge(found["chance"], Dressed(past, factor * need, spread), season, last)
                with_date = past.with_frost(typed(name, season))
                _judge(found["typed date"], Dressed(with_date, factor * need, spread), season, last)
            for tally in found.values():
                tally.seasons.add((name, season))
    return found


@dataclass(frozen=True)
class Dressed:
    """The chance and the last dates that the worksheet functions give."""

    climate: DailyClimate
    need: float
    spread: float

    def chance(self, cut: date) -> float:
        """Return the chance of a cut."""
        outlook, seen = Outlook.of_cut(self.climate, cut, self.need, LAG_DAYS, self.spread)
        return outlook.chance_of(seen)

    def last(self, season: int, promise: float) -> date | None:
        """Return the last cut with a chance."""
        return Outlook(self.climate, season, self.need, promise, LAG_DAYS, self.spread).last_cut()


@dataclass(frozen=True)
class Counting:
    """The share of the known seasons that left enough heat, and the last dates by it."""

    climate: DailyClimate
    need: float

    def chance(self, cut: date) -> float:
        """Return the share of a cut."""
        outlook, seen = Outlook.of_cut(self.climate, cut, self.need, LAG_DAYS)
        held, number = outlook.count_of(seen)
        return held / number

    def last(self, season: int, promise: float) -> date | None:
        """Return the last cut with a share."""
        days = self.climate.season_days(season)
        curve = ChanceCurve(self.climate.traces(season), millionths(self.need), 0.0)
        cut = min(curve.last_start(promise - 1e-9) - LAG_DAYS, days.year_end - 1)
        return days.day(cut) if cut >= self.climate.first_leaf(season) else None


def _judge(tally: Tally, way: Counting | Dressed, season: int, last: date | None) -> None:
    """Add what came of one forecast; Brier's score for a cut on each fifth day of four months."""
    for step in range(0, 123, 5):
        cut = date(season, 5, 1) + timedelta(days=step)
        tally.brier.append((way.chance(cut) - (last is not None and cut <= last)) ** 2)
    for promise in PROMISES:
        given = way.last(season, promise)
        if given is None:
            continue
        tally.held[promise].append(last is not None and given <= last)
        if last is not None:
            late = (given - last).days
            tally.pinball.append(late * promise if late > 0 else -late * (1 - promise))


def run() -> None:
    """Print, for long records and for all that have the seasons, what each way promised and held."""
    groups = {
        f"records of {LONG} seasons or more": [n for n, c in places().items() if len(c.days.complete) >= LONG],
        "all records": list(places()),
    }
    for title, names in groups.items():
        print(f"\n{title}: " + ", ".join(f"{name} ({len(places()[name].days.complete)})" for name in names))
        promised = "        ".join(f"{100 * promise:.0f} % held" for promise in PROMISES)
        print(f"known need ± way          {promised}        Brier   days")
        for spread in SPREADS:
            for known in KNOWN:
                found = tallies(names, known, spread)
                for way, tally in found.items():
                    label = f"{known:>5} {100 * spread:>4.0f} % {way:<11}"
                    print(f"{label}{tally.line()}   {len(tally.seasons)} seasons", flush=True)
