"""An invented station for the examples in the reference. Nothing in it was measured anywhere."""

from __future__ import annotations

import math
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from ..season.normals import daily_from_monthly

#: Month, mean low, mean high [°C] of the invented valley.
VALLEY_NORMALS = (
    (1, -4.0, 4.0), (2, -3.0, 7.0), (3, 1.0, 12.0), (4, 5.0, 18.0), (5, 9.0, 23.0), (6, 13.0, 28.0),
    (7, 15.5, 31.0), (8, 15.0, 30.0), (9, 11.0, 25.0), (10, 5.5, 18.0), (11, 1.0, 10.0), (12, -3.0, 5.0),
)  # fmt: skip


@lru_cache(maxsize=1)
def valley_days() -> tuple[tuple[date, float, float], ...]:
    """Return ten invented years of days, 2016 to 2025: (date, low, high) [°C]."""
    _, *normals = zip(*VALLEY_NORMALS)
    lows, highs = map(daily_from_monthly, normals)
    rows: list[tuple[date, float, float]] = []
    day = date(2016, 1, 1)
    while day.year < 2026:
        number = min(day.timetuple().tm_yday, 365) - 1
        count = len(rows)
        swing = 3.0 * math.sin(count / 2.3) + 2.0 * math.sin(count / 11.7) + 1.5 * math.sin(count / 160.0)
        rows.append((day, round(lows[number] + swing, 1), round(highs[number] + swing, 1)))
        day += timedelta(days=1)
    return tuple(rows)


def __getattr__(name: str) -> Any:
    """Make the climate of the invented valley, ``valley``, when it is first used."""
    if name != "valley":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from .climates import climate_of

    return climate_of(valley_days())
