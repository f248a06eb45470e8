"""Winter: when containers go in and out, and by when cuttings must be taken."""

from __future__ import annotations

from datetime import date, timedelta

from ..cells.kinds import CHANCE, DATE, DAYS, TEMPERATURE
from ..season.climate import Climate
from ..season.freeze_dates import BUD_LIMIT, WINTER_CHANCE, WOOD_LIMIT, last_freeze_date, shelter_date
from ..season.ripening import end_of_season
from .arguments import InCelsius
from .declare import Argument, declared


@declared(
    DATE,
    limit=Argument(TEMPERATURE, "low that the wood must not meet [°]"),
    chance=Argument(CHANCE, "chance of an earlier low at the limit"),
)
def shelter_by(
    climate: Climate, season: int, limit: float = InCelsius(WOOD_LIMIT), chance: float = WINTER_CHANCE
) -> date | None:
    """Autumn date by which containers should be under shelter: that chance of an earlier low at the limit.

    Blank where such lows are rarer than that. Young wood is hurt at −3.9 to −2.8 °C (Rutgers FS1198); wood dies to
    the ground at −6.7 °C (Ohio State HYG-1439). Always from the record's own lows.

    Examples
    --------
    >>> shelter_by(valley, 2026)
    datetime.date(2026, 12, 3)
    """
    return shelter_date(climate, season, limit, chance)


@declared(
    DATE,
    limit=Argument(TEMPERATURE, "low that the opening buds must not meet [°]"),
    chance=Argument(CHANCE, "chance of a later low at the limit"),
)
def safe_outside_from(
    climate: Climate, season: int, limit: float = InCelsius(BUD_LIMIT), chance: float = WINTER_CHANCE
) -> date | None:
    """Spring date from which containers can stand outside: that chance of a later low at the limit.

    Blank where such lows are rarer than that. The limit of −1 °C for opening buds is a judgement.

    Examples
    --------
    >>> safe_outside_from(valley, 2026)
    datetime.date(2026, 3, 26)
    """
    return last_freeze_date(climate, season, chance, limit)


@declared(
    DATE,
    rooting_days=Argument(DAYS, "days from taking a cutting to a rooted plant"),
    chance=Argument(CHANCE, "chance that the season ends before they are rooted"),
)
def root_cuttings_by(climate: Climate, season: int, rooting_days: int = 60, chance: float = 0.2) -> date | None:
    """Last date to take cuttings that root before the season's end.

    Cuttings taken in the growing season were judged at 60 days under mist (Ciênc. Agrotec. 31(3), 2007). Blank where
    the season ends more rarely than that.

    Examples
    --------
    >>> root_cuttings_by(valley, 2026)
    datetime.date(2026, 8, 12)
    """
    end = end_of_season(climate, season, chance)
    return None if end is None else end - timedelta(days=rooting_days)
