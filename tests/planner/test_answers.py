"""What the sheets answer is what the functions say, and what the user is told is true."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, Callable

import pytest

import sheetfuncs
from sheetfuncs.planner.build import DEMO_TREES
from sheetfuncs.planner.invented import LOG, TODAY, TREES, demo_contents, demo_weather
from sheetfuncs.planner.sheets import kinds, place, positions, trees
from sheetfuncs.planner.sheets.layout import Role

from .conftest import Answers

TABLE = trees.table(DEMO_TREES)
WORKING = {column.key for column in TABLE.columns if column.role is Role.WORKING}
Typed = Callable[[dict], Answers]


def cell(key: str, tag: str) -> str:
    row = TABLE.first_row + [tree["tag"] for tree in TREES].index(tag)
    return f"{TABLE.letter(key)}{row}"


def setting(name: str) -> tuple[str, str]:
    return place.NAME, f"B{place.ROWS[name]}"


def advice(answers: Answers, tag: str) -> str:
    return answers.at("Trees", cell("advice", tag))


def blanks(answers: Answers, first: int, last: int) -> set:
    return {
        answers.at("Trees", f"{TABLE.letter(column.key)}{row}")
        for column in TABLE.columns
        if column.formula
        for row in range(first, last + 1)
    }


def test_a_blank_workbook_asks_for_the_season_and_nothing_else(blank_path: Path) -> None:
    answers = Answers(blank_path)
    assert blanks(answers, TABLE.first_row, trees.table(200).last_row) == {""}
    said = [answers.at("Place", f"{letter}{row}") for letter in "BC" for row in range(6, place.LAST_ROW + 1)]
    assert [line for line in said if str(line).startswith(("Check:", "#"))] == [
        "Check: season is blank, wanted the year of its autumn, such as 2026"
    ]
    for table in (positions.TABLE, kinds.TABLE):
        for column in table.columns:
            if column.formula:
                for row in range(table.first_row + 5, table.last_row + 1):
                    assert answers.at(table.sheet, f"{table.letter(column.key)}{row}") == ""


def test_rows_without_a_tag_stay_blank(demo_answers: Answers) -> None:
    assert blanks(demo_answers, TABLE.first_row + len(TREES), TABLE.last_row) == {""}


@pytest.fixture(scope="module")
def climate() -> Any:
    return sheetfuncs.climate_of([list(row) for row in demo_weather()])


def at_position(climate: Any, position: str) -> Any:
    standing = {line["name"]: line for line in positions.STANDING}[position]
    own = demo_contents().positions.get(position, {})
    return sheetfuncs.climate_at(
        climate, own.get("own_high", standing.get("high", 0)), own.get("own_low", standing.get("low", 0))
    )


def learned(climate: Any, kind: str, position: str | None, table_need: float) -> tuple:
    """Return what the log teaches, asked of the function with the lines picked here; at one position, or at all."""
    lines = [line for line in LOG if line["kind"] == kind and position in (None, line["position"])]
    dates = ([line[key] for line in lines] for key in ("cut_on", "seen_on", "first_ripe"))
    return sheetfuncs.learned_heat_need(
        [at_position(climate, line["position"]) for line in lines], *dates, table_need
    )


@pytest.fixture(scope="module")
def needs(climate: Any) -> Callable[[str, str], float]:
    """Return what gives the heat need in use for a kind of the demonstration at a position."""

    def need(kind: str, position: str) -> float:
        if kind != "middle":
            return {"early": 1150, "late": 1450, "early, own log": 1040}[kind]
        logged = any((line["kind"], line["position"]) == (kind, position) for line in LOG)
        return learned(climate, kind, position if logged else None, 1300)[0]

    return need


@pytest.mark.parametrize("tree", TREES, ids=lambda tree: tree["tag"])
def test_every_tree_s_answers_are_the_functions_own(
    tree: dict, climate: Any, needs: Callable, demo_answers: Answers
) -> None:
    contents = demo_contents()
    here = at_position(climate, tree["position"])
    need = needs(tree["kind"], tree["position"])
    first_date = contents.settings["Container_from" if tree["footing"] == "container" else "Ground_from"]
    ready = sheetfuncs.ready_to_prune_from(tree["counted_on"], tree["leaves"]) if tree["leaves"] else None
    ready_from = max(first_date, ready or first_date)
    cut = tree["cut_on"] or max(ready_from, TODAY)
    latest = sheetfuncs.latest_prune_date(here, 2026, need, 0.7)
    tag = tree["tag"]
    assert demo_answers.day("Trees", cell("latest", tag)) == latest
    assert demo_answers.day("Trees", cell("reckoned", tag)) == cut
    assert demo_answers.at("Trees", cell("spare", tag)) == (latest - cut).days
    assert demo_answers.at("Trees", cell("chance", tag)) == pytest.approx(sheetfuncs.ripen_chance(here, cut, need))
    assert demo_answers.at("Trees", cell("share", tag)) == pytest.approx(sheetfuncs.crop_ripe_share(here, cut, need))
    window = sheetfuncs.ripen_window(here, cut, need)
    for key, day in zip(("first_ripe", "middle_ripe", "last_ripe"), window):
        assert demo_answers.day("Trees", cell(key, tag)) == (day if isinstance(day, date) else "too late")
    expected = "leaves enough" if ready_from > first_date else "its first date"
    expected = "the cut" if tree["cut_on"] else "today" if ready_from <= TODAY else expected
    assert demo_answers.at("Trees", cell("counted_from", tag)) == expected
    said = sheetfuncs.prune_advice(
        TODAY, ready or first_date, latest, tree["buds"], tree["cut_on"], here, need, not_before=first_date
    )
    assert advice(demo_answers, tag) == said
    node = demo_answers.at("Trees", cell("node", tag))
    if tree["cut_on"] or not tree["leaves"] or said.startswith(("Not this year", "Too late")):
        assert node == ""
    else:
        figs_by = latest + timedelta(days=10)
        assert node == sheetfuncs.prune_node(tree["counted_on"], tree["leaves"], figs_by, cut_date=cut)
    crop = sheetfuncs.crop_weight(tree["shoots"], tree["figs"] or 10, 45, 0.9)
    assert demo_answers.at("Trees", cell("crop", tag)) == pytest.approx(crop)
    ripens, lost = (demo_answers.at("Trees", cell(key, tag)) for key in ("ripens", "lost"))
    assert ripens == pytest.approx(crop * sheetfuncs.crop_ripe_share(here, cut, need))
    assert ripens + lost == pytest.approx(crop)


def test_the_demonstration_shows_every_kind_of_outcome(demo_answers: Answers) -> None:
    said = {advice(demo_answers, tree["tag"]) for tree in TREES}
    for start in ("Cut on", "Cut by", "Cut now", "No fig buds", "Not this year", "Too late", "Wait", "Too few leaves"):
        assert any(line.startswith(start) for line in said), start
    assert not any(line.startswith(("Check", "#")) for line in said)


def test_start_counts_what_the_trees_say(demo_answers: Answers) -> None:
    lines = {demo_answers.at("Start", f"A{row}"): demo_answers.at("Start", f"B{row}") for row in range(5, 24)}
    assert lines["Are the functions loaded?"] == "Yes, they answer."
    assert lines["Trees listed"] == len(TREES)
    assert lines["Cut"] == sum(tree["cut_on"] is not None for tree in TREES)
    late = [tree for tree in TREES if advice(demo_answers, tree["tag"]).startswith(("Late", "Too late"))]
    assert lines["Late"] == len(late) > 0
    for name in ("Place", "Positions", "Kinds", "Trees", "Rounds"):
        assert lines[f"Lines that say Check: on {name}"] == 0


def test_no_cell_of_the_filled_workbook_is_an_error(demo: Any, demo_answers: Answers) -> None:
    for sheet in demo:
        for row in sheet.iter_rows():
            for one in row:
                if isinstance(one.value, str) and one.value.startswith("="):
                    value = demo_answers.at(sheet.title, one.coordinate)
                    assert not str(value).startswith(("#", "Check:")), f"{sheet.title}!{one.coordinate}: {value}"


def test_changing_one_typed_frost_date_moves_every_tree(answer: Typed) -> None:
    typed = {setting("Frost_source"): "typed", setting("Stall_at"): "off"}
    early = answer({**typed, setting("Frost_one_date"): datetime(2026, 10, 5)})
    late = answer({**typed, setting("Frost_one_date"): datetime(2026, 10, 25)})
    for tree in TREES:
        before, after = (book.day("Trees", cell("latest", tree["tag"])) for book in (early, late))
        assert after > before, tree["tag"]


def test_typed_rows_of_chance_and_date_are_used(answer: Typed) -> None:
    first = place.ROWS["Frost_one_date"] + 1
    book = answer({
        setting("Frost_source"): "typed",
        ("Place", f"B{first}"): 0.1, ("Place", f"C{first}"): datetime(2026, 9, 20),
        ("Place", f"B{first + 1}"): 0.5, ("Place", f"C{first + 1}"): datetime(2026, 10, 2),
        ("Place", f"B{first + 2}"): 0.9, ("Place", f"C{first + 2}"): datetime(2026, 10, 14),
    })  # fmt: skip
    row = place.LAST_ROW - 2
    assert book.day("Place", f"C{row}") == date(2026, 10, 2)
    assert book.day("Place", f"C{row - 1}") != date(2026, 10, 2)


def test_typed_dates_that_are_not_in_use_are_pointed_out(answer: Typed) -> None:
    book = answer({setting("Frost_one_date"): datetime(2026, 10, 5)})
    assert "not" not in str(book.at("Place", f"C{place.ROWS['Frost_source']}"))
    assert book.at("Place", f"A{place.ROWS['Frost_one_date'] + place.FROST_ROWS + 1}").startswith("Mind:")


def test_typed_without_a_date_is_a_check(answer: Typed) -> None:
    book = answer({setting("Frost_source"): "typed"})
    assert advice(book, "P-01") == "Check: frost dates are to be typed, but none is there"


@pytest.mark.parametrize(
    ("key", "typed", "line"),
    [
        ("kind", None, "Check: kind is blank, wanted one from the sheet Kinds"),
        ("kind", "purple", "Check: kind is not on the sheet Kinds"),
        ("position", None, "Check: position is blank, wanted one from the sheet Positions"),
        ("position", "roof", "Check: position is not on the sheet Positions"),
        ("footing", None, "Check: footing is blank, wanted container or ground"),
        ("footing", "pot", "Check: footing is not container or ground"),
    ],
)
def test_a_wrong_choice_is_one_clear_line_and_counted(answer: Typed, key: str, typed: Any, line: str) -> None:
    book = answer({("Trees", cell(key, "G-01")): typed})
    assert advice(book, "G-01") == line
    assert book.at("Trees", "A4") == "Trees that say Check: 1"
    row = {column.key: str(book.at("Trees", cell(column.key, "G-01"))) for column in TABLE.columns if column.formula}
    assert not any(value.startswith("#") for value in row.values())
    said = [name for name, value in row.items() if value.startswith("Check:") and name not in WORKING]
    assert said == ["advice"]


def test_a_cut_date_that_is_no_date_is_a_check(answer: Typed) -> None:
    book = answer({("Trees", cell("cut_on", "G-01")): "soonish"})
    assert advice(book, "G-01") == "Check: cut on is soonish, wanted a date"


def test_without_a_season_every_tree_says_so(answer: Typed) -> None:
    book = answer({setting("Season_year"): None})
    assert advice(book, "P-01") == "Check: season is blank, wanted the year of its autumn, such as 2026"


def test_a_date_left_over_from_another_season_is_told(answer: Typed) -> None:
    book = answer({setting("Container_from"): datetime(2024, 6, 15), setting("Day_today"): datetime(2024, 6, 15)})
    assert advice(book, "P-12") == "Check: the first date for containers lies outside the season"
    assert book.at("Place", f"C{place.ROWS['Day_today']}") == "Check: today lies outside the season"
    assert book.at("Place", f"D{place.ROWS['Day_today']}") == "today lies outside the season"


def test_without_today_trees_are_reckoned_from_their_first_date(answer: Typed) -> None:
    book = answer({setting("Day_today"): None})
    assert book.day("Trees", cell("reckoned", "P-12")) == date(2026, 6, 20)
    assert book.at("Trees", cell("counted_from", "P-12")) == "leaves enough"
    assert advice(book, "P-12") == "Cut by 28 Jun, 8 days to spare."


def test_usual_first_dates_are_the_first_of_july_and_two_weeks_later(answer: Typed) -> None:
    book = answer({setting("Container_from"): None, setting("Ground_from"): None})
    assert book.day("Place", f"C{place.ROWS['Container_from']}") == date(2026, 7, 1)
    assert book.day("Place", f"C{place.ROWS['Ground_from']}") == date(2026, 7, 15)
    southern = answer({setting("Container_from"): None, setting("Ground_from"): None, setting("Hemisphere"): "south"})
    assert southern.day("Place", f"C{place.ROWS['Container_from']}") == date(2026, 1, 1)


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
    cells: dict = {setting("Weather_in_use"): "monthly", setting("Frost_source"): "typed"}
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
    assert answer({}).at("Kinds", "A4") == ""
    assert answer({setting("Heat_base"): 10}).at("Kinds", "A4").startswith("Mind:")
    assert answer({setting("Heat_method"): "average"}).at("Kinds", "A4").startswith("Mind:")
