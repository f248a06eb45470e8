"""What the crop weighs, when it is picked, and whether a later flush pays."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import zip_longest
from typing import Sequence

from ..cells.errors import InputError
from ..cells.kinds import DATE, HEAT_UNITS, SHARE, column, number
from ..season.climate import Climate
from ..season.ripening import Outlook
from .arguments import REACHED_CHANCE, InCelsius, chance_text
from .declare import Argument, declared

_COUNT = number("count", "a count from 0 up, such as 8", 0, 100_000)
_GRAMS = number("grams", "grams from 0 to 1000, such as 45", 0, 1000)
_KILOGRAMS = number("kilograms", "kilograms from 0 up", 0, 1e9)


@declared(
    DATE,
    shape="row",
    headings=("first", "middle", "last"),
    none_line="not ripe before the season's end with that chance",
    cut_date=Argument(DATE, "day of the hard cut"),
    heat_need=Argument(HEAT_UNITS, "heat from the cut to the first ripe fig of the new shoots [heat units]"),
    chance=REACHED_CHANCE,
)
def later_flush_window(
    climate: Climate,
    cut_date: date,
    heat_need: float = InCelsius(2100, degree_days=True),
    picking_heat: float = InCelsius(250, degree_days=True),
    chance: float = 0.5,
    need_spread: float = 0.06,
) -> tuple[date | None, date | None, date | None]:
    """First, middle and last ripe date of the shoots that grow after a hard cut.

    For long seasons: the whole new flush takes 1,955 °C·day (cut in August) to 2,200 (cut in July) from the cut
    (Souza et al. 2009, Rev. Bras. Frutic. 31(2)). Where the season is too short, the line says with
    what chance it would do.

    Examples
    --------
    >>> later_flush_window(climate_at(valley, 8, 8), "2026-05-20")
    (datetime.date(2026, 8, 27), datetime.date(2026, 9, 2), datetime.date(2026, 9, 7))
    """
    outlook, _ = Outlook.of_cut(climate, cut_date, heat_need, 0, need_spread)
    window = outlook.window(cut_date, picking_heat, chance)
    if window[0] is None:
        ripe = chance_text(outlook.chance_of(cut_date))
        raise InputError(f"season too short for a later flush: its figs ripen with a chance of {ripe}")
    return window


@declared(
    _KILOGRAMS,
    shoots=Argument(_COUNT, "shoots that bear"),
    figs_per_shoot=Argument(_COUNT, "figs a shoot"),
    fig_grams=Argument(_GRAMS, "weight of a fig [g]"),
    kept_share=Argument(SHARE, "share that is kept: after birds, splits and windfalls"),
)
def crop_weight(shoots: float, figs_per_shoot: float, fig_grams: float, kept_share: float = 1) -> float:
    """Weight of a tree's crop in kilograms.

    In a short season 15 to 20 figs a shoot at most, of 30 to 65 g (several reports). Check: 109.5 t/ha on 12,500 plants
    is 8.76 kg a plant (Mendoza-Castillo et al. 2016, Exp. Agric.).

    Examples
    --------
    >>> crop_weight(8, 12, 45)
    4.32
    """
    return shoots * figs_per_shoot * fig_grams * kept_share / 1000


@declared(
    _KILOGRAMS,
    shape="column",
    first=Argument(column(DATE, blanks=True), "each tree's first ripe date"),
    last=Argument(column(DATE, blanks=True), "each tree's last ripe date"),
    weights=Argument(column(_KILOGRAMS, blanks=True), "each tree's crop [kg]"),
    week_starts=Argument(column(DATE, blanks=True), "first day of each week, rising"),
    season_end=Argument(DATE, "day from which on nothing is picked; blank: no end"),
)
def picking_by_week(
    first: Sequence[date | None],
    last: Sequence[date | None],
    weights: Sequence[float | None],
    week_starts: Sequence[date | None],
    season_end: date | None = None,
) -> list[float | None]:
    """Kilograms to pick in each week, all trees together.

    Each tree's crop is spread evenly from its first to its last date, both counted. Trees without both dates or
    without a weight are left out; what lies on or after the season's end, or in no week, is in no sum.

    Examples
    --------
    >>> picking_by_week(["2026-09-01"], ["2026-09-14"], [4.2], ["2026-08-31", "2026-09-07", "2026-09-14"])
    [1.8, 2.1, 0.3]
    """
    starts: list[date] = []
    for line, start in enumerate(week_starts, start=1):
        if start is not None:
            if starts and start <= starts[-1]:
                raise InputError(f"week starts, line {line} is {start}, wanted a date after {starts[-1]}")
            starts.append(start)
    trees: list[tuple[date, date, float]] = []
    for line, (begin, end, weight) in enumerate(zip_longest(first, last, weights), start=1):
        if begin is None or end is None or weight is None:
            continue
        if end < begin:
            raise InputError(f"last, line {line} is {end}, wanted a date on or after the first, {begin}")
        trees.append((begin, end, weight))
    sums = {}
    for start, later in zip(starts, [*starts[1:], date.max]):
        stop = min(later, start + timedelta(days=7), season_end or date.max)
        sums[start] = round(sum(_picked(*tree, start, stop) for tree in trees), 9)
    return [None if start is None else sums[start] for start in week_starts]


def _picked(first: date, last: date, weight: float, start: date, stop: date) -> float:
    """Return what is picked from start to stop (not counted) of a crop that is picked evenly from first to last."""
    shared = (min(last + timedelta(days=1), stop) - max(first, start)).days
    return weight * max(0, shared) / ((last - first).days + 1)
