"""``sheetfuncs lookback``: what past seasons would have been told, what came, and how often the promise held."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict
from datetime import date
from typing import Any

import click

from ..cells.dates import EPOCH_1900, short
from ..cells.errors import InputError, wrong
from ..cells.kinds import CHANCE, DAYS, HEAT_UNITS, whole
from ..functions.declare import InCelsius
from ..season.drift import (
    STANDARD_SEASONS,
    Drift,
    LastSeasons,
    Slope,
    drift,
    last_seasons_change,
    last_seasons_only,
)
from ..season.errors import Unanswerable
from ..season.lookback import (
    CHANCES,
    LEAST_SEASONS,
    THUMB_DAYS,
    Calibration,
    LookBack,
    MonthDay,
    PastSeason,
    Skill,
    calibration,
    days_to_spare,
    look_back,
    skill,
)
from .climate_options import climate_options, make_climate
from .progress import waiting

HEAT_NEED = InCelsius(1300, degree_days=True)
LAG_DAYS = 10
_SEASONS = whole("seasons", "a whole number from 3 up, such as 30", 3, 300)
Drifts = tuple[Drift, Drift | None, LastSeasons]
_CSV_HEADINGS = (
    "season", "said_on", "seasons_known", "promised", "last_date", "true_last_date", "true_end", "days_to_spare",
    "ripened", "rule_of_thumb", "rule_of_thumb_days_to_spare",
)  # fmt: skip


def _run(as_json: bool, as_csv: bool, **given: Any) -> None:
    if as_json and as_csv:
        raise click.UsageError("wanted --json or --csv, not both")
    climate = make_climate(given)
    need = _read(HEAT_UNITS, given["heat_need"], "heat need", HEAT_NEED.in_unit(climate.unit))
    lag_days = _read(DAYS, given["lag_days"], "lag days", LAG_DAYS)
    chances = tuple(_read(CHANCE, text, "chance", None) for text in given["chances"]) or CHANCES
    as_of = tuple(_month_day(text) for text in given["as_of"]) or None
    least = _read(_SEASONS, given["least_seasons"], "least seasons", LEAST_SEASONS)
    last = _read(_SEASONS, given["last_seasons"], "last seasons", None)
    thumb = _read(DAYS, given["thumb_days"], "thumb days", THUMB_DAYS)
    try:
        with waiting("Looking back, season by season"):
            looked = look_back(climate, need, lag_days, chances, as_of, least, last, thumb)
            told = _drifts(climate, need, lag_days, last)
    except Unanswerable as reason:
        raise InputError(str(reason)) from None
    if as_csv:
        click.echo(_csv(looked), nl=False)
    elif as_json:
        click.echo(_json(str(climate), climate.unit, need, lag_days, thumb, looked, told))
    else:
        _print(str(climate), climate.unit, need, lag_days, thumb, looked, told)


def _read(kind: Any, text: str | None, label: str, default: Any) -> Any:
    return default if text is None else kind.read(text, label, EPOCH_1900)


def _month_day(text: str) -> MonthDay:
    try:
        month, day = (int(part) for part in text.split("-"))
        date(2001, month, day)
    except ValueError:
        raise wrong("as of", text, "month and day such as 07-01") from None
    return month, day


def _drifts(climate: Any, need: float, lag_days: int, last: int | None) -> Drifts:
    """Return the drift of the whole record, of its last seasons alone, and what these alone would change."""
    seasons = last or STANDARD_SEASONS
    change = last_seasons_change(climate, seasons, need, lag_days=lag_days)
    if len(climate.days.complete) <= seasons:
        return drift(climate), None, change
    return drift(climate), drift(last_seasons_only(climate, seasons)), change


# -- as text ----------------------------------------------------------------------------------------------


def _print(climate: str, unit: str, need: float, lag_days: int, thumb: int, looked: LookBack, told: Drifts) -> None:
    from rich.console import Console

    console = Console(width=None if Console().is_terminal else 150)
    first, last = looked.seasons[0].season, looked.seasons[-1].season
    console.print(f"{climate}; heat need {need:,.0f} °{unit}·day, {lag_days} days from cut to visible figs")
    console.print(f"{len(looked.seasons)} seasons looked back on, {first} to {last}, each with what was known then")
    for table, note in (
        (_seasons_table(looked), ""),
        (
            _calibration_table(calibration(looked)),
            "Interval: Clopper and Pearson 1934. To be expected: a date that is good in k of n past seasons is good in "
            "one more with chance k/(n + 1).",
        ),
        (
            _skill_table(skill(looked), thumb),
            "Given away: mean days before the true last date, where figs ripened; late: after it, where they did not.",
        ),
        (_drift_table(unit, *told), "Least squares; nothing is taken out of any date above."),
    ):
        console.print()
        console.print(table)
        if note:
            console.print(note)
    console.print(
        "\nWhat came is reckoned from the season's own weather with the same heat need, and the rule of thumb is "
        "judged by it too: whether your figs keep to that need, only your log can tell. "
        "Dates are estimates, not a promise."
    )
    for season, reason in looked.left_out:
        console.print(f"Season {season} is left out: {reason}.")


def _table(title: str, *headings: str) -> Any:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE, title=title, title_justify="left", pad_edge=False, show_edge=False)
    for place, heading in enumerate(headings):
        table.add_column(heading, justify="left" if place == 0 else "right", overflow="fold")
    return table


def _seasons_table(looked: LookBack) -> Any:
    rank = min(range(len(looked.chances)), key=lambda place: abs(looked.chances[place] - 0.8))
    table = _table(
        f"Last dates at {looked.chances[rank]:.0%}, with the days there were to spare (below 0: figs did not ripen)",
        "season",
        "rests on",
        *(f"said on {_look(look)}" for look in looked.as_of),
        "true last date",
        "season's end",
    )
    for past in looked.seasons:
        table.add_row(
            str(past.season),
            str(past.said[0].seasons_known),
            *(_date_and_spare(past, said.last_dates[rank]) for said in past.said),
            "none" if past.happened.last_date is None else short(past.happened.last_date),
            "none" if past.happened.end is None else short(past.happened.end),
        )
    return table


def _date_and_spare(past: PastSeason, day: date | None) -> str:
    if day is None:
        return "no cut"
    spare = _spare(past, day)
    return f"{short(day)}   none" if spare is None else f"{short(day)} {spare:+4d}"


def _calibration_table(rows: tuple[Calibration, ...]) -> Any:
    table = _table(
        "How often the promise held",
        "said on",
        "promised",
        "seasons",
        "held",
        "share",
        "95 % interval",
        "promise lies in it",
        "to be expected",
        "date had passed",
        "no cut",
    )
    for row in rows:
        table.add_row(
            _look(row.as_of),
            f"{row.promised:.0%}",
            str(row.seasons),
            str(row.held),
            f"{row.share:.0%}",
            f"{row.low:.0%} to {row.high:.0%}",
            "yes" if row.within else "no",
            f"{row.expected:.0%}",
            str(row.passed),
            str(row.none_given),
        )
    return table


def _skill_table(rows: tuple[Skill, ...], thumb: int) -> Any:
    table = _table(
        "Beside the rule of thumb, on the same seasons",
        "said on",
        "date",
        "seasons",
        "lost",
        "share lost",
        "days given away",
        "days late",
    )
    for row in rows:
        table.add_row(
            _look(row.as_of),
            f"average first freeze − {thumb} days" if row.promised is None else f"at {row.promised:.0%}",
            str(row.seasons),
            str(row.lost),
            f"{row.lost_share:.0%}",
            "" if row.days_given_away is None else f"{row.days_given_away:.1f}",
            "" if row.days_late is None else f"{row.days_late:.1f}",
        )
    return table


def _drift_table(unit: str, whole_record: Drift, last_only: Drift | None, change: LastSeasons) -> Any:
    table = _table(
        "Drift of the record per decade, with its 95 % interval, and what the last seasons alone would say",
        "seasons",
        "first freeze [days later]",
        f"heat of the growing part [°{unit}·day]",
        "mean first freeze",
        "mean heat",
        "last date at 80 %",
    )
    for place, told in enumerate((whole_record, last_only)):
        if told is not None:
            table.add_row(
                f"{told.first} to {told.last}",
                _slope(told.first_freeze, 1),
                _slope(told.heat, 0),
                _day(change.first_freeze[place]),
                f"{change.heat[place]:,.0f}",
                _day(change.last_date[place]),
            )
    return table


def _slope(slope: Slope | None, digits: int) -> str:
    if slope is None:
        return "too few seasons"
    return f"{slope.per_decade:+.{digits}f} ({slope.low:+.{digits}f} to {slope.high:+.{digits}f})"


def _look(look: MonthDay) -> str:
    return short(date(2001, *look))


def _day(day: date | None) -> str:
    return "none" if day is None else short(day)


def _spare(past: PastSeason, day: date | None) -> int | None:
    """Return the days to spare; ``None`` where no date was given or no cut of the season would have done."""
    if day is None or past.happened.last_date is None:
        return None
    return int(days_to_spare(past, day, 0))


# -- as data ----------------------------------------------------------------------------------------------


def _csv(looked: LookBack) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_CSV_HEADINGS)
    for past in looked.seasons:
        for said in past.said:
            for chance, day in zip(looked.chances, said.last_dates):
                ripened = "" if day is None else "yes" if days_to_spare(past, day, -1) >= 0 else "no"
                happened = past.happened
                line = [past.season, said.as_of, said.seasons_known, chance, day, happened.last_date, happened.end]
                writer.writerow([*line, _spare(past, day), ripened, said.thumb, _spare(past, said.thumb)])
    return text.getvalue()


def _json(climate: str, unit: str, need: float, lag_days: int, thumb: int, looked: LookBack, told: Drifts) -> str:
    whole_record, last_only, change = told
    answer = {
        "climate": climate,
        "unit": unit,
        "heat_need": need,
        "lag_days": lag_days,
        "rule_of_thumb_days": thumb,
        **asdict(looked),
        "calibration": [{**asdict(row), "share": row.share, "within": row.within} for row in calibration(looked)],
        "skill": [{**asdict(row), "lost_share": row.lost_share} for row in skill(looked)],
        "drift": asdict(whole_record),
        "drift_of_last_seasons": last_only and asdict(last_only),
        "last_seasons_change": asdict(change),
    }
    return json.dumps(answer, ensure_ascii=False, default=str)


# -- the command ------------------------------------------------------------------------------------------

_OWN_OPTIONS: list[click.Parameter] = [
    click.Option(["--heat-need"], metavar="HEAT_UNITS", help=f"Visible fig to first ripe fig (default {HEAT_NEED})."),
    click.Option(["--lag-days"], metavar="DAYS", help=f"Days from the cut to visible figs (default {LAG_DAYS})."),
    click.Option(
        ["--chance", "chances"],
        multiple=True,
        metavar="CHANCE",
        help="Chance to promise; again for more (default 50, 80 and 90 %).",
    ),
    click.Option(
        ["--as-of"],
        multiple=True,
        metavar="MM-DD",
        help="Day of the year on which one looks; again for more (default 06-01 07-01 08-01; south 12-01 01-01 02-01).",
    ),
    click.Option(
        ["--least-seasons"],
        metavar="SEASONS",
        help=f"Seasons that must have gone before one that is looked back on (default {LEAST_SEASONS}).",
    ),
    click.Option(
        ["--last-seasons"], metavar="SEASONS", help="Rest each date on so many seasons before it only (default all)."
    ),
    click.Option(["--thumb-days"], metavar="DAYS", help=f"Days of the rule of thumb (default {THUMB_DAYS})."),
]

lookback = click.Command(
    "lookback",
    params=[
        *_OWN_OPTIONS,
        *climate_options({"last_seasons"}),
        click.Option(
            ["--csv", "as_csv"], is_flag=True, help="Answer as text with commas: a line a season, day and chance."
        ),
        click.Option(["--json", "as_json"], is_flag=True, help="Answer as one JSON object."),
    ],
    callback=_run,
    help=(
        "Look back: what past seasons would have been told, and what came.\n\n"
        "For each past season of a daily record: the last cut date that would have been given on 1 June, 1 July and "
        "1 August with only the days and seasons known then, the true last date, and how often the promised chance "
        "held; beside the rule of thumb, the average first freeze less 90 days. Then how the record has drifted."
    ),
    short_help="Look back: what past seasons would have been told, and how often the promise held.",
)

COMMANDS = (lookback,)
