"""When to remove the shoot tips: the last date that pays, and its chance."""

from __future__ import annotations

from datetime import date, timedelta

from ..cells.errors import InputError
from ..cells.kinds import CHANCE, DATE, DAYS, SHARE
from ..season.climate import Climate
from ..season.ripening import latest_cut, ripe_count
from .arguments import CUT_DATE, HEAT_NEED, LAG_DAYS, SEASON_YEAR, TREE_CLIMATE
from .declare import Argument, worksheet_function

THEME = "Pruning"


@worksheet_function(
    theme=THEME,
    result=DATE,
    climate=TREE_CLIMATE,
    season=SEASON_YEAR,
    heat_need=HEAT_NEED,
    chance=Argument(CHANCE, "share of the seasons in which the first figs must ripen"),
    lag_days=LAG_DAYS,
)
def latest_prune_date(
    climate: Climate, season: int, heat_need: float, chance: float = 0.8, lag_days: int = 10
) -> date:
    """Last date on which removing the shoot tips still ripens figs with the chance wanted.

    The figs, seen ``lag_days`` after the cut, must get their heat before the first freeze or the stall, in at least
    that share of the seasons. RIPEN_CHANCE is its exact inverse. The lag of 10 days is a judgement: no trial was found.

    Examples
    --------
    >>> latest_prune_date(valley, 2026, 1300)
    datetime.date(2026, 6, 9)
    """
    cut = latest_cut(climate, season, heat_need, chance, lag_days)
    if cut is None:
        raise InputError(f"no cut in season {season} ripens figs with chance {chance:g}, heat need {heat_need:g}")
    return cut


@worksheet_function(
    theme=THEME,
    result=DATE,
    frost_date=Argument(DATE, "date of the first freeze reckoned with"),
    ripen_days=Argument(DAYS, "days from the cut to ripe figs"),
    spare_days=Argument(DAYS, "days to spare before the freeze"),
)
def latest_prune_date_by_days(frost_date: date, ripen_days: int, spare_days: int = 0) -> date:
    """Last cut date by the rule of thumb: the freeze, less the days to ripen, less some to spare.

    From the cut, figs ripen in about 70 days in hot places, 90 in temperate ones, up to 120 in cool ones (common
    practice, no source).

    Examples
    --------
    >>> latest_prune_date_by_days("2026-10-30", 90, 14)
    datetime.date(2026, 7, 18)
    """
    return frost_date - timedelta(days=ripen_days + spare_days)


@worksheet_function(
    theme=THEME,
    result=SHARE,
    climate=TREE_CLIMATE,
    cut_date=CUT_DATE,
    heat_need=HEAT_NEED,
    lag_days=LAG_DAYS,
)
def ripen_chance(climate: Climate, cut_date: date, heat_need: float, lag_days: int = 10) -> float:
    """Share of the seasons in which a cut on that day ripens the first figs before the season's end.

    Examples
    --------
    >>> ripen_chance(valley, "2026-06-25", 1300)
    0.3
    """
    ripe, seasons = ripe_count(climate, cut_date, heat_need, lag_days)
    return ripe / seasons
