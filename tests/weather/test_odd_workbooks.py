"""Workbooks that weather cannot be put into, and tables longer or shorter than usual."""

from __future__ import annotations

import shutil
from datetime import date, timedelta

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName

from sheetfuncs.recalc import recalculate
from sheetfuncs.weather.into_book import open_weather
from sheetfuncs.xlsx.inputs import named_area, open_book, write_cells

from ..records import seattle, write_workbook
from . import forms
from .test_in_workbook import FIRST, days_of, type_rows

# -- which workbooks -------------------------------------------------------------------------------------------


def test_a_workbook_without_the_table_is_named(tmp_path, add, book):
    write_workbook(book, seattle())
    assert "no table of weather" in add(forms.text(tmp_path / "t.csv", seattle()))


def test_a_workbook_that_is_open_is_left_alone(book, add, tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle())
    before = book.read_bytes()
    book.with_name(f".~lock.{book.name}#").write_text("someone")
    assert "open in an office program" in add(path)
    assert book.read_bytes() == before


def test_a_workbook_changed_meanwhile_is_left_alone(book):
    opened = open_book(book)
    name, area = named_area(opened, "Weather_days")
    changed = shutil.copy(book, book.with_name("other.xlsx"))
    type_rows(changed, seattle()[:3])
    book.write_bytes(changed.read_bytes())
    content = book.read_bytes()
    with pytest.raises(ValueError, match="changed by another program"):
        write_cells(opened, name, area, {(area.top, area.left): 1.0})
    assert book.read_bytes() == content


def test_of_a_record_longer_than_the_table_the_last_days_are_kept(book, add, tmp_path):
    typed = openpyxl.load_workbook(book)
    typed.defined_names["Weather_days"] = DefinedName("Weather_days", attr_text=f"Weather!$A${FIRST}:$C${FIRST + 99}")
    typed.save(book)
    recalculate(book)
    output = add(forms.text(tmp_path / "t.csv", seattle()))
    assert "left out 1,361 days up to 2015-09-22: the sheet holds no more days" in output
    assert [row[0] for row in days_of(book)] == [day for day, _, _ in seattle()[-100:]]
    full = book.read_bytes()
    later = [(day + timedelta(days=7), low, high) for day, low, high in seattle()[-7:]]
    # A week does not show its unit: it is that of the days that are there.
    assert "has room for 0 more days" in add(forms.text(tmp_path / "later.csv", later))
    assert book.read_bytes() == full


def test_a_long_table_is_read_and_written_in_a_line_with_its_length(book, add, tmp_path):
    """30,000 days: no work is done for every pair of rows."""
    rows = [(date.fromordinal(700_000 + index), index % 30 * 0.5, 20 + index % 17 * 0.5) for index in range(30_000)]
    add(forms.text(tmp_path / "t.csv", rows))
    known = open_weather(book)
    assert [tuple(row[1:4]) for row in known.rows] == rows
    assert known.next_row == FIRST + 30_000
