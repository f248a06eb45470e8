"""Dates of first and last freezes by chance, and when trees are sheltered and stand free again."""

from __future__ import annotations

import math
from contextlib import suppress
from datetime import date

from .calendar import day_of_number
from .climate import Climate
from .errors import Unanswerable
from .frost import FrostEstimate, freeze_number
from .record import to_unit

#: Lows that a tree's wood must not meet, and that opening buds must not, with the chance taken of one [°C]: young wood
#: is hurt at −3.9 to −2.8 °C (Rutgers FS1198); buds and chances: judgement.
WOOD_LIMIT, BUD_LIMIT, WINTER_CHANCE = -4.0, -1.0, 0.1


def first_freeze_date(
    climate: Climate, season: int, chance: float, at: float | None = None, rule: str = "normal"
) -> date | None:
    """Return the date with a chance of an earlier first freeze, as typed where it is; ``None`` where it is rarer.

    at : a low at or under it is a freeze [°], as in the climate where not given. rule : see ``season.frost``.
    """
    number: float | None
    if climate.estimate is None:
        number = freeze_number(climate.freezes(True, at), chance, rule)
    else:
        number = _estimate(climate, at).number(chance) if chance < 1 else math.inf
        number = None if math.isinf(number) else number
    return None if number is None else day_of_number(number, season)


def last_freeze_date(
    climate: Climate, season: int, chance: float, at: float | None = None, rule: str = "normal"
) -> date | None:
    """Return the spring date with a chance of a later last freeze; ``None`` where it is rarer."""
    number = freeze_number(climate.freezes(False, at), chance, rule, -1)
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
    number = freeze_number(climate.freezes(True, limit), chance)
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
