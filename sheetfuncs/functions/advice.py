"""What to do with a tree, through the whole year; what would help it; and the last day on which a fig may show."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any, Sequence

from ..cells.dates import EPOCH_1900, read_date
from ..cells.errors import CHECK, InputError, printable, wrong
from ..cells.kinds import (
    CLIMATE,
    CLIMATES_BY_LINE,
    DATE,
    DAYS,
    HEAT_UNITS,
    NUMBER,
    TEXT,
    YES_NO,
    Kind,
    choice,
    column,
    is_check,
    is_finite,
    whole,
)
from ..season.climate import Climate
from ..season.measures import what_would_help as measures_of
from ..season.ripening import Outlook
from .arguments import InCelsius
from .declare import Argument, declared
from .sentences import Tree, sentence

#: Of a position's or a variety's name [letters].
LONGEST_NAME = 60
#: How the lines begin that say that there is no last date, and what the one says where any date will do: no faults.
_NO_CUT = (CHECK + "no cut in season", CHECK + "no useful cut")
_ANY_CUT = "any cut ripens figs"


def _read_latest(cell: Any, label: str, epoch: date = EPOCH_1900) -> date | None:
    """Read a last date: ``None`` where a line says that no cut ripens figs, the last of all where any does."""
    if is_check(cell):
        if cell.startswith(_NO_CUT):
            return None
        if _ANY_CUT in cell:
            return date.max
        raise InputError(cell)
    return read_date(cell, label, epoch)


def _read_name(cell: Any, label: str, epoch: date = EPOCH_1900) -> str:
    """Read a name; a number counts as one."""
    if isinstance(cell, str) or is_finite(cell):
        return printable(str(cell).strip())[:LONGEST_NAME]
    raise wrong(label, cell, "a name")


#: A measure's line: its name, a date, and numbers.
_MEASURES = Kind("texts, dates and numbers", NUMBER.read)
_NAMES = column(Kind("name", _read_name), blanks=True)
_LINES = whole("lines", "a whole number from 1 to 100", 1, 100)


@declared(
    TEXT,
    today=Argument(DATE, "the day for which advice is wanted"),
    ready_from=Argument(
        replace(DATE, takes_blank=True), "day from which the shoots have leaves enough; blank: not counted yet"
    ),
    latest_date=Argument(
        Kind("date", _read_latest, zero_is_no_value=True, takes_checks=True), "last date on which the cut still pays"
    ),
    buds_seen=Argument(replace(YES_NO, takes_blank=True), "whether fig buds were seen; blank: not looked yet"),
    cut_on=Argument(DATE, "day on which the tree was cut; blank: not yet"),
    climate=Argument(CLIMATE, "cell of the tree's climate, for chances and all that comes after the cut"),
    heat_need=Argument(HEAT_UNITS, "heat from visible fig to first ripe fig [heat units], for the same"),
    lag_days=Argument(DAYS, "days from the cut to visible figs"),
    not_before=Argument(DATE, "first day on which you would cut the tree, leaves or not; blank: any day"),
    usual_from=Argument(DATE, "day from which such trees are usually cut here, a hint; blank: none"),
    figs_seen=Argument(DATE, "day on which the tree's figs were seen, cut or not; blank: not yet"),
    picking_since=Argument(DATE, "day of the first ripe fig; blank: none yet"),
    picking_until=Argument(DATE, "day of the last ripe fig; blank: not yet"),
    grown_in=Argument(choice("container or ground", "container", "ground"), "container or ground, for the winter"),
    early_crop=Argument(YES_NO, "whether the variety bears an early crop on last year's wood"),
)
def prune_advice(
    today: date,
    ready_from: date | None,
    latest_date: date | None,
    buds_seen: bool | None,
    cut_on: date | None = None,
    climate: Climate | None = None,
    heat_need: float | None = None,
    lag_days: int = 10,
    not_before: date | None = None,
    need_spread: float = 0.06,
    usual_from: date | None = None,
    chance: float = 0.8,
    figs_seen: date | None = None,
    picking_since: date | None = None,
    picking_until: date | None = None,
    grown_in: str | None = None,
    early_crop: bool = False,
) -> str:
    """What to do with a tree today, in one sentence, through the whole year.

    By what is typed: look for buds; cut; figs should show, do not show, are too late; pick; take off what will not
    ripen; bring in or wrap; bring out. Where no cut ripens figs with the chance wanted, it says what binds, and what
    would help. No buds, no cut: removing a tip swells buds that are there and makes none. A date in ``not_before`` is
    kept; ``usual_from`` is a hint. Figs that were seen count from their day, cut or not.

    The early crop hangs on last year's wood: a summer cut of new shoots leaves it, and takes of next year's what would
    have grown near their tips; pruning in winter takes it with each shoot of last year (common practice, no source).

    Examples
    --------
    >>> prune_advice("2026-06-20", "2026-06-15", "2026-07-04", "yes")
    'Cut by 4 Jul, 14 days to spare.'
    >>> prune_advice("2026-06-20", "2026-06-15", "2026-07-04", "no")
    'No fig buds: do not cut, look again on 27 Jun.'
    >>> prune_advice("2026-06-20", "2026-06-15", "2026-07-14", "yes", not_before="2026-07-01")
    'Wait until 1 Jul, then cut by 14 Jul.'
    >>> last = latest_prune_date(valley, 2026, 1300)
    >>> prune_advice("2026-06-20", "2026-06-08", last, "yes", "2026-06-10", valley, 1300)
    'Cut on 10 Jun: figs should show by 20 Jun.'
    """
    outlook = None
    if climate is not None and heat_need is not None:
        latest = None if latest_date == date.max else latest_date
        season = climate.season_of(latest or cut_on or figs_seen or today)
        outlook = Outlook(climate, season, heat_need, chance, lag_days, need_spread)
    figs, picking = (day if day is not None and day <= today else None for day in (figs_seen, picking_since))
    picked = picking_until is not None and picking_until <= today
    return sentence(Tree(
        today, ready_from, latest_date, buds_seen, cut_on, lag_days, not_before, usual_from, figs, picking, picked,
        grown_in, early_crop, outlook,
    ))  # fmt: skip


@declared(DATE)
def last_useful_fig_date(
    climate: Climate, season: int, heat_need: float, chance: float = 0.8, need_spread: float = 0.06
) -> date:
    """Last day on which a fig may show and still ripen before the season's end with the chance wanted.

    Figs that show later are taken off, so that the tree keeps its strength for those that ripen (common practice, no
    source). It lies ``lag_days`` after LATEST_PRUNE_DATE.

    Examples
    --------
    >>> last_useful_fig_date(valley, 2026, 1300)
    datetime.date(2026, 6, 22)
    """
    outlook = Outlook(climate, season, heat_need, chance, 0, need_spread)
    last = outlook.last_cut()
    if last is None:
        raise InputError(f"no fig of season {season} ripens with chance {chance:g}, heat need {heat_need:g}")
    if outlook.is_last_of_all(last):
        raise InputError(f"season {season} does not end here with chance {chance:g}: no fig shows too late")
    return last


@declared(
    _MEASURES,
    shape="table",
    headings=("measure", "last_cut_date", "chance", "share", "days_gained"),
    positions=Argument(_NAMES, "names of positions where the tree could stand; blank: a cover, a tunnel"),
    position_climates=Argument(CLIMATES_BY_LINE, "cells of their climates"),
    varieties=Argument(_NAMES, "names of varieties that could grow there; blank: an early, a middle one"),
    variety_needs=Argument(column(HEAT_UNITS, blanks=True), "their heat needs [heat units]"),
    lines=Argument(_LINES, "lines to fill; blank: as many as there are"),
)
def what_would_help(
    climate: Climate,
    cut_date: date,
    heat_need: float,
    chance: float = 0.8,
    lag_days: int = 10,
    need_spread: float = 0.06,
    picking_heat: float = InCelsius(250, degree_days=True),
    positions: Sequence[str | None] | None = None,
    position_climates: Any = None,
    varieties: Sequence[str | None] | None = None,
    variety_needs: Sequence[float | None] | None = None,
    lines: int | None = None,
) -> list[tuple[str | date | float | None, ...]]:
    """What would help a tree: a line a measure, the most days gained first.

    Each line: the measure, the last cut date that it gives, chance of ripe figs and share of the crop for a cut on the
    day given, days gained. Measures: a lower chance, other positions, an earlier variety, figs ten days earlier by an
    early start under cover (judgement). Without positions: a floating cover, +1.0 °C at night, the middle of +0.2 to
    +1.8 (Oregon State University); an unheated tunnel, +1.3 °C (Savage 1980); out of a hollow. A wall's gain was not
    found measured: name the position with your own.

    Examples
    --------
    >>> for line in what_would_help(valley, "2026-06-15", 1300)[:3]: print(line[0], line[1], line[4])
    an early variety 2026-06-22 10
    figs 10 days earlier, by an early start under cover 2026-06-12 10
    with a chance of 60 % 2026-06-20 8
    """
    outlook = Outlook(climate, climate.season_of(cut_date), heat_need, chance, lag_days, need_spread)
    climates = _pairs("positions", positions, position_climates)
    needs = _pairs("varieties", varieties, variety_needs)
    for name, one in climates or ():
        if one.unit != climate.unit:
            raise InputError(f"position {name} is in °{one.unit}, wanted °{climate.unit}, as the tree's climate")
    found: list[tuple[str | date | float | None, ...]] = [
        (measure.name, measure.last_cut, round(measure.chance, 9), round(measure.share, 9), measure.gained)
        for measure in measures_of(outlook, cut_date, picking_heat, climates, needs)
    ]
    if lines is not None:
        found = found[:lines] + [(None,) * 5] * (lines - len(found))
    return found


def _pairs(label: str, names: Sequence[str | None] | None, values: Any) -> list[tuple[str, Any]] | None:
    """Return names beside values, line by line, without lines that lack one; ``None`` where neither is given."""
    if not names and not values:
        return None
    values = values if isinstance(values, tuple) else (values,)
    if not names or not any(values):
        raise InputError(f"{label} have {'no names' if not names else 'names alone'}, wanted both columns")
    pairs = []
    for name, value in zip(names, values):
        if isinstance(value, InputError):
            raise value
        if name is not None and value is not None:
            pairs.append((name, value))
    return pairs
