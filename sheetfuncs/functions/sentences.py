"""The sentences of PRUNE_ADVICE: one for each situation that a grower knows, in the order of the year.

Each fits two lines of its cell on the sheet *Trees*.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from ..cells.dates import short
from ..season.freeze_dates import in_by, out_from
from ..season.measures import what_would_help
from ..season.ripening import Outlook
from .arguments import chance_text, count_text

#: Days until one looks again where no buds were seen; within which a cut is due now; and before the expected day from
#: which one looks for ripe figs (judgement).
LOOK_AGAIN = timedelta(days=7)
#: From so many days before the last date, leaves are counted and buds looked for (judgement).
LOOK_FROM = timedelta(days=28)
#: For so many days after its date the advice is to bring a tree in, or out; later it stands there (judgement).
BRING_IN = timedelta(days=14)
#: A day so long after the season's end is no day for ripe figs (judgement).
FAR_AWAY = timedelta(days=60)
#: A cut, or figs, with less chance than this are too late rather than late (judgement).
NO_CHANCE = 0.01


class Tree(NamedTuple):
    """What is known of a tree on a day; ``None`` for what is not known, or did not happen yet.

    ready : leaves enough from. latest : last cut date, ``date.max`` where any will do. usual : such trees are usually
    cut from then on. figs : day on which figs were seen. picked : whether the last fig was picked. outlook : what the
    season has for it.
    """

    today: date
    ready: date | None
    latest: date | None
    buds: bool | None
    cut: date | None
    lag_days: int
    not_before: date | None
    usual: date | None
    figs: date | None
    picking_since: date | None
    picked: bool
    grown_in: str | None
    early_crop: bool
    outlook: Outlook | None


def sentence(tree: Tree) -> str:
    """Return what to do with a tree."""
    if tree.outlook is not None:
        end = tree.outlook.end()
        if tree.picked or (end is not None and tree.today >= end):
            return _after_the_season(tree, tree.outlook, end)
        # With leaves counted or buds seen it is dormant no longer.
        if tree.grown_in and not (tree.cut or tree.figs or tree.ready or tree.buds):
            out = out_from(tree.outlook.climate, tree.outlook.season)
            if out is not None and tree.today < out:
                return f"Keep it {_kept(tree)} until {short(out)}{_winter_pruning(tree)}."
    elif tree.picked:
        return "Picking is over."
    if tree.picking_since is not None:
        return f"Picking since {short(tree.picking_since)}{_season_ends(tree)}."
    if tree.figs is not None:
        return _with_figs(tree, tree.figs)
    if tree.cut is not None:
        return _after_the_cut(tree, tree.cut)
    return _before_the_cut(tree)


# -- before the cut -----------------------------------------------------------------------------------------


def _before_the_cut(tree: Tree) -> str:
    latest, today = tree.latest, tree.today
    if latest is None:
        return _not_this_year(tree)
    if latest == date.max:
        return _at_any_time(tree)
    if today > latest and (tree.not_before is None or today >= tree.not_before):
        return _late(tree, latest) if tree.ready is None or tree.ready <= today else _ready_too_late(tree, latest)
    if tree.ready is None and not tree.buds and today < latest - LOOK_FROM:
        return f"{_in_spring(tree)}: count leaves, look for fig buds from {short(latest - LOOK_FROM)}."
    ready = tree.ready or today
    if today < max(ready, tree.not_before or ready):
        return _too_early(tree, latest, ready)
    if tree.buds is None:
        what = "Look for fig buds" if tree.ready else "Count leaves, look for fig buds"
        if today == latest:
            return f"{what} today, the last date: with buds, cut now."
        return f"{what}: with buds, cut by {short(latest)}."
    if not tree.buds:
        if today == latest:
            return "No fig buds, and today is the last date: leave it this year."
        return f"No fig buds: do not cut, look again on {short(min(today + LOOK_AGAIN, latest))}."
    spare = (latest - today).days
    if spare == 0:
        return f"Cut now: today is the last date{_hints(tree)}."
    days = count_text(spare, "day")
    if spare <= LOOK_AGAIN.days:
        return f"Cut now: {days} left, last date {short(latest)}{_hints(tree)}."
    return f"Cut by {short(latest)}, {days} to spare{_hints(tree)}."


def _at_any_time(tree: Tree) -> str:
    """Return what to do with a tree where nothing ends the season."""
    first = _first_day(tree)
    if tree.today < first:
        return f"Wait until {short(first)}, then cut where fig buds are seen."
    if tree.buds is None:
        return "Look for fig buds: with buds, cut when you like, the season does not end here."
    if not tree.buds:
        return f"No fig buds: do not cut, look again on {short(tree.today + LOOK_AGAIN)}."
    return f"Cut when you like, the season does not end here{_hints(tree)}."


def _in_spring(tree: Tree) -> str:
    """Return whether a tree is to be brought out or unwrapped now, before there is anything else to do."""
    out = out_from(tree.outlook.climate, tree.outlook.season) if tree.outlook and tree.grown_in else None
    if out is None or tree.today >= out + BRING_IN:
        return "Nothing to do yet"
    return "Bring it out if it is not yet" if tree.grown_in == "container" else "Unwrap it if it is not yet"


def _too_early(tree: Tree, latest: date, ready: date) -> str:
    """Return what to do with a tree whose first day is still to come."""
    waits = tree.not_before is not None and tree.not_before >= ready
    if waits and tree.not_before > latest:  # type: ignore[operator]
        tense = "was" if tree.today > latest else "is"
        return f"Not this year: not before {short(tree.not_before)}, the last date {tense} {short(latest)}."  # type: ignore[arg-type]
    if ready > latest:
        return _ready_too_late(tree, latest)
    if not waits:
        return f"Too few leaves: look again on {short(ready)}, cut by {short(latest)}."
    look = "then" if tree.buds else "look for fig buds,"
    return f"Wait until {short(tree.not_before)}, {look} cut by {short(latest)}."  # type: ignore[arg-type]


def _ready_too_late(tree: Tree, latest: date) -> str:
    why = f"Not this year: leaves enough {short(tree.ready)}, last date {short(latest)}"  # type: ignore[arg-type]
    if tree.outlook is None:
        return f"{why}."
    chance = tree.outlook.chance_of(tree.outlook.figs_of(_first_day(tree)))
    in_time, later = _ways_out(tree, tree.outlook)
    if "position" not in in_time:
        return f"{why}. {later}."
    return f"{why}, chance {chance_text(chance)}. {_start(in_time['position'])}."


def _late(tree: Tree, latest: date) -> str:
    uncut = f"leave it uncut, next year look from {short(latest - LOOK_FROM)}."
    if tree.buds is False:
        return f"Too late: no fig buds, last date {short(latest)}; {uncut}"
    if tree.outlook is None:
        return f"Too late: the last date was {short(latest)}; {uncut}"
    chance = tree.outlook.chance_of(tree.outlook.figs_of(tree.today))
    if chance < NO_CHANCE:
        return f"Too late: figs of a cut now hardly ripen; {uncut}"
    look = "cut now," if tree.buds else "with fig buds, cut now:"
    in_time, _ = _ways_out(tree, tree.outlook)
    way = in_time.get("position", "or leave it uncut")
    return f"Late: {look} figs ripen with a chance of {chance_text(chance)}; {way}."


def _hints(tree: Tree) -> str:
    """Return what is worth knowing beside the date of a cut."""
    usual = tree.usual is not None and tree.today < tree.usual
    hints = f"; usual here: {short(tree.usual)}" if usual else ""  # type: ignore[arg-type]
    return f"{hints}; leave last year's wood" if tree.early_crop else hints


def _not_this_year(tree: Tree) -> str:
    """Return what binds where no cut ripens figs with the chance wanted, and what would help."""
    if tree.outlook is None:
        return "Not this year: no cut ripens figs with the chance wanted."
    end = tree.outlook.end()
    ripe = tree.outlook.ripe_without_an_end(tree.outlook.figs_of(max(_first_day(tree), tree.usual or date.min)))
    if end is None or ripe is None or ripe > end + FAR_AWAY:
        why = "the year has too little heat"
    elif ripe < end:
        why = f"ripe by {short(ripe)}, too near the end"
    else:
        why = f"ripe by {short(ripe)}, season ends {short(end)}"
    in_time, later = _ways_out(tree, tree.outlook)
    best = ", ".join(in_time[what] for what in ("chance", "position") if what in in_time)
    return f"Not this year: {why}. {_start(best or later)}."


def _first_day(tree: Tree) -> date:
    """Return the first day on which a tree can be cut."""
    return max(day for day in (tree.today, tree.ready, tree.not_before) if day is not None)


def _ways_out(tree: Tree, outlook: Outlook) -> tuple[dict[str, str], str]:
    """Return the best measure of each kind that leaves time for a cut, and a position or a variety for next year."""
    first = _first_day(tree)
    ways = [(way, way.last_cut) for way in what_would_help(outlook, first, 0) if way.last_cut is not None]
    in_time = {
        way.what: f"{way.name.replace('with a chance of', 'at')}: by {short(last)}"
        for way, last in reversed(ways)
        if last >= first
    }
    later = (f"Next year: {way.name}, by {short(last)}" for way, last in ways if way.what in ("position", "variety"))
    return in_time, next(later, "It needs a warmer place or an earlier variety")


def _start(words: str) -> str:
    return words[:1].upper() + words[1:]


# -- after the cut ------------------------------------------------------------------------------------------


def _after_the_cut(tree: Tree, cut: date) -> str:
    if cut > tree.today:
        return f"To be cut on {short(cut)}."
    show = cut + timedelta(days=tree.lag_days)
    done = f"Cut on {short(cut)}"
    if tree.outlook is None:
        return f"{done}: figs should show by {short(show)}."
    last = tree.outlook.last_fig()
    if last is None or show > last:
        show = max(show, tree.today)
        chance = tree.outlook.chance_of(show)
        if chance >= NO_CHANCE:
            return f"{done}: figs that show by {short(show)} ripen with a chance of {chance_text(chance)}."
    elif tree.today <= show:
        return f"{done}: figs should show by {short(show)}."
    elif tree.today <= last:
        return f"{done}, no figs noted: look again, those that show by {short(last)} still ripen."
    return f"{done}, no figs noted: take off what shows now, it is too late to ripen."


def _with_figs(tree: Tree, seen: date) -> str:
    found = f"Figs seen on {short(seen)}"
    if tree.outlook is None:
        return f"{found}."
    last, ripe, chance = tree.outlook.last_fig(), tree.outlook.ripe_from(seen), tree.outlook.chance_of(seen)
    if chance < NO_CHANCE:
        return f"{found}: too late to ripen, take them off."
    if ripe is not None and tree.today >= ripe - LOOK_AGAIN:
        return f"Look for ripe figs: expected from about {short(ripe)}{_season_ends(tree)}."
    if ripe is None or last is None or seen > last:
        needed = "" if last is None else f", needed by {short(last)}"
        return f"{found}{needed}: they ripen with a chance of {chance_text(chance)}."
    if tree.today > last:
        return f"Take off figs that showed after {short(last)}; pick from about {short(ripe)}."
    if tree.cut is None and tree.latest not in (None, date.max) and tree.today <= tree.latest:
        return f"{found}: leave it, or cut new shoots by {short(tree.latest)}; ripe from about {short(ripe)}."
    if tree.outlook.is_last_of_all(last):
        return f"{found}: ripe from about {short(ripe)}."
    return f"{found}: ripe from about {short(ripe)}; those that show by {short(last)} may stay."


# -- autumn and winter --------------------------------------------------------------------------------------


def _season_ends(tree: Tree) -> str:
    end = None if tree.outlook is None else tree.outlook.end()
    return "" if end is None else f"; the season ends about {short(end)}"


def _after_the_season(tree: Tree, outlook: Outlook, end: date | None) -> str:
    """Return what is to be done once the last figs are picked, or once the season has ended."""
    over = "Picking is over" if tree.picked else f"The season ended about {short(end)}"  # type: ignore[arg-type]
    green = "take off green figs"
    if not tree.grown_in:
        return f"{over}: {green}."
    sheltered = in_by(outlook.climate, outlook.season)
    if sheltered is None:
        return f"{over}: {green}; hard frost is rare here."
    act = "bring it in" if tree.grown_in == "container" else "wrap it"
    if tree.today < sheltered:
        return f"{over}: {green}, {act} by {short(sheltered)}."
    if tree.today < sheltered + BRING_IN:
        return f"{_start(act)} now if it is not yet: hard frost is to be expected since {short(sheltered)}."
    out = out_from(outlook.climate, outlook.season + 1)
    until = "" if out is None else f" until {short(out)}"
    return f"Keep it {_kept(tree)}{until}{_winter_pruning(tree)}."


def _kept(tree: Tree) -> str:
    return "sheltered" if tree.grown_in == "container" else "wrapped"


def _winter_pruning(tree: Tree) -> str:
    if tree.early_crop:
        return "; prune while dormant, but leave last year's shoots"
    return "; prune while dormant"
