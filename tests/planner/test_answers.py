"""What the sheets answer is what the functions say, and each line that the user reads is true."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, Callable

import pytest

import sheetfuncs
from sheetfuncs.functions import today
from sheetfuncs.planner.build import DEMO_TREES, READY_TREES
from sheetfuncs.planner.invented import LOG, TODAY, TREES, demo_contents
from sheetfuncs.planner.sheets import place, positions, start, trees
from sheetfuncs.planner.sheets import varieties as kinds

from .conftest import Answers

TABLE = trees.table(DEMO_TREES)
DEMO = demo_contents()
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


def test_a_blank_workbook_asks_for_nothing(blank_path: Path) -> None:
    answers = Answers(blank_path)
    assert blanks(answers, TABLE.first_row, trees.table(READY_TREES).last_row) == {""}
    shown = [answers.at("Place", f"{letter}{row}") for letter in "ABCDF" for row in range(4, place.LAST_ROW + 6)]
    assert not [line for line in shown if str(line).startswith(("Check:", "#"))]
    assert answers.at("Place", f"C{place.ROWS['Season_year']}") == 2026
    assert answers.day("Place", f"C{place.ROWS['Day_today']}") == TODAY
    for table in (positions.TABLE, kinds.TABLE):
        for column in table.columns:
            if column.formula:
                for row in range(table.first_row + 5, table.last_row + 1):
                    assert answers.at(table.sheet, f"{table.letter(column.key)}{row}") == ""


def test_rows_without_a_tag_stay_blank(demo_answers: Answers) -> None:
    assert blanks(demo_answers, TABLE.first_row + len(TREES), TABLE.last_row) == {""}


@pytest.fixture(scope="module")
def climate() -> Any:
    return sheetfuncs.climate_of([list(row) for row in DEMO.weather])


def at_position(climate: Any, position: str) -> Any:
    standing = {line["name"]: line for line in positions.STANDING}[position]
    own = DEMO.positions.get(position, {})
    return sheetfuncs.climate_at(
        climate, own.get("own_high", standing.get("high", 0)), own.get("own_low", standing.get("low", 0))
    )


def learned(climate: Any, kind: str, position: str | None, table_need: float, spread: float = 0.06) -> tuple:
    """Return what the log teaches, by the function from the lines picked by hand; at one position, or at all."""
    lines = [line for line in LOG if line["kind"] == kind and position in (None, line["position"])]
    dates = ([line[key] for line in lines] for key in ("cut_on", "seen_on", "first_ripe"))
    return sheetfuncs.learned_heat_need(
        [at_position(climate, line["position"]) for line in lines], *dates, table_need, need_spread=spread
    )


@pytest.fixture(scope="module")
def needs(climate: Any) -> Callable[[str, str], tuple[float, float]]:
    """Return what gives the heat need in use for a variety of the demonstration at a position, and its spread."""

    def need(kind: str, position: str) -> tuple[float, float]:
        if kind != "middle":
            return {"early": (1150, 0.06), "late": (1450, 0.06), "early, own log": (1040, 0.12)}[kind]
        logged = any((line["kind"], line["position"]) == (kind, position) for line in LOG)
        answer = learned(climate, kind, position if logged else None, 1300)
        return answer[0], answer[4]

    return need


@pytest.mark.parametrize("tree", TREES, ids=lambda tree: tree["tag"])
def test_every_tree_s_answers_are_the_functions_own(
    tree: dict, climate: Any, needs: Callable, demo_answers: Answers
) -> None:
    settings = DEMO.settings
    here = at_position(climate, tree["position"])
    need, spread = needs(tree["kind"], tree["position"])
    in_ground = tree["grown_in"] == "ground"
    ban = settings["Ground_from"] if in_ground else None
    usual = ban or sheetfuncs.usual_cut_from(climate, 2026)
    ready = sheetfuncs.ready_to_prune_from(tree["counted_on"], tree["leaves"]) if tree["leaves"] else None
    latest = sheetfuncs.latest_prune_date(here, 2026, need, 0.7, need_spread=spread)
    assumed = max(TODAY, ready or TODAY, ban or TODAY, min(usual, latest))
    cut = tree["cut_on"] or assumed
    start, lag = (tree["seen_on"], 0) if tree["seen_on"] else (cut, 10)
    tag = tree["tag"]
    at = {one.key: demo_answers.at("Trees", cell(one.key, tag)) for one in TABLE.columns}
    assert demo_answers.day("Trees", cell("latest", tag)) == latest
    assert demo_answers.day("Trees", cell("show_by", tag)) == latest + timedelta(days=10)
    assert demo_answers.day("Trees", cell("assumed_cut", tag)) == cut
    assert at["spare"] == (latest - cut).days
    sooner, later = (
        sheetfuncs.latest_prune_date(here, 2026, need * other, 0.7, need_spread=spread)
        for other in (1 + spread, 1 - spread)
    )
    assert at["give"] == ((later - sooner).days + 1) // 2
    assert sooner < latest < later
    assert at["chance"] == pytest.approx(sheetfuncs.ripen_chance(here, start, need, lag, spread))
    assert at["seasons"] == sheetfuncs.ripen_seasons(here, start, need, lag)
    share = sheetfuncs.crop_ripe_share(here, start, need, lag_days=lag, need_spread=spread)
    assert at["share"] == pytest.approx(share)
    window = sheetfuncs.ripen_window(here, start, need, lag_days=lag, need_spread=spread)
    for key, day in zip(("first_ripe", "middle_ripe", "last_ripe"), window):
        assert demo_answers.day("Trees", cell(key, tag)) == (day if isinstance(day, date) else "too late")
    expected = sheetfuncs.prune_advice(
        TODAY, ready, latest, tree["buds"], tree["cut_on"], here, need, not_before=ban, need_spread=spread,
        usual_from=usual, chance=0.7, figs_seen=tree["seen_on"], grown_in=tree["grown_in"],
    )  # fmt: skip
    assert at["advice"] == expected
    visit = demo_answers.day("Trees", cell("visit", tag))
    if tree["cut_on"] or not tree["leaves"] or expected.startswith(("Not", "Too")):
        assert at["node"] == ""
    else:
        figs_by = latest + timedelta(days=10)
        on = visit if isinstance(visit, date) else cut
        assert at["node"] == sheetfuncs.prune_node(tree["counted_on"], tree["leaves"], figs_by, cut_date=on)
    crop = sheetfuncs.crop_weight(tree["shoots"], tree["figs"] or 10, 45, 0.9)
    assert at["crop"] == pytest.approx(crop)
    assert at["ripens"] == pytest.approx(crop * share)
    assert at["ripens"] + at["lost"] == pytest.approx(crop)


def test_the_demonstration_shows_every_kind_of_outcome(demo_answers: Answers) -> None:
    advices = {advice(demo_answers, tree["tag"]) for tree in TREES}
    for words in ("Cut on", "Cut by", "Cut now", "No fig buds", "Not this year", "Too late", "Wait", "Too few leaves"):
        assert any(line.startswith(words) for line in advices), words
    assert not any(line.startswith(("Check", "#")) for line in advices)


def test_start_says_that_the_functions_are_older_than_the_workbook(
    demo_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(today, "EDITION", today.EDITION - 1)
    assert Answers(demo_path).at("Start", "B7") == start.OLDER


def test_start_counts_what_the_trees_say(demo_answers: Answers) -> None:
    lines = {demo_answers.at("Start", f"A{row}"): demo_answers.at("Start", f"B{row}") for row in range(5, 34)}
    assert lines["Are the functions loaded?"] == "Yes, they answer."
    assert lines["Trees listed"] == len(TREES)
    assert lines["Cut"] == sum(tree["cut_on"] is not None for tree in TREES)
    late = [tree for tree in TREES if advice(demo_answers, tree["tag"]).startswith(("Late", "Too late"))]
    assert lines["Late"] == len(late) > 0
    for name in ("Place", "Positions", "Varieties", "Trees", "Rounds", "What would help", "Log"):
        assert lines[f"Lines that say Check: on {name}"] == 0


def test_no_cell_of_the_filled_workbook_is_an_error(demo: Any, demo_answers: Answers) -> None:
    for sheet in demo:
        for row in sheet.iter_rows():
            for one in row:
                if isinstance(one.value, str) and one.value.startswith("="):
                    value = demo_answers.at(sheet.title, one.coordinate)
                    assert not str(value).startswith(("#", "Check:")), f"{sheet.title}!{one.coordinate}: {value}"


def test_changing_one_typed_frost_date_moves_every_tree(answer: Typed) -> None:
    typed = {setting("Stall_at"): "off"}
    early = answer({**typed, setting("Frost_one_date"): datetime(2026, 10, 5)})
    late = answer({**typed, setting("Frost_one_date"): datetime(2026, 10, 25)})
    for tree in TREES:
        before, after = (book.day("Trees", cell("latest", tree["tag"])) for book in (early, late))
        assert after > before, tree["tag"]


def test_typed_rows_of_chance_and_date_are_used(answer: Typed) -> None:
    first = place.ROWS["Frost_one_date"] + 1
    book = answer({
        ("Place", f"B{first}"): 0.1, ("Place", f"C{first}"): datetime(2026, 9, 20),
        ("Place", f"B{first + 1}"): 0.5, ("Place", f"C{first + 1}"): datetime(2026, 10, 2),
        ("Place", f"B{first + 2}"): 0.9, ("Place", f"C{first + 2}"): datetime(2026, 10, 14),
    })  # fmt: skip
    row = place.LAST_ROW - 2
    assert book.day("Place", f"C{row}") == date(2026, 10, 2)
    assert book.day("Place", f"C{row - 1}") != date(2026, 10, 2)


def says_of_frost(book: Answers) -> str:
    return book.at("Place", f"A{place.ROWS['Frost_one_date'] + place.FROST_ROWS + 1}")


def test_a_typed_frost_date_is_in_use_and_says_what_else_binds(answer: Typed, demo_answers: Answers) -> None:
    assert says_of_frost(demo_answers) == ""
    early = answer({setting("Frost_one_date"): datetime(2026, 10, 5)})
    assert says_of_frost(early) == "Your frost dates are in use."
    assert all(early.day("Trees", cell("latest", tree["tag"])) < demo_answers.day("Trees", cell("latest", tree["tag"]))
               for tree in TREES)  # fmt: skip
    late = answer({setting("Frost_one_date"): datetime(2026, 12, 5)})
    assert says_of_frost(late).startswith("Your frost dates are in use. But weeks too cool end half of the seasons by ")
    first = place.ROWS["Frost_one_date"] + 1
    both = answer({setting("Frost_one_date"): datetime(2026, 10, 5), ("Place", f"B{first}"): 0.1,
                   ("Place", f"C{first}"): datetime(2026, 9, 20)})  # fmt: skip
    assert says_of_frost(both).startswith("Your one date is in use, the rows below it are not.")


def test_a_unit_that_the_record_cannot_have_is_one_line(answer: Typed) -> None:
    wrong = answer({setting("Unit"): "F"})
    line = wrong.at("Place", f"B{place.LAST_ROW - 7}")
    assert line == "Check: the highest high on Weather is 38.8, that is no °F, choose C as the unit"
    checks = [
        wrong.at(sheet, f"{letter}{row}")
        for sheet, letters in (("Place", "BC"), ("Trees", "P"), ("Positions", "DEFGHIJK"))
        for letter in letters
        for row in range(5, 50)
    ]
    assert sum(str(line).startswith("Check:") for line in checks) == 1
    assert advice(wrong, "P-01") == "see Place and Weather"
    warm = {("Weather", f"C{row}"): 95.0 for row in range(9, 12)}
    assert answer(warm).at("Place", f"B{place.LAST_ROW - 7}").startswith("Check: a high of 95 on Weather is no °C")


def test_a_season_too_short_is_named_and_no_fault(answer: Typed) -> None:
    needs_more = "Varieties", f"{kinds.TABLE.letter('own_need')}{kinds.TABLE.first_row}"
    book = answer({needs_more: 2900})
    assert advice(book, "G-01").startswith("Not this year: the year has too little heat. ")
    assert book.at("Trees", cell("last", "G-01")).startswith("no cut in season 2026 ripens figs")
    assert book.at("Trees", cell("latest", "G-01")) == "none"
    lines = {column.key: str(book.at("Trees", cell(column.key, "G-01"))) for column in TABLE.columns}
    assert not [key for key, line in lines.items() if line.startswith(("Check:", "#"))]
