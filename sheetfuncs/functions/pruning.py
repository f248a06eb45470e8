"""When to remove the shoot tips: the last date that pays, and its chance."""

from __future__ import annotations

from datetime import date, timedelta

from ..cells.dates import short
from ..cells.errors import InputError
from ..cells.kinds import DATE, DAYS, SHARE, TEXT
from ..season.climate import Climate
from ..season.intervals import binomial_interval
from ..season.ripening import Outlook
from .declare import Argument, declared


@declared(DATE)
def latest_prune_date(
    climate: Climate, season: int, heat_need: float, chance: float = 0.8, lag_days: int = 10, need_spread: float = 0.06
) -> date:
    """Last date on which removing the shoot tips still ripens figs with the chance wanted.

    The figs, seen ``lag_days`` after the cut, must get their heat before the season's end. A date before shoots have
    leaves is no useful cut, and where the season does not end there is no last one. RIPEN_CHANCE, its exact
    inverse, says how the chance is found. The lag of 10 days is a judgement: no trial was found.

    Examples
    --------
    >>> latest_prune_date(valley, 2026, 1300)
    datetime.date(2026, 6, 12)
    """
    outlook = Outlook(climate, season, heat_need, chance, lag_days, need_spread)
    cut = outlook.last_cut()
    if cut is None:
        raise InputError(_no_cut(outlook))
    if outlook.is_last_of_all(cut):
        never = f"season {season} does not end here with chance {chance:g}"
        raise InputError(f"{never}: any cut ripens figs, none is the last")
    return cut


def _no_cut(outlook: Outlook) -> str:
    """Return why a season has no last date."""
    season, start = outlook.season, outlook.last_start() - outlook.lag_days
    if start < 0:
        return f"no cut in season {season} ripens figs with chance {outlook.chance:g}, heat need {outlook.need:g}"
    days = outlook.climate.season_days(season)
    by, leaves = short(days.day(start)), short(days.day(outlook.climate.first_leaf(season)))
    return f"no useful cut in season {season}: it would be by {by}, first leaves {leaves}"


@declared(
    DATE,
    frost_date=Argument(DATE, "date of the first freeze to count on"),
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


@declared(SHARE)
def ripen_chance(
    climate: Climate, cut_date: date, heat_need: float, lag_days: int = 10, need_spread: float = 0.06
) -> float:
    """Chance that a cut on that day ripens the first figs before the season's end.

    Two things are not known exactly. A tree's heat need: its standard deviation is 6 % of it for a kind whose ripening
    class is known, 12 % for one whose class is not (judgement). And how one season more will be: few seasons show
    little of it. So each season counts by how much heat it left, not as ripe or not.

    Formula: mean over the seasons of Φ((L − m)/√v), v = (need_spread·m)² + 2·s²/n; L the heat a season left, m the
    need, s the standard deviation of L on the day on which its mean is m, n the seasons. Source: Roulston & Smith 2003,
    Tellus A 55:16–30; Bröcker & Smith 2008, Tellus A 60:663–678.

    Examples
    --------
    >>> round(ripen_chance(valley, "2026-06-25", 1300), 2)
    0.43
    """
    outlook, seen = Outlook.of_cut(climate, cut_date, heat_need, lag_days, need_spread)
    return outlook.chance_of(seen)


@declared(TEXT)
def ripen_seasons(climate: Climate, cut_date: date, heat_need: float, lag_days: int = 10) -> str:
    """In how many of the seasons a cut on that day would have ripened figs, at the heat need as it stands.

    In brackets the 95 % interval of the share of all seasons: what so few can tell (Clopper & Pearson 1934, Biometrika
    26:404–413). RIPEN_CHANCE adds that the need is not known exactly.

    Examples
    --------
    >>> ripen_seasons(valley, "2026-06-25", 1300)
    '5 of 10 seasons (19–81 %)'
    """
    outlook, seen = Outlook.of_cut(climate, cut_date, heat_need, lag_days)
    ripe, seasons = outlook.count_of(seen)
    low, high = binomial_interval(ripe, seasons)
    return f"{ripe} of {seasons} seasons ({100 * low:.0f}–{100 * high:.0f} %)"
