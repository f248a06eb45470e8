"""Shoots, leaves and kilograms: what a tree bears, and when it is picked."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import Sequence


def ready_date(counted_on: date, leaves: float, wanted: float, days_per_leaf: float) -> date:
    """Return the day on which a shoot has so many leaves, at an even rate from the day they were counted."""
    return counted_on + timedelta(days=max(0, math.ceil((wanted - leaves) * days_per_leaf - 1e-9)))


def nodes_on(counted_on: date, nodes: float, day: date, days_per_node: float) -> int:
    """Return how many nodes a shoot has on a day, at an even rate from the day they were counted."""
    return math.floor(nodes + (day - counted_on).days / days_per_node + 1e-9)


def last_fig_node(counted_on: date, nodes: float, latest_set: date, days_per_node: float, nodes_behind: float) -> int:
    """Return the last node whose fig sets by a date: figs set in order, so many nodes behind the newest one."""
    return nodes_on(counted_on, nodes - nodes_behind, latest_set, days_per_node)


def kilograms(shoots: float, figs_per_shoot: float, fig_grams: float, kept_share: float) -> float:
    """Return the weight of a crop [kg]."""
    return shoots * figs_per_shoot * fig_grams * kept_share / 1000


def weight_in_week(first: date, last: date, weight: float, week_start: date, week_end: date) -> float:
    """Return what of a crop, picked evenly from the first to the last day (both counted), falls into a week.

    week_end : the day after the week's last.
    """
    days = (last - first).days + 1
    shared = (min(last + timedelta(days=1), week_end) - max(first, week_start)).days
    return weight * max(0, shared) / days


def weeks_of(starts: Sequence[date]) -> Sequence[date]:
    """Return the end of each week (the day after its last): the next start, and 7 days on for the last."""
    return [min(later, start + timedelta(days=7)) for start, later in zip(starts, [*starts[1:], date.max])]
