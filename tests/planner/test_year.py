"""The sheets of the year: rounds, season, picking, later flush, winter, log; and what guards and draws them."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, Callable

import openpyxl
import pytest
from openpyxl.utils.cell import range_boundaries

import sheetfuncs
from sheetfuncs.cells.climates import CLIMATES
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.planner.build import DEMO_TREES
from sheetfuncs.planner.invented import HARD_CUTS, LOG, TODAY, TREES, demo_contents, demo_weather
from sheetfuncs.planner.sheets import (
    flush,
    log,
    looking_back,
    picking,
    rounds,
    season,
    season_pictures,
    trees,
    weather,
    winter,
)
from sheetfuncs.planner.sheets import varieties as kinds
from sheetfuncs.planner.sheets.layout import Role, Table, quoted

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
    """Later days of the record change what is said now, never what was known then."""
    first = weather.DAYS.first_row
    later = [row for row, (day, _, _) in enumerate(demo_weather(), start=first) if day >= date(2026, 6, 5)]
    cold_days = {("Weather", f"{letter}{row}"): value for row in later for letter, value in (("B", 2.0), ("C", 9.0))}
    asked = {("Season", "B7"): datetime(2026, 6, 5), ("Season", "B8"): datetime(2026, 5, 20)}
    as_it_was, cold = answer(asked), answer({**asked, **cold_days})
    then = [column(book, season.TABLE, "ripe_then") for book in (as_it_was, cold)]
    now = [column(book, season.TABLE, "ripe_now") for book in (as_it_was, cold)]
    assert then[0] == then[1]
    assert now[0] != now[1]
    assert cold.at("Season", f"B{season.SO_FAR_ROW + 4}") < 0


def test_the_bars_are_the_trees(demo_answers: Answers) -> None:
    bars = season_pictures.bars(DEMO_TREES)
    first_day = demo_answers.day("Season", season_pictures._shared("base").replace("$", ""))
    cuts = [demo_answers.day("Trees", cell("reckoned", tag)) for tag in TAGS]
    assert first_day == min(cuts).replace(day=1)
    for place, tag in enumerate(TAGS, start=1):  # the first place is left for the months' names
        assert demo_answers.at("Season", f"{bars.letter('tag')}{bars.first_row + place}") == tag
        base, wait, pick = (
            demo_answers.at("Season", f"{bars.letter(key)}{bars.first_row + place}") for key in ("base", "wait", "pick")
        )
        days = [demo_answers.day("Trees", cell(key, tag)) for key in ("reckoned", "pick_first", "pick_last")]
        drawn = [first_day + timedelta(days=int(part)) for part in (base, base + wait, base + wait + pick)]
        if not isinstance(demo_answers.day("Trees", cell("first_ripe", tag)), date):
            days[2] = days[1]  # no bar of picking for a tree that will have none
        assert drawn == days, tag


def test_two_hundred_trees_are_drawn_thirty_to_a_picture(blank_path: Path) -> None:
    first = trees.table(200).first_row
    book = Answers(blank_path, {("Trees", f"A{first + line}"): f"T-{line + 1}" for line in range(200)})
    bars = season_pictures.bars(200)
    rows = [book.at("Season", f"{bars.letter('tag')}{row}") for row in range(bars.first_row, bars.last_row + 1)]
    pictures = [rows[start : start + DRAWN + 1] for start in range(0, len(rows), DRAWN + 1)]
    assert len(pictures) == 7
    assert {picture[0] for picture in pictures} == {""}
    assert [tag for picture in pictures for tag in picture[1:] if tag] == [f"T-{line + 1}" for line in range(200)]


def months(book: Answers) -> list[tuple[Any, date]]:
    """Return the names that stand beside the bars, and the days at which they stand."""
    bars = season_pictures.ACROSS
    start = book.day("Season", season_pictures._shared("base").replace("$", ""))
    found = []
    for place in range(season_pictures._MONTHS):
        letter = bars.letter(f"month_{place}")
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
    lists = (rounds.table(200), rounds.visits(200))
    for table in (season.TABLE, picking.TABLE, picking.SPREAD, flush.TABLE, log.TABLE, *lists):
        for one in table.columns:
            if one.formula and not (table is season.TABLE and one.key == "kind"):
                assert not column(answers, table, one.key), f"{table.sheet} {one.heading}"


# -- later flush, winter ---------------------------------------------------------------------------------------


def test_a_later_flush_is_dated_or_the_season_said_to_be_too_short(demo_answers: Answers, climate: Any) -> None:  # noqa: F811
    for row, line in enumerate(HARD_CUTS, start=flush.TABLE.first_row):
        here = at_position(climate, line["position"])
        said = demo_answers.at("Later flush", f"{flush.TABLE.letter('says')}{row}")
        first = demo_answers.day("Later flush", f"{flush.TABLE.letter('first')}{row}")
        asked = sheetfuncs.later_flush_window.declaration.in_cell([here_text(here), to_serial(line["cut_on"])])
        if isinstance(asked, str):
            assert first == ""
            assert said == asked.replace("Check: season too short", "Too short a season")
        else:
            assert first == asked[0][0]
            assert said.endswith("ripens." if isinstance(asked[0][2], date) else "do not.")
    says = column(demo_answers, flush.TABLE, "says")
    assert len({line[:6] for line in says}) == 3


def test_winter_asks_the_functions_with_the_limits_typed(answer: Typed, demo_answers: Answers, climate: Any) -> None:  # noqa: F811
    hollow = at_position(climate, "hollow")
    [row] = [
        row for row in range(winter.TABLE.first_row, winter.TABLE.last_row)
        if demo_answers.at("Winter", f"A{row}") == "hollow"
    ]  # fmt: skip

    def day(book: Answers, key: str) -> Any:
        return book.day("Winter", f"{winter.TABLE.letter(key)}{row}")

    assert day(demo_answers, "shelter") == sheetfuncs.shelter_by(hollow, 2026)
    assert day(demo_answers, "wrap") == sheetfuncs.shelter_by(hollow, 2026, -6)
    assert day(demo_answers, "outside") == sheetfuncs.safe_outside_from(hollow, 2027)
    assert day(demo_answers, "cuttings") == sheetfuncs.root_cuttings_by(hollow, 2026)
    other = answer({("Winter", "D6"): -2, ("Winter", "D9"): 0.3})
    assert day(other, "shelter") == sheetfuncs.shelter_by(hollow, 2026, -2, 0.3)
    rare = answer({("Winter", "D6"): -40})
    assert day(rare, "shelter") == "rarer"


# -- log and kinds ---------------------------------------------------------------------------------------------


def in_kinds(answers: Answers, key: str, kind: str) -> Any:
    names = [answers.at("Varieties", f"A{row}") for row in range(kinds.TABLE.first_row, kinds.TABLE.last_row + 1)]
    return answers.at("Varieties", f"{kinds.TABLE.letter(key)}{kinds.TABLE.first_row + names.index(kind)}")


@pytest.mark.parametrize(("kind", "table"), [("early", 1150), ("middle", 1300), ("early, own log", 1040)])
def test_the_log_teaches_each_kind_from_its_own_lines(
    kind: str, table: float, demo_answers: Answers, climate: Any  # noqa: F811
) -> None:
    need, lines, miss, _, spread = learned(climate, kind, None, table, 0.12 if kind == "early, own log" else 0.06)
    assert in_kinds(demo_answers, "uncertainty_left", kind) == pytest.approx(spread)
    assert lines == sum(line["kind"] == kind and line["first_ripe"] is not None for line in LOG)
    assert in_kinds(demo_answers, "learned", kind) == pytest.approx(need)
    assert in_kinds(demo_answers, "learned_from", kind) == lines
    assert in_kinds(demo_answers, "miss", kind) == pytest.approx(miss)
    assert in_kinds(demo_answers, "said", kind) == "all count"


def in_pairs(answers: Answers) -> dict[tuple[str, str], dict[str, Any]]:
    """Return the lines of the second table on *Kinds* by kind and position."""
    rows = {}
    for row in range(kinds.PAIRS.first_row, kinds.PAIRS.last_row + 1):
        line = {one.key: answers.at("Varieties", f"{kinds.PAIRS.letter(one.key)}{row}") for one in kinds.PAIRS.columns}
        if line["kind"]:
            rows[line["kind"], line["position"]] = line
    return rows


def test_the_log_teaches_each_kind_position_by_position(demo_answers: Answers, climate: Any) -> None:  # noqa: F811
    rows = in_pairs(demo_answers)
    assert list(rows) == list(dict.fromkeys((line["kind"], line["position"]) for line in LOG if line["first_ripe"]))
    tables = {"early": 1150, "middle": 1300, "early, own log": 1040}
    for (kind, position), row in rows.items():
        before = 0.12 if kind == "early, own log" else 0.06
        need, lines, miss, _, spread = learned(climate, kind, position, tables[kind], before)
        assert row["uncertainty"] == pytest.approx(spread)
        assert (row["learned"], row["learned_from"], row["miss"]) == (pytest.approx(need), lines, miss)
        assert row["in_use"] == ("yes" if kind == "middle" else "no")
    assert sum(row["learned_from"] for row in rows.values()) == sum(line["first_ripe"] is not None for line in LOG)


def test_trees_take_the_need_of_their_position_where_it_is_chosen(answer: Typed, demo_answers: Answers) -> None:
    row = kinds.TABLE.first_row + 1
    rows = in_pairs(demo_answers)
    for tag, there in (("P-03", "south wall"), ("P-04", "unheated tunnel")):
        assert demo_answers.at("Trees", cell("need", tag)) == rows["middle", there]["learned"]
    # No line of the log at this one's position: what the kind teaches anywhere.
    assert demo_answers.at("Trees", cell("need", "P-09")) == in_kinds(demo_answers, "learned", "middle")
    logged = answer({("Varieties", f"{kinds.TABLE.letter('use')}{row}"): "log"})
    for tag in ("P-03", "P-04", "P-09"):
        assert logged.at("Trees", cell("need", tag)) == in_kinds(demo_answers, "learned", "middle")
    # Who does nothing has the table's.
    table = answer({("Varieties", f"{kinds.TABLE.letter('use')}{row}"): None})
    for tag in ("P-03", "P-04", "P-09"):
        assert table.at("Trees", cell("need", tag)) == 1300
    assert in_kinds(table, "learned", "middle") == in_kinds(demo_answers, "learned", "middle")
    assert {line["in_use"] for line in in_pairs(table).values()} == {"no"}


def test_a_kind_may_learn_from_one_position_only(answer: Typed, climate: Any) -> None:  # noqa: F811
    learn_at = "Varieties", f"{kinds.TABLE.letter('learn_at')}{kinds.TABLE.first_row + 1}"
    book = answer({learn_at: "south wall"})
    need, lines, *_ = learned(climate, "middle", "south wall", 1300)
    assert in_kinds(book, "learned", "middle") == pytest.approx(need)
    assert in_kinds(book, "learned_from", "middle") == lines
    nowhere = answer({learn_at: "roof"})
    assert in_kinds(nowhere, "need_in_use", "middle").startswith("Check: no line of the log")


def test_a_line_without_a_position_is_named_and_the_others_count(answer: Typed) -> None:
    row = log.TABLE.first_row + next(place for place, line in enumerate(LOG) if line["kind"] == "early")
    for typed, words in ((None, "no climate"), ("roof", "climate says: position is not on the sheet")):
        book = answer({("Log", f"{log.TABLE.letter('position')}{row}"): typed})
        assert in_kinds(book, "learned_from", "early") == 5
        assert in_kinds(book, "said", "early").startswith(f"Check: line {row}: {words}")


def test_a_log_line_moves_the_need_in_use_only_where_the_log_is_chosen(answer: Typed, demo_answers: Answers) -> None:
    ripe = log.TABLE.letter("first_ripe")
    moved = {
        ("Log", f"{ripe}{row}"): at_midnight(line["first_ripe"] + timedelta(days=9))
        for row, line in enumerate(LOG, start=log.TABLE.first_row)
        if line["first_ripe"]
    }
    later = answer(moved)
    for kind, moves in (("middle", True), ("early", False), ("late", False)):
        before, after = (in_kinds(book, "need_in_use", kind) for book in (demo_answers, later))
        assert (after > before) is moves, kind
    assert in_kinds(later, "learned", "early") > in_kinds(demo_answers, "learned", "early")
    assert later.day("Trees", cell("latest", "P-03")) < demo_answers.day("Trees", cell("latest", "P-03"))


def test_a_line_that_cannot_be_is_named_and_the_others_count(answer: Typed) -> None:
    row = log.TABLE.first_row + next(
        place for place, line in enumerate(LOG) if (line["kind"], line["position"]) == ("early", "open")
    )
    book = answer({("Log", f"{log.TABLE.letter('first_ripe')}{row}"): datetime(2023, 5, 1)})
    assert in_kinds(book, "learned_from", "early") == 5
    assert in_kinds(book, "said", "early").startswith(f"Check: line {row}: ripe before")


def test_the_log_chosen_without_a_line_is_a_check(answer: Typed) -> None:
    row = kinds.TABLE.first_row + 2
    book = answer({("Varieties", f"{kinds.TABLE.letter('use')}{row}"): "log"})
    assert in_kinds(book, "need_in_use", "late").startswith("Check: no line of the log")
    assert book.at("Trees", cell("advice", "P-08")).startswith("Check: no line of the log")


def test_the_log_holds_a_grower_s_life_and_its_last_line_teaches_as_the_first(
    answer: Typed, demo_answers: Answers, demo: openpyxl.Workbook
) -> None:
    sheet, table = demo["Log"], log.TABLE
    assert table.rows >= 25 * 40
    for one in table.columns:
        cells = [sheet[f"{table.letter(one.key)}{row}"] for row in (table.first_row, table.last_row)]
        assert len({(each.number_format, each.fill.fgColor.rgb, each.protection.locked) for each in cells}) == 1
        assert all(str(each.value).startswith("=") for each in cells) is bool(one.formula), one.heading
    line = next(one for one in LOG if (one["kind"], one["position"]) == ("early", "open"))
    typed = {
        ("Log", f"{table.letter(key)}{table.last_row}"): at_midnight(value) if isinstance(value, date) else value
        for key, value in line.items()
    }
    book = answer(typed)
    assert in_kinds(book, "learned_from", "early") == in_kinds(demo_answers, "learned_from", "early") + 1
    first = next(row for row, one in enumerate(LOG, start=table.first_row) if one is line)
    for one in table.columns:
        if one.formula and one.key != "pair":
            letter = table.letter(one.key)
            assert book.at("Log", f"{letter}{table.last_row}") == book.at("Log", f"{letter}{first}") != "", one.heading
    assert "lines print" in book.at("Log", "A4")
    assert "lines print" not in demo_answers.at("Log", "A4")


# -- sorting, guarding, drawing --------------------------------------------------------------------------------


def test_sorted_inputs_keep_every_tree_s_answers(answer: Typed, demo_answers: Answers) -> None:
    """The coloured columns of two rows change places: each tree has the answers it had, in its new row."""
    one, other = TAGS.index("P-06"), TAGS.index("G-04")
    typed: dict = {}
    for here, there in ((one, other), (other, one)):
        for entry in TABLE.columns:
            if entry.role is Role.ENTRY:
                value = TREES[there].get(entry.key)
                place = "Trees", f"{TABLE.letter(entry.key)}{TABLE.first_row + here}"
                typed[place] = at_midnight(value) if isinstance(value, date) else value
    book = answer(typed)
    answers = [one for one in TABLE.columns if one.formula and one.key != "visit_key"]
    for tag, row in (("P-06", other), ("G-04", one), ("P-01", TAGS.index("P-01"))):
        for shown in answers:
            now = book.at("Trees", f"{TABLE.letter(shown.key)}{TABLE.first_row + row}")
            assert now == demo_answers.at("Trees", cell(shown.key, tag)), f"{tag} {shown.heading}"
    pairs = [
        sorted(zip(column(each, LIST, "tag"), column(each, LIST, "day"))) for each in (book, demo_answers)
    ]
    assert pairs[0] == pairs[1]


@pytest.mark.parametrize("which", ["blank", "demo"])
def test_answers_are_guarded_without_a_password(which: str, request: pytest.FixtureRequest) -> None:
    book = request.getfixturevalue(which)
    for sheet in book:
        guard = sheet.protection
        assert guard.sheet, sheet.title
        assert guard.password is None
        for allowed in ("sort", "autoFilter", "insertRows", "deleteRows", "formatCells", "formatColumns"):
            assert getattr(guard, allowed) is False, f"{sheet.title}: {allowed} is forbidden"
    for table in (TABLE, kinds.TABLE, flush.TABLE, log.TABLE):
        for one in table.columns:
            locked = book[table.sheet][f"{table.letter(one.key)}{table.first_row}"].protection.locked
            assert locked is (one.role is not Role.ENTRY), f"{table.sheet}: {one.heading}"


def references(chart: Any) -> list[str]:
    found = []
    for part in chart._charts:
        for series in part.series:
            found += [series.val.numRef.f, series.tx.strRef.f]
            found.append((series.cat.numRef or series.cat.strRef).f)
    return found


@pytest.mark.parametrize("which", ["blank", "demo"])
def test_charts_draw_cells_that_are_there(which: str, request: pytest.FixtureRequest) -> None:
    book = openpyxl.load_workbook(request.getfixturevalue(f"{which}_path"))
    drawn = {sheet.title: sheet._charts for sheet in book if sheet._charts}
    lines = {"blank": 200, "demo": DEMO_TREES}[which]
    pictures, bars = season.pictures(lines), season_pictures.bars(lines)
    assert {name: len(charts) for name, charts in drawn.items()} == {
        "Season": 3 + pictures, "Picking": 1, "Looking back": 1,
    }  # fmt: skip
    in_parts = [
        replace(bars, heading_row=bars.heading_row + place * (DRAWN + 1), rows=DRAWN + 1)
        for place in range(pictures)
    ]
    whole = {
        "Season": [*in_parts, season_pictures.ACROSS, season_pictures.HEAT, season_pictures.FROST],
        "Picking": [picking.TABLE],
        "Looking back": [looking_back.PROMISES],
    }
    rows = {(table.sheet, table.first_row, table.last_row) for tables in whole.values() for table in tables}
    for charts in drawn.values():
        for chart in charts:
            for reference in references(chart):
                sheet, cells = reference.rsplit("!", 1)
                name = sheet.strip("'")
                left, top, right, bottom = range_boundaries(cells)
                assert left == right
                if top == bottom:
                    assert isinstance(book[name].cell(top, left).value, str), reference
                    continue
                assert any(name == of and top == first and bottom <= last for of, first, last in rows), reference
                if name == "Season":
                    assert any((name, top, bottom) == one for one in rows), reference
                assert all(str(book[name].cell(row, left).value).startswith("=") for row in range(top, bottom + 1))


def test_the_weeks_that_are_drawn_hold_all_kilograms(demo: openpyxl.Workbook, demo_answers: Answers) -> None:
    last = picking.rows(demo).last - picking.TABLE.first_row + 1
    kilograms = column(demo_answers, picking.TABLE, "kilograms")
    assert sum(kilograms[:last]) == pytest.approx(sum(kilograms))


def test_lines_of_a_chart_differ_in_more_than_colour(demo_path: Path) -> None:
    for sheet in openpyxl.load_workbook(demo_path):
        for chart in sheet._charts:
            looks = [
                (series.graphicalProperties.line.prstDash, series.graphicalProperties.line.w)
                for part in chart._charts
                for series in part.series
                if part.tagname == "lineChart" and series.dLbls is None  # the months' lines carry their names
            ]
            assert len(set(looks)) == len(looks)


def test_a_chart_has_no_picture_of_old_values(demo_path: Path) -> None:
    """Nothing is stored beside the cells: what is drawn is what they hold."""
    import zipfile

    with zipfile.ZipFile(demo_path) as archive:
        charts = [name for name in archive.namelist() if re.match(r"xl/charts/chart\d+\.xml", name)]
        assert len(charts) == 5 + season.pictures(DEMO_TREES)
        assert not any(b"numCache" in archive.read(name) for name in charts)


def test_every_picture_of_the_season_lies_whole_on_one_page(blank: openpyxl.Workbook) -> None:
    sheet = blank["Season"]
    ends = [mark.id for mark in sheet.row_breaks.brk]
    *_, last = range_boundaries(sheet.print_area.rsplit("!", 1)[-1])
    assert last == season.last_row(season.pictures(200))
    assert not sheet.sheet_properties.pageSetUpPr.fitToPage, "fitted pages pass over the breaks"
    pages = list(zip([0, *ends], [*ends, last]))
    for first, end in pages:
        height = sum(sheet.row_dimensions[row].height or 15 for row in range(first + 1, end + 1))
        assert height * sheet.page_setup.scale / 100 <= 29.7 / 2.54 * 72 - 1.1 * 72, "a page of A4 less its margins"
    for chart in sheet._charts:
        top, bottom = chart.anchor._from.row, chart.anchor.to.row
        assert sum(first <= top and bottom <= end for first, end in pages) == 1
        assert (chart.anchor._from.col, chart.anchor.to.col) in {(0, 7), (0, 3), (3, 7)}
    width = sum(7 * sheet.column_dimensions[letter].width + 5 for letter in "ABCDEFG") * 2.54 / 96
    assert width * sheet.page_setup.scale / 100 <= 21 - 0.8 * 2.54


@pytest.mark.parametrize("which", ["blank", "demo"])
def test_widths_are_counted_in_the_letters_of_the_sheets(which: str, request: pytest.FixtureRequest) -> None:
    book = openpyxl.load_workbook(request.getfixturevalue(f"{which}_path"))
    assert book._fonts[0].name == book._named_styles["Normal"].font.name == "Arial"
    assert book._fonts[0].sz == 10


def test_a_sheet_s_name_with_a_space_is_quoted() -> None:
    assert quoted("Later flush") == "'Later flush'"
    assert flush.TABLE.cells("says").startswith("'Later flush'!$")
    assert demo_contents().hard_cuts
