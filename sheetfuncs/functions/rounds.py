"""Rounds: who is cut on which visit, and cut dates that spread the harvest."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from itertools import zip_longest
from typing import Any, Sequence, Union

from ..cells.dates import EPOCH_1900, short
from ..cells.errors import InputError, wrong
from ..cells.kinds import DATE, DAYS, HEAT_UNITS, Kind, column, number
from ..season.climate import Climate
from ..season.ripening import Outlook
from ..season.rounds import Tree, WorkDays, nearest_room, plan_with_days_in_hand
from ..season.spreading import cuts_spread
from .arguments import chance_text
from .declare import WHOLE_COLUMN, Argument, declared

_MINUTES = number("minutes", "minutes above 0 and up to 1440, such as 20", 0.001, 1440, zero_is_no_value=True)
#: Minutes are added up in whole thousandths, so that rounding never makes a day too long.
_PARTS = 1000

#: A line of the answer: a date, a line that starts with ``Check:``, or blank.
_Line = Union[date, InputError, None]

_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WANTED_WEEKDAYS = "weekdays such as Sat Sun, or Mon-Fri"


def _read_weekdays(cell: Any, label: str, epoch: date = EPOCH_1900) -> tuple[int, ...]:
    """Read weekdays by their English names or the first letters of them, one by one or from one to another."""
    found: set[int] = set()
    if isinstance(cell, str):
        for part in re.sub(r"\s*(?:-|–|\bto\b)\s*", "-", cell.lower()).replace(",", " ").replace(";", " ").split():
            ends = [_weekday(name, cell, label) for name in part.split("-")]
            if len(ends) > 2:
                raise wrong(label, cell, _WANTED_WEEKDAYS)
            found.update((ends[0] + step) % 7 for step in range((ends[-1] - ends[0]) % 7 + 1))
    if not found:
        raise wrong(label, cell, _WANTED_WEEKDAYS)
    return tuple(sorted(found))


def _weekday(name: str, cell: str, label: str) -> int:
    fits = [number for number, day in enumerate(_WEEKDAYS) if name.startswith(day) or name == day[:2]]
    if len(fits) != 1:
        raise wrong(label, cell, _WANTED_WEEKDAYS)
    return fits[0]


def _lines(of: Kind) -> Kind:
    """Return a kind for a column with a cell a tree: blank at its end, too, so that the answer is as long.

    Of a whole column of a sheet the blank end is no part.
    """
    whole, trimmed = column(of, blanks=True, trim=False), column(of, blanks=True)

    def read(cells: Any, label: str, epoch: date = EPOCH_1900) -> Any:
        tall = isinstance(cells, (list, tuple)) and len(cells) >= WHOLE_COLUMN
        values = (trimmed if tall else whole).read(cells, label, epoch)
        return values if any(values) else ()

    return replace(whole, read=read)


@declared(
    DATE,
    shape="column",
    ready=Argument(_lines(DATE), "each tree's first day: leaves enough and fig buds seen"),
    latest=Argument(_lines(DATE), "each tree's last useful day"),
    minutes=Argument(column(_MINUTES, blanks=True), "minutes that each tree takes; needed with minutes a day"),
    minutes_a_day=Argument(_MINUTES, "minutes that you have on one day; blank: no limit"),
    days_in_hand=Argument(DAYS, "days to keep in hand before each tree's last day, for rain"),
    work_days=Argument(Kind("weekdays", _read_weekdays), "weekdays on which you work, such as Sat Sun; blank: any"),
)
def prune_rounds(
    ready: Sequence[date | None],
    latest: Sequence[date | None],
    minutes: Sequence[float | None] | None = None,
    minutes_a_day: float | None = None,
    days_in_hand: int = 2,
    work_days: Sequence[int] | None = None,
) -> list[_Line]:
    """Day on which each tree is cut, so that you go out as few times as possible and miss no last date.

    One answer for all trees: as many lines as the columns have. A visit is held as late as its trees allow, since buds
    must be there; you may make it on any day from the latest first day of its trees on. Days are kept in hand for rain,
    but not where that would cost a tree its day. Without minutes a day, or where all trees take equal minutes, no plan
    reaches more trees. With unequal minutes it is the best of a few plans: each tree is cut in one go, no day gets too
    long, and a tree for which no day was found says by how much the nearest one would. A tree without both dates stays
    blank.

    Examples
    --------
    >>> prune_rounds(["2026-06-10", "2026-06-14", "2026-06-25"], ["2026-06-20", "2026-07-01", "2026-07-04"])
    [datetime.date(2026, 6, 18), datetime.date(2026, 6, 18), datetime.date(2026, 7, 2)]
    >>> prune_rounds(["2026-06-10"], ["2026-06-25"], work_days="Sat Sun")
    [datetime.date(2026, 6, 21)]
    >>> prune_rounds(["2026-06-18"] * 3, ["2026-06-19"] * 3, [30, 40, 45], 60, 0)
    [InputError('Check: could not be scheduled by 19 Jun: 18 Jun would be 10 minutes over'),
     datetime.date(2026, 6, 18), datetime.date(2026, 6, 19)]
    """
    calendar = WorkDays(range(7) if work_days is None else work_days)
    lines: list[_Line] = [None] * max(len(ready), len(latest))
    trees: dict[int, Tree] = {}
    kept: list[int] = []
    for line, (first, last, needed) in enumerate(zip_longest(ready, latest, minutes or ())):
        if first is None or last is None:
            continue
        try:
            window = _window(first, last, calendar, days_in_hand)
            trees[line] = Tree(window[0], window[2], _minutes_of(line, needed, minutes_a_day))
            kept.append(window[1])
        except InputError as reason:
            lines[line] = reason
    limit = None if minutes_a_day is None else round(minutes_a_day * _PARTS)
    for line, answer in zip(trees, _days(list(trees.values()), kept, limit, calendar)):
        lines[line] = answer
    return lines


def _window(ready: date, latest: date, calendar: WorkDays, days_in_hand: int) -> tuple[int, int, int]:
    """Return a tree's first day of work, the last that keeps days in hand, and the last of all.

    Raises :class:`InputError` where it has none.
    """
    if ready > latest:
        raise InputError(f"ready on {short(ready)}, after the last date, {short(latest)}")
    window = calendar.window(ready.toordinal(), latest.toordinal(), days_in_hand)
    if window is None:
        raise InputError(f"could not be scheduled: none of your work days lies from {short(ready)} to {short(latest)}")
    return window


def _minutes_of(line: int, minutes: float | None, minutes_a_day: float | None) -> int:
    """Return a tree's minutes in parts; raises :class:`InputError` where they are missing or more than a day's."""
    if minutes_a_day is None:
        return 0
    if minutes is None:
        raise InputError(f"minutes, line {line + 1} is blank, wanted minutes, as there is a limit a day")
    if minutes > minutes_a_day:
        raise InputError(f"minutes, line {line + 1} is {minutes:g}, more than the {minutes_a_day:g} of a day")
    return round(minutes * _PARTS)


def _days(trees: Sequence[Tree], kept: Sequence[int], limit: int | None, calendar: WorkDays) -> list[_Line]:
    """Return each tree's day, or why it has none."""

    def day(number: int) -> date:
        return date.fromordinal(calendar.ordinal(number))

    plan = plan_with_days_in_hand(trees, kept, limit)
    answers: dict[int, _Line] = {tree: day(number) for number, group in plan.visits.items() for tree in group}
    for tree in plan.left:
        number, over = nearest_room(trees, limit or 0, plan, tree)
        by, on = short(day(trees[tree].latest)), short(day(number))
        answers[tree] = InputError(f"could not be scheduled by {by}: {on} would be {over / _PARTS:g} minutes over")
    return [answers[tree] for tree in range(len(trees))]


@declared(
    DATE,
    shape="column",
    heat_needs=Argument(column(HEAT_UNITS, blanks=True), "each tree's heat from visible fig to first ripe fig"),
    earliest=Argument(DATE, "first day on which you would cut"),
    latest=Argument(DATE, "last day on which you would cut"),
)
def spread_cuts(
    climate: Climate,
    heat_needs: Sequence[float | None],
    earliest: date,
    latest: date,
    lag_days: int = 10,
    need_spread: float = 0.06,
) -> list[_Line]:
    """Cut dates that make the trees ripen at even intervals, as far apart as the days to cut allow.

    Trees ripen in the order of their heat need, equal needs in the order of their lines. Ripening is the date reached
    with a chance of half, as the first of RIPEN_WINDOW; it is even within a day wherever the trees can reach that, and
    as near as they can get elsewhere. Equal gaps between cuts would not do, since heat comes faster in summer than
    in autumn.

    Examples
    --------
    >>> spread_cuts(valley, [1150, 1150, 1150], "2026-05-20", "2026-06-20")
    [datetime.date(2026, 5, 20), datetime.date(2026, 6, 7), datetime.date(2026, 6, 20)]
    >>> [ripen_window(valley, cut, 1150)[0] for cut in ("2026-05-20", "2026-06-07", "2026-06-20")]
    [datetime.date(2026, 8, 19), datetime.date(2026, 9, 2), datetime.date(2026, 9, 17)]
    """
    if latest < earliest:
        raise InputError(f"latest is {latest}, wanted a date on or after the earliest, {earliest}")
    if climate.season_of(latest) != climate.season_of(earliest):
        raise InputError(f"latest is {latest}, wanted a date in the same season as the earliest, {earliest}")
    planted = {line: need for line, need in enumerate(heat_needs) if need is not None}
    cuts = cuts_spread(climate, list(planted.values()), earliest, latest, lag_days, need_spread)
    lines: list[_Line] = [None] * len(heat_needs)
    for (line, need), cut in zip(planted.items(), cuts):
        lines[line] = cut or _never_ripe(climate, earliest, need, lag_days, need_spread)
    return lines


def _never_ripe(climate: Climate, earliest: date, need: float, lag_days: int, need_spread: float) -> InputError:
    outlook, seen = Outlook.of_cut(climate, earliest, need, lag_days, need_spread)
    chance = chance_text(outlook.chance_of(seen))
    return InputError(f"cut on {short(earliest)}, figs ripen with a chance of {chance}, wanted half or more")
