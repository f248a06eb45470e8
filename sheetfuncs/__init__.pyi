"""The package as editors and type checkers see it. Written by: python -m tests.stub"""

from collections.abc import Iterable
from datetime import date
from typing import Any, Protocol, TypeAlias, overload

from sheetfuncs.cells.errors import InputError as InputError
from sheetfuncs.functions import all_functions as all_functions
from sheetfuncs.functions.frames import UnansweredLineWarning as UnansweredLineWarning
from sheetfuncs.functions.plan import plan_trees as plan_trees
from sheetfuncs.season.climate import Climate

class _HasToNumpy(Protocol):
    """A column or a frame of any library."""

    def to_numpy(self) -> Any: ...

#: A date, a text such as "2026-07-01", or the number of a spreadsheet's day.
Date: TypeAlias = date | str | float
#: A number, or a text that holds one.
Number: TypeAlias = float | str
Column: TypeAlias = Iterable[Any] | _HasToNumpy

__all__ = [
    "InputError", "UnansweredLineWarning", "against_rule_of_thumb", "all_functions", "climate_at", "climate_note",
    "climate_of", "climate_until", "climate_with_frost", "crop_ripe_range", "crop_ripe_share", "crop_weight",
    "first_frost", "frost_chance", "functions_edition", "heat_date", "heat_units_between", "heat_units_day",
    "last_frost", "last_useful_fig_date", "later_flush_window", "latest_prune_date", "latest_prune_date_by_days",
    "learned_heat_need", "look_back_on", "picking_by_week", "plan_trees", "promise_kept", "prune_advice", "prune_node",
    "prune_rounds", "ready_to_prune_from", "ripen_chance", "ripen_seasons", "ripen_window", "root_cuttings_by",
    "safe_outside_from", "season_end", "seasons_to_look_back_on", "shelter_by", "spread_cuts", "today_or",
    "usual_cut_from", "what_would_help",
]

@overload
def heat_units_day(low: Number, high: Number, base: Number, ceiling: Number | None = None, method: str | None = 'sine', cutoff: str | None = 'stays level', next_low: Number | None = None) -> float:
    """Heat units of one day from its low and high.

    low : the day's low [°] (temperature)
    high : the day's high [°] (temperature)
    base : lower base: no heat counts below it [°] (temperature)
    ceiling : upper limit of the heat that counts [°]; blank for none (temperature)
    method : the heat of a day by a sine through its low and high, or their mean (method; default sine)
    cutoff : heat above the ceiling stays level (neither helps nor harms), counts against (is taken off again), or stops (nothing grows meanwhile) (cut-off; default stays level)
    next_low : low of the day after, to which the afternoon runs down; blank: the day's own [°] (temperature)
    """
@overload
def heat_units_day(low: Number | Column, high: Number | Column, base: Number | Column, ceiling: Number | None | Column = None, method: str | None | Column = 'sine', cutoff: str | None | Column = 'stays level', next_low: Number | None | Column = None) -> Any: ...

@overload
def heat_units_between(climate: Climate | str, start: Date, end: Date) -> float:
    """Heat units from one date (counted) to another (not counted).

    climate : cell of a climate: the place's, for a tree its position's (climate)
    start : first day counted (date)
    end : day after the last one counted (date)
    """
@overload
def heat_units_between(climate: Climate | str | Column, start: Date | Column, end: Date | Column) -> Any: ...

@overload
def heat_date(climate: Climate | str, start: Date, heat_units: Number, chance: Number | None = 0.5) -> date:
    """Date by which a heat has come with a given chance.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    start : first day counted (date)
    heat_units : heat to wait for [heat units] (heat units)
    chance : share of the seasons in which it has come by then (chance; default 0.5)
    """
@overload
def heat_date(climate: Climate | str | Column, start: Date | Column, heat_units: Number | Column, chance: Number | None | Column = 0.5) -> Any: ...

@overload
def climate_of(weather: Column, unit: str | None = 'C', base: Number | None = ..., ceiling: Number | None = ..., frost_at: Number | None = ..., stall_at: Number | None = ..., method: str | None = 'sine', cutoff: str | None = 'stays level', hemisphere: str | None = None, last_seasons: Number | None = None) -> Climate:
    """Climate of a place, from a daily record or from 12 monthly normals.

    weather : rows of date, low, high of one or many years, or 12 rows of month, low, high (rows of date, low, high)
    unit : unit of the temperatures: C or F (unit; default C)
    base : lower base: no heat counts below it [°] (temperature; default 8 °C)
    ceiling : upper limit of the heat that counts [°]; "off" for none (temperature or off; default 36 °C)
    frost_at : a low at or under it is a freeze [°] (temperature; default 0 °C)
    stall_at : the season ends after the last week whose mean is at or above it [°]; 0 or "off": by freezes alone (temperature or off; default 12 °C)
    method : the heat of a day by a sine through its low and high, or their mean (method; default sine)
    cutoff : heat above the ceiling stays level (neither helps nor harms), counts against (is taken off again), or stops (nothing grows meanwhile) (cut-off; default stays level)
    hemisphere : north or south; blank: by the warmer months (hemisphere)
    last_seasons : rest on so many of the last complete seasons only; blank: on all (seasons)
    """
@overload
def climate_of(weather: Column, unit: str | None | Column = 'C', base: Number | None | Column = ..., ceiling: Number | None | Column = ..., frost_at: Number | None | Column = ..., stall_at: Number | None | Column = ..., method: str | None | Column = 'sine', cutoff: str | None | Column = 'stays level', hemisphere: str | None | Column = None, last_seasons: Number | None | Column = None) -> Any: ...

@overload
def climate_at(climate: Climate | str, warmer_high: Number | None = 0.0, warmer_low: Number | None = 0.0) -> Climate:
    """Climate of a position: a wall, a cover, a tunnel, a hollow.

    climate : cell of the open place's climate (climate)
    warmer_high : what the position adds to the day's high [°] (temperature change; default 0.0)
    warmer_low : what the position adds to the night's low [°] (temperature change; default 0.0)
    """
@overload
def climate_at(climate: Climate | str | Column, warmer_high: Number | None | Column = 0.0, warmer_low: Number | None | Column = 0.0) -> Any: ...

@overload
def climate_with_frost(climate: Climate | str, estimates: Date | Column) -> Climate:
    """Climate with the first freeze as you estimate it, in place of the record's.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    estimates : one date of the first freeze, or rows of chance of an earlier freeze and date (one date, or rows of chance and date)
    """
@overload
def climate_with_frost(climate: Climate | str | Column, estimates: Date | Column) -> Any: ...

@overload
def climate_until(climate: Climate | str, day: Date) -> Climate:
    """Climate as it was known on the morning of a day: days before it only.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    day : the morning on which one looks (date)
    """
@overload
def climate_until(climate: Climate | str | Column, day: Date | Column) -> Any: ...

@overload
def climate_note(climate: Climate | str) -> str:
    """What one must know of a climate, in one line: seasons, span, days filled, what was left out and why.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    """
@overload
def climate_note(climate: Climate | str | Column) -> Any: ...

@overload
def first_frost(climate: Climate | str, season: Number, chance: Number | None = 0.5, at: Number | None = None, rule: str | None = 'normal') -> date | None:
    """Date with a given chance of an earlier first freeze in autumn.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    chance : chance that the first freeze comes earlier (chance; default 0.5)
    at : a low at or under it is a freeze [°]; blank: as in the climate (temperature)
    rule : normal: mean and spread of all years, as in official tables; ranks: the years' own dates (rule; default normal)
    """
@overload
def first_frost(climate: Climate | str | Column, season: Number | Column, chance: Number | None | Column = 0.5, at: Number | None | Column = None, rule: str | None | Column = 'normal') -> Any: ...

@overload
def last_frost(climate: Climate | str, season: Number, chance: Number | None = 0.5, at: Number | None = None, rule: str | None = 'normal') -> date | None:
    """Spring date with a given chance of a later last freeze.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    chance : chance that the last freeze comes later (chance; default 0.5)
    at : a low at or under it is a freeze [°]; blank: as in the climate (temperature)
    rule : normal: mean and spread of all years, as in official tables; ranks: the years' own dates (rule; default normal)
    """
@overload
def last_frost(climate: Climate | str | Column, season: Number | Column, chance: Number | None | Column = 0.5, at: Number | None | Column = None, rule: str | None | Column = 'normal') -> Any: ...

@overload
def frost_chance(climate: Climate | str, day: Date, at: Number | None = None) -> float:
    """Chance that the first freeze comes on or before a day, 0 to 1.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    day : day in question (date)
    at : a low at or under it is a freeze [°]; blank: as in the climate (temperature)
    """
@overload
def frost_chance(climate: Climate | str | Column, day: Date | Column, at: Number | None | Column = None) -> Any: ...

@overload
def usual_cut_from(climate: Climate | str, season: Number, days_before_freeze: Number | None = 123) -> date | None:
    """Date from which shoot tips are usually removed in such a place: so many days before the average first freeze.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    days_before_freeze : days from that date to the average first freeze: containers 123, ground 109 (days; default 123)
    """
@overload
def usual_cut_from(climate: Climate | str | Column, season: Number | Column, days_before_freeze: Number | None | Column = 123) -> Any: ...

@overload
def season_end(climate: Climate | str, season: Number, chance: Number | None = 0.5) -> date | None:
    """Date with a given chance of an earlier end of the season: first freeze, or the end of the last warm week.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    chance : chance that the season ends earlier (chance; default 0.5)
    """
@overload
def season_end(climate: Climate | str | Column, season: Number | Column, chance: Number | None | Column = 0.5) -> Any: ...

@overload
def latest_prune_date(climate: Climate | str, season: Number, heat_need: Number, chance: Number | None = 0.8, lag_days: Number | None = 10, need_spread: Number | None = 0.06) -> date:
    """Last date on which removing the shoot tips still ripens figs with the chance wanted.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    chance : chance with which the first figs must ripen before the season's end (chance; default 0.8)
    lag_days : days from the cut to visible figs (days; default 10)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def latest_prune_date(climate: Climate | str | Column, season: Number | Column, heat_need: Number | Column, chance: Number | None | Column = 0.8, lag_days: Number | None | Column = 10, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def latest_prune_date_by_days(frost_date: Date, ripen_days: Number, spare_days: Number | None = 0) -> date:
    """Last cut date by the rule of thumb: the freeze, less the days to ripen, less some to spare.

    frost_date : date of the first freeze to count on (date)
    ripen_days : days from the cut to ripe figs (days)
    spare_days : days to spare before the freeze (days; default 0)
    """
@overload
def latest_prune_date_by_days(frost_date: Date | Column, ripen_days: Number | Column, spare_days: Number | None | Column = 0) -> Any: ...

@overload
def ripen_chance(climate: Climate | str, cut_date: Date, heat_need: Number, lag_days: Number | None = 10, need_spread: Number | None = 0.06) -> float:
    """Chance that a cut on that day ripens the first figs before the season's end.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    cut_date : day on which the shoot tips are removed (date)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    lag_days : days from the cut to visible figs (days; default 10)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def ripen_chance(climate: Climate | str | Column, cut_date: Date | Column, heat_need: Number | Column, lag_days: Number | None | Column = 10, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def ripen_seasons(climate: Climate | str, cut_date: Date, heat_need: Number, lag_days: Number | None = 10) -> str:
    """In how many of the seasons a cut on that day would have ripened figs, at the heat need as it stands.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    cut_date : day on which the shoot tips are removed (date)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    lag_days : days from the cut to visible figs (days; default 10)
    """
@overload
def ripen_seasons(climate: Climate | str | Column, cut_date: Date | Column, heat_need: Number | Column, lag_days: Number | None | Column = 10) -> Any: ...

@overload
def ripen_window(climate: Climate | str, cut_date: Date, heat_need: Number, picking_heat: Number | None = ..., lag_days: Number | None = 10, chance: Number | None = 0.5, need_spread: Number | None = 0.06) -> tuple[date | None, date | None, date | None]:
    """First, middle and last ripe date after a cut, each reached before the season's end with that chance.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    cut_date : day on which the shoot tips are removed (date)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    picking_heat : heat from the first to the last ripe fig of a tree [heat units] (heat units; default 250 °C·day)
    lag_days : days from the cut to visible figs (days; default 10)
    chance : chance that the date is reached before the season's end (chance; default 0.5)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def ripen_window(climate: Climate | str | Column, cut_date: Date | Column, heat_need: Number | Column, picking_heat: Number | None | Column = ..., lag_days: Number | None | Column = 10, chance: Number | None | Column = 0.5, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def crop_ripe_share(climate: Climate | str, cut_date: Date, heat_need: Number, picking_heat: Number | None = ..., lag_days: Number | None = 10, need_spread: Number | None = 0.06) -> float:
    """Expected share of the crop that ripens before the season's end, 0 to 1: the mean over the seasons.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    cut_date : day on which the shoot tips are removed (date)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    picking_heat : heat from the first to the last ripe fig of a tree [heat units] (heat units; default 250 °C·day)
    lag_days : days from the cut to visible figs (days; default 10)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def crop_ripe_share(climate: Climate | str | Column, cut_date: Date | Column, heat_need: Number | Column, picking_heat: Number | None | Column = ..., lag_days: Number | None | Column = 10, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def crop_ripe_range(climate: Climate | str, cut_date: Date, heat_need: Number, picking_heat: Number | None = ..., lag_days: Number | None = 10, need_spread: Number | None = 0.06) -> tuple[float, float]:
    """Shares of the crop between which one season lies in eight of ten: as much ripens at least, and at most.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    cut_date : day on which the shoot tips are removed (date)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    picking_heat : heat from the first to the last ripe fig of a tree [heat units] (heat units; default 250 °C·day)
    lag_days : days from the cut to visible figs (days; default 10)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def crop_ripe_range(climate: Climate | str | Column, cut_date: Date | Column, heat_need: Number | Column, picking_heat: Number | None | Column = ..., lag_days: Number | None | Column = 10, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def ready_to_prune_from(counted_on: Date, leaves: Number, leaves_wanted: Number | None = 6, days_per_leaf: Number | None = 3.7) -> date:
    """Day from which a shoot has leaves enough for its tip to be removed.

    counted_on : day on which they were counted (date)
    leaves : leaves of a typical shoot on that day (count)
    leaves_wanted : leaves a shoot must have before its tip is removed (count; default 6)
    days_per_leaf : days from one leaf to the next (days; default 3.7)
    """
@overload
def ready_to_prune_from(counted_on: Date | Column, leaves: Number | Column, leaves_wanted: Number | None | Column = 6, days_per_leaf: Number | None | Column = 3.7) -> Any: ...

@overload
def prune_node(counted_on: Date, nodes: Number, latest_set_date: Date, days_per_node: Number | None = 3.7, leave_above: Number | None = 2, nodes_behind: Number | None = 8, cut_date: Date | None = None) -> int | str:
    """Number of the node above which to cut, counted from the shoot's base; or "tip alone".

    counted_on : day on which they were counted (date)
    nodes : nodes of a typical shoot on that day (count)
    latest_set_date : last day on which a fig bud that sets can still ripen (date)
    days_per_node : days from one node to the next (days; default 3.7)
    leave_above : nodes to leave above the last one worth keeping (count; default 2)
    nodes_behind : nodes by which the figs that set trail the shoot's newest node (count; default 8)
    cut_date : day of the cut; blank: as soon as the shoot has the node (date)
    """
@overload
def prune_node(counted_on: Date | Column, nodes: Number | Column, latest_set_date: Date | Column, days_per_node: Number | None | Column = 3.7, leave_above: Number | None | Column = 2, nodes_behind: Number | None | Column = 8, cut_date: Date | None | Column = None) -> Any: ...

@overload
def prune_advice(today: Date, ready_from: Date, latest_date: Date, buds_seen: bool | str, cut_on: Date | None = None, climate: Climate | str | None = None, heat_need: Number | None = None, lag_days: Number | None = 10, not_before: Date | None = None, need_spread: Number | None = 0.06, usual_from: Date | None = None, chance: Number | None = 0.8, figs_seen: Date | None = None, picking_since: Date | None = None, picking_until: Date | None = None, grown_in: str | None = None, early_crop: bool | str | None = False) -> str:
    """What to do with a tree today, in one sentence, through the whole year.

    today : the day for which advice is wanted (date)
    ready_from : day from which the shoots have leaves enough; blank: not counted yet (date)
    latest_date : last date on which the cut still pays (date)
    buds_seen : whether fig buds were seen; blank: not looked yet (yes or no)
    cut_on : day on which the tree was cut; blank: not yet (date)
    climate : cell of the tree's climate, for chances and all that comes after the cut (climate)
    heat_need : heat from visible fig to first ripe fig [heat units], for the same (heat units)
    lag_days : days from the cut to visible figs (days; default 10)
    not_before : first day on which you would cut the tree, leaves or not; blank: any day (date)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    usual_from : day from which such trees are usually cut here, a hint; blank: none (date)
    chance : chance with which the first figs must ripen before the season's end (chance; default 0.8)
    figs_seen : day on which the tree's figs were seen, cut or not; blank: not yet (date)
    picking_since : day of the first ripe fig; blank: none yet (date)
    picking_until : day of the last ripe fig; blank: not yet (date)
    grown_in : container or ground, for the winter (container or ground)
    early_crop : whether the variety bears an early crop on last year's wood (yes or no; default no)
    """
@overload
def prune_advice(today: Date | Column, ready_from: Date | Column, latest_date: Date | Column, buds_seen: bool | str | Column, cut_on: Date | None | Column = None, climate: Climate | str | None | Column = None, heat_need: Number | None | Column = None, lag_days: Number | None | Column = 10, not_before: Date | None | Column = None, need_spread: Number | None | Column = 0.06, usual_from: Date | None | Column = None, chance: Number | None | Column = 0.8, figs_seen: Date | None | Column = None, picking_since: Date | None | Column = None, picking_until: Date | None | Column = None, grown_in: str | None | Column = None, early_crop: bool | str | None | Column = False) -> Any: ...

@overload
def last_useful_fig_date(climate: Climate | str, season: Number, heat_need: Number, chance: Number | None = 0.8, need_spread: Number | None = 0.06) -> date:
    """Last day on which a fig may show and still ripen before the season's end with the chance wanted.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    chance : chance with which the first figs must ripen before the season's end (chance; default 0.8)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def last_useful_fig_date(climate: Climate | str | Column, season: Number | Column, heat_need: Number | Column, chance: Number | None | Column = 0.8, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def what_would_help(climate: Climate | str, cut_date: Date, heat_need: Number, chance: Number | None = 0.8, lag_days: Number | None = 10, need_spread: Number | None = 0.06, picking_heat: Number | None = ..., positions: Column | None = None, position_climates: Climate | Column | None = None, varieties: Column | None = None, variety_needs: Column | None = None, lines: Number | None = None) -> list[tuple[str | date | float | None, ...]]:
    """What would help a tree: a line a measure, the most days gained first.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    cut_date : day on which the shoot tips are removed (date)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    chance : chance with which the first figs must ripen before the season's end (chance; default 0.8)
    lag_days : days from the cut to visible figs (days; default 10)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    picking_heat : heat from the first to the last ripe fig of a tree [heat units] (heat units; default 250 °C·day)
    positions : names of positions where the tree could stand; blank: a cover, a tunnel (column of name)
    position_climates : cells of their climates (climate, or column of climates)
    varieties : names of varieties that could grow there; blank: an early, a middle one (column of name)
    variety_needs : their heat needs [heat units] (column of heat units)
    lines : lines to fill; blank: as many as there are (lines)
    """
@overload
def what_would_help(climate: Climate | str | Column, cut_date: Date | Column, heat_need: Number | Column, chance: Number | None | Column = 0.8, lag_days: Number | None | Column = 10, need_spread: Number | None | Column = 0.06, picking_heat: Number | None | Column = ..., positions: Column | None = None, position_climates: Climate | Column | None = None, varieties: Column | None = None, variety_needs: Column | None = None, lines: Number | None | Column = None) -> Any: ...

@overload
def prune_rounds(ready: Column, latest: Column, minutes: Column | None = None, minutes_a_day: Number | None = None, days_in_hand: Number | None = 2, work_days: Number | None = None) -> list[date | InputError | None]:
    """Day on which each tree is cut, so that you go out as few times as possible and miss no last date.

    ready : each tree's first day: leaves enough and fig buds seen (column of date)
    latest : each tree's last useful day (column of date)
    minutes : minutes that each tree takes; needed with minutes a day (column of minutes)
    minutes_a_day : minutes that you have on one day; blank: no limit (minutes)
    days_in_hand : days to keep in hand before each tree's last day, for rain (days; default 2)
    work_days : weekdays on which you work, such as Sat Sun; blank: any (weekdays)
    """
@overload
def prune_rounds(ready: Column, latest: Column, minutes: Column | None = None, minutes_a_day: Number | None | Column = None, days_in_hand: Number | None | Column = 2, work_days: Number | None | Column = None) -> Any: ...

@overload
def spread_cuts(climate: Climate | str, heat_needs: Column, earliest: Date, latest: Date, lag_days: Number | None = 10, need_spread: Number | None = 0.06) -> list[date | InputError | None]:
    """Cut dates that make the trees ripen at even intervals, as far apart as the days to cut allow.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    heat_needs : each tree's heat from visible fig to first ripe fig (column of heat units)
    earliest : first day on which you would cut (date)
    latest : last day on which you would cut (date)
    lag_days : days from the cut to visible figs (days; default 10)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def spread_cuts(climate: Climate | str | Column, heat_needs: Column, earliest: Date | Column, latest: Date | Column, lag_days: Number | None | Column = 10, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def later_flush_window(climate: Climate | str, cut_date: Date, heat_need: Number | None = ..., picking_heat: Number | None = ..., chance: Number | None = 0.5, need_spread: Number | None = 0.06) -> tuple[date | None, date | None, date | None]:
    """First, middle and last ripe date of the shoots that grow after a hard cut.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    cut_date : day of the hard cut (date)
    heat_need : heat from the cut to the first ripe fig of the new shoots [heat units] (heat units; default 2100 °C·day)
    picking_heat : heat from the first to the last ripe fig of a tree [heat units] (heat units; default 250 °C·day)
    chance : chance that the date is reached before the season's end (chance; default 0.5)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def later_flush_window(climate: Climate | str | Column, cut_date: Date | Column, heat_need: Number | None | Column = ..., picking_heat: Number | None | Column = ..., chance: Number | None | Column = 0.5, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def crop_weight(shoots: Number, figs_per_shoot: Number, fig_grams: Number, kept_share: Number | None = 1) -> float:
    """Weight of a tree's crop in kilograms.

    shoots : shoots that bear (count)
    figs_per_shoot : figs a shoot (count)
    fig_grams : weight of a fig [g] (grams)
    kept_share : share that is kept: after birds, splits and windfalls (share; default 1)
    """
@overload
def crop_weight(shoots: Number | Column, figs_per_shoot: Number | Column, fig_grams: Number | Column, kept_share: Number | None | Column = 1) -> Any: ...

@overload
def picking_by_week(first: Column, last: Column, weights: Column, week_starts: Column, season_end: Date | None = None) -> list[float | None]:
    """Kilograms to pick in each week, all trees together.

    first : each tree's first ripe date (column of date)
    last : each tree's last ripe date (column of date)
    weights : each tree's crop [kg] (column of kilograms)
    week_starts : first day of each week, rising (column of date)
    season_end : day from which on nothing is picked; blank: no end (date)
    """
@overload
def picking_by_week(first: Column, last: Column, weights: Column, week_starts: Column, season_end: Date | None | Column = None) -> Any: ...

@overload
def shelter_by(climate: Climate | str, season: Number, limit: Number | None = ..., chance: Number | None = 0.1) -> date | None:
    """Autumn date by which containers should be under shelter: that chance of an earlier low at the limit.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    limit : low that the wood must not meet [°] (temperature; default -4 °C)
    chance : chance of an earlier low at the limit (chance; default 0.1)
    """
@overload
def shelter_by(climate: Climate | str | Column, season: Number | Column, limit: Number | None | Column = ..., chance: Number | None | Column = 0.1) -> Any: ...

@overload
def safe_outside_from(climate: Climate | str, season: Number, limit: Number | None = ..., chance: Number | None = 0.1) -> date | None:
    """Spring date from which containers can stand outside: that chance of a later low at the limit.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    limit : low that the opening buds must not meet [°] (temperature; default -1 °C)
    chance : chance of a later low at the limit (chance; default 0.1)
    """
@overload
def safe_outside_from(climate: Climate | str | Column, season: Number | Column, limit: Number | None | Column = ..., chance: Number | None | Column = 0.1) -> Any: ...

@overload
def root_cuttings_by(climate: Climate | str, season: Number, rooting_days: Number | None = 60, chance: Number | None = 0.2) -> date | None:
    """Last date to take cuttings that root before the season's end.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    rooting_days : days from taking a cutting to a rooted plant (days; default 60)
    chance : chance that the season ends before they are rooted (chance; default 0.2)
    """
@overload
def root_cuttings_by(climate: Climate | str | Column, season: Number | Column, rooting_days: Number | None | Column = 60, chance: Number | None | Column = 0.2) -> Any: ...

@overload
def learned_heat_need(climate: Climate | Column, cut_dates: Column, seen_dates: Column, ripe_dates: Column, table_need: Number | None = ..., lag_days: Number | None = 10, kinds: Column | None = None, kind: str | float | None = None, positions: Column | None = None, position: str | float | None = None, need_spread: Number | None = 0.06) -> tuple[float, int, float | None, str | None, float]:
    """Heat need of a kind, weighed from the table and from the log: need, trees, typical miss in days.

    climate : climate of the trees' position, with the days of the log's years; or a column, one a line (climate, or column of climates)
    cut_dates : the log's column of cuts (column of dates, blanks allowed)
    seen_dates : the log's column of figs seen; blank: the cut and the lag (column of dates, blanks allowed)
    ripe_dates : the log's column of first ripe figs; lines without one are left out (column of dates, blanks allowed)
    table_need : the kind's heat need in the table, visible fig to first ripe fig [heat units] (heat units; default 1300 °C·day)
    lag_days : days from the cut to visible figs, where they were not seen (days; default 10)
    kinds : the log's column of kinds, where only one kind's lines are to count (column of names, blanks allowed)
    kind : the kind whose lines count; blank: all (name)
    positions : the log's column of positions, where only one position's lines are to count (column of names, blanks allowed)
    position : the position whose lines count; blank: all (name)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def learned_heat_need(climate: Climate | Column, cut_dates: Column, seen_dates: Column, ripe_dates: Column, table_need: Number | None | Column = ..., lag_days: Number | None | Column = 10, kinds: Column | None = None, kind: str | float | None | Column = None, positions: Column | None = None, position: str | float | None | Column = None, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def seasons_to_look_back_on(climate: Climate | str, heat_need: Number, lag_days: Number | None = 10) -> list[int]:
    """Seasons of a daily record that can be looked back on, the first one first.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    lag_days : days from the cut to visible figs (days; default 10)
    """
@overload
def seasons_to_look_back_on(climate: Climate | str | Column, heat_need: Number | Column, lag_days: Number | None | Column = 10) -> Any: ...

@overload
def look_back_on(climate: Climate | str, season: Number, heat_need: Number, chance: Number | None = 0.8, lag_days: Number | None = 10, need_spread: Number | None = 0.06) -> tuple[int | date | None, ...]:
    """What a past season would have been given on three days, with only what was known then, and what came.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    season : year in which the autumn falls (season)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    chance : the chance that was promised (chance; default 0.8)
    lag_days : days from the cut to visible figs (days; default 10)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def look_back_on(climate: Climate | str | Column, season: Number | Column, heat_need: Number | Column, chance: Number | None | Column = 0.8, lag_days: Number | None | Column = 10, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def promise_kept(climate: Climate | str, heat_need: Number, chance: Number | None = 0.8, look: str | None = 'early', lag_days: Number | None = 10, need_spread: Number | None = 0.06) -> tuple[float | None, ...]:
    """How often a promised chance held in the past seasons: in how many of how many, and the share's 95 % interval.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    chance : the chance that was promised (chance; default 0.8)
    look : when one looked: early, middle or late: 1 June, 1 July or 1 August, in the south 1 December, January or February (look; default early)
    lag_days : days from the cut to visible figs (days; default 10)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def promise_kept(climate: Climate | str | Column, heat_need: Number | Column, chance: Number | None | Column = 0.8, look: str | None | Column = 'early', lag_days: Number | None | Column = 10, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def against_rule_of_thumb(climate: Climate | str, heat_need: Number, chance: Number | None = 0.8, look: str | None = 'early', lag_days: Number | None = 10, thumb_days: Number | None = 90, need_spread: Number | None = 0.06) -> tuple[float | None, ...]:
    """The dates of a promised chance beside the rule of thumb, on the same past seasons.

    climate : cell of a climate: the place's, for a tree its position's (climate)
    heat_need : heat from visible fig to first ripe fig [heat units] (heat units)
    chance : the chance that was promised (chance; default 0.8)
    look : when one looked: early, middle or late: 1 June, 1 July or 1 August, in the south 1 December, January or February (look; default early)
    lag_days : days from the cut to visible figs (days; default 10)
    thumb_days : days of the rule of thumb: the average first freeze less these (days; default 90)
    need_spread : standard deviation of the heat need as a share of it: 6 % for a kind whose ripening class is known, 12 % for one whose class is not; 0: known exactly (share; default 0.06)
    """
@overload
def against_rule_of_thumb(climate: Climate | str | Column, heat_need: Number | Column, chance: Number | None | Column = 0.8, look: str | None | Column = 'early', lag_days: Number | None | Column = 10, thumb_days: Number | None | Column = 90, need_spread: Number | None | Column = 0.06) -> Any: ...

@overload
def today_or(typed: Date | None = None) -> date:
    """Today's date, or the day typed in its place.

    typed : a day in place of the computer's date; blank: none (date)
    """
@overload
def today_or(typed: Date | None | Column = None) -> Any: ...

@overload
def functions_edition(wanted: Number) -> int:
    """Which edition of the functions answers, by which a workbook finds that older ones are installed.

    wanted : edition that a workbook was made for (edition)
    """
@overload
def functions_edition(wanted: Number | Column) -> Any: ...
