"""Left-over dates, figs that were seen, another unit, monthly means: what the filled workbook makes of them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pytest

import sheetfuncs
from sheetfuncs.planner.invented import TODAY, TREES, demo_weather
from sheetfuncs.planner.sheets import place, positions

from .conftest import Answers
from .test_answers import TABLE, Typed, advice, at_position, cell, setting


@pytest.fixture(scope="module")
def climate() -> Any:
    return sheetfuncs.climate_of([list(row) for row in demo_weather()])


def test_a_row_with_a_tag_and_no_formulas_is_pointed_out(answer: Typed, demo_answers: Answers) -> None:
    assert demo_answers.at("Trees", "A4") == "Trees that say Check: 0"
    row = TABLE.first_row + len(TREES)
    inserted = {("Trees", f"{TABLE.letter(column.key)}{row}"): None for column in TABLE.columns if column.formula}
    assert answer({("Trees", f"A{row}"): "new", **inserted}).at("Trees", "A4").startswith("Mind: a row has a tag")


@pytest.mark.parametrize(("typed", "line"), [(80, "80"), ("bold", '"bold"'), (0, "0")])
def test_a_chance_that_is_none_is_no_verdict_on_a_tree(answer: Typed, typed: Any, line: str) -> None:
    book = answer({setting("Chance_wanted"): typed})
    assert {advice(book, tree["tag"]) for tree in TREES} == {"see Place"}
    assert book.at("Place", f"C{place.ROWS['Chance_wanted']}").startswith(f"Check: Chance you want is {line}, ")


def test_the_season_is_this_year_s_and_today_the_computer_s(answer: Typed) -> None:
    book = answer({setting("Season_year"): None, setting("Day_today"): None})
    assert book.at("Place", f"C{place.ROWS['Season_year']}") == 2026
    assert book.day("Place", f"C{place.ROWS['Day_today']}") == TODAY
    assert advice(book, "P-01").startswith("Cut on 17 Jun: figs should show by 27 Jun.")
    southern = answer({setting("Season_year"): None, setting("Day_today"): datetime(2026, 12, 1),
                       setting("Hemisphere"): "south"})  # fmt: skip
    assert southern.at("Place", f"C{place.ROWS['Season_year']}") == 2027
    over = answer({setting("Season_year"): 2024, setting("Day_today"): None})
    assert over.at("Place", "A4").startswith("Mind: season 2024 is over.")
    wrong = answer({setting("Season_year"): "soon"})
    assert advice(wrong, "P-01") == "see Place and Weather"
    assert wrong.at("Place", f"C{place.ROWS['Season_year']}").startswith('Check: Season is "soon", wanted a year')


def test_a_date_left_over_from_another_season_is_said(answer: Typed) -> None:
    book = answer({setting("Container_from"): datetime(2024, 6, 15), setting("Day_today"): datetime(2024, 6, 15)})
    assert advice(book, "P-12") == "see Place"
    first = book.at("Place", f"C{place.ROWS['Container_from']}")
    assert first == "Check: the first date for containers lies outside the season"
    assert book.at("Place", f"C{place.ROWS['Day_today']}") == "Check: today lies outside the season"
    assert book.at("Place", f"D{place.ROWS['Day_today']}") == "today lies outside the season"


def test_usual_first_dates_are_hints_and_typed_ones_bans(answer: Typed, climate: Any) -> None:
    april = {setting("Day_today"): datetime(2026, 4, 10), setting("Ground_from"): None}
    book = answer(april)
    days = [book.day("Place", f"C{place.ROWS[name]}") for name in ("Container_from", "Ground_from")]
    assert days == [sheetfuncs.usual_cut_from(climate, 2026), sheetfuncs.usual_cut_from(climate, 2026, 109)]
    assert book.day("Trees", cell("assumed_cut", "G-01")) == days[1]
    assert book.at("Trees", cell("counted_from", "G-01")) == "the usual date"
    # In June the ground's usual date is still to come, and nothing forbids a cut.
    assert not advice(answer({setting("Ground_from"): None}), "G-07").startswith(("Not this year", "Wait"))
    banned = answer({setting("Ground_from"): datetime(2026, 7, 20)})
    assert advice(banned, "G-07").startswith("Not this year: not before 20 Jul")


def test_figs_that_were_seen_count_from_their_day(answer: Typed, climate: Any) -> None:
    """With a cut or without one: what is seen replaces the cut and its lag in every answer of the tree."""
    book = answer({("Trees", cell("seen_on", tag)): datetime(2026, 6, 22) for tag in ("P-02", "P-12")})
    for tag, position in (("P-02", "south wall"), ("P-12", "open")):
        here = at_position(climate, position)
        chance = sheetfuncs.ripen_chance(here, "2026-06-22", 1150, 0)
        assert book.at("Trees", cell("chance", tag)) == pytest.approx(chance)
        first = sheetfuncs.ripen_window(here, "2026-06-22", 1150, lag_days=0)[0]
        assert book.day("Trees", cell("first_ripe", tag)) == first
        share = sheetfuncs.crop_ripe_share(here, "2026-06-22", 1150, lag_days=0)
        assert book.at("Trees", cell("share", tag)) == pytest.approx(share)
        assert book.day("Trees", cell("pick_first", tag)) == first


def test_a_record_in_fahrenheit_gives_the_same_dates(answer: Typed, demo_answers: Answers) -> None:
    cells: dict = {setting("Unit"): "F"}
    for row, (_, low, high) in enumerate(demo_weather(), start=9):
        cells["Weather", f"B{row}"] = low * 1.8 + 32
        cells["Weather", f"C{row}"] = high * 1.8 + 32
    for line, (key, value) in (("south wall", ("own_high", 2.7)), ("south wall", ("own_low", 3.6))):
        row = positions.TABLE.first_row + [one["name"] for one in positions.STANDING].index(line)
        cells["Positions", f"{positions.TABLE.letter(key)}{row}"] = value
    book = answer(cells)
    for tag in ("P-01", "P-03", "P-08", "P-12", "P-14", "G-04"):  # table needs, table and own positions
        assert book.day("Trees", cell("latest", tag)) == demo_answers.day("Trees", cell("latest", tag)), tag


def test_monthly_means_with_a_typed_frost_date(answer: Typed) -> None:
    cells: dict = {setting("Weather_in_use"): "monthly"}
    cells[setting("Frost_one_date")] = datetime(2026, 10, 20)
    means = {}
    for day, low, high in demo_weather():
        means.setdefault(day.month, []).append((low, high))
    for month, pairs in means.items():
        cells["Weather", f"G{8 + month}"] = sum(low for low, _ in pairs) / len(pairs)
        cells["Weather", f"H{8 + month}"] = sum(high for _, high in pairs) / len(pairs)
    book = answer(cells)
    assert book.at("Place", f"B{place.LAST_ROW - 7}").startswith("12 monthly normals")
    assert date(2026, 6, 10) < book.day("Trees", cell("latest", "P-12")) < date(2026, 7, 15)


def test_needs_of_the_table_with_other_rules_are_pointed_out(answer: Typed) -> None:
    assert answer({}).at("Varieties", "A4") == ""
    assert answer({setting("Heat_base"): 10}).at("Varieties", "A4").startswith("Mind:")
    assert answer({setting("Heat_method"): "average"}).at("Varieties", "A4").startswith("Mind:")
