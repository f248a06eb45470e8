"""What does not fit when one workbook is carried into another is listed, and what cannot be is refused."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.comments import Comment

from sheetfuncs import recalc
from sheetfuncs.cells.errors import InputError
from sheetfuncs.planner.carrying import plan_carry
from sheetfuncs.planner.sheets import log, place, trees, weather
from sheetfuncs.planner.sheets.contents import BLANK, Contents
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import WorkbookFileError, read_sheet

from .carried import SMALL, TREES, WEEK, as_day, lines, made, setting, small, typed

# -- what does not fit -----------------------------------------------------------------------------------------


@pytest.mark.usefixtures("answers_as_they_are")
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
    output = run("carry", old, new).output.splitlines()
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
        assert line in output
    assert setting(new, "Leaves_wanted") == 5


@pytest.mark.usefixtures("answers_as_they_are")
def test_rows_that_have_no_room_and_tables_that_are_not_there_are_listed(tmp_path, old, new, run):
    small(new, replace(BLANK, settings={"Season_year": 2027}, trees=({"tag": "B-1"}, {"tag": "B-2"})), rows=3)
    book = openpyxl.load_workbook(new)
    for cell in book[log.NAME][log.TABLE.heading_row]:
        cell.value = None
    book.save(new)
    output = run("carry", old, new).output
    assert [line["tag"] for line in lines(new, TREES)] == ["B-1", "B-2", "A-1"]
    assert "  Trees, A-2: no row is free in 2027.xlsx (A-2; early; ground; open; 9)" in output
    assert "  Trees, 7: no row is free in 2027.xlsx (7; late; ground; open)" in output
    assert "  Log, A-2 2025: 2027.xlsx has no such table (A-2; 2025; early; open; 2025-09-03; <&>)" in output


@pytest.mark.usefixtures("answers_as_they_are")
def test_days_with_one_blank_and_doubled_days_stay_as_they_are(tmp_path, new, run):
    odd = ((date(2026, 6, 1), 3.0, None), (date(2026, 6, 2), None, 20.0), (date(2026, 6, 3), 1.0, 2.0),
           (date(2026, 6, 3), 1.0, 2.0), ("3 June 26?", 1.0, 2.0))  # fmt: skip
    old = small(tmp_path / "odd.xlsx", replace(SMALL, weather=odd))
    run("carry", old, new)
    assert [tuple(line.get(key) for key in ("day", "low", "high")) for line in lines(new, weather.DAYS)] == list(odd)


def test_the_picks_for_looking_back_and_the_needs_by_position_are_carried(tmp_path):
    picks = {"Look_position": "south wall", "Look_kind": "late", "Look_chance": 0.9}
    old = replace(SMALL, settings={**SMALL.settings, **picks}, kinds={"late": {"use": "position", "learn_at": "open"}})
    done = plan_carry(made(small(tmp_path / "old.xlsx", old)), made(small(tmp_path / "new.xlsx", BLANK)))
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
    done = plan_carry(made(old), made(new))
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
    again = plan_carry(made(old), made(new))
    assert not again.blocks
    assert again.left == done.left


# -- refusals --------------------------------------------------------------------------------------------------


def refusals(old: Path, folder: Path) -> Iterator[tuple[Path, Path, tuple[str, ...], str]]:
    link = folder / "link.xlsx"
    link.symlink_to(old)
    yield old, old, (), "are one file, wanted two"
    yield link, old, (), "are one file, wanted two"
    yield old, link, (), "are one file, wanted two"
    yield folder / "no.xlsx", folder / "new.xlsx", (), "is not there, wanted last year's workbook"
    yield old, folder / "new.ods", (), r"new\.ods: the file name must end in \.xlsx or \.xlsm"
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


@pytest.mark.usefixtures("answers_as_they_are")
def test_what_cannot_be_is_refused_in_one_line_and_changes_nothing(old, tmp_path, run):
    for one, other, more, line in refusals(old, tmp_path):
        before = {path: path.read_bytes() for path in tmp_path.iterdir()}
        with pytest.raises(InputError, match=line):
            run("carry", one, other, *more)
        assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


@pytest.mark.usefixtures("answers_as_they_are")
def test_another_unit_comes_into_a_blank_book(tmp_path, new, run):
    old = small(tmp_path / "f.xlsx", replace(SMALL, settings={**SMALL.settings, "Unit": "F"}))
    run("carry", old, new)
    assert setting(new, "Unit") == "F"
    assert read_sheet(new, weather.NAME)[f"B{weather.DAYS.first_row}"] == 10


def test_an_open_workbook_is_not_written(old, new, run):
    shutil.copy(old, new)
    lock = new.with_name(f".~lock.{new.name}#")
    lock.write_text("me")
    with pytest.raises(WorkbookFileError, match="is open in an office program"):
        run("carry", old, new)


def test_a_failed_recalculation_leaves_the_new_book_as_it_was(old, new, run, monkeypatch):
    def fails(path: Path) -> None:
        raise WorkbookFileError(f"{path.name} is beyond this recalculation")

    small(new, BLANK)
    before = new.read_bytes()
    monkeypatch.setattr(recalc, "recalculate", fails)
    with pytest.raises(InputError, match="beyond this recalculation"):
        run("carry", old, new)
    assert new.read_bytes() == before
    assert sorted(new.parent.iterdir()) == [old, new]
