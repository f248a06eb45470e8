"""When the figs ripen after a cut, and how much of the crop makes it."""

from __future__ import annotations

from datetime import date

from ..cells.kinds import DATE, SHARE
from ..season.climate import Climate
from ..season.ripening import Outlook
from .arguments import REACHED_CHANCE, InCelsius
from .declare import declared


@declared(
    DATE,
    shape="row",
    headings=("first", "middle", "last"),
    none_line="not ripe before the season's end with that chance",
    chance=REACHED_CHANCE,
)
def ripen_window(
    climate: Climate,
    cut_date: date,
    heat_need: float,
    picking_heat: float = InCelsius(250, degree_days=True),
    lag_days: int = 10,
    chance: float = 0.5,
    need_spread: float = 0.06,
) -> tuple[date | None, date | None, date | None]:
    """First, middle and last ripe date after a cut, each reached before the season's end with that chance.

    The picking heat of 250 °C·day is a judgement: five figs at 3.7 days a node.

    Examples
    --------
    >>> ripen_window(valley, "2026-06-10", 1150)
    (datetime.date(2026, 9, 5), datetime.date(2026, 9, 15), datetime.date(2026, 9, 28))
    """
    outlook, seen = Outlook.of_cut(climate, cut_date, heat_need, lag_days, need_spread)
    return outlook.window(seen, picking_heat, chance)


@declared(SHARE)
def crop_ripe_share(
    climate: Climate,
    cut_date: date,
    heat_need: float,
    picking_heat: float = InCelsius(250, degree_days=True),
    lag_days: int = 10,
    need_spread: float = 0.06,
) -> float:
    """Expected share of the crop that ripens before the season's end, 0 to 1: the mean over the seasons.

    One season may differ much from it, by 0.2 to 0.4 in short seasons: CROP_RIPE_RANGE says how far.

    Examples
    --------
    >>> round(crop_ripe_share(valley, "2026-06-25", 1150), 2)
    0.48
    """
    outlook, seen = Outlook.of_cut(climate, cut_date, heat_need, lag_days, need_spread)
    return outlook.share_of(seen, picking_heat)


@declared(SHARE, shape="row", headings=("low", "high"))
def crop_ripe_range(
    climate: Climate,
    cut_date: date,
    heat_need: float,
    picking_heat: float = InCelsius(250, degree_days=True),
    lag_days: int = 10,
    need_spread: float = 0.06,
) -> tuple[float, float]:
    """Shares of the crop between which one season lies in eight of ten: as much ripens at least, and at most.

    In one season of ten less ripens than the first, in one more than the second. CROP_RIPE_SHARE is the mean.

    Examples
    --------
    >>> [round(share, 2) for share in crop_ripe_range(valley, "2026-06-17", 1150)]
    [0.08, 1.0]
    """
    outlook, seen = Outlook.of_cut(climate, cut_date, heat_need, lag_days, need_spread)
    low, high = (outlook.share_at_least(seen, picking_heat, chance) for chance in (0.9, 0.1))
    return low, high
