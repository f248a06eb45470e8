"""``sheetfuncs lookback``: what past seasons would have been given, what came, and how often the promise held.

The same look back as the worksheet functions', for several chances and days, with every season in a table.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from ..cells.dates import EPOCH_1900
from ..cells.errors import InputError, wrong
from ..cells.kinds import CHANCE, DAYS, HEAT_UNITS, whole
from ..functions.arguments import NEED_SPREAD
from ..functions.celsius import InCelsius
from ..season import ripening
from ..season.errors import Unanswerable
from ..season.hindcast import CHANCES, LEAST_SEASONS, MonthDay, hindcast
from ..season.reliability import RULE_DAYS
from ..season.trend import STANDARD_SEASONS, last_seasons_change, trend
from .climate_options import climate_options, make_climate
from .lookback_shown import LookedBack, as_csv_text, as_json_text, print_tables
from .progress import waiting

HEAT_NEED = InCelsius(1300, degree_days=True)
LAG_DAYS = 10
_SEASONS = whole("seasons", "a whole number from 3 up, such as 30", 3, 300)


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
    rules = tuple(_read(DAYS, text, "thumb days", None) for text in given["thumb_days"]) or RULE_DAYS
    spread = _read(NEED_SPREAD.kind, given["need_spread"], "need spread", ripening.NEED_SPREAD)
    try:
        with waiting("Looking back, season by season"):
            looked = hindcast(climate, need, lag_days, chances, as_of, least, last, spread)
            change = last_seasons_change(climate, last or STANDARD_SEASONS, need, 0.8, lag_days, spread)
            found = LookedBack(climate, need, lag_days, spread, looked, rules, trend(climate), change)
    except Unanswerable as reason:
        raise InputError(str(reason)) from None
    if as_csv:
        click.echo(as_csv_text(looked), nl=False)
    elif as_json:
        click.echo(as_json_text(found))
    else:
        print_tables(found)


def _read(kind: Any, text: str | None, label: str, default: Any) -> Any:
    return default if text is None else kind.read(text, label, EPOCH_1900)


def _month_day(text: str) -> MonthDay:
    try:
        month, day = (int(part) for part in text.split("-"))
        date(2001, month, day)
    except ValueError:
        raise wrong("as of", text, "month and day such as 07-01") from None
    return month, day


# -- the command ------------------------------------------------------------------------------------------


def _option(name: str, metavar: str, words: str, several_as: str = "") -> click.Option:
    names = [f"--{name}", several_as] if several_as else [f"--{name}"]
    return click.Option(names, metavar=metavar, help=words, multiple=bool(several_as))


lookback = click.Command(
    "lookback",
    params=[
        _option("heat-need", "HEAT_UNITS", f"Visible fig to first ripe fig (default {HEAT_NEED})."),
        _option("need-spread", "SHARE", "Standard deviation of the heat need as a share of it (default 6 %)."),
        _option("lag-days", "DAYS", f"Days from the cut to visible figs (default {LAG_DAYS})."),
        _option("chance", "CHANCE", "Chance to promise; again for more (default 50, 80 and 90 %).", "chances"),
        _option(
            "as-of",
            "MM-DD",
            "Day of the year on which one looks; again for more (default 06-01 07-01 08-01; south 12-01 01-01 02-01).",
            "as_of",
        ),
        _option(
            "least-seasons",
            "SEASONS",
            f"Seasons that must have gone before one that is looked back on (default {LEAST_SEASONS}).",
        ),
        _option("last-seasons", "SEASONS", "Rest each date on so many seasons before it only (default all)."),
        _option("thumb-days", "DAYS", "Days of a rule of thumb; again for more (default 90 and 120).", "thumb_days"),
        *climate_options({"last_seasons"}),
        click.Option(["--csv", "as_csv"], is_flag=True, help="Text with commas: a line a season, day and chance."),
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

COMMANDS = (lookback,)
