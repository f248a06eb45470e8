"""Looking back: what past seasons would have been given with only what was known then, and what came."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from ..cells.errors import InputError
from ..cells.kinds import CHANCE, DAYS, NUMBER, SEASON, choice
from ..season.climate import Climate
from ..season.hindcast import CHANCES, Hindcast, PastSeason, hindcast, outcomes
from ..season.reliability import reliability, rivals
from .declare import Argument, declared

LOOKS = ("early", "middle", "late")

PROMISED = Argument(CHANCE, "the chance that was promised")
LOOK = Argument(
    choice("look", *LOOKS),
    "when one looked: early, middle or late: 1 June, 1 July or 1 August, in the south 1 December, January or February",
)


@declared(SEASON, shape="column")
def seasons_to_look_back_on(climate: Climate, heat_need: float, lag_days: int = 10) -> list[int]:
    """Seasons of a daily record that can be looked back on, the first one first.

    A season counts when it is complete, five complete ones lie before it (judgement: fewer promise nothing), and its
    own end is known. The record's own freezes are used: typed ones were not known then. Looking back takes the heat
    need as true: whether your figs keep to it, only your log can tell.

    Examples
    --------
    >>> seasons_to_look_back_on(valley, 1150)
    [2021, 2022, 2023, 2024, 2025]
    """
    return [season for season, outcome in outcomes(climate, heat_need, lag_days).items() if outcome is not None]


@declared(
    replace(NUMBER, name="dates and numbers"),
    shape="row",
    headings=(
        "seasons_known",
        *(f"{what}_{look}" for look in LOOKS for what in ("date", "spare")),
        "true_last_date",
        "season_end",
    ),
    chance=PROMISED,
)
def look_back_on(
    climate: Climate, season: int, heat_need: float, chance: float = 0.8, lag_days: int = 10, need_spread: float = 0.06
) -> tuple[int | date | None, ...]:
    """What a past season would have been given on three days, with only what was known then, and what came.

    On 1 June, 1 July and 1 August (in the south 1 December, January and February): the last date, resting on the
    complete seasons before, and the days there were to spare; below 0 the figs did not ripen. Then the season's true
    last date, from its own weather with the same heat need, and its end. Blank: no cut had that chance, none would have
    ripened, nothing ended the season.

    Examples
    --------
    >>> look_back_on(valley, 2025, 1150)[:3]
    (9, datetime.date(2025, 6, 22), 10)
    """
    past = _season_of(_looked_back(climate, heat_need, lag_days, chance, need_spread), season)
    given: list[int | date | None] = []
    for forecast in past.forecasts:
        day = forecast.last_dates[0]
        given += [day, None if day is None else past.days_to_spare(day)]
    return (past.forecasts[0].seasons_known, *given, past.outcome.last_date, past.outcome.end)


@declared(
    NUMBER, shape="row", headings=("seasons", "held", "share", "low", "high", "expected"), chance=PROMISED, look=LOOK
)
def promise_kept(
    climate: Climate,
    heat_need: float,
    chance: float = 0.8,
    look: str = "early",
    lag_days: int = 10,
    need_spread: float = 0.06,
) -> tuple[float | None, ...]:
    """How often a promised chance held in the past seasons: in how many of how many, and the share's 95 % interval.

    The interval is what chance alone may do to so few seasons (Clopper & Pearson 1934, Biometrika 26:404–413). Last
    the share to be expected: looking back takes the heat need as true, and a promise that allows for a need that is not
    known exactly holds more often then.

    Examples
    --------
    >>> seasons, held, share, low, high, expected = promise_kept(valley, 1150)
    >>> seasons, held, share, round(low, 2), round(high, 2)
    (5, 4, 0.8, 0.28, 0.99)
    """
    looked = _looked_back(climate, heat_need, lag_days, chance, need_spread)
    day = looked.as_of[LOOKS.index(look)]
    row = next((row for row in reliability(looked) if row.as_of == day), None)
    if row is None:
        return 0, 0, None, None, None, None
    return row.seasons, row.held, row.share, row.low, row.high, row.expected


@declared(
    NUMBER,
    shape="row",
    headings=(
        "seasons",
        *(f"{way}{what}" for way in ("", "rule_") for what in ("lost_share", "days_given_away", "days_late")),
    ),
    chance=PROMISED,
    look=LOOK,
    thumb_days=Argument(DAYS, "days of the rule of thumb: the average first freeze less these"),
)
def against_rule_of_thumb(
    climate: Climate,
    heat_need: float,
    chance: float = 0.8,
    look: str = "early",
    lag_days: int = 10,
    thumb_days: int = 90,
    need_spread: float = 0.06,
) -> tuple[float | None, ...]:
    """The dates of a promised chance beside the rule of thumb, on the same past seasons.

    For each: the share of seasons in which figs of that cut did not ripen, the mean days the date lay before the true
    last one where they did, and after it where they did not. The rule of thumb is the average first freeze known then,
    less 90 days in temperate places, 120 in cool ones (common practice, no source). Both take the heat need as true.

    Examples
    --------
    >>> against_rule_of_thumb(valley, 1150)
    (5, 0.2, 14.25, 1, 1.0, None, 41.8)
    """
    looked = _looked_back(climate, heat_need, lag_days, chance, need_spread)
    day = looked.as_of[LOOKS.index(look)]
    rows = [row for row in rivals(looked, (thumb_days,)) if row.as_of == day]
    if not rows:
        return 0, None, None, None, None, None, None
    ours, rule = rows
    return (
        ours.seasons, ours.lost_share, ours.days_given_away, ours.days_late,
        rule.lost_share, rule.days_given_away, rule.days_late,
    )  # fmt: skip


def _looked_back(climate: Climate, need: float, lag_days: int, chance: float, need_spread: float) -> Hindcast:
    """Return the look back for a chance; that for the usual ones is made at once."""
    chances = CHANCES if chance in CHANCES else (chance,)
    return hindcast(climate, need, lag_days, chances, need_spread=need_spread).of_chance(chance)


def _season_of(looked: Hindcast, season: int) -> PastSeason:
    past = next((past for past in looked.seasons if past.season == season), None)
    if past is not None:
        return past
    reason = dict(looked.left_out).get(season)
    if reason is not None:
        raise InputError(f"season {season} cannot be looked back on: {reason}")
    first, last = looked.seasons[0].season, looked.seasons[-1].season
    raise InputError(f"season {season} cannot be looked back on, wanted a complete one from {first} to {last}")
