"""A row is named by its number in the file, whatever stands above it; a row of a range by its number in the range."""

from __future__ import annotations

import openpyxl
import pytest
from click.testing import CliRunner

import sheetfuncs
from sheetfuncs.cells.errors import InputError
from sheetfuncs.cli.app import app
from sheetfuncs.planner.sheets import weather as sheet
from sheetfuncs.recalc import recalculate
from sheetfuncs.weather import read_weather, read_weather_file
from sheetfuncs.xlsx import read_values

from ..records import seattle
from . import forms
from .test_in_workbook import type_rows

#: What may stand above the rows of a file, and how many lines that are.
ABOVE = {
    "nothing": ([], 0),
    "a heading": ([["Date", "Low", "High"]], 1),
    "a heading below notes": ([["Invented valley"], [], ["height", "12"], ["Date", "Low", "High"], [], []], 6),
}
SPOILED = 700


def rows(reverse=False):
    """Return a record whose day of a known number has its low above its high."""
    found = [list(row) for row in seattle()]
    found[SPOILED][1] = found[SPOILED][2] + 5
    return found[::-1] if reverse else found


def text(path, above, body, gap=()):
    lines = [",".join(map(str, row)) for row in above] + [",".join(map(str, row)) for row in body]
    for number in gap:
        lines.insert(number, "")
    path.write_text("\n".join(lines) + "\n")
    return path


def workbook(path, above, body, gap=()):
    book = openpyxl.Workbook()
    for number, row in enumerate([*above, *body], start=1):
        for column, value in enumerate(row, start=1):
            book.active.cell(number, column).value = value
    for number in gap:
        book.active.insert_rows(number + 1)
    book.save(path)
    return path


@pytest.mark.parametrize("write", [text, workbook], ids=["text", "workbook"])
@pytest.mark.parametrize("above", ABOVE)
@pytest.mark.parametrize("gap", [(), (20, 500)], ids=["in one piece", "with blank rows"])
def test_a_day_that_is_no_weather_is_named_by_its_row(tmp_path, write, above, gap):
    heading, lines = ABOVE[above]
    path = write(tmp_path / ("t.csv" if write is text else "t.xlsx"), heading, rows(), gap)
    wanted = lines + SPOILED + 1 + len(gap)
    (refused,) = read_weather_file(path).refused
    assert (refused.line, refused.day) == (wanted, seattle()[SPOILED][0])
    note = sheetfuncs.climate_note(sheetfuncs.climate_of(read_weather(path)))
    assert f"1 row not used: row {wanted} ({refused.day}: " in note
    if write is text:
        for _ in range(2):  # read, and found in the cache
            result = CliRunner().invoke(app, ["climate-note", "--weather", str(path)])
            assert note in result.stdout


def test_the_order_of_the_days_does_not_change_a_row_s_name(tmp_path):
    path = text(tmp_path / "t.csv", [["Date", "Low", "High"]], rows(reverse=True))
    note = sheetfuncs.climate_note(sheetfuncs.climate_of(read_weather(path)))
    assert f"row {1 + len(rows()) - SPOILED} (" in note


@pytest.mark.parametrize("write", [text, workbook], ids=["text", "workbook"])
def test_a_row_that_cannot_be_read_is_named_by_its_number(tmp_path, write):
    heading, lines = ABOVE["a heading below notes"]
    body = rows()
    body[30][1] = "warm"
    path = write(tmp_path / ("t.csv" if write is text else "t.xlsx"), heading, body)
    with pytest.raises(InputError, match=f'line {lines + 31} has "warm"'):
        read_weather(path)


def test_a_row_of_months_is_named_by_its_line(tmp_path):
    months = [[month, 5, 15] for month in range(1, 13)]
    months[6][2] = 900
    path = text(tmp_path / "t.csv", [["month", "low", "high"]], months, gap=(1,))
    with pytest.raises(InputError, match="weather row 9, high is 900"):
        sheetfuncs.climate_of(read_weather(path))


def test_a_value_of_the_archive_is_named_by_its_line(tmp_path):
    path = forms.one_value_a_line(tmp_path / "t.csv", rows(), "C")
    assert [refused.line for refused in read_weather_file(path).refused] == [1 + 3 * SPOILED + 1]
    assert f"row {3 * SPOILED + 2} (" in sheetfuncs.climate_note(sheetfuncs.climate_of(read_weather(path)))


@pytest.mark.parametrize("above", [[], [["Date", "Low", "High"]], [[None] * 3, ["Date", "Low", "High"]]])
def test_a_row_of_a_range_is_named_as_one(above):
    note = sheetfuncs.climate_note(sheetfuncs.climate_of([*above, *rows()]))
    assert f"1 row not used: row {len(above) + SPOILED + 1} of the range (" in note
    twice = [*above, *rows(), [seattle()[9][0], 1, 30]]
    with pytest.raises(InputError, match=rf"\(rows {len(above) + 10} and {len(twice)} of the range\)"):
        sheetfuncs.climate_of(twice)


def test_the_note_of_a_filled_book_counts_as_its_sheet_does(book):
    type_rows(book, rows())
    recalculate(book)
    texts = [value for cells in read_values(book).values() for value in cells.values() if isinstance(value, str)]
    notes = [value for value in texts if "not used: row" in value]
    assert notes
    assert all(f"row {sheet.DAYS.first_row + SPOILED} (" in note for note in notes)
    assert not any("of the range" in text for text in texts)


def test_a_row_is_named_by_its_number_below_titles_and_a_heading():
    above = [["Weather", None, None], ["Paste the days below", "", ""], ["Days", None, 3653.0], ["Date", "Low", "High"]]
    note = sheetfuncs.climate_note(sheetfuncs.climate_of([*above, *rows()]))
    assert f"1 row not used: row {len(above) + SPOILED + 1} of the range (" in note
