"""The sheet Season, a later flush, and the winter by position."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

import sheetfuncs
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.planner.build import DEMO_TREES, READY_TREES
from sheetfuncs.planner.invented import HARD_CUTS, demo_weather
from sheetfuncs.planner.sheets import (
    flush,
    log,
    picking,
    positions,
    rounds,
    season,
    season_pictures,
    trees,
    weather,
)

from .conftest import Answers
from .test_answers import at_position, cell, climate, learned, setting  # noqa: F401 - climate is a fixture
from .test_year import DRAWN, TAGS, Typed, column, here_text

# -- season ----------------------------------------------------------------------------------------------------


def test_this_season_so_far(demo_answers: Answers, climate: Any) -> None:  # noqa: F811
    here = at_position(climate, "south wall")
    heat = sheetfuncs.heat_units_between(here, "2026-04-01", "2026-06-22")
    start = season.SO_FAR_ROW + 1
    assert demo_answers.day("Season", f"B{start}") == date(2026, 6, 22)
    assert demo_answers.at("Season", f"B{start + 1}") == pytest.approx(heat)
    before = sheetfuncs.climate_until(here, "2026-04-01")
    middle = sheetfuncs.heat_date(before, "2026-04-01", heat)
    assert demo_answers.day("Season", f"B{start + 2}") == middle
    assert demo_answers.at("Season", f"B{start + 3}") == (middle - date(2026, 6, 21)).days


def test_what_was_known_then_uses_no_later_day(answer: Typed) -> None:
    """Later days of the record change what is answered now, never what was known then."""
    first = weather.DAYS.first_row
    later = [row for row, (day, _, _) in enumerate(demo_weather(), start=first) if day >= date(2026, 6, 5)]
    cold_days = {("Weather", f"{letter}{row}"): value for row in later for letter, value in (("B", 2.0), ("C", 9.0))}
    chosen = {("Season", "B7"): datetime(2026, 6, 5), ("Season", "B8"): datetime(2026, 5, 20)}
    as_it_was, cold = answer(chosen), answer({**chosen, **cold_days})
    then = [column(book, season.TABLE, "ripe_then") for book in (as_it_was, cold)]
    now = [column(book, season.TABLE, "ripe_now") for book in (as_it_was, cold)]
    assert then[0] == then[1]
    assert now[0] != now[1]
    assert cold.at("Season", f"B{season.SO_FAR_ROW + 4}") < 0


def test_the_bars_are_the_trees(demo_answers: Answers) -> None:
    bars = season_pictures.bars(DEMO_TREES)
    first_day = demo_answers.day("Season", season_pictures._shared("base").replace("$", ""))
    cuts = [demo_answers.day("Trees", cell("assumed_cut", tag)) for tag in TAGS]
    assert first_day == min(cuts).replace(day=1)
    for row, tag in enumerate(TAGS, start=bars.first_row + 1):  # the first slot is left for the months' names
        assert demo_answers.at("Season", f"{bars.letter('tag')}{row}") == tag
        base, wait, pick = (demo_answers.at("Season", f"{bars.letter(key)}{row}") for key in ("base", "wait", "pick"))
        days = [demo_answers.day("Trees", cell(key, tag)) for key in ("assumed_cut", "pick_first", "pick_last")]
        drawn = [first_day + timedelta(days=int(part)) for part in (base, base + wait, base + wait + pick)]
        if not isinstance(demo_answers.day("Trees", cell("first_ripe", tag)), date):
            days[2] = days[1]  # no bar of picking for a tree that will have none
        assert drawn == days, tag


def test_a_hundred_trees_are_drawn_thirty_to_a_picture(blank_path: Path) -> None:
    first = trees.table(READY_TREES).first_row
    book = Answers(blank_path, {("Trees", f"A{first + line}"): f"T-{line + 1}" for line in range(READY_TREES)})
    bars = season_pictures.bars(READY_TREES)
    rows = [book.at("Season", f"{bars.letter('tag')}{row}") for row in range(bars.first_row, bars.last_row + 1)]
    pictures = [rows[start : start + DRAWN + 1] for start in range(0, len(rows), DRAWN + 1)]
    assert len(pictures) == 4
    assert {picture[0] for picture in pictures} == {""}
    tags = [f"T-{line + 1}" for line in range(READY_TREES)]
    assert [tag for picture in pictures for tag in picture[1:] if tag] == tags


def months(book: Answers) -> list[tuple[Any, date]]:
    """Return the names that stand beside the bars, and the days at which they stand."""
    bars = season_pictures.ACROSS
    start = book.day("Season", season_pictures._shared("base").replace("$", ""))
    found = []
    for number in range(season_pictures._MONTHS):
        letter = bars.letter(f"month_{number}")
        days = {book.at("Season", f"{letter}{row}") for row in (bars.first_row, bars.last_row)}
        assert len(days) == 1
        found.append((book.at("Season", f"{letter}{bars.heading_row}"), start + timedelta(days=int(days.pop()))))
    return found


def test_the_months_beside_the_bars_are_those_of_the_season(demo_answers: Answers, answer: Typed) -> None:
    written = [(name, day) for name, day in months(demo_answers) if name != " "]
    assert [name for name, _ in written] == [f"1 {name}" for name in ("Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")]
    assert [day for _, day in written] == [date(2026, month, 1) for month in range(6, 13)]
    # Another year, another half of the world: the picture moves with the cells.
    southern = answer({
        setting("Hemisphere"): "south", setting("Season_year"): 2025, setting("Day_today"): datetime(2024, 12, 1),
        setting("Container_from"): None, setting("Ground_from"): None,
        **{("Trees", cell(key, tag)): None for tag in TAGS for key in ("cut_on", "counted_on", "leaves")},
    })  # fmt: skip
    written = [(name, day) for name, day in months(southern) if name != " "]
    assert written[0] == ("1 Dec", date(2024, 12, 1))
    assert all((name, day.day) == (f"1 {day:%b}", 1) for name, day in written)


def test_past_seasons_lie_around_the_middle_one(demo_answers: Answers) -> None:
    least, middle, most = (column(demo_answers, season_pictures.HEAT, key) for key in ("least", "middle", "most"))
    assert len(middle) == season_pictures.HEAT.rows
    assert all(low <= mid <= high for low, mid, high in zip(least, middle, most))
    assert least[-1] < middle[-1] < most[-1]


def test_blank_sheets_of_the_year_stay_blank(blank_path: Path) -> None:
    answers = Answers(blank_path)
    lists = (rounds.table(READY_TREES), rounds.visits(READY_TREES))
    for table in (season.TABLE, picking.TABLE, picking.SPREAD, flush.TABLE, log.TABLE, *lists):
        for one in table.columns:
            if one.formula and not (table is season.TABLE and one.key == "kind"):
                assert not column(answers, table, one.key), f"{table.sheet} {one.heading}"


# -- later flush, winter ---------------------------------------------------------------------------------------


def test_a_later_flush_is_dated_or_the_season_said_to_be_too_short(demo_answers: Answers, climate: Any) -> None:  # noqa: F811
    for row, line in enumerate(HARD_CUTS, start=flush.TABLE.first_row):
        here = at_position(climate, line["position"])
        words = demo_answers.at(flush.SHEET, f"{flush.TABLE.letter('says')}{row}")
        first = demo_answers.day(flush.SHEET, f"{flush.TABLE.letter('first')}{row}")
        window = sheetfuncs.later_flush_window.declaration.in_cell([here_text(here), to_serial(line["cut_on"])])
        if isinstance(window, str):
            assert first == ""
            assert window.startswith("Check: season too short")
            assert words == "The season is too short for it."
        else:
            assert first == window[0][0]
            assert words.endswith("ripens." if isinstance(window[0][2], date) else "do not.")
    says = column(demo_answers, flush.TABLE, "says")
    assert len({line[:6] for line in says}) == 3


def test_winter_asks_the_functions_with_the_limits_typed(answer: Typed, demo_answers: Answers, climate: Any) -> None:  # noqa: F811
    hollow = at_position(climate, "hollow")
    [row] = [
        row for row in range(positions.TABLE.first_row, positions.TABLE.last_row)
        if demo_answers.at("Positions", f"A{row}") == "hollow"
    ]  # fmt: skip

    def day(book: Answers, key: str) -> Any:
        return book.day("Positions", f"{positions.TABLE.letter(key)}{row}")

    assert day(demo_answers, "shelter") == sheetfuncs.shelter_by(hollow, 2026)
    assert day(demo_answers, "wrap") == sheetfuncs.shelter_by(hollow, 2026, -6)
    assert day(demo_answers, "outside") == sheetfuncs.safe_outside_from(hollow, 2027)
    assert day(demo_answers, "cuttings") == sheetfuncs.root_cuttings_by(hollow, 2026)
    limits = positions.LIMITS
    low, chance = (("Positions", f"{limits.typed}{limits.row_of(name)}") for name in ("Shelter_limit", "Winter_chance"))
    other = answer({low: -2, chance: 0.3})
    assert day(other, "shelter") == sheetfuncs.shelter_by(hollow, 2026, -2, 0.3)
    rare = answer({low: -40})
    assert day(rare, "shelter") == "rarer"
