"""A script as a user's type checker sees it: mypy checks it in CI, and that what is wrong in it is found."""

from __future__ import annotations

from datetime import date

import sheetfuncs

NORMALS = [(month, 5.0, 20.0) for month in range(1, 13)]


def dates() -> list[date]:
    """Return a last date and its neighbours; each line that is marked holds a mistake that a checker must see."""
    climate = sheetfuncs.climate_of(NORMALS)
    last: date = sheetfuncs.latest_prune_date(climate, 2026, heat_need=1300, chance="80%")
    share: float = sheetfuncs.ripen_chance(climate, last, 1300)
    sheetfuncs.latest_prune_date(climate, 2026, [1150, 1300], lag_days=[10, 12])
    sheetfuncs.latest_prune_date(climate, 2026)  # type: ignore[call-overload]
    sheetfuncs.latest_prune_date(climate, 2026, 1300, chances=0.8)  # type: ignore[call-overload]
    sheetfuncs.last_prune_date(climate, 2026, 1300)  # type: ignore[attr-defined]
    wrong: str = sheetfuncs.ripen_chance(climate, last, 1300)  # type: ignore[assignment]
    return [last for _ in (share, wrong)]
