"""The filled workbook, live in a real Calc: every cell as the headless recalculation has it, change after change."""

from __future__ import annotations

import shutil
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, Dict, List, Tuple

import openpyxl
import pytest
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from sheetfuncs.cells.dates import to_serial
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from .expected import same
from .office import RunningOffice

pytestmark = pytest.mark.office

Changes = List[Tuple[str, str, Any]]
Cells = Dict[Tuple[str, str], Any]


def plain(value: Any) -> Any:
    """Return a stored value as a cell of Calc holds it."""
    if isinstance(value, datetime):
        midnight = datetime.combine(value.date(), datetime.min.time())
        return to_serial(value.date()) + (value - midnight) / timedelta(days=1)
    if isinstance(value, date):
        return to_serial(value)
    return float(value) if isinstance(value, (bool, int)) else value


def headless(path: Path) -> Cells:
    """Recalculate a workbook without an office and return all its cells that are not blank."""
    assert recalculate(path).errors == 0
    return {
        (sheet, cell): plain(value)
        for sheet, cells in read_values(path).items()
        for cell, value in cells.items()
        if value != ""
    }


def in_calc(office: RunningOffice, document: str) -> Cells:
    """Return all cells of an open document that are not blank."""
    found = {}
    for sheet in office.sheets(document=document):
        column, row = office.used(document=document, sheet=sheet)
        address = f"A1:{get_column_letter(column + 1)}{row + 1}"
        for line, values in enumerate(office.get(document=document, sheet=sheet, address=address), start=1):
            for column, value in enumerate(values, start=1):
                if value != "":
                    found[sheet, f"{get_column_letter(column)}{line}"] = value
    return found


def differences(shown: Cells, wanted: Cells) -> list[str]:
    """Return the cells that differ: dates to the day, numbers to 1e-9, texts to the letter."""
    return [
        f"{sheet}!{cell}: Calc {shown.get((sheet, cell))!r}, headless {wanted.get((sheet, cell))!r}"
        for sheet, cell in sorted({*shown, *wanted})
        if not same(shown.get((sheet, cell)), wanted.get((sheet, cell)))
    ]


class Places:
    """Where in the workbook a grower types what, found by its names and headings."""

    def __init__(self, path: Path) -> None:
        self._book = openpyxl.load_workbook(path)

    def typed_for(self, name: str) -> tuple[str, str]:
        """Return the cell to type in for a named setting: the one to the left of the one in use."""
        sheet, cell = self._book.defined_names[name].attr_text.replace("$", "").replace("'", "").split("!")
        return sheet, f"{get_column_letter(self._book[sheet][cell].column - 1)}{self._book[sheet][cell].row}"

    def in_table(self, sheet: str, heading: str, row: str | int) -> tuple[str, str]:
        """Return the cell under a heading, in the row that starts with a word, or that many rows below it."""
        cells = self._cells(sheet)
        *_, top = (cell for cell in cells if cell.value == heading)
        if isinstance(row, int):
            return sheet, f"{top.column_letter}{top.row + row}"
        [side] = [cell for cell in cells if cell.value == row and cell.column == 1]
        return sheet, f"{top.column_letter}{side.row}"

    def after_the_last_day(self) -> tuple[int, date]:
        """Return the first free row of the record and the day that belongs into it."""
        days = [cell for cell in self._book["Weather"]["A"] if isinstance(cell.value, datetime)]
        return days[-1].row + 1, days[-1].value.date() + timedelta(days=1)

    def _cells(self, sheet: str) -> list[Any]:
        ws: Worksheet = self._book[sheet]
        return [cell for row in ws.iter_rows() for cell in row]


def changes_of_a_season(path: Path) -> dict[str, Changes]:
    """Return what a grower changes, one thing after the other: sheet, cell, value."""
    places = Places(path)
    row, day = places.after_the_last_day()
    weather = [
        ("Weather", f"{column}{row + later}", value)
        for later in range(4)
        for column, value in (("A", day + timedelta(days=later)), ("B", 11.5 + later), ("C", 27.0 + later / 2))
    ]
    return {
        "frost dates are typed": [
            (*places.typed_for("Frost_one_date"), date(2026, 10, 12)),
        ],
        "another frost date": [(*places.typed_for("Frost_one_date"), date(2026, 9, 30))],
        "a bolder chance": [(*places.typed_for("Chance_wanted"), 0.5)],
        "a warmer wall": [(*places.in_table("Positions", "Warmer at night, your own [°]", "south wall"), 3.25)],
        "another kind for a tree": [(*places.in_table("Trees", "Variety", 2), "late")],
        "no kind, and one that is not there": [
            (*places.in_table("Trees", "Variety", 3), None),
            (*places.in_table("Trees", "Variety", 4), "purple"),
        ],
        "four more days of weather": weather,
        "looking back at another position, for another kind, at another chance": [
            (*places.typed_for("Look_position"), "south wall"),
            (*places.typed_for("Look_kind"), "middle"),
            (*places.typed_for("Look_chance"), 0.9),
        ],
        "a kind's need as the log teaches it, position by position": [
            (*places.in_table("Varieties", "Use the need of", "early"), "position"),
        ],
        "zeros, and the record's own frosts again": [
            (*places.in_table("Positions", "Warmer at night, your own [°]", "south wall"), 0),
            (*places.typed_for("Stall_at"), 0),
            (*places.typed_for("Frost_one_date"), None),
        ],
    }


#: After so many changes everything is compared: a cell that Calc failed to calculate again stays old until then.
COMPARED_AFTER = (1, 4, 7, 10)


class ChangedFile:
    """The demo as a file of its own in which the same things are changed, recalculated without an office."""

    def __init__(self, demo: Path, path: Path) -> None:
        self._book, self._path = openpyxl.load_workbook(demo), path

    def cells_after(self, changes: Changes) -> Cells:
        for sheet, cell, value in changes:
            self._book[sheet][cell] = value
        self._book.save(self._path)
        return headless(self._path)


def test_every_cell_is_equal_change_after_change(
    office: RunningOffice, small_demo_formulas: Path, tmp_path: Path
) -> None:
    document = office.open(path=str(small_demo_formulas), hidden=False)
    other = ChangedFile(small_demo_formulas, tmp_path / "headless.xlsx")
    try:
        before = in_calc(office, document)
        assert sum(sheet == "Trees" for sheet, _ in before) > 500
        assert sum(sheet == "Looking back" for sheet, _ in before) > 300
        assert differences(before, other.cells_after([])) == []
        since: Changes = []
        for number, (about, changes) in enumerate(changes_of_a_season(small_demo_formulas).items(), start=1):
            for sheet, cell, value in changes:
                office.put(document=document, sheet=sheet, address=cell, rows=[[plain(value)]])
            now = in_calc(office, document)
            since += changes
            if number in COMPARED_AFTER:
                assert differences(now, other.cells_after(since)) == [], about
                since = []
            answers = {cell for cell in {*now, *before} if now.get(cell) != before.get(cell)}
            assert len(answers) > len(changes), f"{about} moved nothing"
            before = now
        assert since == []
    finally:
        office.close(document=document)


@pytest.mark.parametrize("kind", [".xlsx", ".ods"])
def test_saved_by_calc_and_opened_again_it_is_still_equal(
    office: RunningOffice, small_demo_formulas: Path, tmp_path: Path, kind: str
) -> None:
    made = shutil.copy(small_demo_formulas, tmp_path / "made.xlsx")
    document = office.open(path=str(made))
    before = in_calc(office, document)
    saved = tmp_path / f"saved{kind}"
    office.save(document=document, path=str(saved))
    office.close(document=document)
    again = office.open(path=str(saved))
    assert differences(in_calc(office, again), before) == []
    if kind == ".ods":  # back to a file that the headless recalculation reads
        saved = saved.with_suffix(".xlsx")
        office.save(document=again, path=str(saved))
    office.close(document=again)
    assert differences(before, headless(saved)) == []


def test_a_fresh_process_makes_its_climates_when_the_book_is_opened(
    extension: Path, small_demo_path: Path, small_demo_formulas: Path, tmp_path: Path
) -> None:
    """Stored answers in the file, a process that knows none of its climates, and one typed frost date."""
    other = ChangedFile(small_demo_formulas, tmp_path / "headless.xlsx")
    fresh = RunningOffice(tmp_path / "office", extension)
    try:
        document = fresh.open(path=str(small_demo_path), hidden=False)
        changes = changes_of_a_season(small_demo_formulas)["frost dates are typed"]
        for sheet, cell, value in changes:
            fresh.put(document=document, sheet=sheet, address=cell, rows=[[plain(value)]])
        assert differences(in_calc(fresh, document), other.cells_after(changes)) == []
    finally:
        fresh.stop()


def test_opened_it_is_as_it_was_saved(office: RunningOffice, small_demo_formulas: Path, tmp_path: Path) -> None:
    """Charts are drawn with new values, formulas are written on guarded sheets: nothing to save, nothing unguarded."""
    assert _guards(small_demo_formulas)
    document = office.open(path=str(small_demo_formulas), hidden=False)
    try:
        assert not office.modified(document=document)
        assert office.undo_steps(document=document) == []
        office.save(document=document, path=str(tmp_path / "saved.xlsx"))
    finally:
        office.close(document=document)
    assert _guards(tmp_path / "saved.xlsx") == _guards(small_demo_formulas)


def _guards(path: Path) -> dict[str, Any]:
    """Return how each sheet is guarded: what stays allowed, and the password."""
    guards = {sheet.title: sheet.protection for sheet in openpyxl.load_workbook(path)}
    kept = ("sheet", "password", "formatCells", "formatColumns", "formatRows", "insertRows", "deleteRows", "sort")
    return {title: {name: getattr(guard, name) for name in kept} for title, guard in guards.items()}
