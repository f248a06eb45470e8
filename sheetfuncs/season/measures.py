"""What would help a tree: each measure with the last cut date that it gives, the best first."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from typing import Iterator, NamedTuple, Sequence

from .climate import Climate
from .daily import gain_of
from .record import CELSIUS
from .ripening import Outlook

#: A floating cover and an unheated tunnel, aired by day, by what they add to the night's low [°C]: Oregon State
#: University, +0.2 to +1.8, the middle of it; Savage 1980.
COVERINGS = (("under a cover", 1.0), ("in a tunnel", 1.3))
#: Heat needs of the ripening classes [°C·day] (judgement).
CLASSES = (("an early variety", 1150.0), ("a middle variety", 1300.0))
#: So much is given up where a lower chance will do, down to so little (judgement).
CHANCE_LESS, LEAST_CHANCE = 0.2, 0.5
#: By so much an early start under cover brings the figs forward [days] (judgement).
EARLY_START = 10


class Measure(NamedTuple):
    """One measure: the last cut date that it gives, chance and share of a cut on a day, and days gained by it.

    what : "nothing", "chance", "position", "variety" or "start". last_cut : ``None`` where no cut has the chance, or
    where all have. gained : ``None`` where there is nothing to count from.
    """

    what: str
    name: str
    last_cut: date | None
    chance: float
    share: float
    gained: int | None


def what_would_help(
    outlook: Outlook,
    cut: date,
    picking_heat: float,
    positions: Sequence[tuple[str, Climate]] | None = None,
    varieties: Sequence[tuple[str, float]] | None = None,
) -> list[Measure]:
    """Return the measures for a tree that could be cut on a day, the most days gained first.

    picking_heat : heat from its first to its last ripe fig. positions, varieties : where it could stand and what could
    grow there instead, each with its climate or its heat need; standard ones where not given.
    """
    plain = outlook.last_cut()
    found = []
    for what, name, changed in _changes(outlook, positions, varieties):
        earlier = EARLY_START if what == "start" else 0
        last = changed.last_cut()
        seen = changed.figs_of(cut - timedelta(days=earlier))
        order = 0 if last is None else last.toordinal() + earlier
        if last is not None and changed.is_last_of_all(last):
            last = None
        gained = None if last is None or plain is None else (last - plain).days + earlier
        share = changed.share_of(seen, picking_heat)
        found.append((order, Measure(what, name, last, changed.chance_of(seen), share, gained)))
    found.sort(key=lambda pair: (pair[0], pair[1].chance), reverse=True)
    return [measure for _, measure in found]


def _changes(
    outlook: Outlook,
    positions: Sequence[tuple[str, Climate]] | None,
    varieties: Sequence[tuple[str, float]] | None,
) -> Iterator[tuple[str, str, Outlook]]:
    """Go over the measures: what each changes, its name, and what the season then has for the tree."""
    own = outlook.climate
    yield "nothing", "as it is", outlook
    lower = round(max(LEAST_CHANCE, outlook.chance - CHANCE_LESS), 4)
    if lower < outlook.chance:
        yield "chance", f"with a chance of {100 * lower:.0f} %", outlook._replace(chance=lower)
    for name, climate in standard_positions(own) if positions is None else positions:
        if climate != own:
            yield "position", name, outlook._replace(climate=climate)
    factor = 1.0 if own.unit == CELSIUS else 1.8
    for name, need in [(name, need * factor) for name, need in CLASSES] if varieties is None else varieties:
        if need < outlook.need * (1 - 1e-9):
            yield "variety", name, outlook._replace(need=need)
    yield "start", f"figs {EARLY_START} days earlier, by an early start under cover", outlook


@lru_cache(maxsize=16)
def standard_positions(climate: Climate) -> tuple[tuple[str, Climate], ...]:
    """Return a position under each covering, and in the open where it is warmer there."""
    factor = 1.0 if climate.unit == CELSIUS else 1.8
    found = [(name, climate.at(0.0, gain * factor)) for name, gain in COVERINGS]
    station = climate.open_place.days
    gain = 0.0 if station is None or climate.days is None else gain_of(station.record.lows, climate.days.record.lows)
    if gain < 0:
        found.append(("out of the hollow", climate.at(0.0, -gain)))
    return tuple(found)
