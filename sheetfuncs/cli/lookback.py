"""``sheetfuncs lookback``: what past seasons would have been given, what came, and how often the promise held.

The same look back as the worksheet functions', for several chances and days, with every season in a table.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

import click

from ..cells.dates import EPOCH_1900, short
from ..cells.errors import InputError, wrong
from ..cells.kinds import CHANCE, DAYS, HEAT_UNITS, whole
from ..functions.arguments import NEED_SPREAD, InCelsius
from ..season import ripening
from ..season.errors import Unanswerable
from ..season.hindcast import CHANCES, LEAST_SEASONS, Hindcast, MonthDay, PastSeason, hindcast
from ..season.reliability import RULE_DAYS, Reliability, Way, reliability, rivals
from ..season.trend import STANDARD_SEASONS, LastSeasons, Slope, Trend, last_seasons_change, trend
from .function_commands import climate_options, make_climate
from .show import json_text, print_table, say, waiting

HEAT_NEED = InCelsius(1300, degree_days=True)
LAG_DAYS = 10
_SEASONS = whole("seasons", "a whole number from 3 up, such as 30", 3, 300)

Rows = Iterator[tuple[object, ...]]


def _run(as_json: bool, **given: Any) -> None:
    def read(kind: Any, option: str, default: Any) -> Any:
        text, label = given[option], option.replace("_", " ")
        if not isinstance(text, tuple):
            return default if text is None else kind.read(text, label, EPOCH_1900)
        return tuple(kind.read(one, label, EPOCH_1900) for one in text) or default

    climate = make_climate(given)
    need = read(HEAT_UNITS, "heat_need", HEAT_NEED.in_unit(climate.unit))
    lag_days = read(DAYS, "lag_days", LAG_DAYS)
    chances = read(CHANCE, "chance", CHANCES)
    as_of = tuple(_month_day(text) for text in given["as_of"]) or None
    least = read(_SEASONS, "least_seasons", LEAST_SEASONS)
    last = read(_SEASONS, "last_seasons", None)
    rules = read(DAYS, "thumb_days", RULE_DAYS)
    spread = read(NEED_SPREAD.kind, "need_spread", ripening.NEED_SPREAD)
    try:
        with waiting("Looking back, season by season"):
            looked = hindcast(climate, need, lag_days, chances, as_of, least, last, spread)
            change = last_seasons_change(climate, last or STANDARD_SEASONS, need, 0.8, lag_days, spread)
    except Unanswerable as reason:
        raise InputError(str(reason)) from None
    held, beside, found = reliability(looked), rivals(looked, rules), trend(climate)
    if as_json:
        answer = {
            "climate": str(climate), "unit": climate.unit, "heat_need": need, "need_spread": spread,
            "lag_days": lag_days, **asdict(looked),
            "reliability": [{**asdict(row), "share": row.share} for row in held],
            "rivals": [{**asdict(row), "lost_share": row.lost_share} for row in beside],
            "trend": asdict(found), "last_seasons_change": asdict(change),
        }  # fmt: skip
        click.echo(json_text(answer))
        return
    first, last_one = looked.seasons[0].season, looked.seasons[-1].season
    say(in_one_sentence(held), wrap=True)
    say(
        f"{climate}; heat need {need:,.0f} °{climate.unit}·day, spread {spread:.0%}, {lag_days} days from cut to "
        f"visible figs; {len(looked.seasons)} seasons looked back on, {first} to {last_one}, each with what was known "
        "then",
        wrap=True,
    )
    _print_tables(looked, held, beside, found, change, climate.unit)


def _month_day(text: str) -> MonthDay:
    try:
        month, day = (int(part) for part in text.split("-"))
        date(2001, month, day)
    except ValueError:
        raise wrong("as of", text, "month and day such as 07-01") from None
    return month, day


# -- as tables -------------------------------------------------------------------------------------------------


def in_one_sentence(rows: Sequence[Reliability]) -> str:
    """Return what looking back comes to: how often the dates of the chance nearest to 80 % held, first looked at."""
    if not rows:
        return "No date was ever given: no cut had a chance as high as promised."
    row = min(rows, key=lambda row: abs(row.promised - 0.8))
    return (
        f"Promised {row.promised:.0%}: figs of a cut on the date given ripened in {row.held} of {row.seasons} seasons "
        f"({row.low:.0%} to {row.high:.0%}), if your figs need the heat assumed here."
    )


def _print_tables(
    looked: Hindcast, held: Sequence[Reliability], beside: Sequence[Way], found: Trend, change: LastSeasons, unit: str
) -> None:
    rank = min(range(len(looked.chances)), key=lambda index: abs(looked.chances[index] - 0.8))
    looks = [f"given {_look(look)}" for look in looked.as_of]
    for title, headings, rows, note in (
        (
            f"Last dates at {looked.chances[rank]:.0%}, with the days to spare (below 0: figs did not ripen)",
            ["season", "rests on", *looks, "true last", "season's end"],
            _seasons(looked, rank),
            "",
        ),
        (
            "How often the promise held",
            ["given", "promised", "seasons", "held", "share", "95 % interval", "expected", "passed", "no cut"],
            _held(held),
            "Interval: Clopper and Pearson 1934. Expected: the chance of these dates if the heat need is exactly as it "
            "stands, as it is here. Passed: the date had passed when it was given.",
        ),
        (
            "Beside the rules of thumb, on the same seasons",
            ["given", "date", "seasons", "lost", "share lost", "days given away", "days late"],
            _beside_rules(beside),
            "Freeze: the average first one known then. Given away: mean days before the true last date, where figs "
            "ripened; late: after it, where they did not. The days are common practice (no source): 90 in temperate "
            "places, 120 in cool ones.",
        ),
        (
            "Trend of the record per decade, with its 95 % interval, and what its last seasons alone would give",
            ["seasons", "first freeze", "heat", "mean freeze", "mean heat", "last date"],
            _trend(found, change),
            f"Freeze: days later. Heat: of the growing part [°{unit}·day]. Last date: at 80 %. Least squares; nothing "
            "is taken out of any date above.",
        ),
    ):
        click.echo()
        say(title, wrap=True)
        print_table(headings, rows, figures=True)
        if note:
            say(note, wrap=True)
    click.echo()
    say(
        "All of this takes the heat need as true, the rules of thumb too: whether your figs keep to it, only your log "
        "can tell. Dates are estimates, not a promise.",
        wrap=True,
    )
    for season, reason in looked.left_out:
        say(f"Season {season} is left out: {reason}.", wrap=True)


def _seasons(looked: Hindcast, rank: int) -> Rows:
    for past in looked.seasons:
        given = (_date_and_spare(past, forecast.last_dates[rank]) for forecast in past.forecasts)
        known = past.forecasts[0].seasons_known
        yield past.season, known, *given, _day(past.outcome.last_date), _day(past.outcome.end)


def _held(rows: Sequence[Reliability]) -> Rows:
    for row in rows:
        yield (
            _look(row.as_of), f"{row.promised:.0%}", row.seasons, row.held, f"{row.share:.0%}",
            f"{row.low:.0%} to {row.high:.0%}", f"{row.expected:.0%}", row.passed, row.none_given,
        )  # fmt: skip


def _beside_rules(rows: Sequence[Way]) -> Rows:
    for row in rows:
        way = f"freeze − {row.rule_days} days" if row.promised is None else f"at {row.promised:.0%}"
        late, early = ("" if days is None else f"{days:.1f}" for days in (row.days_late, row.days_given_away))
        yield _look(row.as_of), way, row.seasons, row.lost, f"{row.lost_share:.0%}", early, late


def _trend(found: Trend, change: LastSeasons) -> Rows:
    seasons = [(f"{found.first} to {found.last}", _slope(found.first_freeze, 1), _slope(found.heat, 0))]
    if change.seasons[1] < change.seasons[0]:
        seasons.append((f"the last {change.seasons[1]}", "", ""))
    for row, freeze, heat, last in zip(seasons, change.first_freeze, change.heat, change.last_date):
        yield *row, _day(freeze), f"{heat:,.0f}", _day(last)


def _date_and_spare(past: PastSeason, day: date | None) -> str:
    if day is None:
        return "no cut"
    spare = past.days_to_spare(day)
    return f"{short(day)} none" if spare is None else f"{short(day)} {spare:+4d}"


def _slope(slope: Slope | None, digits: int) -> str:
    if slope is None:
        return "too few seasons"
    return f"{slope.per_decade:+.{digits}f} ({slope.low:+.{digits}f} to {slope.high:+.{digits}f})"


def _look(look: MonthDay) -> str:
    return short(date(2001, *look))


def _day(day: date | None) -> str:
    return "none" if day is None else short(day)


# -- the command -----------------------------------------------------------------------------------------------


def _option(name: str, metavar: str, words: str, several: bool = False) -> click.Option:
    return click.Option([f"--{name}"], metavar=metavar, help=words, multiple=several)


lookback = click.Command(
    "lookback",
    params=[
        _option("heat-need", "HEAT_UNITS", f"Visible fig to first ripe fig (default {HEAT_NEED})."),
        _option("need-spread", "SHARE", "Standard deviation of the heat need as a share of it (default 6 %)."),
        _option("lag-days", "DAYS", f"Days from the cut to visible figs (default {LAG_DAYS})."),
        _option("chance", "CHANCE", "Chance to promise; again for more (default 50, 80 and 90 %).", several=True),
        _option(
            "as-of",
            "MM-DD",
            "Day of the year on which one looks; again for more (default 06-01 07-01 08-01; south 12-01 01-01 02-01).",
            several=True,
        ),
        _option(
            "least-seasons",
            "SEASONS",
            f"Seasons that must have gone before one that is looked back on (default {LEAST_SEASONS}).",
        ),
        _option("last-seasons", "SEASONS", "Rest each date on so many seasons before it only (default all)."),
        _option("thumb-days", "DAYS", "Days of a rule of thumb; again for more (default 90 and 120).", several=True),
        *climate_options({"last_seasons"}),
        click.Option(["--json", "as_json"], is_flag=True, help="Answer as one JSON object."),
    ],
    callback=_run,
    help=(
        "Look back: what past seasons would have been given, and what came.\n\n"
        "For each past season of a daily record: the last cut date that would have been given on 1 June, 1 July and "
        "1 August with only the days and seasons known then, the true last date, and how often the promised chance "
        "held; beside the rules of thumb, the average first freeze less 90 and less 120 days. Then the record's trend."
    ),
    short_help="Look back: what past seasons would have been given, and how often the promise held.",
)
