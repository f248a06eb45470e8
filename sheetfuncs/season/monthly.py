"""The climate of 12 monthly normals."""

from __future__ import annotations

import math
from datetime import date
from functools import cached_property
from typing import Callable, Sequence

from .calendar import NORTH, SOUTH, SeasonDays, common_number, season_days
from .climate import Climate
from .days import MILLIONTHS
from .doubts import COOLEST_MONTH, WARMEST_MONTH, check_warmth
from .errors import Unanswerable
from .frost import FreezeDates, FrostEstimate
from .normals import daily_from_monthly, moved_estimate
from .overlay import Ending
from .rules import Rules
from .traces import Traces, millionths, traces_of_normals


class MonthlyClimate(Climate):
    """The climate of 12 monthly mean lows and highs, January first."""

    def __init__(
        self,
        rules: Rules,
        lows: Sequence[float],
        highs: Sequence[float],
        hemisphere: str,
        estimate: FrostEstimate | None = None,
        open_place: Climate | None = None,
    ) -> None:
        """Hold the normals."""
        super().__init__(rules, hemisphere, estimate, open_place)
        self.lows, self.highs = tuple(lows), tuple(highs)

    def _made_of(self, add: Callable[[bytes], None]) -> str:
        add(repr((self.lows, self.highs)).encode())
        return "12 monthly normals"

    def at(self, warmer_high: float, warmer_low: float) -> MonthlyClimate:
        lows = [low + warmer_low for low in self.lows]
        highs = [max(high + warmer_high, low) for high, low in zip(self.highs, lows)]
        estimate = moved_estimate(self.estimate, self.lows, warmer_low)
        open_place = self.open_place if self.estimate is not None else None
        return MonthlyClimate(self.rules, lows, highs, self.hemisphere, estimate, open_place)

    def with_frost(self, estimate: FrostEstimate) -> MonthlyClimate:
        # Normals have no frosts of their own, so no seasons that differ but by the estimate's.
        return MonthlyClimate(self.rules, self.lows, self.highs, self.hemisphere, estimate)

    def until(self, day: date) -> MonthlyClimate:
        return self

    def _make_traces(self, season: int) -> Traces:
        if self.estimate is None:
            raise Unanswerable("monthly normals know no frost, wanted frost estimates (CLIMATE_WITH_FROST)")
        days = self.season_days(season)
        heat, means = self._values(days)
        heat_units = [millionths(units) for units in heat]
        cool_from = Ending(days, -math.inf, self.rules.stall_at).cool_from(means)
        return traces_of_normals(days, heat_units, cool_from, self.estimate)

    def _values(self, days: SeasonDays) -> tuple[list[float], list[float]]:
        """Return the heat units and the mean of each day of a season."""
        lows, highs = (_by_day(values, days) for values in (self.lows, self.highs))
        heat_of = self.rules.heat_function()
        next_lows: Sequence[float | None] = [*lows[1:], None]
        heat = [heat_of(min(low, high), high, after) for low, high, after in zip(lows, highs, next_lows)]
        return heat, [(low + high) / 2 for low, high in zip(lows, highs)]

    @cached_property
    def _heat(self) -> dict[tuple[int, int], float]:
        """The heat of each (month, day) [millionths]."""
        days = season_days(2000, NORTH)  # any leap year
        heat, _ = self._values(days)
        year = ((days.day(index), heat[index] * MILLIONTHS) for index in range(366))
        return {(day.month, day.day): units for day, units in year}

    def heat_between(self, start: date, end: date) -> float:
        total = 0.0
        for ordinal in range(start.toordinal(), end.toordinal()):
            day = date.fromordinal(ordinal)
            total += self._heat[day.month, day.day]
        return total

    def freezes(self, first: bool, at: float | None = None) -> FreezeDates:
        raise Unanswerable("monthly normals know no single lows, wanted a daily record or a typed first freeze")


def _by_day(monthly: tuple[float, ...], days: SeasonDays) -> list[float]:
    """Return a value for each day of a season from monthly normals; 29 February counts as 28 February."""
    daily = daily_from_monthly(monthly)
    season = (days.day(index) for index in range(days.count))
    return [daily[58 if (day.month, day.day) == (2, 29) else common_number(day) - 1] for day in season]


def climate_of_normals(
    lows: Sequence[float], highs: Sequence[float], rules: Rules, hemisphere: str | None = None
) -> MonthlyClimate:
    """Return the climate of 12 monthly mean lows and highs, January first."""
    for month, (low, high) in enumerate(zip(lows, highs), start=1):
        if low > high:
            raise Unanswerable(f"weather has low {low:g} above high {high:g} in month {month}")
    check_warmth("the warmest month has a mean high of", max(highs), rules.unit, COOLEST_MONTH, WARMEST_MONTH)
    if hemisphere is None:
        warm = sum(lows[3:9]) + sum(highs[3:9])
        cold = sum(lows) + sum(highs) - warm
        hemisphere = NORTH if warm >= cold else SOUTH
    return MonthlyClimate(rules, lows, highs, hemisphere)
