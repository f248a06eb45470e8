"""Looking back honestly: what would have been said in past seasons with only what was known then, and what came.

What came is reckoned from the season's own weather with the same heat need: looking back tests how well past seasons
foretell one more, not the heat need itself; that is what the log is for.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate
from statistics import mean
from typing import Iterator, Sequence, Tuple

from .binomial import binomial_interval
from .calendar import NORTH, SOUTH
from .climate import Climate
from .days import UNKNOWN
from .drift import last_seasons_only, mean_first_freeze
from .errors import Unanswerable
from .ripening import NEED_SPREAD, latest_cut
from .traces import counted, end_of_trace, first_freeze, millionths

#: (month, day) on which one looks.
MonthDay = Tuple[int, int]

#: Days on which a grower plans: early, middle and late in the time of cutting.
AS_OF = {NORTH: ((6, 1), (7, 1), (8, 1)), SOUTH: ((12, 1), (1, 1), (2, 1))}
CHANCES = (0.5, 0.8, 0.9)
#: Seasons with fewer known before them are not looked back on (judgement).
LEAST_SEASONS = 5
#: The rule of thumb: the average first freeze less these days (common practice in temperate places, no source).
THUMB_DAYS = 90


@dataclass(frozen=True)
class Happened:
    """What a season's own weather did.

    last_date : the last cut whose first figs ripened before the end; ``None`` where no cut of the season would have.
    end : the first freeze or the stall; ``None`` where nothing ended it.
    """

    last_date: date | None
    end: date | None


@dataclass(frozen=True)
class Said:
    """What would have been said on one day of a season.

    seasons_known : past seasons it rested on. last_dates : for each promised chance the last cut date, ``None`` for
    "no cut has that chance". thumb : the rule of thumb's date, ``None`` where no freeze was known.
    """

    as_of: date
    seasons_known: int
    last_dates: tuple[date | None, ...]
    thumb: date | None


@dataclass(frozen=True)
class PastSeason:
    """One season looked back on."""

    season: int
    happened: Happened
    said: tuple[Said, ...]


@dataclass(frozen=True)
class LookBack:
    """All seasons looked back on, for the same chances and days of the year; ``left_out`` with the reason."""

    chances: tuple[float, ...]
    as_of: tuple[MonthDay, ...]
    seasons: tuple[PastSeason, ...]
    left_out: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class Calibration:
    """How often a promised chance held, as said on one day of the year.

    seasons : in which a date was given; held : those in which figs of a cut on that date ripened in time.
    low, high : 95 % interval of the share held. expected : the share that dates from so few seasons hold on average.
    passed : in how many seasons the date had passed when it was given. none_given : seasons with "no cut".
    """

    as_of: MonthDay
    promised: float
    seasons: int
    held: int
    low: float
    high: float
    expected: float
    passed: int
    none_given: int

    @property
    def share(self) -> float:
        """The share of seasons in which the promise held."""
        return self.held / self.seasons

    @property
    def within(self) -> bool:
        """Whether the promised chance lies in the interval: what chance alone may do to so many seasons."""
        return self.low <= self.promised <= self.high


@dataclass(frozen=True)
class Skill:
    """How one way of choosing the date fared, on the same seasons as its rivals.

    promised : the chance of this package's date; ``None`` for the rule of thumb. lost : seasons in which figs of that
    cut did not ripen. days_given_away : mean days the date lay before the true last date, where not lost. days_late :
    mean days it lay after it, where lost; ``None`` where there are no such seasons.
    """

    as_of: MonthDay
    promised: float | None
    seasons: int
    lost: int
    days_given_away: float | None
    days_late: float | None

    @property
    def lost_share(self) -> float:
        """The share of seasons lost."""
        return self.lost / self.seasons


def look_back(
    climate: Climate,
    need: float,
    lag_days: int = 10,
    chances: Sequence[float] = CHANCES,
    as_of: Sequence[MonthDay] | None = None,
    least_seasons: int = LEAST_SEASONS,
    last_seasons: int | None = None,
    thumb_days: int = THUMB_DAYS,
    need_spread: float = NEED_SPREAD,
) -> LookBack:
    """Return what would have been said in each past season with only what was known then, and what came.

    climate : of a daily record, with the record's own freezes. need : heat from visible fig to first ripe fig
    [heat units]. lag_days : from cut to visible figs [days]. as_of : days of the year on which one looks; by default
    1 June, 1 July and 1 August (in the south half a year on). least_seasons : complete seasons that must have gone
    before. last_seasons : rest on only so many of them; ``None`` for all. thumb_days : of the rule of thumb.
    Raises :class:`Unanswerable` for monthly normals, typed frost estimates, and where no season can be looked back on.
    """
    _refuse_what_cannot_be_looked_back_on(climate)
    looks = tuple(as_of) if as_of is not None else AS_OF[climate.hemisphere]
    seasons = []
    left_out = []
    for season in climate.days.complete[least_seasons:]:  # type: ignore[union-attr]
        happened = what_happened(climate, season, need, lag_days)
        if happened is None:
            left_out.append((season, "days missing before its end"))
            continue
        mornings = [day_in_season(look, season, climate.hemisphere) for look in looks]
        said = tuple(
            what_was_said(climate, season, morning, need, lag_days, chances, last_seasons, thumb_days, need_spread)
            for morning in mornings
        )
        seasons.append(PastSeason(season, happened, said))
    if not seasons:
        found = len(climate.days.complete)  # type: ignore[union-attr]
        raise Unanswerable(f"weather holds {found} complete seasons, wanted more than {least_seasons} to look back on")
    return LookBack(tuple(chances), looks, tuple(seasons), tuple(left_out))


@dataclass(frozen=True)
class Judged:
    """A look back at one promised chance, with what it comes to on each day of the year."""

    looked: LookBack
    calibration: tuple[Calibration, ...]
    skill: tuple[Skill, ...]


def judged(
    climate: Climate,
    need: float,
    lag_days: int,
    chance: float,
    thumb_days: int = THUMB_DAYS,
    need_spread: float = NEED_SPREAD,
) -> Judged:
    """Return the look back at one promised chance on the usual days of the year; the climate keeps it."""

    def make() -> Judged:
        looked = look_back(climate, need, lag_days, (chance,), thumb_days=thumb_days, need_spread=need_spread)
        return Judged(looked, calibration(looked), skill(looked))

    return climate.keep(("judged", need, lag_days, chance, thumb_days, need_spread), make)


def what_was_said(
    climate: Climate,
    season: int,
    morning: date,
    need: float,
    lag_days: int,
    chances: Sequence[float],
    last_seasons: int | None = None,
    thumb_days: int = THUMB_DAYS,
    need_spread: float = NEED_SPREAD,
) -> Said:
    """Return what would have been said on a morning: days before it only."""
    known = climate.until(morning)
    if last_seasons is not None:
        known = last_seasons_only(known, last_seasons)
    freeze = mean_first_freeze(known, season)
    return Said(
        morning,
        len(known.traces(season)),
        tuple(latest_cut(known, season, need, chance, lag_days, need_spread) for chance in chances),
        None if freeze is None else freeze - timedelta(days=thumb_days),
    )


def what_happened(climate: Climate, season: int, need: float, lag_days: int) -> Happened | None:
    """Return what a season's own weather did; ``None`` where a day that decides it is not known."""
    days = climate.days
    if days is None:
        return None
    calendar = climate.season_days(season)
    own = days.season_values(season, calendar)
    first, limit = calendar.freeze_start, days.rules.freeze_limit()
    freeze = first_freeze(own.low, first, limit)
    end = end_of_trace(calendar, freeze, own.mean, days.rules.stall_at)
    missing = [index for index in range(end) if own.heat[index] == UNKNOWN or own.low[index] != own.low[index]]
    if missing and missing[-1] >= first:
        return None
    begin = missing[-1] + 1 if missing else 0
    total = list(accumulate(own.heat[begin:end], initial=0))
    start = bisect_right(total, total[-1] - millionths(need)) - 1
    if start < 0 and begin:
        return None
    # A cut after the growing year belongs to the next season.
    cut = min(begin + start - lag_days, calendar.year_end - 1)
    return Happened(
        calendar.day(cut) if start >= 0 and cut >= 0 else None,
        calendar.day(end) if end < calendar.count else None,
    )


def calibration(looked: LookBack) -> tuple[Calibration, ...]:
    """Return, for each day of the year and each promised chance, how often the promise held."""
    rows = []
    for place, look in enumerate(looked.as_of):
        for rank, chance in enumerate(looked.chances):
            pairs = list(_dates(looked, place, rank))
            given = [(past, said, day) for past, said, day in pairs if day is not None]
            if not given:
                continue
            held = sum(1 for past, _, day in given if days_to_spare(past, day, -1) >= 0)
            low, high = binomial_interval(held, len(given))
            rows.append(
                Calibration(
                    look,
                    chance,
                    len(given),
                    held,
                    low,
                    high,
                    mean(expected_share(chance, said.seasons_known) for _, said, _ in given),
                    sum(1 for _, said, day in given if day < said.as_of),
                    len(pairs) - len(given),
                )
            )
    return tuple(rows)


def skill(looked: LookBack) -> tuple[Skill, ...]:
    """Return how each chance's date and the rule of thumb fared, on the seasons for which all of them are there."""
    rows = []
    for place, look in enumerate(looked.as_of):
        same = [
            past
            for past in looked.seasons
            if past.said[place].thumb is not None and None not in past.said[place].last_dates
        ]
        if not same:
            continue
        ways: list[tuple[float | None, list[date]]] = [
            (chance, [past.said[place].last_dates[rank] for past in same])  # type: ignore[misc]
            for rank, chance in enumerate(looked.chances)
        ]
        ways.append((None, [past.said[place].thumb for past in same]))  # type: ignore[misc]
        for promised, dates in ways:
            spare = [days_to_spare(past, day, -math.inf) for past, day in zip(same, dates)]
            kept = [days for days in spare if days >= 0]
            late = [-days for days in spare if -math.inf < days < 0]
            rows.append(
                Skill(
                    look,
                    promised,
                    len(same),
                    len(spare) - len(kept),
                    mean(kept) if kept else None,
                    mean(late) if late else None,
                )
            )
    return tuple(rows)


def days_to_spare(past: PastSeason, day: date, never: float) -> float:
    """Return the days from a cut date to the true last one, below 0 where figs did not ripen.

    never : what to return where no cut of the season would have ripened figs.
    """
    return never if past.happened.last_date is None else (past.happened.last_date - day).days


def expected_share(chance: float, seasons: int) -> float:
    """Return how often a date that is good in ⌈chance·n⌉ of n past seasons is good in one more.

    ⌈chance·n⌉ / (n + 1), where every season may as well be the best as the worst: the ranks of one more among n are
    equally likely (David & Nagaraja 2003, Order Statistics, 3rd ed.).
    """
    return counted(chance, seasons) / (seasons + 1)


def day_in_season(month_day: MonthDay, season: int, hemisphere: str) -> date:
    """Return a day of the year in a season's growing year."""
    month, day = month_day
    return date(season - 1 if hemisphere == SOUTH and month >= 7 else season, month, day)


def _dates(looked: LookBack, place: int, rank: int) -> Iterator[tuple[PastSeason, Said, date | None]]:
    for past in looked.seasons:
        said = past.said[place]
        yield past, said, said.last_dates[rank]


def _refuse_what_cannot_be_looked_back_on(climate: Climate) -> None:
    if climate.days is None:
        raise Unanswerable("monthly normals hold no single seasons, wanted a daily record to look back on")
    if climate.estimate is not None:
        raise Unanswerable("typed frost estimates were not known then, wanted the record's own freezes")
