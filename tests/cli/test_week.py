"""The work of a week, and the trees on the terminal: complete, in 80 columns, no word broken."""

from __future__ import annotations

import shutil
from datetime import date, timedelta
from pathlib import Path

import openpyxl
import pytest

from sheetfuncs.cells.dates import short
from sheetfuncs.cells.errors import InputError
from sheetfuncs.cli.trees import print_trees, print_week
from sheetfuncs.planner.sheets import rounds, start, trees
from sheetfuncs.planner.week import Task, Week, week_of, week_page
from sheetfuncs.xlsx import read_sheet

from ..calc.office import what_is_missing

TREES, ROUNDS = trees.table(1), rounds.table(1)


def rows(path: Path, table) -> list[dict[str, object]]:
    cells = read_sheet(path, table.sheet)
    found = []
    for row in range(table.first_row, table.first_row + 60):
        line = {column.key: cells.get(f"{table.letter(column.key)}{row}") for column in table.columns}
        if line["tag"] not in (None, ""):
            found.append({key: None if value == "" else value for key, value in line.items()})
    return found


@pytest.fixture(scope="module")
def week(small_demo_path: Path) -> Week:
    return week_of(small_demo_path)


def test_it_lists_the_visits_of_seven_days_and_nothing_for_trees_without_buds(small_demo_path, week):
    bare = {row["tag"] for row in rows(small_demo_path, TREES) if row["buds"] == "no" and row["cut_on"] is None}
    cut = {row["tag"] for row in rows(small_demo_path, TREES) if row["cut_on"] is not None}
    assert bare
    wanted = {
        (row["day"].date(), row["tag"])
        for row in rows(small_demo_path, ROUNDS)
        if hasattr(row["day"], "date") and row["tag"] not in bare | cut
        and week.first <= row["day"].date() < week.first + timedelta(7)
    }  # fmt: skip
    assert wanted
    listed = {(task.day, task.who) for task in week.tasks if task.what.startswith(("cut", "look"))}
    assert listed == wanted
    assert all(task.by is not None and task.by >= task.day for task in week.tasks if task.what.startswith("cut"))
    assert not bare & {task.who for task in week.tasks}
    assert any("No fig buds" in note for note in week.notes)


@pytest.mark.usefixtures("answers_as_they_are")
def test_on_the_terminal_80_columns_suffice_and_every_caution_is_there(run, small_demo_path, week):
    output = run("week", small_demo_path).output
    lines = output.splitlines()
    assert max(map(len, (line.rstrip() for line in lines[3:]))) <= 80
    assert lines[1].startswith("INVENTED")
    flowing = " ".join(output.split())
    assert all(" ".join(caution.split()) in flowing for caution in start.CAUTIONS)
    for task in week.tasks:
        assert any(short(task.day) in line and task.who in line for line in lines)


def test_a_week_without_work_and_a_book_without_a_day_say_so(small_demo_path, tmp_path, run):
    assert Week(date(2026, 1, 1), (), (), "").summary == "Nothing has to be done this week."
    other = tmp_path / "other.xlsx"
    openpyxl.Workbook().save(other)
    with pytest.raises(InputError, match="wanted a workbook made by: sheetfuncs new"):
        run("week", other)
    with pytest.raises(InputError, match=r"week\.txt: the file name must end in \.pdf"):
        run("week", small_demo_path, "-o", tmp_path / "week.txt")


def test_long_words_wrap_and_control_characters_go(capsys):
    task = Task(date(2026, 6, 22), "the tree\x1b by the gate", "cut above the node that was marked", None, 12.5)
    print_week(Week(date(2026, 6, 22), (task,), ("a note",), ""))
    output = capsys.readouterr().out
    assert "\x1b" not in output
    assert "12.5" in output
    assert {"tree\N{REPLACEMENT CHARACTER}", "gate", "marked", "a note"} <= {*output.split(), "a note"}


def test_the_page_holds_what_the_terminal_shows(week):
    sheet = week_page(week).active
    shown = [cell.value for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert shown[:3] == [week.title, week.banner, week.summary]
    assert set(start.CAUTIONS) <= set(shown)
    assert all(task.who in shown and task.what in shown for task in week.tasks)


@pytest.mark.office
@pytest.mark.skipif(bool(what_is_missing()) or shutil.which("pdftotext") is None, reason="no office or no pdftotext")
@pytest.mark.usefixtures("answers_as_they_are")
def test_it_is_printed_on_one_page(run, small_demo_path, week, tmp_path):
    from .test_print import page_texts

    page = tmp_path / "week.pdf"
    assert run("week", small_demo_path, "-o", page).output == f"{page} is ready to print.\n"
    [text] = page_texts(page)
    flowing = " ".join(text.split())
    assert week.title in flowing
    assert all(task.who in flowing for task in week.tasks)
    assert "Cautions" in flowing


def test_the_trees_close_a_recalculation_in_80_columns(run, filled):
    lines = run("recalc", filled, "--no-backup").output.splitlines()
    table = [line.rstrip() for line in lines[:-1]]
    assert max(map(len, table)) <= 80
    words = {word for line in table for word in line.split()}
    for row in rows(filled, TREES):
        assert str(row["tag"]) in words
        assert set(str(row["kind"]).split()) <= words
    assert lines[-1].startswith(str(filled))


def test_a_book_of_others_has_no_trees_to_print(tmp_path, capsys):
    book = openpyxl.Workbook()
    book.active.title = trees.NAME
    book.active["A1"] = "Oak"
    book.save(tmp_path / "other.xlsx")
    print_trees(tmp_path / "other.xlsx")
    assert capsys.readouterr().out == ""
