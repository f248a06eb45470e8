"""What a tree may expect of one season: last days, ripe figs, the season's end, and the dates of winter."""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, timedelta

from .calendar import day_of_number
from .climate import Climate
from .errors import Unanswerable
from .frost import FrostEstimate, first_freeze_number, last_freeze_number
from .record import to_unit
from .ripening import end_of_season, heat_reached, latest_cut, ripe_chance, ripe_share, ripe_window

#: Lows that a tree's wood must not meet, and that opening buds must not, with the chance taken of one [°C]: young wood
#: is hurt at −3.9 to −2.8 °C (Rutgers FS1198); buds and chances: judgement.
WOOD_LIMIT, BUD_LIMIT, WINTER_CHANCE = -4.0, -1.0, 0.1
#: A date that is reached with this chance is the one to expect.
HALF = 0.5


@dataclass(frozen=True)
class Outlook:
    """A tree in one season.

    need : mean heat from visible fig to first ripe fig [heat units]; need_spread : its standard deviation as a share of
    it. chance : with which figs must ripen. lag_days : from cut to visible figs [days].
    """

    climate: Climate
    season: int
    need: float
    chance: float = 0.8
    lag_days: int = 10
    need_spread: float = 0.06

    def last_cut(self) -> date | None:
        """Return the last date on which a cut ripens figs with the chance wanted."""
        return latest_cut(self.climate, self.season, self.need, self.chance, self.lag_days, self.need_spread)

    def is_last_of_all(self, cut: date) -> bool:
        """Return whether a last date is the last day of the season's year: nothing ends the season before."""
        days = self.climate.season_days(self.season)
        return days.index(cut) == days.year_end - 1

    def last_fig(self) -> date | None:
        """Return the last day on which a fig may show and still ripen with the chance wanted."""
        return replace(self, lag_days=0).last_cut()

    def chance_of(self, seen: date) -> float:
        """Return the chance that figs seen first on a day ripen before the season's end."""
        return ripe_chance(self.climate, seen, self.need, 0, self.need_spread)

    def share_of(self, seen: date, picking_heat: float) -> float:
        """Return the share of the crop to be expected from figs seen first on a day."""
        return ripe_share(self.climate, seen, self.need, picking_heat, 0, self.need_spread)

    def ripe_from(self, seen: date) -> date | None:
        """Return the day from which figs seen first on a day are ripe; ``None`` where the season ends before."""
        return ripe_window(self.climate, seen, self.need, 0, 0, HALF, self.need_spread)[0]

    def ripe_without_an_end(self, seen: date) -> date | None:
        """Return the day on which they would be ripe if nothing ended the season; ``None`` for never."""
        return heat_reached(self.climate, seen, self.need, HALF)

    def figs_of(self, cut: date) -> date:
        """Return the day on which the figs of a cut are seen."""
        return cut + timedelta(days=self.lag_days)

    def end(self) -> date | None:
        """Return the day on which the season ends; ``None`` where nothing ends it in half of the seasons."""
        return end_of_season(self.climate, self.season, HALF)


def first_freeze_date(
    climate: Climate, season: int, chance: float, at: float | None = None, rule: str = "normal"
) -> date | None:
    """Return the date with a chance of an earlier first freeze, as typed where it is; ``None`` where it is rarer.

    at : a low at or under it is a freeze [°], as in the climate where not given. rule : see ``season.frost``.
    """
    number: float | None
    if climate.estimate is None:
        number = first_freeze_number(climate.freezes(True, at), chance, rule)
    else:
        number = _estimate(climate, at).number(chance) if chance < 1 else math.inf
        number = None if math.isinf(number) else number
    return None if number is None else day_of_number(number, season)


def last_freeze_date(
    climate: Climate, season: int, chance: float, at: float | None = None, rule: str = "normal"
) -> date | None:
    """Return the spring date with a chance of a later last freeze; ``None`` where it is rarer."""
    number = last_freeze_number(climate.freezes(False, at), chance, rule)
    return None if number is None else day_of_number(number, climate.spring_year(season))


def freeze_chance_by(climate: Climate, day: date, at: float | None = None) -> float:
    """Return the chance that the first freeze comes on or before a day."""
    freezes = climate.freezes(True, at) if climate.estimate is None else _estimate(climate, at)
    return freezes.chance_by(climate.autumn_number(day))


def _estimate(climate: Climate, at: float | None) -> FrostEstimate:
    """Return the typed estimate; raises :class:`Unanswerable` where it does not hold for a limit."""
    assert climate.estimate is not None
    if at is not None and at != climate.rules.frost_at:
        raise Unanswerable(f"at is {at:g}, but typed frost estimates hold for {climate.rules.frost_at:g} only")
    return climate.estimate


def shelter_date(climate: Climate, season: int, limit: float, chance: float) -> date | None:
    """Return the autumn date with a chance of an earlier low at a limit [°], always from the record's own lows."""
    number = first_freeze_number(climate.freezes(True, limit), chance)
    return None if number is None else day_of_number(number, season)


def in_by(climate: Climate, season: int) -> date | None:
    """Return the date by which trees are sheltered; ``None`` where they need not be, or where no lows are known."""
    with suppress(Unanswerable):
        return shelter_date(climate, season, to_unit(WOOD_LIMIT, climate.unit), WINTER_CHANCE)
    return None


def out_from(climate: Climate, season: int) -> date | None:
    """Return the date from which trees stand free; ``None`` where they always may, or where no lows are known."""
    with suppress(Unanswerable):
        return last_freeze_date(climate, season, WINTER_CHANCE, to_unit(BUD_LIMIT, climate.unit))
    return None
