"""Mistakes that growers make in the workbook: one clear line each where it is made, and no other cell turns wrong."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sheetfuncs.cells.errors import InputError
from sheetfuncs.cli.app import app
from sheetfuncs.cli.trees import print_trees
from sheetfuncs.planner import sheets
from sheetfuncs.planner.build import assemble, pages
from sheetfuncs.planner.sheets import place, positions, trees, varieties
from sheetfuncs.planner.sheets.contents import Contents
from sheetfuncs.planner.sheets.layout import Table
from sheetfuncs.recalc import recalculate

from .. import records

pytestmark = pytest.mark.usefixtures("few_rows")

SOUND = {"kind": "early", "grown_in": "container", "position": "open", "leaves": 8, "buds": "yes",
         "counted_on": date(2026, 6, 10)}  # fmt: skip
#: What is typed in a row, and what its advice says then.
ROWS = (
    ({"kind": None}, "Check: Variety is blank, wanted a variety from the sheet Varieties"),
    ({"position": None}, "Check: Position is blank, wanted a position from the sheet Positions"),
    ({"grown_in": None}, "Check: Grown in is blank, wanted one of container, ground"),
    ({"kind": "erly"}, 'Check: Variety is "erly", wanted a variety from the sheet Varieties'),
    ({"kind": "early "}, 'Check: Variety is "early ", wanted a variety from the sheet Varieties'),
    ({"position": "open field"}, 'Check: Position is "open field", wanted a position from the sheet Positions'),
    ({"grown_in": "tub"}, 'Check: Grown in is "tub", wanted one of container, ground'),
    ({"buds": "ja"}, 'Check: Fig buds seen is "ja", wanted one of yes, no'),
    ({"cut_on": "17/6/26"}, 'Check: Cut on is the text "17/6/26", wanted a date'),
    ({"counted_on": "12 June"}, 'Check: Counted on is the text "12 June", wanted a date'),
    ({"cut_on": date(2025, 6, 17)}, "Check: Cut on is 17.6.2025, wanted a date of season 2026"),
    ({"seen_on": date(2024, 7, 1)}, "Check: Figs seen on is 1.7.2024, wanted a date of season 2026"),
    ({"cut_on": date(2026, 2, 10)}, "Check: Cut on is a day before shoots have leaves"),
    ({"leaves": "about 20"}, 'Check: Leaves on a shoot is "about 20", wanted a count such as 6'),
    ({"leaves": 800}, "Check: Leaves on a shoot is 800, wanted a count such as 6"),
    ({"minutes": "1 h"}, 'Check: Minutes to cut is "1 h", wanted minutes such as 20'),
    ({"minutes": -20}, "Check: Minutes to cut is -20, wanted minutes such as 20"),
    ({"shoots": -6}, "Check: Shoots is -6, wanted a count such as 12"),
    ({"figs": "many"}, 'Check: Figs on a shoot is "many", wanted a count such as 12'),
    ({"picked": -3}, "Check: Picked [kg] is -3, wanted kilograms such as 4.5"),
    ({"picked": "3 kg"}, 'Check: Picked [kg] is "3 kg", wanted kilograms such as 4.5'),
    ({"seen_on": date(2026, 7, 20)}, "Check: Figs seen on lies after today"),
    ({"cut_on": date(2026, 6, 17), "seen_on": date(2026, 6, 3)}, "Check: Figs seen on lies before Cut on"),
    ({"seen_on": date(2026, 6, 20), "picking_from": date(2026, 6, 2)}, "Check: First ripe on lies before Figs seen on"),
    ({"picking_from": date(2026, 6, 20), "picking_to": date(2026, 6, 2)},
     "Check: Last ripe on lies before First ripe on"),
    ({"tag": None}, "Check: tag is blank, wanted a name for this row"),
    ({"tag": "T3"}, "Check: tag T3 is there 2 times"),
    ({"tag": "T1 "}, 'Check: tag "T1 " has a space too many'),
    ({"kind": "own"}, "see Varieties"),
    ({"kind": "of another"}, "see Varieties"),
    ({"position": "pond"}, "see Positions"),
    ({"position": "hollow"}, "see Positions"),
)  # fmt: skip
KINDS = {
    "own": {"own_need": "1100 units"}, "of another": {"own_need": 1200, "own_lag": "ten"},
    "small": {"own_need": 11}, "spread": {"own_need": 1200, "own_uncertainty": 6},
    "grams": {"own_need": 1200, "own_grams": "45 g"}, "used": {"own_need": 1200, "use": "mine"},
}  # fmt: skip
KINDS_SAY = {
    "own": 'need_in_use Check: your own heat need is "1100 units", wanted heat units from 100 up, such as 1300',
    "small": "need_in_use Check: your own heat need is 11, wanted heat units from 100 up, such as 1300",
    "of another": 'lag_in_use Check: Days from cut to visible figs is "ten", wanted whole days from 0 to 400',
    "spread": "uncertainty Check: Not known of it is 6, wanted a share such as 6% or 0.06",
    "grams": 'grams_in_use Check: Grams a fig is "45 g", wanted grams such as 45',
    "used": 'use_in_use Check: Use the need of is "mine", wanted one of table, own, log, position',
}
POSITIONS = {"pond": {"own_low": "2 degrees"}, "hollow": {"own_low": -20}}
POSITIONS_SAY = {
    "pond": "low_in_use Check: warmer at night is 2 degrees, wanted degrees such as 1.5",
    "hollow": "low_in_use Check: warmer at night is -20, wanted degrees such as 1.5",
}


def recalculated(path: Path, contents: Contents) -> openpyxl.Workbook:
    assemble(contents, len(contents.trees)).save(path)
    recalculate(path)
    return openpyxl.load_workbook(path, data_only=True)


def weather() -> list[tuple]:
    return [day for day in records.great_lakes()["Dundee"] if day[0].year > 2012 and None not in day]


def lines_that_ask(book: openpyxl.Workbook) -> dict[str, str]:
    """Return the cells outside *Start* that say ``Check:``; none on any sheet may show an error of the program."""
    found = {}
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str):
                    assert not cell.value.startswith("#"), f"{sheet.title}!{cell.coordinate} {cell.value}"
                    if cell.value.startswith("Check:") and sheet.title != "Start":
                        found[f"{sheet.title}!{cell.coordinate}"] = cell.value
    return found


def says(book: openpyxl.Workbook, table: Any) -> dict[str, str]:
    """Return the one line of each row of a table that asks for something, after its column."""
    sheet, found = book[table.sheet], {}
    for row in range(table.first_row, table.last_row + 1):
        for column in table.columns:
            value = sheet[f"{table.letter(column.key)}{row}"].value
            if isinstance(value, str) and value.startswith("Check:"):
                name = sheet.cell(row, table.first_column).value
                assert name not in found, name
                found[name] = f"{column.key} {value}"
    return found


@pytest.fixture(scope="module")
def typed(tmp_path_factory: pytest.TempPathFactory) -> openpyxl.Workbook:
    """Return the answers to a row a mistake, and to mistakes on *Varieties* and *Positions*."""
    listed = [{"tag": f"T{number}", **SOUND, **mistake} for number, (mistake, _) in enumerate(ROWS)]
    contents = Contents(
        settings={"Season_year": 2026}, weather=weather(), kinds=KINDS, positions=POSITIONS,
        trees=[*listed, {"tag": "sound", **SOUND}],
    )  # fmt: skip
    return recalculated(tmp_path_factory.mktemp("mistakes") / "book.xlsx", contents)


def test_a_mistake_in_a_row_of_trees_is_one_line_there(typed: openpyxl.Workbook) -> None:
    table = trees.table(len(ROWS) + 1)
    advice = [typed["Trees"][f"{table.letter('advice')}{table.first_row + row}"].value for row in range(len(ROWS) + 1)]
    assert advice[:-1] == [line for _, line in ROWS]
    assert advice[-1].startswith(("Cut", "Late")), "the others are answered"
    assert all(len(line) <= 100 for line in advice)
    assert typed["Start"]["A4"].value.endswith(f"{len(ROWS)} without an answer, see Trees.")


def test_a_mistake_on_varieties_and_positions_is_one_line_there(typed: openpyxl.Workbook) -> None:
    assert says(typed, varieties.TABLE) == KINDS_SAY
    assert says(typed, positions.TABLE) == POSITIONS_SAY
    of_trees = sum(line.startswith("Check:") for _, line in ROWS)
    assert typed["Trees"]["A4"].value == f"Trees that say Check: {of_trees}"
    asking = lines_that_ask(typed)
    assert len(asking) == of_trees + len(KINDS_SAY) + len(POSITIONS_SAY), asking


#: What is typed as a setting, and what stands beside it then.
SETTINGS = {
    "Day_today": "today", "Chance_wanted": 80, "Leaves_wanted": "six", "Days_a_leaf": "four",
    "Frost_one_date": "15 October", "Container_from": "1 July", "Weather_in_use": "dayly", "Seasons_used": 2,
    "Unit": "Celsius", "Hemisphere": "S", "Frost_at": "zero", "Minutes_a_tree": "1 h", "Minutes_a_day": "4 hours",
    "Days_in_hand": "two", "Work_days": "weekends", "Shelter_limit": "cold", "Winter_chance": 10,
    "Heat_from": "spring", "Season_position": "roof", "Figs_usual": "many", "Kept_share": 90, "Help_tree": "T99",
    "Help_cut": "soon", "Flush_need": "much", "Look_position": "roof", "Look_kind": "purple", "Look_chance": 80,
}  # fmt: skip


def test_mistakes_in_settings_are_one_line_each_beside_them(tmp_path: Path) -> None:
    contents = Contents(
        settings=SETTINGS, weather=weather(), trees=[{"tag": "T1", **SOUND}], frost_rows=[(10, date(2026, 9, 20))]
    )
    book = recalculated(tmp_path / "book.xlsx", contents)
    asking, beside = lines_that_ask(book), {}
    for page in pages(1):
        for block in page.settings:
            for line in block.lines:
                where = f"{page.name}!{block.used}{block.row_of(line.name)}"
                if where in asking:
                    beside[line.name] = asking.pop(where)
    assert set(beside) == set(SETTINGS)
    for name, line in beside.items():
        assert str(SETTINGS[name]) in line, name
        assert ", wanted " in line
        assert len(line) <= 100
    frost = f"Place!A{place.ROWS['Frost_one_date'] + place.FROST_ROWS + 1}"
    assert asking == {frost: "Check: a row lacks its chance such as 10 %, or its date, or one of them is neither"}
    assert book["Start"]["A4"].value == "1 without an answer, see Trees."


@pytest.mark.parametrize("table", [sheets.weather.DAYS, sheets.weather.MONTHS])
def test_a_row_of_weather_that_cannot_be_read_is_named_as_the_sheet_numbers_it(table: Table, tmp_path: Path) -> None:
    path, row = tmp_path / "book.xlsx", table.first_row + 7
    days = weather() if table is sheets.weather.DAYS else ()
    assemble(Contents(settings={"Season_year": 2026}, weather=days), 1).save(path)
    book = openpyxl.load_workbook(path)
    for number in range(12) if not days else ():
        for key in ("low", "high"):
            book["Weather"][f"{table.letter(key)}{table.first_row + number}"] = {"low": 5, "high": 19}[key]
    book["Weather"][f"{table.letter('low')}{row}"] = "warm"
    book.save(path)
    recalculate(path)
    [line] = lines_that_ask(openpyxl.load_workbook(path, data_only=True)).values()
    assert line.startswith(f'Check: weather row {row}, low is "warm", wanted')


def test_a_name_that_is_there_twice_is_said_and_not_guessed(tmp_path: Path) -> None:
    contents = Contents(settings={"Season_year": 2026}, weather=weather(), trees=[{"tag": "T1", **SOUND}])
    path = tmp_path / "book.xlsx"
    assemble(contents, 1).save(path)
    book = openpyxl.load_workbook(path)
    for table, name in ((varieties.TABLE, "early"), (positions.TABLE, "open")):
        row = table.first_row + 8
        book[table.sheet].cell(row, 1, name)
        book[table.sheet].cell(row, 2, 1 if name == "open" else 1500)
    book.save(path)
    recalculate(path)
    found = openpyxl.load_workbook(path, data_only=True)
    lines = set(lines_that_ask(found).values())
    assert lines == {"Check: variety early is there 2 times", "Check: position open is there 2 times"}
    assert found["Trees"][f"{trees.table(1).letter('advice')}{trees.table(1).first_row}"].value == "see Positions"


def test_a_note_pasted_over_a_formula_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    contents = Contents(settings={"Season_year": 2026}, trees=[{"tag": tag, **SOUND} for tag in ("T1", "T2")])
    path = tmp_path / "book.xlsx"
    assemble(contents, 3).save(path)
    recalculate(path)
    print_trees(path)
    assert "formula" not in capsys.readouterr().out
    book, table = openpyxl.load_workbook(path), trees.table(3)
    cell = f"{table.letter('latest')}{table.first_row + 1}"
    book["Trees"][cell] = "ask Bob"
    book.save(path)
    recalculate(path)
    print_trees(path)
    last = capsys.readouterr().out.splitlines()[-1]
    assert last == f"Trees!{cell} has lost its formula: ask Bob. Copy the cell of another row over it."


def test_a_file_that_is_no_workbook_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    records.write_csv(tmp_path / "station.csv", [])
    with pytest.raises(InputError, match=r"station\.csv is not a workbook, wanted a workbook saved as"):
        app.main(["week", str(tmp_path / "station.csv")], standalone_mode=False)
    assert capsys.readouterr() == ("", "")
