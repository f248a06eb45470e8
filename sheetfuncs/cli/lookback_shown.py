"""What looking back found, as tables, as text with commas and as JSON."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from typing import Tuple

from ..cells.dates import short
from ..season.climate import Climate
from ..season.hindcast import Hindcast, MonthDay, PastSeason
from ..season.reliability import Reliability, Way, reliability, rivals
from ..season.trend import LastSeasons, Slope, Trend

_CSV_HEADINGS = (
    "season", "given_on", "seasons_known", "promised", "last_date", "true_last_date", "season_end", "days_to_spare",
    "ripened", "average_first_freeze",
)  # fmt: skip

Rows = Iterator[Tuple[object, ...]]


@dataclass(frozen=True)
class LookedBack:
    """What was looked back on, and how: see :func:`hindcast` and :func:`rivals` for the words."""

    climate: Climate
    need: float
    lag_days: int
    spread: float
    looked: Hindcast
    rules: tuple[int, ...]
    trend: Trend
    change: LastSeasons


# -- as text ----------------------------------------------------------------------------------------------


def in_one_sentence(rows: tuple[Reliability, ...]) -> str:
    """Return what looking back comes to: how often the dates of the chance nearest to 80 % held, first looked at."""
    if not rows:
        return "No date was ever given: no cut had a chance as high as promised."
    row = min(rows, key=lambda row: abs(row.promised - 0.8))
    return (
        f"Promised {row.promised:.0%}: figs of a cut on the date given ripened in {row.held} of {row.seasons} seasons "
        f"({row.low:.0%} to {row.high:.0%}), if your figs need the heat assumed here."
    )


def print_tables(found: LookedBack) -> None:
    """Print what looking back found, the sentence first."""
    from rich import box
    from rich.console import Console
    from rich.table import Table

    looked, held = found.looked, reliability(found.looked)
    console = Console(width=None if Console().is_terminal else 150)
    first, last = looked.seasons[0].season, looked.seasons[-1].season
    console.print(in_one_sentence(held), soft_wrap=True)
    console.print(
        f"{found.climate}; heat need {found.need:,.0f} °{found.climate.unit}·day, spread {found.spread:.0%}, "
        f"{found.lag_days} days from cut to visible figs; {len(looked.seasons)} seasons looked back on, {first} to "
        f"{last}, each with what was known then",
        soft_wrap=True,
    )
    rank = min(range(len(looked.chances)), key=lambda index: abs(looked.chances[index] - 0.8))
    for title, headings, rows, note in (
        (
            f"Last dates at {looked.chances[rank]:.0%}, with the days to spare (below 0: figs did not ripen)",
            ["season", "rests on", *(f"given on {_look(look)}" for look in looked.as_of), "true last date",
             "season's end"],
            _seasons(looked, rank),
            "",
        ),
        (
            "How often the promise held",
            ["given on", "promised", "seasons", "held", "share", "95 % interval", "to be expected", "date had passed",
             "no cut"],
            _held(held),
            "Interval: Clopper and Pearson 1934. To be expected: the chance of these dates if the heat need is exactly "
            "as it stands, as it is here.",
        ),
        (
            "Beside the rules of thumb, on the same seasons",
            ["given on", "date", "seasons", "lost", "share lost", "days given away", "days late"],
            _beside_rules(rivals(looked, found.rules)),
            "Given away: mean days before the true last date, where figs ripened; late: after it, where they did not. "
            "The days are common practice (no source): 90 in temperate places, 120 in cool ones.",
        ),
        (
            "Trend of the record per decade, with its 95 % interval, and what its last seasons alone would give",
            ["seasons", "first freeze [days later]", f"heat of the growing part [°{found.climate.unit}·day]",
             "mean first freeze", "mean heat", "last date at 80 %"],
            _trend(found.trend, found.change),
            "Least squares; nothing is taken out of any date above.",
        ),
    ):  # fmt: skip
        table = Table(box=box.SIMPLE, title=title, title_justify="left", pad_edge=False, show_edge=False)
        for index, heading in enumerate(headings):
            table.add_column(heading, justify="right" if index else "left", overflow="fold")
        for row in rows:
            table.add_row(*map(str, row))
        console.print()
        console.print(table)
        if note:
            console.print(note)
    console.print(
        "\nAll of this takes the heat need as true, the rules of thumb too: whether your figs keep to it, only your "
        "log can tell. Dates are estimates, not a promise."
    )
    for season, reason in looked.left_out:
        console.print(f"Season {season} is left out: {reason}.")


def _seasons(looked: Hindcast, rank: int) -> Rows:
    for past in looked.seasons:
        given = (_date_and_spare(past, forecast.last_dates[rank]) for forecast in past.forecasts)
        known = past.forecasts[0].seasons_known
        yield past.season, known, *given, _day(past.outcome.last_date), _day(past.outcome.end)


def _held(rows: tuple[Reliability, ...]) -> Rows:
    for row in rows:
        yield (
            _look(row.as_of), f"{row.promised:.0%}", row.seasons, row.held, f"{row.share:.0%}",
            f"{row.low:.0%} to {row.high:.0%}", f"{row.expected:.0%}", row.passed, row.none_given,
        )  # fmt: skip


def _beside_rules(rows: tuple[Way, ...]) -> Rows:
    for row in rows:
        way = f"average first freeze − {row.rule_days} days" if row.promised is None else f"at {row.promised:.0%}"
        late, early = ("" if days is None else f"{days:.1f}" for days in (row.days_late, row.days_given_away))
        yield _look(row.as_of), way, row.seasons, row.lost, f"{row.lost_share:.0%}", early, late


def _trend(found: Trend, change: LastSeasons) -> Rows:
    seasons = [(f"{found.first} to {found.last}", _slope(found.first_freeze, 1), _slope(found.heat, 0))]
    if change.seasons[1] < change.seasons[0]:
        seasons.append((f"the last {change.seasons[1]} alone", "", ""))
    for row, freeze, heat, last in zip(seasons, change.first_freeze, change.heat, change.last_date):
        yield *row, _day(freeze), f"{heat:,.0f}", _day(last)


def _date_and_spare(past: PastSeason, day: date | None) -> str:
    if day is None:
        return "no cut"
    spare = past.days_to_spare(day)
    return f"{short(day)}   none" if spare is None else f"{short(day)} {spare:+4d}"


def _slope(slope: Slope | None, digits: int) -> str:
    if slope is None:
        return "too few seasons"
    return f"{slope.per_decade:+.{digits}f} ({slope.low:+.{digits}f} to {slope.high:+.{digits}f})"


def _look(look: MonthDay) -> str:
    return short(date(2001, *look))


def _day(day: date | None) -> str:
    return "none" if day is None else short(day)


# -- as data ----------------------------------------------------------------------------------------------


def as_csv_text(looked: Hindcast) -> str:
    """Return a line a season, day and chance."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_CSV_HEADINGS)
    for past in looked.seasons:
        for made in past.forecasts:
            for chance, day in zip(looked.chances, made.last_dates):
                ripened = "" if day is None else "yes" if past.held(day) else "no"
                spare = None if day is None else past.days_to_spare(day)
                line = [past.season, made.as_of, made.seasons_known, chance, day, past.outcome.last_date]
                writer.writerow([*line, past.outcome.end, spare, ripened, made.mean_freeze])
    return text.getvalue()


def as_json_text(found: LookedBack) -> str:
    """Return all that looking back found as one JSON object."""
    looked = found.looked
    answer = {
        "climate": str(found.climate),
        "unit": found.climate.unit,
        "heat_need": found.need,
        "need_spread": found.spread,
        "lag_days": found.lag_days,
        **asdict(looked),
        "reliability": [{**asdict(row), "share": row.share} for row in reliability(looked)],
        "rivals": [{**asdict(row), "lost_share": row.lost_share} for row in rivals(looked, found.rules)],
        "trend": asdict(found.trend),
        "last_seasons_change": asdict(found.change),
    }
    return json.dumps(answer, ensure_ascii=False, default=str)
