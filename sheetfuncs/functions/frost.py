"""First and last freeze, and the season's end, by chance."""

from __future__ import annotations

from datetime import date, timedelta

from ..cells.kinds import CHANCE, DATE, DAYS, SHARE, TEMPERATURE, choice
from ..season.climate import Climate
from ..season.freeze_dates import first_freeze_date, freeze_chance_by, last_freeze_date
from ..season.frost import RULES
from ..season.ripening import end_of_season
from .declare import Argument, declared

_AT = Argument(TEMPERATURE, "a low at or under it is a freeze [°]; blank: as in the climate")
_RULE = Argument(
    choice("rule", *RULES), "normal: mean and spread of all years, as in official tables; ranks: the years' own dates"
)


@declared(DATE, chance=Argument(CHANCE, "chance that the first freeze comes earlier"), at=_AT, rule=_RULE)
def first_frost(
    climate: Climate, season: int, chance: float = 0.5, at: float | None = None, rule: str = "normal"
) -> date | None:
    """Date with a given chance of an earlier first freeze in autumn.

    Blank where freezes are rarer than that. Typed frost estimates are used where the climate has them.

    Formula: m + s·z(p/p0) over years with a freeze; p0 is the share of such years.
    Source: the rule behind NOAA's 1971–2000 freeze tables (Climatography of the US No. 20-1), recovered from them.

    Examples
    --------
    >>> first_frost(valley, 2026)
    datetime.date(2026, 11, 9)
    """
    return first_freeze_date(climate, season, chance, at, rule)


@declared(DATE, chance=Argument(CHANCE, "chance that the last freeze comes later"), at=_AT, rule=_RULE)
def last_frost(
    climate: Climate, season: int, chance: float = 0.5, at: float | None = None, rule: str = "normal"
) -> date | None:
    """Spring date with a given chance of a later last freeze.

    Blank where freezes are rarer than that.

    Formula: m + s·z(1 − p/p0) over years with a freeze; p0 is the share of such years.
    Source: as for FIRST_FROST.

    Examples
    --------
    >>> last_frost(valley, 2026, 0.1)
    datetime.date(2026, 3, 27)
    """
    return last_freeze_date(climate, season, chance, at, rule)


@declared(SHARE, day=Argument(DATE, "day in question"), at=_AT)
def frost_chance(climate: Climate, day: date, at: float | None = None) -> float:
    """Chance that the first freeze comes on or before a day, 0 to 1.

    Until the end of winter a day looks back to the autumn before, from spring on to the coming one.

    Formula: p0·Φ((d + ½ − m)/s).

    Examples
    --------
    >>> round(frost_chance(valley, "2026-10-20"), 2)
    0.19
    """
    return freeze_chance_by(climate, day, at)


@declared(
    DATE,
    days_before_freeze=Argument(DAYS, "days from that date to the average first freeze: containers 123, ground 109"),
)
def usual_cut_from(climate: Climate, season: int, days_before_freeze: int = 123) -> date | None:
    """Date from which shoot tips are usually removed in such a place: so many days before the average first freeze.

    A hint, no limit. Where the first freeze comes about 1 November, containers are cut about 1 July and trees in the
    ground two weeks later (common practice, no source): 123 and 109 days before it. Blank where fewer than half of the
    years have a freeze.

    Examples
    --------
    >>> usual_cut_from(valley, 2026)
    datetime.date(2026, 7, 9)
    >>> usual_cut_from(valley, 2026, 109)
    datetime.date(2026, 7, 23)
    """
    freeze = first_freeze_date(climate, season, 0.5)
    return None if freeze is None else freeze - timedelta(days=days_before_freeze)


@declared(DATE, chance=Argument(CHANCE, "chance that the season ends earlier"))
def season_end(climate: Climate, season: int, chance: float = 0.5) -> date | None:
    """Date with a given chance of an earlier end of the season: first freeze, or the end of the last warm week.

    Blank where the season does not end that often. Known days count as they were. A cool week that warm ones follow
    halts the figs and does not end the season. A week is warm from a mean of 12 °C on, or as in the climate (common
    practice and judgement, no source).

    Examples
    --------
    >>> season_end(valley, 2026)
    datetime.date(2026, 10, 18)
    """
    return end_of_season(climate, season, chance)
