"""What a look back comes to: how often promises held, and how the dates fared beside rules of thumb."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from statistics import mean
from typing import Iterator, Sequence

from .hindcast import Forecast, Hindcast, MonthDay, PastSeason
from .intervals import binomial_interval

#: The rules of thumb: the average first freeze less these days (common practice, temperate and cool; no source).
RULE_DAYS = (90, 120)


@dataclass(frozen=True)
class Reliability:
    """How often a promised chance held, as given on one day of the year.

    seasons : in which a date was given; held : those in which figs of a cut on that date ripened in time.
    low, high : 95 % interval of the share held. expected : the mean chance of the dates if the need were exactly as it
    stands, which it is here. passed : in how many seasons the date had passed when it was given. none_given : seasons
    with no useful cut.
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


@dataclass(frozen=True)
class Way:
    """How one way of choosing the date fared, on the same seasons as its rivals.

    promised : the chance of this package's date; ``None`` for a rule of thumb, whose days are ``rule_days``. lost :
    seasons in which figs of that cut did not ripen. days_given_away : mean days the date lay before the true last
    date, where not lost. days_late : mean days it lay after it, where lost; ``None`` where there are no such seasons.
    """

    as_of: MonthDay
    promised: float | None
    rule_days: int | None
    seasons: int
    lost: int
    days_given_away: float | None
    days_late: float | None

    @property
    def lost_share(self) -> float:
        """The share of seasons lost."""
        return self.lost / self.seasons


def reliability(looked: Hindcast) -> tuple[Reliability, ...]:
    """Return, for each day of the year and each promised chance, how often the promise held."""
    rows = []
    for look, past_forecasts in _by_look(looked):
        for rank, chance in enumerate(looked.chances):
            given = [
                (past, made.as_of, day, expected)
                for past, made in past_forecasts
                for day, expected in [(made.last_dates[rank], made.expected[rank])]
                if day is not None and expected is not None
            ]
            if not given:
                continue
            held = sum(past.held(day) for past, _, day, _ in given)
            rows.append(
                Reliability(
                    look,
                    chance,
                    len(given),
                    held,
                    *binomial_interval(held, len(given)),
                    mean(expected for *_, expected in given),
                    sum(day < as_of for _, as_of, day, _ in given),
                    len(past_forecasts) - len(given),
                )
            )
    return tuple(rows)


def rivals(looked: Hindcast, rule_days: Sequence[int] = RULE_DAYS) -> tuple[Way, ...]:
    """Return how each chance's date and the rules of thumb fared, on the seasons for which all of them are there."""
    rows = []
    for look, past_forecasts in _by_look(looked):
        same = [
            (past, made.last_dates, made.mean_freeze)
            for past, made in past_forecasts
            if made.mean_freeze is not None and None not in made.last_dates
        ]
        if not same:
            continue
        ways: list[tuple[float | None, int | None, list[date | None]]] = [
            (chance, None, [dates[rank] for _, dates, _ in same]) for rank, chance in enumerate(looked.chances)
        ]
        ways += [(None, days, [freeze - timedelta(days=days) for *_, freeze in same]) for days in rule_days]
        for chance, days, dates in ways:
            spare = [past.days_to_spare(day) for (past, *_), day in zip(same, dates)]  # type: ignore[arg-type]
            kept = [count for count in spare if count is not None and count >= 0]
            late = [-count for count in spare if count is not None and count < 0]
            given_away, days_late = mean(kept) if kept else None, mean(late) if late else None
            rows.append(Way(look, chance, days, len(same), len(same) - len(kept), given_away, days_late))
    return tuple(rows)


def _by_look(looked: Hindcast) -> Iterator[tuple[MonthDay, list[tuple[PastSeason, Forecast]]]]:
    for index, look in enumerate(looked.as_of):
        yield look, [(past, past.forecasts[index]) for past in looked.seasons]
