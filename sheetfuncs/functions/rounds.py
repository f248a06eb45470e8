"""Rounds: who is cut on which visit, and cut dates that spread the harvest."""

from __future__ import annotations

from datetime import date
from typing import Sequence, Union

from ..cells.dates import short
from ..cells.errors import InputError
from ..cells.kinds import DATE, HEAT_UNITS, column, number
from ..season.climate import Climate
from ..season.ripening import ripe_chance
from ..season.rounds import Tree, nearest_room, plan_rounds
from ..season.spreading import cuts_spread
from .arguments import LAG_DAYS, NEED_SPREAD, TREE_CLIMATE, chance_text
from .declare import Argument, worksheet_function

THEME = "Rounds"
_MINUTES = number("minutes", "minutes above 0 and up to 1440, such as 20", 0.001, 1440, zero_is_no_value=True)
#: Minutes are added up in whole thousandths, so that rounding never makes a day too long.
_PARTS = 1000

#: A line of the answer: a date, a line that starts with ``Check:``, or blank.
_Line = Union[date, InputError, None]


@worksheet_function(
    theme=THEME,
    result=DATE,
    shape="column",
    ready=Argument(column(DATE, blanks=True), "each tree's first day: leaves enough and fig buds seen"),
    latest=Argument(column(DATE, blanks=True), "each tree's last useful day"),
    minutes=Argument(column(_MINUTES, blanks=True), "minutes that each tree takes; needed with minutes a day"),
    minutes_a_day=Argument(_MINUTES, "minutes that you have on one day; blank: no limit"),
)
def prune_rounds(
    ready: Sequence[date | None],
    latest: Sequence[date | None],
    minutes: Sequence[float | None] | None = None,
    minutes_a_day: float | None = None,
) -> list[_Line]:
    """Day on which each tree is cut, so that you go out as few times as possible and miss no last date.

    A visit is held as late as its trees allow, since buds must be there; you may make it on any day from the latest
    first day of its trees on. Without minutes a day, or where all trees take equal minutes, the visits are provably
    the fewest. With unequal minutes, each tree is cut in one go and no day gets too long: as few trees as can be are
    left without a day, then as few days as can be are taken, which is proven or, where days are full to the last
    minutes, the best that a search of limited length finds. A tree without a day says by how many minutes: "no day
    left" where no plan at all leaves fewer trees, "no day found" where a better plan is not ruled out. A tree without
    both dates stays blank.

    Examples
    --------
    >>> prune_rounds(["2026-06-10", "2026-06-14", "2026-06-25"], ["2026-06-20", "2026-07-01", "2026-07-04"])
    [datetime.date(2026, 6, 20), datetime.date(2026, 6, 20), datetime.date(2026, 7, 4)]
    >>> prune_rounds(["2026-06-18"] * 3, ["2026-06-19"] * 3, [30, 40, 45], 60)
    [InputError('Check: no day left by 19 Jun, 10 minutes too many on 18 Jun'),
     datetime.date(2026, 6, 18), datetime.date(2026, 6, 19)]
    """
    length = max(len(ready), len(latest))
    lines: list[_Line] = [None] * length
    trees: dict[int, Tree] = {}
    for line in range(length):
        first, last = _at(ready, line), _at(latest, line)
        if first is None or last is None:
            continue
        try:
            trees[line] = _tree(line, first, last, _at(minutes or (), line), minutes_a_day)
        except InputError as reason:
            lines[line] = reason
    for line, answer in zip(trees, _days(list(trees.values()), minutes_a_day)):
        lines[line] = answer
    return lines


def _at(values: Sequence, line: int) -> object | None:
    return values[line] if line < len(values) else None


def _tree(line: int, ready: date, latest: date, minutes: float | None, minutes_a_day: float | None) -> Tree:
    """Return a tree to plan; raises :class:`InputError` where it has no day whatever the others do."""
    if ready > latest:
        raise InputError(f"ready on {short(ready)}, after the last date, {short(latest)}")
    if minutes_a_day is None:
        return Tree(ready.toordinal(), latest.toordinal(), 0)
    if minutes is None:
        raise InputError(f"minutes, line {line + 1} is blank, wanted minutes, as there is a limit a day")
    if minutes > minutes_a_day:
        raise InputError(f"minutes, line {line + 1} is {minutes:g}, more than the {minutes_a_day:g} of a day")
    return Tree(ready.toordinal(), latest.toordinal(), round(minutes * _PARTS))


def _days(trees: Sequence[Tree], minutes_a_day: float | None) -> list[_Line]:
    """Return each tree's day, or why it has none."""
    limit = None if minutes_a_day is None else round(minutes_a_day * _PARTS)
    plan = plan_rounds(trees, limit)
    answers: dict[int, _Line] = {
        tree: date.fromordinal(day) for day, group in plan.visits.items() for tree in group
    }
    for tree in plan.left:
        day, over = nearest_room(trees, limit or 0, plan, tree)
        by, on = short(date.fromordinal(trees[tree].latest)), short(date.fromordinal(day))
        # "Left" is a fact, "found" the outcome of a search that was cut short.
        word = "left" if plan.fewest_left else "found"
        answers[tree] = InputError(f"no day {word} by {by}, {over / _PARTS:g} minutes too many on {on}")
    return [answers[tree] for tree in range(len(trees))]


@worksheet_function(
    theme=THEME,
    result=DATE,
    shape="column",
    climate=TREE_CLIMATE,
    heat_needs=Argument(column(HEAT_UNITS, blanks=True), "each tree's heat from visible fig to first ripe fig"),
    earliest=Argument(DATE, "first day on which you would cut"),
    latest=Argument(DATE, "last day on which you would cut"),
    lag_days=LAG_DAYS,
    need_spread=NEED_SPREAD,
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
    planted = [line for line, need in enumerate(heat_needs) if need is not None]
    cuts = cuts_spread(climate, [heat_needs[line] for line in planted], earliest, latest, lag_days, need_spread)
    lines: list[_Line] = [None] * len(heat_needs)
    for line, cut in zip(planted, cuts):
        lines[line] = cut or _never_ripe(climate, earliest, heat_needs[line], lag_days, need_spread)
    return lines


def _never_ripe(climate: Climate, earliest: date, need: float, lag_days: int, need_spread: float) -> InputError:
    chance = chance_text(ripe_chance(climate, earliest, need, lag_days, need_spread))
    return InputError(f"cut on {short(earliest)}, figs ripen with a chance of {chance}, wanted half or more")
