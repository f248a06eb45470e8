"""Making climates: from a record or from normals, at a position, with typed frosts, as known on a day."""

from __future__ import annotations

import math
from datetime import date
from typing import Any, Sequence

from ..cells.errors import wrong
from ..cells.kinds import CLIMATE, DATE, TEMPERATURE, TEMPERATURE_CHANGE, TEXT, choice
from ..season.calendar import HEMISPHERES
from ..season.climate import Climate
from ..season.daily import climate_of_record
from ..season.frost import estimate_of
from ..season.monthly import climate_of_normals
from ..season.record import CELSIUS, clean_record
from ..season.rules import Rules
from .arguments import InCelsius, in_the_literature
from .declare import Argument, declared
from .notes import notes_of
from .weather_cells import ESTIMATES, LAST_SEASONS, LIMIT, UNIT, WEATHER


@declared(
    CLIMATE,
    weather=Argument(WEATHER, "rows of date, low, high of one or many years, or 12 rows of month, low, high"),
    unit=Argument(UNIT, "unit of the temperatures: C or F"),
    base=Argument(TEMPERATURE, "lower base: no heat counts below it [°]"),
    ceiling=Argument(LIMIT, 'upper limit of the heat that counts [°]; "off" for none'),
    frost_at=Argument(TEMPERATURE, "a low at or under it is a freeze [°]"),
    stall_at=Argument(
        LIMIT, 'the season ends after the last week whose mean is at or above it [°]; 0 or "off": by freezes alone'
    ),
    hemisphere=Argument(choice("hemisphere", *HEMISPHERES), "north or south; blank: by the warmer months"),
    last_seasons=Argument(LAST_SEASONS, "rest on so many of the last complete seasons only; blank: on all"),
)
def climate_of(
    weather: tuple[str, Any],
    unit: str = CELSIUS,
    base: float = InCelsius(8),
    ceiling: float = InCelsius(36),
    frost_at: float = InCelsius(0),
    stall_at: float = InCelsius(12),
    method: str = "sine",
    cutoff: str = "stays level",
    hemisphere: str | None = None,
    last_seasons: int | None = None,
) -> Climate:
    """Climate of a place, from a daily record or from 12 monthly normals.

    Rows that cannot be weather are not used, and named by CLIMATE_NOTE; up to 3 missing days in a row are filled by
    a straight line; a season with more days missing between spring and the end of autumn is left out. The cell shows
    a short text that changes with anything that went in.

    A season ends with its first freeze, or on the day after the last week, from late summer on, whose mean is at or
    above 12 °C: a cool week that warm ones follow halts figs and ends nothing. The 12 °C are common practice and
    judgement, no source.

    Source of base and ceiling: Souza et al. 2009, Rev. Bras. Frutic. 31(2).

    Examples
    --------
    >>> climate_of(valley_days())
    10 seasons 2016–2025 · ...
    """
    base, frost_at = (_own_unit(value, unit) for value in (base, frost_at))
    top = None if math.isinf(ceiling) else _own_unit(ceiling, unit)
    stall = None if math.isinf(stall_at) or stall_at == 0 else _own_unit(stall_at, unit)
    if top is not None and base >= top:
        raise wrong("base", base, f"a temperature below the ceiling, {top:g}")
    rules = Rules(unit, base, top, frost_at, stall, *in_the_literature(method, cutoff))
    form, values = weather
    if form == "normals":
        return climate_of_normals(values[0], values[1], rules, hemisphere)
    climate = climate_of_record(clean_record(values, unit), rules, hemisphere)
    return climate if last_seasons is None else climate.last_seasons(last_seasons)


def _own_unit(value: float, unit: str) -> float:
    return value.in_unit(unit) if isinstance(value, InCelsius) else value


@declared(
    CLIMATE,
    climate=Argument(CLIMATE, "cell of the open place's climate"),
    warmer_high=Argument(TEMPERATURE_CHANGE, "what the position adds to the day's high [°]"),
    warmer_low=Argument(TEMPERATURE_CHANGE, "what the position adds to the night's low [°]"),
)
def climate_at(climate: Climate, warmer_high: float = 0.0, warmer_low: float = 0.0) -> Climate:
    """Climate of a position: a wall, a cover, a tunnel, a hollow.

    Highs and lows shift by the amounts given. A typed frost estimate moves by the days that the mean low needs to fall
    by the gain.

    Examples
    --------
    >>> wall = climate_at(valley, 1.5, 1)
    >>> latest_prune_date(wall, 2026, 1300) > latest_prune_date(valley, 2026, 1300)
    True
    """
    return climate.at(warmer_high, warmer_low)


@declared(
    CLIMATE,
    estimates=Argument(ESTIMATES, "one date of the first freeze, or rows of chance of an earlier freeze and date"),
)
def climate_with_frost(climate: Climate, estimates: Sequence[tuple[float, date]]) -> Climate:
    """Climate with the first freeze as you estimate it, in place of the record's.

    One date is taken to be as likely too early as too late, with a spread of 12 days (judgement; station records show
    7 to 17). Rows of chance and date get a normal distribution fitted through them. The dates hold by month and day
    for every season.

    Examples
    --------
    >>> latest_prune_date(climate_with_frost(valley, "2026-10-10"), 2026, 1150, 0.5)
    datetime.date(2026, 6, 30)
    >>> latest_prune_date(climate_with_frost(valley, "2026-09-20"), 2026, 1150, 0.5)
    datetime.date(2026, 6, 22)
    """
    if not estimates:
        raise wrong("estimates", None, ESTIMATES.name)
    for _, day in estimates:
        if not climate.is_cold_half(day):
            raise wrong("frost estimates", day, "a first freeze in autumn or winter")
    return climate.with_frost(estimate_of([(chance, climate.autumn_number(day)) for chance, day in estimates]))


@declared(CLIMATE, day=Argument(DATE, "the morning on which one looks"))
def climate_until(climate: Climate, day: date) -> Climate:
    """Climate as it was known on the morning of a day: days before it only.

    For looking back honestly: no later day is used, and no later season. (A row that is refused because the day after
    shows its error stays refused.)

    Examples
    --------
    >>> climate_until(valley, "2022-07-01")
    6 seasons 2016–2021 · ...
    """
    return climate.until(day)


@declared(TEXT)
def climate_note(climate: Climate) -> str:
    """What one must know of a climate, in one line: seasons, span, days filled, what was left out and why.

    Examples
    --------
    >>> climate_note(valley)
    '10 seasons 2016–2025; 3,653 days from 2016-01-01 to 2025-12-31'
    """
    return "; ".join(notes_of(climate))
