"""Shoots and buds: when a shoot is ready, where to cut it, and what to do today."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import Any

from ..cells.dates import EPOCH_1900, read_date, short
from ..cells.errors import InputError
from ..cells.kinds import CLIMATE, DATE, DAYS, HEAT_UNITS, TEXT, YES_NO, Kind, is_blank, is_check, number
from ..season.climate import Climate
from ..season.crop import last_fig_node, nodes_on, ready_date
from ..season.ripening import ripe_chance
from .arguments import NEED_SPREAD, chance_text
from .declare import Argument, worksheet_function

THEME = "Shoots"
#: No shoot of a season has more leaves or nodes (judgement).
MOST_NODES = 200
_COUNT = number("count", "a count from 0 to 200, such as 6", 0, MOST_NODES)
_RATE = number("days", "days from 0.5 to 60, such as 3.7", 0.5, 60, zero_is_no_value=True)
_COUNTED_ON = Argument(DATE, "day on which they were counted")

#: Days until one looks again where no buds were seen; and within which a cut is due now (judgement).
LOOK_AGAIN = 7
#: A cut with less chance than this is too late rather than late (judgement).
NO_CHANCE = 0.01
#: What is cut of a shoot that has no node yet to cut above.
TIP_ALONE = "tip alone"


def _read_latest(cell: Any, label: str, epoch: date = EPOCH_1900) -> date:
    """Read a last date; a ``Check:`` line in its place means that there is none."""
    return date.min if is_check(cell) else read_date(cell, label, epoch)


def _read_seen(cell: Any, label: str, epoch: date = EPOCH_1900) -> bool:
    """Read yes or no; blank is no."""
    return not is_blank(cell) and YES_NO.read(cell, label, epoch)


_SEEN = Kind("yes or no", _read_seen, takes_blank=True)
_LATEST = Kind("date", _read_latest, zero_is_no_value=True, takes_checks=True)


@worksheet_function(
    theme=THEME,
    result=DATE,
    counted_on=_COUNTED_ON,
    leaves=Argument(_COUNT, "leaves of a typical shoot on that day"),
    leaves_wanted=Argument(_COUNT, "leaves a shoot must have before its tip is removed"),
    days_per_leaf=Argument(_RATE, "days from one leaf to the next"),
)
def ready_to_prune_from(
    counted_on: date, leaves: float, leaves_wanted: float = 6, days_per_leaf: float = 3.7
) -> date:
    """Day from which a shoot has leaves enough for its tip to be removed.

    Fig buds must be seen as well: removing the tip makes none. Five or six leaves or more are common practice, no
    source. 3.7 days a leaf: from 7 leaves on 7 June to 17 on 14 July (Miyagi Prefecture, 2017).

    Examples
    --------
    >>> ready_to_prune_from("2026-06-07", 4)
    datetime.date(2026, 6, 15)
    """
    return ready_date(counted_on, leaves, leaves_wanted, days_per_leaf)


@worksheet_function(
    theme=THEME,
    result=_COUNT,
    counted_on=_COUNTED_ON,
    nodes=Argument(_COUNT, "nodes of a typical shoot on that day"),
    latest_set_date=Argument(DATE, "last day on which a fig bud that sets can still ripen"),
    days_per_node=Argument(_RATE, "days from one node to the next"),
    leave_above=Argument(_COUNT, "nodes to leave above the last one worth keeping"),
    nodes_behind=Argument(_COUNT, "nodes by which the figs that set trail the shoot's newest node"),
    cut_date=Argument(DATE, "day of the cut; blank: as soon as the shoot has the node"),
)
def prune_node(
    counted_on: date,
    nodes: float,
    latest_set_date: date,
    days_per_node: float = 3.7,
    leave_above: float = 2,
    nodes_behind: float = 8,
    cut_date: date | None = None,
) -> int | str:
    """Number of the node above which to cut, counted from the shoot's base; or "tip alone".

    Figs set up the shoot in order, about eight nodes behind its newest leaf: the first were seen on 22 June at about
    node 3, on shoots of 11 to 12 leaves. The last one worth keeping sets by the latest useful date, and the cut goes
    two nodes above it: 17 leaves on 14 July and a latest set of 12–17 August give the 18–20 nodes that are advised
    (Miyagi Prefecture 2017–18). A shoot that ends at or below that node on the day of the cut loses its tip alone.

    Examples
    --------
    >>> prune_node("2017-07-14", 17, "2017-08-15")
    19
    >>> prune_node("2017-07-14", 17, "2017-08-15", cut_date="2017-07-17")
    'tip alone'
    """
    last = last_fig_node(counted_on, nodes, latest_set_date, days_per_node, nodes_behind)
    node = last + math.floor(leave_above)
    if cut_date is not None and node >= nodes_on(counted_on, nodes, cut_date, days_per_node):
        return TIP_ALONE
    if last < 1:
        if cut_date is not None:
            return TIP_ALONE
        raise InputError(f"latest set date is {latest_set_date}, too early: no fig has set by then")
    if node > MOST_NODES:
        raise InputError(f"node {node} by {latest_set_date}, counted on {counted_on}: wanted dates of one season")
    return node


@worksheet_function(
    theme=THEME,
    result=TEXT,
    today=Argument(DATE, "the day on which one asks"),
    ready_from=Argument(DATE, "day from which the shoots have leaves enough"),
    latest_date=Argument(_LATEST, "last date on which the cut still pays"),
    buds_seen=Argument(_SEEN, "whether fig buds were seen; blank: no"),
    cut_on=Argument(DATE, "day on which the tree was cut; blank: not yet"),
    climate=Argument(CLIMATE, "cell of the tree's climate, to say with what chance a late cut ripens"),
    heat_need=Argument(HEAT_UNITS, "heat from visible fig to first ripe fig [heat units], for the same"),
    lag_days=Argument(DAYS, "days from the cut to visible figs, for the same"),
    not_before=Argument(DATE, "first day on which you would cut the tree, leaves or not; blank: any day"),
    need_spread=NEED_SPREAD,
)
def prune_advice(
    today: date,
    ready_from: date,
    latest_date: date,
    buds_seen: bool,
    cut_on: date | None = None,
    climate: Climate | None = None,
    heat_need: float | None = None,
    lag_days: int = 10,
    not_before: date | None = None,
    need_spread: float = 0.06,
) -> str:
    """What to do with a tree today, in one sentence.

    No buds, no cut: removing a tip swells buds that are there and makes none. A tree may have leaves enough and wait
    all the same: one in a container stops growing when it is cut.

    Examples
    --------
    >>> prune_advice("2026-06-20", "2026-06-15", "2026-07-04", "yes")
    'Cut by 4 Jul, 14 days to spare.'
    >>> prune_advice("2026-06-20", "2026-06-15", "2026-07-04", "no")
    'No fig buds: do not cut, look again on 27 Jun.'
    >>> prune_advice("2026-06-20", "2026-06-15", "2026-07-14", "yes", not_before="2026-07-01")
    'Wait until 1 Jul, then cut by 14 Jul.'
    """
    if cut_on is not None:
        return f"Cut on {short(cut_on)}." if cut_on <= today else f"To be cut on {short(cut_on)}."
    if latest_date == date.min:
        return "Not this year: no cut ripens figs at the risk accepted."
    if today < max(ready_from, not_before or ready_from):
        return _too_early(today, ready_from, not_before, latest_date, buds_seen)
    if today > latest_date:
        return _late(today, latest_date, buds_seen, climate, heat_need, lag_days, need_spread)
    if not buds_seen:
        if today == latest_date:
            return "No fig buds, and today is the last date: leave it this year."
        again = min(today + timedelta(days=LOOK_AGAIN), latest_date)
        return f"No fig buds: do not cut, look again on {short(again)}."
    spare = (latest_date - today).days
    if spare == 0:
        return "Cut now: today is the last date."
    days = f"{spare} day{'' if spare == 1 else 's'}"
    if spare <= LOOK_AGAIN:
        return f"Cut now: {days} left, last date {short(latest_date)}."
    return f"Cut by {short(latest_date)}, {days} to spare."


def _too_early(today: date, ready_from: date, not_before: date | None, latest: date, buds_seen: bool) -> str:
    """Return what is said of a tree whose first day is still to come."""
    waits = not_before is not None and not_before >= ready_from
    first = not_before if waits else ready_from
    if first > latest:
        why, tense = "not before" if waits else "ready on", "was" if today > latest else "is"
        return f"Not this year: {why} {short(first)}, the last date {tense} {short(latest)}."
    if not waits:
        return f"Too few leaves: look again on {short(first)}, cut by {short(latest)}."
    if not buds_seen:
        return f"Wait until {short(first)}, look for fig buds, cut by {short(latest)}."
    return f"Wait until {short(first)}, then cut by {short(latest)}."


def _late(
    today: date,
    latest: date,
    buds_seen: bool,
    climate: Climate | None,
    need: float | None,
    lag_days: int,
    need_spread: float,
) -> str:
    if not buds_seen:
        return f"Too late: no fig buds, and the last date was {short(latest)}."
    if climate is None or need is None:
        return f"Too late: the last date was {short(latest)}."
    chance = ripe_chance(climate, today, need, lag_days, need_spread)
    late = "Too late" if chance < NO_CHANCE else "Late"
    return f"{late}: cut now, figs ripen with a chance of {chance_text(chance)}."
