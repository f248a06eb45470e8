"""All trees of a holding at once: a frame of trees in, a frame of answers out."""

from __future__ import annotations

import sys
from datetime import date
from typing import Any, Mapping

from ..cells.dates import EPOCH_1900
from ..cells.errors import InputError
from ..cells.kinds import DATE, HEAT_UNITS, is_blank
from ..season.ripening import NEED_SPREAD as USUAL_SPREAD
from .advice import prune_advice
from .arguments import NEED_SPREAD
from .frames import as_cells, has_index, in_the_form_of
from .pruning import latest_prune_date, ripen_chance
from .ripening import crop_ripe_share, ripen_window

#: What may be known of a tree: what the functions take, under the same names, but what is found from it.
OF_A_TREE = {
    parameter.name
    for function in (latest_prune_date, ripen_chance, ripen_window, crop_ripe_share, prune_advice)
    for parameter in function.declaration.parameters  # type: ignore[attr-defined]
} - {"climate", "cut_date", "latest_date"}
ANSWERS = (
    "last_date", "plus_minus_days", "cut_date", "chance", "first_ripe", "middle_ripe", "last_ripe", "share", "advice",
)  # fmt: skip
_DATES = frozenset(("last_date", "cut_date", "first_ripe", "middle_ripe", "last_ripe"))


def plan_trees(climate: Any, trees: Any, **all_trees: Any) -> Any:
    """Answers for every tree of a frame: last date, ± days, chance, window, share of the crop, advice.

    A line that cannot be answered says why in ``advice``, as a cell would, and leaves its other answers blank.

    Parameters
    ----------
    climate : climate, or a mapping from positions to climates
        With a mapping the column ``position`` says which one holds for a tree.
    trees : frame, or a mapping from names to columns
        A line a tree. Of its columns ``heat_need`` [heat units] is needed, and ``season`` unless it is given for all;
        ``chance``, ``lag_days``, ``need_spread``, ``picking_heat``, ``today``, ``ready_from``, ``not_before``,
        ``usual_from``, ``buds_seen``, ``cut_on``, ``figs_seen``, ``picking_since``, ``picking_until``, ``grown_in``
        and ``early_crop`` may be there, each as the functions take it. Other columns are left alone.
    **all_trees
        Any of these for all trees at once: ``season=2026, today="2026-06-22"``.

    Returns
    -------
    frame with the index of ``trees``, or a dict of lists where that is no frame
        ``last_date``: of a cut with the chance wanted. ``plus_minus_days``: by so much it moves with a heat need one
        ``need_spread`` higher or lower. ``cut_date``: ``cut_on``, else the first day on which the tree can be cut, the
        usual one where that is no later than the last date, else the last date. ``chance``, ``first_ripe``,
        ``middle_ripe``, ``last_ripe`` and ``share`` are those of a cut on that day, or of the figs where ``figs_seen``
        says when they were seen. ``advice``: what to do on the day ``today``.

    Raises
    ------
    InputError
        Where the trees have no column of heat needs, or columns of several lengths.

    Examples
    --------
    >>> from sheetfuncs import plan_trees
    >>> from sheetfuncs.functions.examples import valley
    >>> plan = plan_trees(valley, {"heat_need": [1150, 1300]}, season=2026)
    >>> plan["last_date"]
    [datetime.date(2026, 6, 22), datetime.date(2026, 6, 12)]
    """
    unknown = set(all_trees) - {*OF_A_TREE, "position"}
    if unknown:
        raise TypeError(f"plan_trees() has no argument {min(unknown)!r}")
    columns = {name: as_cells(trees[name]) for name in (*OF_A_TREE, "position") if name in trees}
    both = set(columns) & set(all_trees)
    if both:
        raise InputError(f"{min(both)} is a column of the trees and given for all of them, wanted one")
    if "heat_need" not in {*columns, *all_trees}:
        raise InputError("trees have no column heat_need, wanted the heat need of each tree")
    lengths = {len(column) for column in columns.values()} or {len(trees)}
    if len(lengths) > 1:
        raise InputError(f"columns of trees have {min(lengths)} to {max(lengths)} lines, wanted one length")
    lines = [{**all_trees, **{name: column[line] for name, column in columns.items()}} for line in range(*lengths)]
    answers = [_plan(climate, {name: cell for name, cell in line.items() if not is_blank(cell)}) for line in lines]
    found = {name: [answer.get(name) for answer in answers] for name in ANSWERS}
    if not has_index(trees):
        return found
    pandas = sys.modules["pandas"]  # which the script has loaded
    made = {name: in_the_form_of(trees.index, column, (), name, name in _DATES) for name, column in found.items()}
    return pandas.DataFrame(made, index=trees.index)


def _plan(climate: Any, known: Mapping[str, Any]) -> dict[str, Any]:
    """Return the answers for one tree, by their names; one that cannot be given is left out."""
    of_tree = dict(known)
    of_tree["climate"] = climate.get(known.get("position")) if isinstance(climate, Mapping) else climate
    if of_tree["climate"] is None and "position" in known:
        return {"advice": InputError(f"position is {known['position']}, which has no climate").line}
    answers: dict[str, Any] = {}
    no_date = ""
    try:
        try:
            answers["last_date"] = _ask(latest_prune_date, of_tree)
            answers["plus_minus_days"] = _plus_minus(of_tree)
        except InputError as error:
            no_date = error.line
        last = answers.get("last_date")
        cut = answers["cut_date"] = _cut_date(known, last)
        seen = _day(known, "figs_seen")
        if cut is None and seen is None:
            return {"advice": no_date}
        # Figs that were seen count from that day, whatever the cut.
        of_figs = {**of_tree, "cut_date": cut} if seen is None else {**of_tree, "cut_date": seen, "lag_days": 0}
        answers["chance"] = _ask(ripen_chance, of_figs)
        answers["first_ripe"], answers["middle_ripe"], answers["last_ripe"] = _ask(
            ripen_window, {name: value for name, value in of_figs.items() if name != "chance"}
        )
        answers["share"] = _ask(crop_ripe_share, of_figs)
        if "today" in known:
            of_advice = {"ready_from": known["today"], **of_tree, "latest_date": no_date or last}
            answers["advice"] = _ask(prune_advice, of_advice)
    except InputError as error:
        return {"advice": error.line}
    if no_date and "advice" not in answers:
        answers["advice"] = no_date
    return answers


def _ask(function: Any, known: Mapping[str, Any]) -> Any:
    """Return what a function answers to those of the things known that it takes."""
    names = [parameter.name for parameter in function.declaration.parameters]
    return function(**{name: known[name] for name in names if name in known})


def _plus_minus(of_tree: Mapping[str, Any]) -> int | None:
    """Return by how many days the last date moves with a need one spread higher or lower, the mean of both."""
    need = HEAT_UNITS.read(of_tree["heat_need"], "heat need", EPOCH_1900)
    spread = NEED_SPREAD.kind.read(of_tree.get("need_spread", USUAL_SPREAD), "need spread", EPOCH_1900)
    needs = need * (1 - spread), need * (1 + spread)
    try:
        late, early = (_ask(latest_prune_date, {**of_tree, "heat_need": need}) for need in needs)
    except InputError:  # none of the days ripens the one or the other
        return None
    return (int((late - early).days) + 1) // 2


def _cut_date(known: Mapping[str, Any], last_date: date | None) -> date | None:
    """Return the day of the cut, or the first day on which it would be made, or the last date."""
    if "cut_on" in known:
        return _day(known, "cut_on")
    days = [_day(known, name) for name in ("today", "ready_from", "not_before")]
    usual = _day(known, "usual_from")
    days.append(usual if usual is None or last_date is None else min(usual, last_date))
    return max((day for day in days if day is not None), default=last_date)


def _day(known: Mapping[str, Any], name: str) -> date | None:
    day: date | None = DATE.read(known[name], name.replace("_", " "), EPOCH_1900) if name in known else None
    return day
