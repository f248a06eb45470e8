"""A book made, given a station's weather, filled and recalculated as a grower does it, on each of six real stations."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfuncs.cli.app import app
from sheetfuncs.planner.sheets import start, trees
from sheetfuncs.planner.week import week_of

from .. import records

TABLE = trees.table(8)
#: Invented trees: containers and ground, early to late, looked at or not.
TREES = (
    {"tag": "A1", "kind": "early", "grown_in": "container", "position": "open", "leaves": 8,
     "counted_on": date(2026, 6, 10), "buds": "yes", "shoots": 6, "minutes": 20},
    {"tag": "A2", "kind": "middle", "grown_in": "container", "position": "south wall"},
    {"tag": "A3", "kind": "late", "grown_in": "ground", "position": "open"},
    {"tag": "A4", "kind": "late", "grown_in": "container", "position": "unheated tunnel",
     "cut_on": date(2026, 6, 8), "seen_on": date(2026, 6, 20), "buds": "yes", "shoots": 10},
    {"tag": "A5", "kind": "early", "grown_in": "ground", "position": "hollow", "leaves": 5,
     "counted_on": date(2026, 6, 18), "buds": "no"},
    {"tag": "A6", "kind": "early", "grown_in": "container", "position": "open", "cut_on": date(2026, 6, 10)},
    {"tag": "A7", "kind": "middle", "grown_in": "ground", "position": "south wall", "seen_on": date(2026, 6, 19)},
    {"tag": "A8", "kind": "late", "grown_in": "ground", "position": "hollow", "leaves": 3,
     "counted_on": date(2026, 6, 20), "buds": "yes"},
)  # fmt: skip
#: Words of a way out, where a tree has no date or one that cannot be kept.
WAYS_OUT = ("Next year: ", "At ", "In a tunnel: by ", "It needs a warmer place or an earlier variety")


def run(*arguments: object) -> None:
    app.main([str(argument) for argument in arguments], standalone_mode=False)


@pytest.fixture(scope="module")
def listed(tmp_path_factory: pytest.TempPathFactory, few_rows: None) -> Path:
    """Return a new book with the trees typed in."""
    path = tmp_path_factory.mktemp("listed") / "trees.xlsx"
    run("new", path, "--trees", len(TREES), "--season", 2026)
    workbook = openpyxl.load_workbook(path)
    for row, tree in enumerate(TREES, start=TABLE.first_row):
        for key, value in tree.items():
            workbook["Trees"][f"{TABLE.letter(key)}{row}"] = value
    workbook.save(path)
    run("recalc", path, "--no-backup")
    return path


@pytest.mark.parametrize("station", sorted(records.great_lakes()))
def test_every_tree_has_a_date_or_a_reason_with_a_way_out_and_all_sheets_agree(
    station: str, listed: Path, tmp_path: Path
) -> None:
    book = Path(shutil.copy(listed, tmp_path))
    days = [day for day in records.great_lakes()[station] if None not in day]
    run("add-weather", book, records.write_csv(tmp_path / "station.csv", days), "--unit", "C", "--no-backup")
    run("recalc", book, "--no-backup")
    workbook = openpyxl.load_workbook(book, data_only=True)
    rows = [
        {one.key: workbook["Trees"][f"{TABLE.letter(one.key)}{row}"].value for one in TABLE.columns}
        for row in range(TABLE.first_row, TABLE.last_row + 1)
    ]
    for row in rows:
        if not hasattr(row["latest"], "date"):
            assert row["advice"].startswith("Not this year: "), row["tag"]
        if row["advice"].startswith("Not this year"):
            assert any(words in row["advice"] for words in WAYS_OUT), row["advice"]
        assert 0 < row["chance"] < 1, row["tag"]
    texts = {
        f"{sheet.title}!{cell.coordinate}": cell.value
        for sheet in workbook for line in sheet.iter_rows() for cell in line if isinstance(cell.value, str)
    }  # fmt: skip
    assert not [text for text in texts.items() if text[1].startswith("#")]
    assert {where.partition("!")[0] for where, text in texts.items() if text.startswith("Check:")} <= {start.NAME}
    says = {line[0].value: line[1].value for line in workbook["Start"].iter_rows(min_row=5, max_row=35)}
    late = [row["tag"] for row in rows if row["advice"].startswith(trees.LATE[:2])]
    assert (says["Trees listed"], says["Cut"], says["Late"]) == (8, 2, len(late))
    assert says["Not this year"] == sum(row["advice"].startswith("Not this year") for row in rows)
    assert says["Without an answer"] == 0
    _the_week_agrees(week_of(book), rows)


def _the_week_agrees(week: Any, rows: list[dict[str, Any]]) -> None:
    """Assert that a tree with something to do now is in the week: as a task, or by its advice."""
    tasks = {task.who for task in week.tasks}
    noted = {tag: note for note in week.notes for tag in note.partition(": ")[0].split(", ")}
    for row in rows:
        if row["tag"] in noted:
            assert noted[row["tag"]].endswith(f": {row['advice']}")
        if row["advice"].startswith(("Late", "Cut now", "Look", "Count")) or "look again, " in row["advice"]:
            assert row["tag"] in tasks | set(noted), row["advice"]
        if row["advice"].startswith(("Keep", "Not this year", "Too late")):
            assert row["tag"] not in noted, row["advice"]
