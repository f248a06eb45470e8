"""Days added to a workbook: what is printed, what is written, and that nothing else changes by a byte."""

from __future__ import annotations

import re
import zipfile
from datetime import date, datetime

import openpyxl

from sheetfuncs.planner.sheets import weather as sheet
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from ..records import chicago, seattle
from . import forms

FIRST = sheet.DAYS.first_row


def parts(path):
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def without_values(part, of=r"<f.*?(?:/>|</f>)"):
    """Return a part's XML without the stored values of its formulas, or of what is in its cells before the values."""
    cell = re.compile(rf'(<c r="\w+"(?: s="\d+")?)(?: t="\w+")?>({of})(?:<v[^>]*>[^<]*</v>)?</c>')
    return cell.sub(r"\1>\2</c>", part.decode("latin-1"))


def days_of(path):
    """Return the rows of the sheet Weather as another library reads them."""
    cells = openpyxl.load_workbook(path, data_only=True, read_only=True)[sheet.NAME]
    cells.reset_dimensions()
    rows = cells.iter_rows(min_row=FIRST, max_col=3, values_only=True)
    return [(row[0].date() if isinstance(row[0], datetime) else row[0], *row[1:]) for row in rows if any(
        cell is not None for cell in row)]  # fmt: skip


def type_rows(path, rows, first=FIRST):
    """Type rows into the sheet, as an office program would."""
    book = openpyxl.load_workbook(path)
    for number, row in enumerate(rows, start=first):
        for column, value in enumerate(row, start=1):
            book[sheet.NAME].cell(number, column).value = value
    book.save(path)
    recalculate(path)


# -- what is added ---------------------------------------------------------------------------------------------


def test_days_are_added_and_nothing_else_changes(book, add, tmp_path):
    before = parts(book)
    output = add(forms.text(tmp_path / "t.csv", seattle()))
    after = parts(book)
    assert days_of(book) == list(seattle())
    assert list(before) == list(after)
    changed = [name for name in before if before[name] != after[name]]
    weather = f"xl/worksheets/sheet{openpyxl.load_workbook(book).sheetnames.index(sheet.NAME) + 1}.xml"
    for name in set(changed) - {weather}:  # nothing but the values of formulas, those that fill several cells too
        assert without_values(before[name], "(?:<f.*?</f>)?") == without_values(after[name], "(?:<f.*?</f>)?")
    old, new = without_values(before[weather]), without_values(after[weather])
    # Take out what was added: cells, whole rows, and the note of the sheet's size.
    kept = re.sub(r'<c r="[ABC]\d+"( s="\d+")?><v>[-\d.]+</v></c>', "", new)
    kept = re.sub(r'<row r="\d+"[^>]*></row>', "", kept)
    assert re.sub(r'<dimension ref="[^"]*" ?/>', "", kept) == re.sub(r'<dimension ref="[^"]*" ?/>', "", old)
    for words in ("t.csv", "1,461 from 2012-01-01 to 2015-12-31", "°C", "date = 1", "1,461 days new", "recalc"):
        assert words in output


def test_recalculated_each_sheet_is_as_if_it_were_new(book, add, tmp_path):
    add(forms.text(tmp_path / "t.csv", seattle()))
    from_scratch = tmp_path / "from scratch.xlsx"
    openpyxl.load_workbook(book).save(from_scratch)  # without any stored value
    recalculate(book)
    recalculate(from_scratch)
    assert read_values(book) == read_values(from_scratch)


def test_new_cells_look_as_the_table_does(book, add, tmp_path):
    add(forms.text(tmp_path / "t.csv", seattle()))
    cells = openpyxl.load_workbook(book)[sheet.NAME]
    for letter in "ABC":
        column = cells.column_dimensions[letter]
        for row in (FIRST, FIRST + 11, FIRST + 12, FIRST + 1460):
            cell = cells[f"{letter}{row}"]
            assert cell.fill.fgColor.rgb == column.fill.fgColor.rgb != "00000000"
            assert cell.number_format == column.number_format
            assert not cell.protection.locked
    assert cells["A9"].is_date


def test_twice_changes_nothing(book, add, tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle())
    add(path)
    once = book.read_bytes()
    state = book.stat().st_mtime_ns
    output = add(path)
    assert (book.read_bytes(), book.stat().st_mtime_ns) == (once, state)
    assert "0 days new; 1,461 known and the same" in output
    assert "as it was" in output


def test_a_dry_run_writes_nothing_and_says_the_same(book, add, tmp_path):
    before = book.read_bytes()
    path = forms.text(tmp_path / "t.csv", seattle())
    dry = add(path, "--dry-run")
    assert book.read_bytes() == before
    real = [line for line in add(path).splitlines()[:-1] if "is kept as" not in line]
    assert dry.splitlines()[:-1] == real


def test_the_workbook_gives_a_climate_afterwards(book, add, tmp_path):
    add(forms.fixed_width(tmp_path / "t.dly", chicago()))
    recalculate(book)
    values = read_values(book)
    assert any("5,698 days" in str(value) for value in values["Place"].values())


def test_days_go_on_below_the_last_and_known_ones_stay(book, add, tmp_path):
    typed = [(day, low, high) for day, low, high in reversed(seattle()[100:110])]
    typed[3] = (typed[3][0], -9.5, 1.5)
    type_rows(book, typed)
    output = add(forms.text(tmp_path / "t.csv", seattle()))
    rows = days_of(book)
    assert rows[:10] == typed
    assert rows[10:] == [*seattle()[:100], *seattle()[110:]]
    assert "1,451 days new; 9 known and the same; 1 known and different, left as they are" in output
    assert f"row {FIRST + 3}, {typed[3][0]}: is -9.5 to 1.5, the file has" in output


def test_replace_takes_the_files_values_and_prints_what_was_there(book, add, tmp_path):
    typed = [(day, low - 5, high) for day, low, high in seattle()[:20]]
    type_rows(book, typed)
    output = add(forms.text(tmp_path / "t.csv", seattle()), "--replace")
    assert days_of(book) == list(seattle())
    assert "20 replaced" in output
    for row, (day, low, high) in enumerate(typed, start=FIRST):
        assert f"row {row}, {day}: was {low:g} to {high:g}" in output


def test_a_blank_cell_of_a_known_day_is_filled(book, add, tmp_path):
    typed = [list(row) for row in seattle()[:3]]
    typed[1][2] = None
    type_rows(book, typed)
    output = add(forms.text(tmp_path / "t.csv", seattle()[:3]), "--unit", "C")
    assert days_of(book) == list(seattle()[:3])
    assert "1 known and now complete" in output


def test_days_are_turned_into_the_workbooks_unit(book, add, tmp_path):
    output = add(forms.text(tmp_path / "t.csv", chicago()))
    assert "turned from °F into the workbook's °C" in output
    for (day, low, high), (wanted, *pair) in zip(days_of(book), chicago()):
        assert day == wanted
        assert [low, high] == [round((value - 32) / 1.8, 1) for value in pair]


def test_a_workbook_in_fahrenheit(book, add, tmp_path):
    typed = openpyxl.load_workbook(book)
    row = next(cell.row for cell in typed["Place"]["A"] if cell.value == "Unit of temperature")
    typed["Place"][f"B{row}"].value = "F"
    typed.save(book)
    whole = [(day, round(low), round(high)) for day, low, high in chicago()]
    path = forms.text(tmp_path / "t.csv", whole)
    assert "first: sheetfuncs recalc" in add(path)
    recalculate(book)
    add(path)
    assert days_of(book) == whole
    # The same record as NOAA keeps it, in tenths of °C, is known already.
    output = add(forms.fixed_width(tmp_path / "t.dly", whole))
    assert f"0 days new; {len(whole):,} known and the same" in output


def test_several_files_that_overlap(book, add, tmp_path):
    one = forms.text(tmp_path / "one.csv", seattle()[:900])
    two = forms.text(tmp_path / "two.csv", seattle()[800:], date="%d.%m.%Y", separator=";")
    output = add(one, two)
    assert days_of(book) == list(seattle())
    assert "900 days new" in output
    assert "561 days new; 100 known and the same" in output


def test_another_place_is_warned_of(book, add, tmp_path):
    add(forms.text(tmp_path / "t.csv", seattle()))
    assert "the same place" in add(forms.text(tmp_path / "c.csv", chicago()))


def test_rows_of_the_user_that_are_no_days_stay_and_are_named(book, add, tmp_path):
    type_rows(book, [("spring 2012", 1.5, 2.5), (date(2012, 1, 2), "cold", 5.0), (None, 1.0, 2.0)])
    output = add(forms.text(tmp_path / "t.csv", seattle()))
    rows = days_of(book)
    assert rows[:3] == [("spring 2012", 1.5, 2.5), (date(2012, 1, 2), "cold", 5.0), (None, 1.0, 2.0)]
    assert rows[3:] == [row for row in seattle() if row[0] != date(2012, 1, 2)]
    for words in (f"row {FIRST}", f"row {FIRST + 1}", f"row {FIRST + 2}: has no date", "left alone"):
        assert words in output


def test_a_file_that_can_be_read_in_two_ways_is_a_question(book, add, tmp_path):
    before = book.read_bytes()
    winter = [row for row in chicago() if row[0].month == 1 and row[0].day <= 12]
    path = forms.text(tmp_path / "t.csv", winter, date="%d/%m/%Y")
    assert "--date-order day-month or month-day" in add(path)
    assert "--unit C or F" in add(path, "--date-order", "day-month")
    assert book.read_bytes() == before
    add(path, "--date-order", "day-month", "--unit", "f")
    assert [row[0] for row in days_of(book)] == [row[0] for row in winter]


def test_a_terminal_gets_the_question(book, tmp_path, monkeypatch):
    from click.testing import CliRunner

    from sheetfuncs.cli import weather

    monkeypatch.setattr(weather, "_someone_answers", lambda: True)
    winter = [row for row in chicago() if row[0].month == 1 and row[0].day <= 12]
    path = forms.text(tmp_path / "t.csv", winter, date="%m/%d/%Y")
    before = book.read_bytes()
    refusing = CliRunner().invoke(weather.add_weather, [str(book), str(path)], input="month-day\nF\nn\n")
    assert book.read_bytes() == before
    assert refusing.exit_code == 1
    result = CliRunner().invoke(weather.add_weather, [str(book), str(path)], input="month-day\nf\ny\n")
    assert result.exit_code == 0
    assert [row[0] for row in days_of(book)] == [row[0] for row in winter]


def test_no_text_of_a_file_reaches_the_workbook(book, add, tmp_path):
    heading = ("Station", "Date", "Low", "High")
    add(forms.text(tmp_path / "t.csv", seattle(), heading, date="=cmd|' /C calc'!A0,%Y-%m-%d"))
    assert days_of(book) == list(seattle())
    assert not any(b"cmd" in content for content in parts(book).values())
