"""Shoots and buds: when a shoot is ready, where to cut it, and what to do today."""

from __future__ import annotations

import math
from datetime import date, timedelta

from ..cells.errors import InputError
from ..cells.kinds import DATE, Kind, number
from .declare import Argument, declared

#: No shoot of a season has more leaves or nodes (judgement).
MOST_NODES = 200
_COUNT = number("count", "a count from 0 to 200, such as 6", 0, MOST_NODES)
_RATE = number("days", "days from 0.5 to 60, such as 3.7", 0.5, 60, zero_is_no_value=True)
_COUNTED_ON = Argument(DATE, "day on which they were counted")

#: What is cut of a shoot that has no node yet to cut above.
TIP_ALONE = "tip alone"
_NODE = Kind(f"count, or {TIP_ALONE}", _COUNT.read)


@declared(
    DATE,
    counted_on=_COUNTED_ON,
    leaves=Argument(_COUNT, "leaves of a typical shoot on that day"),
    leaves_wanted=Argument(_COUNT, "leaves a shoot must have before its tip is removed"),
    days_per_leaf=Argument(_RATE, "days from one leaf to the next"),
)
def ready_to_prune_from(counted_on: date, leaves: float, leaves_wanted: float = 6, days_per_leaf: float = 3.7) -> date:
    """Day from which a shoot has leaves enough for its tip to be removed.

    Fig buds must be seen as well: removing the tip makes none. Five or six leaves or more are common practice, no
    source. 3.7 days a leaf: from 7 leaves on 7 June to 17 on 14 July (Miyagi Prefecture, 2017).

    Examples
    --------
    >>> ready_to_prune_from("2026-06-07", 4)
    datetime.date(2026, 6, 15)
    """
    days = (leaves_wanted - leaves) * days_per_leaf
    return counted_on + timedelta(days=max(0, math.ceil(days - 1e-9)))


@declared(
    _NODE,
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

    def nodes_on(day: date, behind: float = 0) -> int:
        return math.floor(nodes - behind + (day - counted_on).days / days_per_node + 1e-9)

    last = nodes_on(latest_set_date, nodes_behind)
    node = last + math.floor(leave_above)
    if cut_date is not None and node >= nodes_on(cut_date):
        return TIP_ALONE
    if last < 1:
        if cut_date is not None:
            return TIP_ALONE
        raise InputError(f"latest set date is {latest_set_date}, too early: no fig has set by then")
    if node > MOST_NODES:
        raise InputError(f"node {node} by {latest_set_date}, counted on {counted_on}: wanted dates of one season")
    return node
