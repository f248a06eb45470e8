"""Heat units (degree-days) of one day from its low and high.

Every method describes the day by two functions of a temperature x: ``g(x)``, the day's mean of max(T - x, 0),
and ``f(x)``, the share of the day above x. The cut-offs combine them between the lower base L and ceiling U:

* horizontal: ``g(L) - g(U)``: heat above the ceiling neither helps nor harms;
* intermediate: ``g(L) - 2 g(U)``, never below 0: heat above the ceiling is taken off again;
* vertical: ``g(L) - g(U) - (U - L) f(U)``: nothing grows while it is above the ceiling.

Sources: Baskerville & Emin 1969, Ecology 50:514–517, doi:10.2307/1933912 (sine); Allen 1976, Environ. Entomol.
5:388–396, doi:10.1093/ee/5.3.388 (ceiling, half days); Zalom et al. 1983, Univ. of California Leaflet 21373
(triangle, cut-offs); McMaster & Wilhelm 1997, Agric. For. Meteorol. 87:291–300,
doi:10.1016/S0168-1923(97)00027-0 (the two averages).
"""

from __future__ import annotations

import math
from typing import Callable, Tuple

METHODS = ("average", "clipped average", "triangle", "double triangle", "sine", "double sine")
CUTOFFS = ("horizontal", "intermediate", "vertical")

#: ``(low, high, x) -> (g(x), f(x))``
DayShape = Callable[[float, float, float], Tuple[float, float]]


def _flat(low: float, high: float, x: float) -> tuple[float, float]:
    """Describe a day that stays at its mean."""
    above = (low + high) / 2 - x
    return (above, 1.0) if above > 0 else (0.0, 0.0)


def _whole_or_none(low: float, high: float, x: float) -> tuple[float, float] | None:
    """Describe a day that lies on one side of x; ``None`` where it crosses."""
    if high <= x:
        return 0.0, 0.0
    if low >= x:
        return (low + high) / 2 - x, 1.0
    return None


def _triangle(low: float, high: float, x: float) -> tuple[float, float]:
    one_side = _whole_or_none(low, high, x)
    if one_side is not None:
        return one_side
    share = (high - x) / (high - low)
    return share * (high - x) / 2, share


def _sine(low: float, high: float, x: float) -> tuple[float, float]:
    one_side = _whole_or_none(low, high, x)
    if one_side is not None:
        return one_side
    mean, amplitude = (high + low) / 2, (high - low) / 2
    angle = math.asin((x - mean) / amplitude)
    half_above = math.pi / 2 - angle
    return ((mean - x) * half_above + amplitude * math.cos(angle)) / math.pi, half_above / math.pi


_SHAPES = {
    "average": _flat,
    "triangle": _triangle,
    "double triangle": _triangle,
    "sine": _sine,
    "double sine": _sine,
}


def heat_function(
    base: float, ceiling: float | None, method: str, cutoff: str
) -> Callable[[float, float, float | None], float]:
    """Return ``(low, high, next_low) -> heat units`` of a day [degree·day, in the unit of the temperatures].

    base, ceiling : L and U [°], no ceiling where ``None``. The double methods take the afternoon down to the low of the
    day after, and to the day's own where that is not given.

    >>> round(heat_function(55, 90, "sine", "horizontal")(50, 82, None), 2)  # Zalom et al. 1983, Table 7: 11.85
    11.85
    """
    top = math.inf if ceiling is None else ceiling
    if method == "clipped average":

        def clipped(low: float, high: float, next_low: float | None) -> float:
            return (min(max(low, base), top) + min(max(high, base), top)) / 2 - base

        return clipped

    shape = _SHAPES[method]

    def heat(low: float, high: float, next_low: float | None = None) -> float:
        # Most days lie wholly on one side of the limits, where all shapes agree.
        if high <= base:
            return 0.0
        if low >= base and high <= top:
            return (low + high) / 2 - base
        units = shape(low, high, base)[0]
        if high > top:
            over, share = shape(low, high, top)
            if cutoff == "horizontal":
                units -= over
            elif cutoff == "intermediate":
                units -= 2 * over
            else:
                units -= over + (top - base) * share
        return max(units, 0.0)

    if not method.startswith("double"):
        return heat

    def halves(low: float, high: float, next_low: float | None) -> float:
        evening = low if next_low is None else next_low
        return (heat(low, high) + heat(min(evening, high), max(evening, high))) / 2

    return halves
