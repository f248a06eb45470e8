"""One workbook carried into another: nothing lost, nothing typed over, the same when done twice."""

from __future__ import annotations

from copy import copy
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from openpyxl.cell.cell import MergedCell

from sheetfuncs.planner import invented
from sheetfuncs.planner.build import assemble
from sheetfuncs.planner.sheets import flush, log, place, positions, trees, weather
from sheetfuncs.planner.sheets import varieties as kinds
from sheetfuncs.planner.sheets.contents import BLANK
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_sheet, read_values

from .carried import SMALL, TREES, WEEK, lines, made, setting, small, type_in, typed

# -- into a workbook that is made ------------------------------------------------------------------------------


def test_the_filled_book_comes_whole_into_the_same_season(filled, new, run):
    before = filled.read_bytes()
    output = run("carry", filled, new, "--season", 2026).output
    assert typed(new) == typed(filled)
    assert filled.read_bytes() == before
    assert "Not carried" not in output
    assert "another form" not in output
    # The answers came with them, and so did the mark of what is invented.
    one, other = read_sheet(filled, trees.NAME), read_sheet(new, trees.NAME)
    advice = [f"{TREES.letter('advice')}{row}" for row in range(TREES.first_row, TREES.first_row + 30)]
    assert [one[cell] for cell in advice] == [other[cell] for cell in advice]
    assert made(new).banner == invented.BANNER
    once = new.read_bytes()
    assert "has all of this already" in run("carry", filled, new).output
    assert new.read_bytes() == once


@pytest.mark.usefixtures("answers_as_they_are")
def test_the_next_season_starts_with_what_lasts_and_the_log_has_the_rest(old, new, run):
    output = run("carry", old, new).output
    assert setting(new, "Season_year") == 2027
    assert setting(new, "Day_today") is None
    assert setting(new, "Container_from") == date(2027, 6, 15)
    assert setting(new, "Frost_one_date") == date(2020, 10, 18)
    assert setting(new, "Minutes_a_day") == 200
    assert lines(new, TREES) == [
        {"tag": "A-1", "kind": "own kind", "grown_in": "container", "position": "terrace", "shoots": 5, "minutes": 20},
        {"tag": "A-2", "kind": "early", "grown_in": "ground", "position": "open", "shoots": 9},
        {"tag": 7, "kind": "late", "grown_in": "ground", "position": "open"},
    ]
    assert lines(new, log.TABLE) == [
        SMALL.log[0],
        {"tag": "A-1", "year": 2026, "kind": "own kind", "position": "terrace", "cut_on": date(2026, 6, 19),
         "note": "8 leaves on a shoot on 2026-06-18; fig buds seen: yes; 12 figs on a shoot"},
    ]  # fmt: skip
    assert lines(new, weather.DAYS) == [{"day": day, "low": low, "high": high} for day, low, high in WEEK]
    assert {"name": "own kind", "own_need": 1210, "own_lag": 9} in lines(new, kinds.TABLE)
    assert {"name": "terrace", "own_low": 0.5} in lines(new, positions.TABLE)
    for line in (
        "  Place, Today, of season 2026: 2026-06-20",
        "  Trees, A-2, of season 2026: 6 leaves on a shoot",
        "  Place, Containers: not before: 2026-06-15 became 2027-06-15",
        "  Trees, A-1: the cut on 2026-06-19 became a line of Log",
        "  What would help, row 1 open, Hard cut on: 2026-05-02 became 2027-05-02",
    ):
        assert line in output.splitlines()


@pytest.mark.usefixtures("answers_as_they_are")
def test_a_table_that_stood_on_a_sheet_of_its_own_is_found_there(old, new, run):
    book = openpyxl.load_workbook(old)
    now, formerly = book[flush.SHEET], book.create_sheet("Later flush")
    for column in flush.TABLE.columns:
        letter = flush.TABLE.letter(column.key)
        for row in (flush.TABLE.heading_row, flush.TABLE.first_row):
            moved = formerly[f"{letter}{row - 30}"]
            moved.value, now[f"{letter}{row}"].value = now[f"{letter}{row}"].value, None
            moved._style = copy(now[f"{letter}{row}"]._style)
    book.save(old)
    output = run("carry", old, new).output
    assert lines(new, flush.TABLE) == [{"what": "row 1", "position": "open", "cut_on": date(2027, 5, 2)}]
    assert "  Later flush!" not in output


def test_into_a_book_that_is_there_no_answer_stays_that_holds_no_longer(old, new, run):
    assemble(BLANK, 6).save(new)
    recalculate(new)
    run("carry", old, new)
    from_scratch = new.with_name("from scratch.xlsx")
    openpyxl.load_workbook(new).save(from_scratch)  # without any stored value
    recalculate(from_scratch)
    assert read_values(new) == read_values(from_scratch)


@pytest.mark.usefixtures("answers_as_they_are")
def test_no_ripe_date_that_was_only_expected_gets_into_the_log(filled, new, run):
    run("carry", filled, new)
    of_last_season = [line for line in lines(new, log.TABLE) if line["year"] == 2026]
    assert len(of_last_season) == sum(line.get("cut_on") is not None for line in invented.TREES)
    assert not any("first_ripe" in line or "last_ripe" in line for line in of_last_season)
    seen = {line["tag"]: line["seen_on"] for line in of_last_season if "seen_on" in line}
    assert seen == {tree["tag"]: tree["seen_on"] for tree in invented.TREES if tree["seen_on"]}


def test_twice_is_once_and_recalculated(old, new, run):
    run("carry", old, new)
    once = new.read_bytes()
    assert recalculate(new).changed == ()
    assert "has all of this already" in run("carry", old, new).output
    assert new.read_bytes() == once


@pytest.mark.usefixtures("answers_as_they_are")
def test_a_dry_run_says_the_same_and_writes_nothing(old, new, run, tmp_path):
    dry = run("carry", old, new, "--dry-run").output
    assert sorted(tmp_path.iterdir()) == [old]
    wet = run("carry", old, new).output
    assert dry.splitlines()[:-1] == wet.splitlines()[:-1]
    assert "was not made" in dry
    once = new.read_bytes()
    type_in(old, {(place.NAME, f"B{place.ROWS['Leaves_wanted']}"): 5})
    assert "is as it was" in run("carry", old, new, "--dry-run").output
    assert new.read_bytes() == once


@pytest.mark.usefixtures("answers_as_they_are")
def test_there_is_room_for_more_trees_than_usual(tmp_path, new, run, monkeypatch):
    monkeypatch.setattr(log, "_MOST", 200)  # lines that are ready, of however many trees
    many = tuple({"tag": f"T{number}", "kind": "early"} for number in range(1, 51))
    logged = tuple({"tag": f"T{number % 50}", "year": 2000 + number // 50} for number in range(240))
    old = small(tmp_path / "many.xlsx", replace(BLANK, trees=many, log=logged))
    assert "Not carried" not in run("carry", old, new).output
    assert lines(new, TREES) == list(many)
    assert lines(new, log.TABLE) == list(logged)


@pytest.mark.usefixtures("answers_as_they_are")
def test_a_macro_workbook_can_be_made(old, tmp_path, run):
    pytest.importorskip("pyopenvba")
    run("carry", old, tmp_path / "2027.xlsm")
    run("carry", tmp_path / "2027.xlsm", tmp_path / "2028.xlsx")
    assert [line["tag"] for line in lines(tmp_path / "2028.xlsx", TREES)] == ["A-1", "A-2", 7]


# -- into a workbook that is there -----------------------------------------------------------------------------


@pytest.mark.usefixtures("answers_as_they_are")
def test_only_blank_cells_are_filled_and_what_stands_there_is_named(old, new, run):
    own = replace(
        BLANK,
        settings={"Season_year": 2027, "Chance_wanted": 0.9},
        weather=((WEEK[1][0], 11.0, 99.0), (date(2026, 7, 1), 5.0, 6.0)),
        kinds={"own kind": {"own_need": 1250}},
        trees=({"tag": "a-2", "kind": "late", "shoots": 4}, {"tag": "B-1", "kind": "early"}),
        log=({"tag": "A-1", "year": 2026, "cut_on": date(2026, 6, 18), "note": "cut in the rain"},),
    )
    small(new, own)
    before, as_it_was = typed(new), new.read_bytes()
    output = run("carry", old, new).output.splitlines()
    after = typed(new)
    assert {cell: after[cell] for cell in before} == before
    for line in (
        "  Place, Chance you want, at least: 0.75 was not carried, for 0.9 stands there",
        "  Varieties, own kind, Heat need, your own: 1210 was not carried, for 1250 stands there",
        "  Trees, A-2, Tag: A-2 was not carried, for a-2 stands there",
        "  Trees, A-2, Variety: early was not carried, for late stands there",
        "  Trees, A-2, Shoots: 9 was not carried, for 4 stands there",
        "  Log, A-1 2026, Cut on: 2026-06-19 was not carried, for 2026-06-18 stands there",
        "  Weather, 2026-06-02, High: 21.5 was not carried, for 99 stands there",
    ):
        assert line in output
    assert [line["tag"] for line in lines(new, TREES)] == ["a-2", "B-1", "A-1", 7]
    assert lines(new, TREES)[0] == {
        "tag": "a-2", "kind": "late", "grown_in": "ground", "position": "open", "shoots": 4,
    }  # fmt: skip
    assert [line["day"] for line in lines(new, weather.DAYS)][2:] == [WEEK[0][0], *(day for day, _, _ in WEEK[2:])]
    assert "2027.xlsx as it was is kept as 2027.before.xlsx." in output
    assert new.with_name("2027.before.xlsx").read_bytes() == as_it_was
    once = new.read_bytes()
    run("carry", old, new)
    assert new.read_bytes() == once


def test_nothing_but_cells_changes_in_a_workbook_that_is_there(old, new, run):
    small(new, BLANK)
    recalculate(new)
    before = parts(new)
    run("carry", old, new)
    after = parts(new)
    assert list(before) == list(after)
    assert all(name.startswith("xl/worksheets/sheet") for name in before if before[name] != after[name])
    # Dates look like dates, also in rows that were not there.
    one, other = openpyxl.load_workbook(new), assemble(SMALL, 6)
    for sheet in other:
        for row in sheet.iter_rows():
            for cell in row:
                kept = one[sheet.title][cell.coordinate]
                # Of merged cells only the first keeps its looks when a file is read.
                assert isinstance(kept, MergedCell) or kept.number_format == cell.number_format, cell


def parts(path: Path) -> dict[str, bytes]:
    import zipfile

    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.mark.usefixtures("answers_as_they_are")
def test_a_table_whose_rows_and_columns_moved_is_found(old, new, run):
    small(new, replace(BLANK, settings={"Season_year": 2026}))
    book = openpyxl.load_workbook(old)
    sheet = book[positions.NAME]
    sheet.insert_rows(2, 3)
    sheet.insert_cols(2)
    book.save(old)
    run("carry", old, new)
    assert {"name": "terrace", "own_low": 0.5} in lines(new, positions.TABLE)
    assert {"name": "south wall", "own_high": 1.5} in lines(new, positions.TABLE)
