"""The climate of a daily record."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from statistics import mean
from typing import Callable, Sequence

from .calendar import day_of_number
from .climate import Climate
from .days import Days
from .errors import Unanswerable
from .frost import FreezeDates, FrostEstimate, freezes_at_position, freezes_of_years
from .normals import moved_estimate
from .record import Record
from .rules import Rules, rounding_of
from .traces import Traces, traces_of_days

#: Fewer complete seasons than this give no chances worth the name (judgement).
FEWEST_SEASONS = 3
#: No season is complete with fewer days: its growing part, April to November.
SHORTEST_SEASON = 240


class DailyClimate(Climate):
    """The climate of a daily record."""

    days: Days

    def __init__(
        self,
        rules: Rules,
        days: Days,
        estimate: FrostEstimate | None = None,
        open_place: Climate | None = None,
    ) -> None:
        """Hold the days of a record."""
        super().__init__(rules, days.hemisphere, estimate, open_place)
        self.days = days

    def _made_of(self, add: Callable[[bytes], None]) -> str:
        record, complete = self.days.record, self.days.complete
        filled = record.filled_lows, record.filled_highs
        add(repr((record.first, record.refused, filled, record.repeated)).encode())
        add(record.lows.tobytes())
        add(record.highs.tobytes())
        span = f" {complete[0]}–{complete[-1]}" if complete else ""
        return f"{len(complete)} season{'' if len(complete) == 1 else 's'}{span}"

    # -- climates from this one ---------------------------------------------------------------------------

    def at(self, warmer_high: float, warmer_low: float) -> DailyClimate:
        days = Days(self.days.record.warmer(warmer_high, warmer_low), self.rules, self.hemisphere)
        monthly = None if self.estimate is None else self.days.monthly_lows
        return DailyClimate(self.rules, days, moved_estimate(self.estimate, monthly, warmer_low), self.open_place)

    def with_frost(self, estimate: FrostEstimate) -> DailyClimate:
        open_place = self.open_place if self.estimate is not None else self
        return DailyClimate(self.rules, self.days, estimate, open_place)

    def until(self, day: date) -> DailyClimate:
        open_place = None if self.open_place is self else self.open_place.until(day)
        return DailyClimate(self.rules, self.days.until(day), self.estimate, open_place)

    # -- what is derived from it --------------------------------------------------------------------------

    def _make_traces(self, season: int) -> Traces:
        return traces_of_days(self.days, self.season_days(season), self.estimate, self.open_place.days)

    def heat_between(self, start: date, end: date) -> float:
        return self.days.heat_between(start.toordinal(), end.toordinal())

    def freezes(self, first: bool, at: float | None = None) -> FreezeDates:
        limit = self.rules.freeze_limit(at)

        def make() -> FreezeDates:
            station: Days = self.open_place.days  # type: ignore[assignment]
            gain = gain_of(station.record.lows, self.days.record.lows)
            years = list(station.freeze_years(first).values())
            return freezes_at_position(years, limit, gain) if gain else freezes_of_years(years, limit)

        return self.keep(("freezes", first, limit), make)

    def freeze_of_years(self, first: bool) -> list[tuple[int, int | None]]:
        """Return (season, day number) of the first (or last) freeze of each usable freeze year of the record."""
        limit = self.rules.freeze_limit()
        years = self.days.freeze_years(first)
        return [(season, year.freeze(limit)) for season, year in years.items() if year.known(limit)]

    def mean_first_freeze(self, season: int) -> date | None:
        """Return the average first freeze of the record's years, put into a season; ``None`` where none ever came."""
        found = self.freezes(True).with_freeze()
        return day_of_number(mean(found), season) if found else None

    def last_seasons(self, seasons: int) -> DailyClimate:
        """Return the climate of the last complete seasons of the record alone, and of a season in progress.

        seasons : how many; where there are not more, the climate stays as it is. Raises :class:`Unanswerable` for
        fewer than 3.
        """
        if seasons < FEWEST_SEASONS:
            raise Unanswerable(f"last seasons is {seasons}, wanted {FEWEST_SEASONS} or more")
        if len(self.days.complete) <= seasons:
            return self
        # The estimate is a month and day that the user typed: it rests on no season.
        shorter = self.days.since(self.season_days(self.days.complete[-seasons]).first)
        return DailyClimate(self.rules, shorter, self.estimate)

    def left_out(self) -> tuple[tuple[int, date, int], ...]:
        """Return the incomplete seasons: (season, first missing day, missing days).

        Of the season that the record ends in only the days before its end; nothing is missing of days to come.
        """
        days, record = self.days, self.days.record
        gaps = []
        for season in range(days.first_season(), days.last_season() + 1):
            if season not in days.complete:
                calendar = self.season_days(season)
                start = calendar.first.toordinal()
                first, end = (start + index for index in calendar.growing)
                missing = days.missing(first, min(end, record.end))
                if missing:
                    gaps.append((season, date.fromordinal(missing[0]), len(missing)))
        return tuple(gaps)


def daily(climate: Climate) -> DailyClimate:
    """Return a climate of whole seasons as what it is; raises :class:`Unanswerable` where it has none."""
    if not isinstance(climate, DailyClimate):
        raise Unanswerable("monthly normals hold no single seasons, wanted a daily record")
    if not climate.days.complete:
        raise Unanswerable("weather holds no complete season, from spring to the end of autumn")
    return climate


def climate_of_record(record: Record, rules: Rules, hemisphere: str | None = None) -> DailyClimate:
    """Return the climate of a daily record; raises :class:`Unanswerable` with fewer than 3 complete seasons."""
    if record.days_known < FEWEST_SEASONS * SHORTEST_SEASON:
        raise Unanswerable(
            f"weather holds {record.days_known} day{'' if record.days_known == 1 else 's'}, "
            f"wanted {FEWEST_SEASONS} whole seasons or more"
        )
    rules = replace(rules, rounding=rounding_of(record, rules.unit))
    days = Days(record, rules, hemisphere)
    if len(days.complete) < FEWEST_SEASONS:
        seasons = f"{len(days.complete)} complete season{'' if len(days.complete) == 1 else 's'}"
        raise Unanswerable(f"weather holds {seasons} (spring to end of autumn), wanted {FEWEST_SEASONS} or more")
    return DailyClimate(rules, days)


def gain_of(station: Sequence[float], position: Sequence[float]) -> float:
    """Return by how much the nights of a position are warmer than its station's [°]; 0 where nothing is known."""
    return next((own - base for base, own in zip(station, position) if base == base and own == own), 0.0)
