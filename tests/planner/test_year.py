"""The sheets of the year: rounds, season, picking, later flush, winter, log; and what guards and draws them."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any, Callable

import pytest

import sheetfuncs
from sheetfuncs.cells.climates import CLIMATES
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.planner.build import DEMO_TREES
from sheetfuncs.planner.invented import TODAY, TREES, demo_contents
from sheetfuncs.planner.sheets import (
    picking,
    rounds,
    season_pictures,
    trees,
)
from sheetfuncs.planner.sheets.layout import Table

from .conftest import Answers
from .test_answers import at_position, cell, climate, learned, setting  # noqa: F401 - climate is a fixture

TABLE = trees.table(DEMO_TREES)
DRAWN = season_pictures.TREES_DRAWN
LIST, VISITS = rounds.table(DEMO_TREES), rounds.visits(DEMO_TREES)
Typed = Callable[[dict], Answers]
TAGS = [tree["tag"] for tree in TREES]


def here_text(climate: Any) -> str:  # noqa: F811
    """Return a climate as a cell holds it."""
    return CLIMATES.put(climate)


def column(answers: Answers, table: Table, key: str) -> list[Any]:
    """Return a column's answers that are not blank."""
    letter = table.letter(key)
    cells = (answers.at(table.sheet, f"{letter}{row}") for row in range(table.first_row, table.last_row + 1))
    return [value for value in cells if value not in ("", None)]


def at_midnight(day: date) -> datetime:
    return datetime.combine(day, datetime.min.time())


# -- rounds ----------------------------------------------------------------------------------------------------


def test_the_rounds_reach_every_tree_between_ready_and_its_last_date(demo_answers: Answers) -> None:
    visited = {tag: day for tag, day, done in in_list(demo_answers) if done == "☐"}
    for tree in TREES:
        ready, latest = (demo_answers.at("Trees", cell(key, tree["tag"])) for key in ("ready_from", "latest"))
        in_time = not tree["cut_on"] and max(ready, to_serial(TODAY)) <= latest
        assert (tree["tag"] in visited) is in_time, tree["tag"]
        if in_time:
            assert ready <= visited[tree["tag"]] <= latest


def in_list(answers: Answers) -> list[tuple[str, float, str]]:
    """Return the list's tags, days and ticks."""
    return list(zip(*(column(answers, LIST, key) for key in ("tag", "day", "done"))))


def test_a_cut_that_is_typed_is_ticked_at_the_end_of_the_list(demo_answers: Answers) -> None:
    listed = in_list(demo_answers)
    done = {tag for tag, _, tick in listed if tick == "✓"}
    assert done == {tree["tag"] for tree in TREES if tree["cut_on"]}
    assert [tick for _, _, tick in listed] == ["☐"] * (len(listed) - len(done)) + ["✓"] * len(done)


def test_a_cut_typed_on_trees_ticks_the_tree_off_and_takes_it_out_of_the_visits(
    demo_answers: Answers, answer: Typed
) -> None:
    before = in_list(demo_answers)
    tag, _, tick = before[0]
    assert tick == "☐"
    book = answer({("Trees", cell("cut_on", tag)): at_midnight(TODAY)})
    assert (tag, to_serial(TODAY), "✓") in in_list(book)
    assert not book.at("Trees", cell("visit", tag))
    [trees_then, trees_now] = ([one for one, _, tick in in_list(of) if tick == "☐"] for of in (demo_answers, book))
    assert sorted(trees_now) == sorted(set(trees_then) - {tag})
    assert sum(column(book, VISITS, "trees")) == len(trees_now)


def test_the_rounds_are_those_of_the_function(demo_answers: Answers, answer: Typed) -> None:
    ready, by, minutes = (
        [demo_answers.at("Trees", cell(key, tag)) for tag in TAGS] for key in ("round_from", "round_by", "minutes_used")
    )
    planned = sheetfuncs.prune_rounds(ready, by, minutes, 240)
    assert any(planned)
    assert [demo_answers.day("Trees", cell("visit", tag)) or None for tag in TAGS] == planned
    kept, weekend = (answer({("Rounds", f"E{rounds.TIME.row_of(name)}"): typed}) for name, typed in (
        ("Days_in_hand", 0), ("Work_days", "Sat Sun")))  # fmt: skip
    assert [kept.day("Trees", cell("visit", tag)) or None for tag in TAGS] == sheetfuncs.prune_rounds(
        ready, by, minutes, 240, 0
    )
    days = [weekend.day("Trees", cell("visit", tag)) for tag in TAGS]
    assert {day.weekday() for day in days if isinstance(day, date)} == {5, 6}


def test_the_list_is_in_the_order_of_the_visits_and_the_visits_add_up(demo_answers: Answers) -> None:
    listed = [(tag, day) for tag, day, done in in_list(demo_answers) if done == "☐"]
    days = [day for _, day in listed]
    assert days == sorted(days)
    visits = column(demo_answers, VISITS, "day")
    assert visits == sorted(set(days))
    assert column(demo_answers, VISITS, "trees") == [days.count(day) for day in visits]
    assert column(demo_answers, LIST, "number")[: len(days)] == [visits.index(day) + 1 for day in days]
    minutes = {tree["tag"]: tree["minutes"] or 15 for tree in TREES}
    cut = [(day, tag) for tag, day in listed]
    together = [sum(minutes[tag] for on, tag in cut if on == day) for day in visits]
    assert column(demo_answers, VISITS, "minutes") == together
    for day, earliest in zip(visits, column(demo_answers, VISITS, "earliest")):
        ready = [demo_answers.at("Trees", cell("round_from", tag)) for on, tag in cut if on == day]
        assert earliest == max(ready)


def test_a_limit_that_is_too_tight_names_the_trees_without_a_day(answer: Typed) -> None:
    first = rounds.TIME.lines.index(next(one for one in rounds.TIME.lines if one.name == "Minutes_a_day"))
    # P-14 and G-10 both have their last date on 2 July, and one tree fills the day.
    book = answer({("Rounds", f"D{6 + first}"): 25, setting("Day_today"): datetime(2026, 7, 2)})
    left = [tag for tag in TAGS if str(book.at("Trees", cell("visit", tag))).startswith("Check: could not")]
    assert left
    assert not set(left) & set(column(book, LIST, "tag"))
    assert book.at("Rounds", f"E{rounds.COUNTS_ROW + 2}") == len(left)


def test_the_list_says_above_which_node_to_cut(demo_answers: Answers) -> None:
    letter, tag = LIST.letter("node"), LIST.letter("tag")
    rows = [row for row in range(LIST.first_row, LIST.last_row + 1) if demo_answers.at("Rounds", f"{tag}{row}")]
    for row in rows:
        listed = demo_answers.at("Rounds", f"{tag}{row}")
        assert demo_answers.at("Rounds", f"{letter}{row}") == demo_answers.at("Trees", cell("node", listed))
    assert any(demo_answers.at("Rounds", f"{letter}{row}") for row in rows)


def test_a_tree_without_buds_is_looked_at_before_its_cut(demo_answers: Answers) -> None:
    what = dict(zip(column(demo_answers, LIST, "tag"), column(demo_answers, LIST, "what")))
    assert what["P-13"].startswith("look for fig buds")
    assert what["P-12"] == "cut"


# -- picking ---------------------------------------------------------------------------------------------------


def test_picked_and_lost_are_the_crop(demo_answers: Answers) -> None:
    hung, picked, lost = (demo_answers.at("Picking", f"B{picking.SUMS_ROW + row}") for row in range(3))
    crops, ripens = (
        sum(demo_answers.at("Trees", cell(key, tag)) for tag in TAGS) for key in ("crop", "ripens")
    )
    assert hung == pytest.approx(crops)
    assert picked == pytest.approx(sum(column(demo_answers, picking.TABLE, "kilograms"))) == pytest.approx(ripens)
    assert picked + lost == pytest.approx(hung)
    assert 0 < lost < hung
    assert column(demo_answers, picking.TABLE, "so_far")[-1] == pytest.approx(picked)


def test_the_weeks_begin_on_mondays_and_cover_the_picking(demo_answers: Answers) -> None:
    weeks = [date(1899, 12, 30) + timedelta(days=int(week)) for week in column(demo_answers, picking.TABLE, "week")]
    assert {week.weekday() for week in weeks} == {0}
    first = min(demo_answers.day("Trees", cell("pick_first", tag)) for tag in TAGS)
    last = max(demo_answers.day("Trees", cell("pick_last", tag)) for tag in TAGS)
    assert weeks[0] <= first < weeks[0] + timedelta(days=7)
    assert weeks[-1] <= last < weeks[-1] + timedelta(days=7)


def test_less_ripens_and_more_is_lost_with_an_early_frost(answer: Typed, demo_answers: Answers) -> None:
    early = answer({setting("Frost_one_date"): datetime(2026, 9, 20)})
    lost = [book.at("Picking", f"B{picking.SUMS_ROW + 2}") for book in (demo_answers, early)]
    assert lost[1] > lost[0] * 1.3


def in_spread(answers: Answers, key: str) -> list[Any]:
    """Return a column of the spread, for the trees chosen in the demonstration and one row more."""
    first = picking.SPREAD.first_row
    return [answers.day("Picking", f"{picking.SPREAD.letter(key)}{row}") for row in range(first, first + 4)]


def test_the_picking_is_spread_as_the_function_says(demo_answers: Answers, climate: Any) -> None:  # noqa: F811
    here = at_position(climate, "south wall")
    needs = [demo_answers.at("Trees", cell("need", tag)) for tag in demo_contents().spread]
    last = [demo_answers.day("Trees", cell("latest", tag)) for tag in demo_contents().spread]
    planned = sheetfuncs.spread_cuts(here, needs, "2026-06-29", min(last), need_spread=0.12)
    assert in_spread(demo_answers, "cut") == [*planned, ""]
    ripe = [sheetfuncs.ripen_window(here, cut, need, 0, need_spread=0.12)[0] for cut, need in zip(planned, needs)]
    assert in_spread(demo_answers, "ripe") == [*ripe, ""]
    gaps = [(later - day).days for day, later in zip(sorted(ripe), sorted(ripe)[1:])]
    assert max(gaps) - min(gaps) <= 2
    assert in_spread(demo_answers, "says") == ["", "", "", ""]


def test_what_cannot_be_spread_is_left_out_and_says_why(answer: Typed, demo_answers: Answers) -> None:
    first = picking.SPREAD.first_row
    book = answer({
        ("Picking", f"A{first + row}"): tag for row, tag in enumerate(("P-12", "P-99", "P-01", "G-01"), start=3)
    })  # fmt: skip
    says = [book.at("Picking", f"{picking.SPREAD.letter('says')}{first + row}") for row in range(3, 7)]
    assert says == [
        "stands at open, left out", "Check: tree is not on the sheet Trees", "cut already, left out", "",
    ]  # fmt: skip
    # The last one is there twice now: it takes a date of its own.
    assert len({*in_spread(book, "cut")[:3], book.day("Picking", f"{picking.SPREAD.letter('cut')}{first + 6}")}) == 4


def test_typed_days_bound_the_spread_and_a_bold_one_is_said(answer: Typed) -> None:
    row = picking.SPREADING.row
    book = answer({
        ("Picking", f"B{row + 2}"): datetime(2026, 6, 20), ("Picking", f"B{row + 3}"): datetime(2026, 7, 20),
    })  # fmt: skip
    cuts = [cut for cut in in_spread(book, "cut") if cut]
    assert date(2026, 6, 20) == min(cuts) < date(2026, 7, 12) < max(cuts) <= date(2026, 7, 20)
    says = in_spread(book, "says")
    assert "earlier than it is ready, see Trees" in says
    assert "after its last cut date: bolder than the chance you want" in says
    wrong = answer({("Picking", f"B{row + 3}"): datetime(2026, 6, 1)})
    assert in_spread(wrong, "says")[0].startswith("Check: latest is 2026-06-01")
