"""What looking back found, as tables, as text with commas and as JSON."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from ..cells.dates import short
from ..season.climate import Climate
from ..season.hindcast import Hindcast, MonthDay, PastSeason
from ..season.reliability import Reliability, Way, reliability, rivals
from ..season.trend import LastSeasons, Slope, Trend

_CSV_HEADINGS = (
    "season", "given_on", "seasons_known", "promised", "last_date", "true_last_date", "season_end", "days_to_spare",
    "ripened", "average_first_freeze",
)  # fmt: skip


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
    from rich.console import Console

    looked = found.looked
    console = Console(width=None if Console().is_terminal else 150)
    first, last = looked.seasons[0].season, looked.seasons[-1].season
    held = reliability(looked)
    console.print(in_one_sentence(held), soft_wrap=True)
    console.print(
        f"{found.climate}; heat need {found.need:,.0f} °{found.climate.unit}·day, spread {found.spread:.0%}, "
        f"{found.lag_days} days from cut to visible figs; {len(looked.seasons)} seasons looked back on, {first} to "
        f"{last}, each with what was known then",
        soft_wrap=True,
    )
    for table, note in (
        (_seasons_table(looked), ""),
        (
            _reliability_table(held),
            "Interval: Clopper and Pearson 1934. To be expected: the chance of these dates if the heat need is exactly "
            "as it stands, as it is here.",
        ),
        (
            _rivals_table(rivals(looked, found.rules)),
            "Given away: mean days before the true last date, where figs ripened; late: after it, where they did not. "
            "The days are common practice (no source): 90 in temperate places, 120 in cool ones.",
        ),
        (
            _trend_table(found.climate.unit, found.trend, found.change),
            "Least squares; nothing is taken out of any date above.",
        ),
    ):
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


def _table(title: str, headings: list[str], rows: list[list[str]]) -> Any:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE, title=title, title_justify="left", pad_edge=False, show_edge=False)
    for index, heading in enumerate(headings):
        table.add_column(heading, justify="right" if index else "left", overflow="fold")
    for row in rows:
        table.add_row(*row)
    return table


def _seasons_table(looked: Hindcast) -> Any:
    rank = min(range(len(looked.chances)), key=lambda index: abs(looked.chances[index] - 0.8))
    return _table(
        f"Last dates at {looked.chances[rank]:.0%}, with the days there were to spare (below 0: figs did not ripen)",
        ["season", "rests on", *(f"given on {_look(look)}" for look in looked.as_of), "true last date", "season's end"],
        [
            [
                str(past.season),
                str(past.forecasts[0].seasons_known),
                *(_date_and_spare(past, forecast.last_dates[rank]) for forecast in past.forecasts),
                _day(past.outcome.last_date),
                _day(past.outcome.end),
            ]
            for past in looked.seasons
        ],
    )


def _date_and_spare(past: PastSeason, day: date | None) -> str:
    if day is None:
        return "no cut"
    spare = past.days_to_spare(day)
    return f"{short(day)}   none" if spare is None else f"{short(day)} {spare:+4d}"


def _reliability_table(rows: tuple[Reliability, ...]) -> Any:
    headings = "given on,promised,seasons,held,share,95 % interval,to be expected,date had passed,no cut"
    return _table(
        "How often the promise held",
        headings.split(","),
        [
            [
                _look(row.as_of),
                f"{row.promised:.0%}",
                str(row.seasons),
                str(row.held),
                f"{row.share:.0%}",
                f"{row.low:.0%} to {row.high:.0%}",
                f"{row.expected:.0%}",
                str(row.passed),
                str(row.none_given),
            ]
            for row in rows
        ],
    )


def _rivals_table(rows: tuple[Way, ...]) -> Any:
    return _table(
        "Beside the rules of thumb, on the same seasons",
        ["given on", "date", "seasons", "lost", "share lost", "days given away", "days late"],
        [
            [
                _look(row.as_of),
                f"average first freeze − {row.rule_days} days" if row.promised is None else f"at {row.promised:.0%}",
                str(row.seasons),
                str(row.lost),
                f"{row.lost_share:.0%}",
                "" if row.days_given_away is None else f"{row.days_given_away:.1f}",
                "" if row.days_late is None else f"{row.days_late:.1f}",
            ]
            for row in rows
        ],
    )


def _trend_table(unit: str, found: Trend, change: LastSeasons) -> Any:
    rows = [
        [f"{found.first} to {found.last}", _slope(found.first_freeze, 1), _slope(found.heat, 0)],
        [f"the last {change.seasons[1]} alone", "", ""],
    ]
    for index, row in enumerate(rows):
        row += [_day(change.first_freeze[index]), f"{change.heat[index]:,.0f}", _day(change.last_date[index])]
    return _table(
        "Trend of the record per decade, with its 95 % interval, and what its last seasons alone would give",
        [
            "seasons", "first freeze [days later]", f"heat of the growing part [°{unit}·day]", "mean first freeze",
            "mean heat", "last date at 80 %",
        ],
        rows if change.seasons[1] < change.seasons[0] else rows[:1],
    )  # fmt: skip


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
