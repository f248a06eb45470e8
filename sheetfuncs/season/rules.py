"""The rules under which a climate is made: heat of a day, freezes, the season's end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Callable, Collection

from .degree_days import heat_function
from .record import CELSIUS, Record


@dataclass(frozen=True)
class Rules:
    """How heat and the season's end are found.

    unit : "C" or "F". base, ceiling : [°], ceiling ``None`` for none. frost_at : a low at or under it is a freeze [°].
    stall_at : a week's mean below it ends the season [°], ``None`` for off. method, cutoff : see ``degree_days``.
    rounding : by how much a low may lie above a limit that it met before it was rounded [°], see :func:`rounding_of`.
    """

    unit: str
    base: float
    ceiling: float | None
    frost_at: float
    stall_at: float | None
    method: str = "sine"
    cutoff: str = "horizontal"
    rounding: float = 0.0

    def heat_function(self) -> Callable[[float, float, float | None], float]:
        """Return ``(low, high, next_low) -> heat units`` under these rules."""
        return heat_function(self.base, self.ceiling, self.method, self.cutoff)

    def freeze_limit(self, at: float | None = None) -> float:
        """Return the highest low that counts as a freeze."""
        return (self.frost_at if at is None else at) + self.rounding


def rounding_of(record: Record, unit: str) -> float:
    """Return by how much rounding may have raised the lows of a record above a limit [°], found from the lows.

    Half a tenth °C where they are kept in tenths or stem from whole °F: 28 °F, kept as −2.2 °C, is a freeze at
    28 °F. In records kept in hundredths as much would make freezes of lows above the limit: half a hundredth there,
    and nothing to speak of in finer ones. A record may hold a few lows of other making (judgement: a twentieth).
    """
    filled = {ordinal - record.first for ordinal in record.filled_lows}
    lows = {low for index, low in enumerate(record.lows) if low == low and index not in filled}
    if unit == CELSIUS:
        others, step, slack = [low * 1.8 + 32 for low in lows], 1.0, 0.0091
    else:
        others, step, slack = [(low - 32) / 1.8 for low in lows], 0.1, 0.0029
    if _in_steps(lows, 0.1) or _in_steps(others, step, slack):
        return 0.05 if unit == CELSIUS else 0.09
    return 0.005 if _in_steps(lows, 0.01) else 1e-6


def _in_steps(values: Collection[float], step: float, slack: float = 1e-6) -> bool:
    """Return whether values are multiples of a step, within a slack that their own rounding leaves."""
    odd = sum(abs(value - step * round(value / step)) > slack for value in values)
    return odd <= len(values) / 20
