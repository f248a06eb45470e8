"""One workbook carried into another: nothing lost, nothing typed over, the same when done twice."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.cell.cell import MergedCell
from openpyxl.comments import Comment

from sheetfuncs.cells.errors import InputError
from sheetfuncs.cli import carry
from sheetfuncs.planner import invented
from sheetfuncs.planner.build import assemble
from sheetfuncs.planner.carrying import plan_carry
from sheetfuncs.planner.made_book import MadeBook
from sheetfuncs.planner.sheets import log, place, positions, rounds, trees, weather
from sheetfuncs.planner.sheets import varieties as kinds
from sheetfuncs.planner.sheets.contents import BLANK, Contents
from sheetfuncs.planner.sheets.layout import Role
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import WorkbookFileError, read_values

TREES = trees.table(1)
WEEK = tuple((date(2026, 6, 1) + timedelta(days=number), 10.0 + number, 20.5 + number) for number in range(7))
SMALL = replace(
    BLANK,
    settings={"Season_year": 2026, "Day_today": date(2026, 6, 20), "Chance_wanted": 0.75, "Minutes_a_day": 200,
              "Container_from": date(2026, 6, 15), "Frost_one_date": date(2020, 10, 18)},
    weather=WEEK,
    positions={"south wall": {"own_high": 1.5}, "terrace": {"own_low": 0.5}},
    kinds={"early": {"own_need": 1100}, "own kind": {"own_need": 1210, "own_lag": 9}},
    trees=(
        {"tag": "A-1", "kind": "own kind", "footing": "container", "position": "terrace", "shoots": 5, "leaves": 8,
         "counted_on": date(2026, 6, 18), "buds": "yes", "figs": 12, "minutes": 20, "cut_on": date(2026, 6, 19)},
        {"tag": "A-2", "kind": "early", "footing": "ground", "position": "open", "shoots": 9, "leaves": 6},
        {"tag": 7, "kind": "late", "footing": "ground", "position": "open"},
    ),
    log=(
        {"tag": "A-2", "year": 2025, "kind": "early", "position": "open", "first_ripe": date(2025, 9, 3),
         "note": "<&>"},
    ),
    hard_cuts=({"what": "row 1", "position": "open", "cut_on": date(2026, 5, 2)},),
)  # fmt: skip


@pytest.fixture(autouse=True)
def _room_for_few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make new workbooks with few rows ready: the usual two hundred only take time."""
    monkeypatch.setattr(carry, "_TREES_READY", 6)


def small(path: Path, contents: Contents = SMALL, rows: int = 6) -> Path:
    """Write a workbook with few trees, filled as a user would."""
    assemble(contents, rows).save(path)
    return path


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return small(tmp_path / "2026.xlsx")


@pytest.fixture
def new(tmp_path: Path) -> Path:
    return tmp_path / "2027.xlsx"


def typed(path: Path) -> dict[tuple[str, str], Any]:
    """Return what stands in the cells of a workbook that are there to type in."""
    book = openpyxl.load_workbook(path)
    return {
        (sheet.title, cell.coordinate): cell.value
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if not cell.protection.locked and cell.value not in (None, "")
    }


def type_in(path: Path, cells: dict[tuple[str, str], Any]) -> None:
    book = openpyxl.load_workbook(path)
    for (sheet, address), value in cells.items():
        book[sheet][address].value = value
    book.save(path)


def lines(path: Path, table) -> list[dict[str, Any]]:
    """Return the rows of a table that hold something typed."""
    sheet = openpyxl.load_workbook(path)[table.sheet]
    keys = [column.key for column in table.columns if column.role is Role.ENTRY]
    found = []
    for row in range(table.first_row, sheet.max_row + 1):
        line = {key: sheet[f"{table.letter(key)}{row}"].value for key in keys}
        line = {key: value for key, value in line.items() if value is not None}
        if line:
            found.append({key: as_day(value) for key, value in line.items()})
    return found


def as_day(value: Any) -> Any:
    return value.date() if isinstance(value, datetime) else value


def setting(path: Path, name: str) -> Any:
    book = MadeBook(path)
    sheet, row, column = book.typed_cell(name)
    return as_day(book.workbook[sheet].cell(row, column).value)


# -- into a workbook that is made ------------------------------------------------------------------------------


def test_the_filled_book_comes_whole_into_the_same_season(filled, new, run):
    before = filled.read_bytes()
    said = run("carry", filled, new, "--season", 2026).output
    assert typed(new) == typed(filled)
    assert filled.read_bytes() == before
    assert "Not carried" not in said
    assert "another form" not in said
    # The answers came with them, and so did the mark of what is invented.
    one, other = read_values(filled)[trees.NAME], read_values(new)[trees.NAME]
    advice = [f"{TREES.letter('advice')}{row}" for row in range(TREES.first_row, TREES.first_row + 30)]
    assert [one[cell] for cell in advice] == [other[cell] for cell in advice]
    assert MadeBook(new).banner == invented.BANNER
    once = new.read_bytes()
    assert "has all of this already" in run("carry", filled, new).output
    assert new.read_bytes() == once


def test_the_next_season_starts_with_what_lasts_and_the_log_has_the_rest(old, new, run):
    said = run("carry", old, new).output
    assert setting(new, "Season_year") == 2027
    assert setting(new, "Day_today") is None
    assert setting(new, "Container_from") == date(2027, 6, 15)
    assert setting(new, "Frost_one_date") == date(2020, 10, 18)
    assert setting(new, "Minutes_a_day") == 200
    assert lines(new, TREES) == [
        {"tag": "A-1", "kind": "own kind", "footing": "container", "position": "terrace", "shoots": 5, "minutes": 20},
        {"tag": "A-2", "kind": "early", "footing": "ground", "position": "open", "shoots": 9},
        {"tag": 7, "kind": "late", "footing": "ground", "position": "open"},
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
        "  Later flush, row 1 open, Hard cut on: 2026-05-02 became 2027-05-02",
    ):
        assert line in said.splitlines()


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


def test_there_is_room_for_more_trees_than_usual(tmp_path, new, run):
    many = tuple({"tag": f"T{number}", "kind": "early"} for number in range(1, 251))
    old = small(tmp_path / "many.xlsx", replace(BLANK, trees=many))
    assert "Not carried" not in run("carry", old, new).output
    assert lines(new, TREES) == list(many)


def test_a_macro_workbook_can_be_made(old, tmp_path, run):
    pytest.importorskip("pyopenvba")
    run("carry", old, tmp_path / "2027.xlsm")
    run("carry", tmp_path / "2027.xlsm", tmp_path / "2028.xlsx")
    assert [line["tag"] for line in lines(tmp_path / "2028.xlsx", TREES)] == ["A-1", "A-2", 7]


# -- into a workbook that is there -----------------------------------------------------------------------------


def test_only_blank_cells_are_filled_and_what_stands_there_is_told(old, new, run):
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
    said = run("carry", old, new).output.splitlines()
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
        assert line in said
    assert [line["tag"] for line in lines(new, TREES)] == ["a-2", "B-1", "A-1", 7]
    assert lines(new, TREES)[0] == {
        "tag": "a-2", "kind": "late", "footing": "ground", "position": "open", "shoots": 4,
    }  # fmt: skip
    assert [line["day"] for line in lines(new, weather.DAYS)][2:] == [WEEK[0][0], *(day for day, _, _ in WEEK[2:])]
    assert "2027.xlsx as it was is kept as 2027.before.xlsx." in said
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


# -- what does not fit -----------------------------------------------------------------------------------------


def test_everything_without_a_place_is_listed(old, new, run):
    book = openpyxl.load_workbook(old)
    notes = book.create_sheet("My notes")
    notes["B2"], notes["B3"] = "water on Mondays", 12.5
    for row in range(1, 40):
        notes[f"D{row}"] = row
    sheet = book[trees.NAME]
    beyond = openpyxl.utils.get_column_letter(len(TREES.columns) + 3)
    sheet[f"{beyond}{TREES.first_row}"] = "from aunt"
    sheet[f"{TREES.letter('shoots')}{TREES.first_row + 4}"] = 3  # a row without a tag
    sheet[f"{TREES.letter('latest')}{TREES.first_row}"] = date(2026, 7, 7)  # an answer typed over
    sheet[f"A{TREES.first_row}"].comment = Comment("leans", "me")
    book[weather.NAME][f"B{weather.DAYS.first_row + 20}"] = 4.5  # a low without a day
    book[place.NAME][f"B{place.ROWS['Leaves_wanted']}"] = "=2+3"
    book.save(old)
    recalculate(old)
    said = run("carry", old, new).output.splitlines()
    for line in (
        "  My notes!B2: water on Mondays",
        "  My notes!B3: 12.5",
        "  My notes!D1:D39: 39 cells, 1 to 39",
        f"  Trees!{beyond}{TREES.first_row}: from aunt",
        f"  Trees!{TREES.letter('shoots')}{TREES.first_row + 4}: 3",
        f"  Trees!{TREES.letter('latest')}{TREES.first_row}: 2026-07-07",
        f"  Trees!A{TREES.first_row} has a note: leans",
        f"  Weather!B{weather.DAYS.first_row + 20}: 4.5",
        f"  Place!B{place.ROWS['Leaves_wanted']} holds a formula; its answer 5 is carried",
    ):
        assert line in said
    assert setting(new, "Leaves_wanted") == 5


def test_rows_that_have_no_room_and_tables_that_are_not_there_are_listed(tmp_path, old, new, run):
    small(new, replace(BLANK, settings={"Season_year": 2027}, trees=({"tag": "B-1"}, {"tag": "B-2"})), rows=3)
    book = openpyxl.load_workbook(new)
    for cell in book[log.NAME][log.TABLE.heading_row]:
        cell.value = None
    book.save(new)
    said = run("carry", old, new).output
    assert [line["tag"] for line in lines(new, TREES)] == ["B-1", "B-2", "A-1"]
    assert "  Trees, A-2: no row is free in 2027.xlsx (A-2; early; ground; open; 9)" in said
    assert "  Trees, 7: no row is free in 2027.xlsx (7; late; ground; open)" in said
    assert "  Log, A-2 2025: 2027.xlsx has no such table (A-2; 2025; early; open; 2025-09-03; <&>)" in said


def test_days_with_one_blank_and_doubled_days_stay_as_they_are(tmp_path, new, run):
    odd = ((date(2026, 6, 1), 3.0, None), (date(2026, 6, 2), None, 20.0), (date(2026, 6, 3), 1.0, 2.0),
           (date(2026, 6, 3), 1.0, 2.0), ("3 June 26?", 1.0, 2.0))  # fmt: skip
    old = small(tmp_path / "odd.xlsx", replace(SMALL, weather=odd))
    run("carry", old, new)
    assert [tuple(line.get(key) for key in ("day", "low", "high")) for line in lines(new, weather.DAYS)] == list(odd)


def test_the_picks_for_looking_back_and_the_needs_by_position_are_carried(tmp_path):
    picks = {"Look_position": "south wall", "Look_kind": "late", "Look_chance": 0.9}
    old = replace(SMALL, settings={**SMALL.settings, **picks}, kinds={"late": {"use": "position", "learn_at": "open"}})
    done = plan_carry(MadeBook(small(tmp_path / "old.xlsx", old)), MadeBook(small(tmp_path / "new.xlsx", BLANK)))
    cells = {sheet: [] for sheet in done.counts}
    for block in done.blocks:
        cells[block.sheet] += block.cells.values()
    assert cells["Looking back"] == list(picks.values())
    assert {"position", "open"} <= set(cells["Varieties"])


def some_contents(source: random.Random) -> Contents:
    """Return a small book filled at random, with names that often meet those of another one."""
    tags, names = ["A", "B", "C", "D", "E"], ["early", "late", "mine", "yours"]

    def maybe(**values: Any) -> dict[str, Any]:
        return {key: value for key, value in values.items() if value is not None and source.random() < 0.6}

    def day(year: int = 2026) -> date:
        return date(year, 1, 1) + timedelta(days=source.randrange(365))

    return replace(
        BLANK,
        settings=maybe(
            Season_year=source.choice((2025, 2026, 2027)), Day_today=day(), Chance_wanted=source.choice((0.7, 0.8)),
            Container_from=day(), Minutes_a_tree=source.choice((10, 15)), Winter_chance=source.choice((0.1, 0.2)),
            Heat_method=source.choice(("sine", "average")), Compare_with=day(),
            Look_kind=source.choice(names), Look_chance=source.choice((0.5, 0.9)),
        ),
        frost_rows=[(0.1, day()), (0.5, day())][: source.randrange(3)],
        weather=[(day(), source.randrange(9), source.choice((None, 20))) for _ in range(source.randrange(6))],
        positions={name: maybe(own_high=source.randrange(3), own_low=1) for name in source.sample(names, 2)},
        kinds={
            name: maybe(own_need=source.choice((1000, 1200)), own_lag=7, use="position")
            for name in source.sample(names, 2)
        },
        trees=[
            {"tag": source.choice(tags), **maybe(kind=source.choice(names), shoots=source.randrange(1, 4),
             leaves=source.randrange(4, 9), buds="yes", cut_on=day(), counted_on=day(), minutes=8)}
            for _ in range(source.randrange(6))
        ],
        log=[
            {"tag": source.choice(tags), "year": source.choice((2025, 2026)),
             **maybe(cut_on=day(), note="n", kilograms=2)}
            for _ in range(source.randrange(5))
        ],
        hard_cuts=[
            {"what": source.choice(tags), **maybe(position="open", cut_on=day())} for _ in range(source.randrange(3))
        ],
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(8))
def test_every_typed_cell_is_carried_stands_there_or_is_listed(seed, tmp_path):
    source = random.Random(seed)
    old, new = (
        small(tmp_path / "old.xlsx", some_contents(source), 7),
        small(tmp_path / "new.xlsx", some_contents(source), 7),
    )
    before = typed(new)
    done = plan_carry(MadeBook(old), MadeBook(new))
    filled = {}
    epoch = date(1899, 12, 30)
    for block in done.blocks:
        for (row, column), value in block.cells.items():
            address = (block.sheet, f"{openpyxl.utils.get_column_letter(column)}{row}")
            assert address not in filled
            assert address not in before
            filled[address] = value
    there = [*before.values(), *filled.values()]
    # What was seen of a tree that is cut stands in words in the log's note.
    words = "\n".join((*done.left, *done.moved, *(value for value in there if isinstance(value, str))))
    for (sheet, address), value in typed(old).items():
        value = as_day(value)
        if address == f"B{place.ROWS['Season_year']}" and sheet == place.NAME:
            continue
        forms = {value, float((value - epoch).days)} if isinstance(value, date) else {value}
        assert any(as_day(one) in forms for one in there) or str(value) in words, (sheet, address, value)
    # What is carried is the same the next time: written as cells, nothing is left to carry.
    book = openpyxl.load_workbook(new)
    for (sheet, address), value in filled.items():
        cell = book[sheet][address]
        cell.value = epoch + timedelta(days=value) if cell.is_date and isinstance(value, float) else value
    book.save(new)
    again = plan_carry(MadeBook(old), MadeBook(new))
    assert again.blocks == ()
    assert again.left == done.left


# -- refusals --------------------------------------------------------------------------------------------------


def refusals(old: Path, folder: Path) -> Iterator[tuple[Path, Path, tuple[str, ...], str]]:
    link = folder / "link.xlsx"
    link.symlink_to(old)
    yield old, old, (), "are one file, wanted two"
    yield link, old, (), "are one file, wanted two"
    yield old, link, (), "are one file, wanted two"
    yield folder / "no.xlsx", folder / "new.xlsx", (), "is not there, wanted last year's workbook"
    yield old, folder / "new.ods", (), r"wanted one that ends in \.xlsx or \.xlsm"
    yield old, folder / "none" / "new.xlsx", (), "is not there"
    fahrenheit = small(folder / "f.xlsx", replace(SMALL, settings={"Unit": "F"}))
    yield old, fahrenheit, (), "2026.xlsx is in °C, f.xlsx in °F, wanted one unit for both"
    yield fahrenheit, small(folder / "c.xlsx", replace(BLANK, weather=WEEK)), (), "wanted one unit for both"
    other = folder / "other.xlsx"
    openpyxl.Workbook().save(other)
    yield other, folder / "new.xlsx", (), "has no sheet Trees, wanted a workbook made by: sheetfuncs new"
    yield (
        old,
        small(folder / "s.xlsx", replace(BLANK, settings={"Season_year": 2027})),
        ("--season", "2028"),
        ("s.xlsx is for season 2027, not for 2028"),
    )


def test_what_cannot_be_is_refused_in_one_line_and_changes_nothing(old, tmp_path, run):
    for one, other, more, line in refusals(old, tmp_path):
        before = {path: path.read_bytes() for path in tmp_path.iterdir()}
        with pytest.raises(InputError, match=line):
            run("carry", one, other, *more)
        assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_another_unit_comes_into_a_blank_book(tmp_path, new, run):
    old = small(tmp_path / "f.xlsx", replace(SMALL, settings={**SMALL.settings, "Unit": "F"}))
    run("carry", old, new)
    assert setting(new, "Unit") == "F"
    assert read_values(new)[weather.NAME][f"B{weather.DAYS.first_row}"] == 10


def test_an_open_workbook_is_not_written(old, new, run):
    shutil.copy(old, new)
    lock = new.with_name(f".~lock.{new.name}#")
    lock.write_text("me")
    with pytest.raises(WorkbookFileError, match="is open in an office program"):
        run("carry", old, new)


def test_a_failed_recalculation_leaves_the_new_book_as_it_was(old, new, run):
    small(new, BLANK)
    type_in(new, {(rounds.NAME, "A1"): "=NO_SUCH_FUNCTION(1)"})
    before = new.read_bytes()
    with pytest.raises(InputError):
        run("carry", old, new)
    assert new.read_bytes() == before
    assert sorted(new.parent.iterdir()) == [old, new]
