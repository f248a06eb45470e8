"""Looking back honestly: the dates that past seasons would have been given, with what was known then, and what came.

What came is found from the season's own weather with the same heat need: looking back tests how well past seasons
foretell one more, not the heat need itself; that is what the log is for.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from datetime import date
from typing import Sequence, Tuple

from .calendar import NORTH, SOUTH
from .climate import Climate
from .daily import DailyClimate, daily
from .errors import Unanswerable
from .overlay import UNKNOWN
from .ripening import NEED_SPREAD, Outlook
from .traces import millionths

#: (month, day) on which one looks.
MonthDay = Tuple[int, int]

#: Days on which a grower plans: early, middle and late in the time of cutting.
AS_OF = {NORTH: ((6, 1), (7, 1), (8, 1)), SOUTH: ((12, 1), (1, 1), (2, 1))}
CHANCES = (0.5, 0.8, 0.9)
#: Seasons with fewer known before them are not looked back on (judgement).
LEAST_SEASONS = 5


@dataclass(frozen=True)
class Outcome:
    """What a season's own weather did.

    last_date : the last cut whose first figs ripened before the end; ``None`` where no cut of the season would have.
    end : the day that ended it; ``None`` where nothing did.
    """

    last_date: date | None
    end: date | None


@dataclass(frozen=True)
class Forecast:
    """What would have been given on one day of a season.

    seasons_known : past seasons it rests on. last_dates : for each promised chance the last cut date, ``None`` for "no
    useful cut". expected : the chance of each of these dates if the need were exactly as it stands. mean_freeze : the
    average first freeze, ``None`` where no freeze was known.
    """

    as_of: date
    seasons_known: int
    last_dates: tuple[date | None, ...]
    expected: tuple[float | None, ...]
    mean_freeze: date | None


@dataclass(frozen=True)
class PastSeason:
    """One season looked back on."""

    season: int
    outcome: Outcome
    forecasts: tuple[Forecast, ...]

    def days_to_spare(self, day: date) -> int | None:
        """Return the days from a cut date to the true last one, below 0 where figs did not ripen.

        ``None`` where no cut of the season would have ripened figs.
        """
        return None if self.outcome.last_date is None else (self.outcome.last_date - day).days

    def held(self, day: date) -> bool:
        """Return whether figs of a cut on a day ripened in time."""
        return self.outcome.last_date is not None and day <= self.outcome.last_date


@dataclass(frozen=True)
class Hindcast:
    """All seasons looked back on, for the same chances and days of the year; ``left_out`` with the reason."""

    chances: tuple[float, ...]
    as_of: tuple[MonthDay, ...]
    seasons: tuple[PastSeason, ...]
    left_out: tuple[tuple[int, str], ...]

    def of_chance(self, chance: float) -> Hindcast:
        """Return what was given for one of the chances alone."""
        rank = self.chances.index(chance)

        def one(made: Forecast) -> Forecast:
            return replace(made, last_dates=(made.last_dates[rank],), expected=(made.expected[rank],))

        seasons = (replace(past, forecasts=tuple(map(one, past.forecasts))) for past in self.seasons)
        return replace(self, chances=(chance,), seasons=tuple(seasons))


def hindcast(
    climate: Climate,
    need: float,
    lag_days: int = 10,
    chances: Sequence[float] = CHANCES,
    as_of: Sequence[MonthDay] | None = None,
    least_seasons: int = LEAST_SEASONS,
    last_seasons: int | None = None,
    need_spread: float = NEED_SPREAD,
) -> Hindcast:
    """Return what would have been given in each past season with only what was known then, and what came; kept.

    climate : of a daily record, with the record's own freezes. need : heat from visible fig to first ripe fig
    [heat units]. lag_days : from cut to visible figs [days]. as_of : days of the year on which one looks; by default
    1 June, 1 July and 1 August (in the south half a year on). least_seasons : complete seasons that must have gone
    before. last_seasons : rest on only so many of them; ``None`` for all. need_spread : standard deviation of the need
    as a share of it. Raises :class:`Unanswerable` as :func:`outcomes` does.
    """
    record = daily(climate)
    looks = tuple(as_of) if as_of is not None else AS_OF[record.hemisphere]

    def past_season(season: int, outcome: Outcome) -> PastSeason:
        mornings = (day_in_season(look, season, record.hemisphere) for look in looks)
        given = (
            forecast(record, season, morning, need, lag_days, chances, last_seasons, need_spread)
            for morning in mornings
        )
        return PastSeason(season, outcome, tuple(given))

    def make() -> Hindcast:
        came = outcomes(record, need, lag_days, least_seasons)
        return Hindcast(
            tuple(chances),
            looks,
            tuple(past_season(season, outcome) for season, outcome in came.items() if outcome is not None),
            tuple((season, "days missing before its end") for season, outcome in came.items() if outcome is None),
        )

    key = "hindcast", need, lag_days, tuple(chances), looks, least_seasons, last_seasons, need_spread
    return record.keep(key, make)


def outcomes(
    climate: Climate, need: float, lag_days: int, least_seasons: int = LEAST_SEASONS
) -> dict[int, Outcome | None]:
    """Return what came in each season that can be looked back on, ``None`` where it is not known.

    Raises :class:`Unanswerable` for monthly normals, typed frost estimates, and where no season can be looked back on.
    """
    record = daily(climate)
    if record.estimate is not None:
        raise Unanswerable("typed frost estimates were not known then, wanted the record's own freezes")
    complete = record.days.complete
    came = {season: outcome_of(record, season, need, lag_days) for season in complete[least_seasons:]}
    if not any(came.values()):
        raise Unanswerable(
            f"weather holds {len(complete)} complete seasons, wanted more than {least_seasons} to look back on"
        )
    return came


def forecast(
    climate: DailyClimate,
    season: int,
    morning: date,
    need: float,
    lag_days: int,
    chances: Sequence[float],
    last_seasons: int | None = None,
    need_spread: float = NEED_SPREAD,
) -> Forecast:
    """Return what would have been given on a morning, from the days before it only."""
    known = climate.until(morning)
    if last_seasons is not None:
        known = known.last_seasons(last_seasons)
    outlook = Outlook(known, season, need, lag_days=lag_days, need_spread=need_spread)
    cuts = tuple(outlook._replace(chance=chance).last_cut() for chance in chances)
    exact = outlook._replace(need_spread=0.0)
    return Forecast(
        morning,
        len(known.traces(season)),
        cuts,
        tuple(None if cut is None else exact.chance_of(exact.figs_of(cut)) for cut in cuts),
        known.mean_first_freeze(season),
    )


def outcome_of(climate: DailyClimate, season: int, need: float, lag_days: int) -> Outcome | None:
    """Return what a season's own weather did; ``None`` where a day that decides it is not known.

    Weeks after the growing part that are not known count as cool.
    """
    calendar = climate.season_days(season)
    own = climate.days.overlay(season, calendar)
    total, low, end = own.total, own.low, own.end
    missing = [index for index in range(end) if own.heat[index] == UNKNOWN or low[index] != low[index]]
    if missing and missing[-1] >= calendar.freeze_start:
        return None
    begin = missing[-1] + 1 if missing else 0
    start = bisect_right(total, total[end] - millionths(need), begin, end + 1) - 1
    if start < begin and begin:
        return None
    # A cut after the growing year belongs to the next season.
    cut = min(start - lag_days, calendar.year_end - 1)
    return Outcome(
        calendar.day(cut) if start >= begin and cut >= 0 else None,
        calendar.day(end) if end < calendar.count else None,
    )


def day_in_season(month_day: MonthDay, season: int, hemisphere: str) -> date:
    """Return a day of the year in a season's growing year."""
    month, day = month_day
    return date(season - 1 if hemisphere == SOUTH and month >= 7 else season, month, day)
