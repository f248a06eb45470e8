"""Heat units of a day, of a stretch of days, and the date by which a heat has come."""

from __future__ import annotations

from datetime import date

from ..cells.errors import InputError, wrong
from ..cells.kinds import CHANCE, DATE, HEAT_UNITS, NUMBER, TEMPERATURE
from ..season.climate import Climate
from ..season.days import MILLIONTHS
from ..season.degree_days import heat_function
from ..season.ripening import heat_reached
from .arguments import in_the_literature
from .declare import Argument, declared

#: A stretch longer than this is a mistyped date [days].
LONGEST_STRETCH = 40_000


@declared(
    NUMBER,
    low=Argument(TEMPERATURE, "the day's low [°]"),
    high=Argument(TEMPERATURE, "the day's high [°]"),
    base=Argument(TEMPERATURE, "lower base: no heat counts below it [°]"),
    ceiling=Argument(TEMPERATURE, "upper limit of the heat that counts [°]; blank for none"),
    next_low=Argument(TEMPERATURE, "low of the day after, to which the afternoon runs down; blank: the day's own [°]"),
)
def heat_units_day(
    low: float,
    high: float,
    base: float,
    ceiling: float | None = None,
    method: str = "sine",
    cutoff: str = "stays level",
    next_low: float | None = None,
) -> float:
    """Heat units of one day from its low and high.

    All temperatures in one unit; the answer is in that unit's degree-days.

    The literature's names are understood as well: average, clipped average (which takes both extremes into the limits
    first), triangle, double triangle, double sine; horizontal, intermediate and vertical cut-off, in our order.

    Formula: g(L) − g(U) where heat stays level, g(x) the day's mean of max(T − x, 0).
    Source: Zalom et al. 1983, Univ. of California Leaflet 21373; Baskerville & Emin 1969, Ecology 50,
    doi:10.2307/1933912.

    Examples
    --------
    >>> round(heat_units_day(50, 82, 55, 90), 2)
    11.85
    >>> heat_units_day(63, 87, 50, 86, "clipped average")
    24.5
    """
    if low > high:
        raise InputError(f"low is {low:g} and high is {high:g}, wanted a low at or below the high")
    if ceiling is not None and base >= ceiling:
        raise wrong("base", base, f"a temperature below the ceiling, {ceiling:g}")
    if next_low is not None and method == "sine":
        method = "double sine"
    return heat_function(base, ceiling, *in_the_literature(method, cutoff))(low, high, next_low)


@declared(
    NUMBER,
    start=Argument(DATE, "first day counted"),
    end=Argument(DATE, "day after the last one counted"),
)
def heat_units_between(climate: Climate, start: date, end: date) -> float:
    """Heat units from one date (counted) to another (not counted).

    Recorded days count as they were; days not recorded are the mean of the past years' same day. Adjacent stretches
    add up.

    Examples
    --------
    >>> round(heat_units_between(valley, "2025-06-01", "2025-07-01"))
    386
    """
    if end < start:
        raise InputError(f"end is {end}, wanted a date on or after the start, {start}")
    if (end - start).days > LONGEST_STRETCH:
        raise InputError(f"start is {start} and end is {end}, wanted less than a hundred years between")
    return climate.heat_between(start, end) / MILLIONTHS


@declared(
    DATE,
    start=Argument(DATE, "first day counted"),
    heat_units=Argument(HEAT_UNITS, "heat to wait for [heat units]"),
    chance=Argument(CHANCE, "share of the seasons in which it has come by then"),
)
def heat_date(climate: Climate, start: date, heat_units: float, chance: float = 0.5) -> date:
    """Date by which a heat has come with a given chance.

    Known days count as they were; the rest of the season comes from each past season in turn.

    Examples
    --------
    >>> heat_date(valley, "2026-06-01", 1000)
    datetime.date(2026, 8, 7)
    """
    day = heat_reached(climate, start, heat_units, chance)
    if day is None:
        raise InputError(f"heat of {heat_units:g} from {start} on does not come in that season with chance {chance:g}")
    return day
