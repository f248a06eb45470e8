"""Units, columns and workbooks of stations: found from the file as a whole, or a question."""

from __future__ import annotations

from datetime import date

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfuncs.weather import Options, TwoReadingsError, read_weather, read_weather_file

from ..records import chicago, seattle, write_workbook
from . import forms
from .test_tables import choices_of, triples

# -- units -----------------------------------------------------------------------------------------------------


def test_units_are_found_by_the_warm_days_of_the_whole_file(tmp_path):
    for rows, unit in ((seattle(), "C"), (chicago(), "F")):
        found = read_weather_file(forms.text(tmp_path / "t.csv", rows))
        assert found.unit == unit
        assert "one day in ten" in choices_of(found)["unit"][1]


def test_a_winter_alone_does_not_show_the_unit(tmp_path):
    rows = [row for row in chicago() if row[0].month in (12, 1, 2)]
    path = forms.text(tmp_path / "t.csv", rows)
    with pytest.raises(TwoReadingsError, match="--unit") as caught:
        read_weather_file(path)
    assert (caught.value.option, set(caught.value.answers)) == ("unit", {"C", "F"})
    assert read_weather_file(path, Options(unit="F")).unit == "F"


def test_a_summer_in_fahrenheit_can_be_nothing_else(tmp_path):
    rows = [(day, low + 0.1, high) for day, low, high in chicago() if day.month in (6, 7, 8)]
    assert read_weather_file(forms.text(tmp_path / "t.csv", rows)).unit == "F"


def test_a_heading_with_the_wrong_unit_is_not_believed(tmp_path):
    path = forms.text(tmp_path / "t.csv", chicago(), ("Date", "Low (°C)", "High (°C)"))
    with pytest.raises(TwoReadingsError, match=r"says °C.*--unit"):
        read_weather_file(path)


def test_tenths_are_taken_where_nothing_else_is_possible(tmp_path):
    rows = [(day, low * 10, high * 10) for day, low, high in seattle()]
    found = read_weather_file(forms.text(tmp_path / "t.csv", rows))
    assert triples(found) == list(seattle())
    assert "tenths" in choices_of(found)["unit"][0]


@given(
    coldest=st.floats(-25, 8), warmest=st.floats(16, 45), months=st.lists(st.integers(1, 12), min_size=7, unique=True)
)
def test_no_climate_of_figs_is_read_in_the_wrong_unit(coldest, warmest, months):
    from sheetfuncs.weather.units import possible_units, temperatures_of

    for unit, turn in (("C", lambda value: value), ("F", lambda value: value * 1.8 + 32)):
        highs = [turn(coldest + (warmest - coldest) * step / 30) for step in range(31)]
        assert possible_units(temperatures_of(highs, months, whole=False), may_be_tenths=False) in ([unit], [])


# -- columns ---------------------------------------------------------------------------------------------------


def test_numbers_without_headings_are_not_guessed_at(tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle(), None, more=("3.5",))
    with pytest.raises(TwoReadingsError, match="--columns") as caught:
        read_weather_file(path)
    assert caught.value.option == "columns"
    found = read_weather_file(path, Options(columns="date=1,low=2,high=3"))
    assert triples(found) == list(seattle())


def test_columns_are_named_by_heading_or_number(tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle(), ("wann", "kalt", "warm"))
    for columns in ("date=wann,low=kalt,high=warm", "date=1, high=3, low=KALT"):
        assert triples(read_weather_file(path, Options(columns=columns))) == list(seattle())
    for wrong in ("date=1", "date=1,low=2", "date=1,low=2,high=9", "low=2,high=3", "date=1,low=,high=3"):
        with pytest.raises(ValueError, match="columns"):
            read_weather_file(path, Options(columns=wrong))


def test_two_columns_that_could_be_the_low_are_a_question(tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle(), ("Date", "Low", "High", "Min"), more=("1.5",))
    with pytest.raises(TwoReadingsError, match="low could be column"):
        read_weather_file(path)


def test_low_and_high_are_known_by_which_is_lower(tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle(), None, order=(0, 2, 1))
    found = read_weather_file(path)
    assert triples(found) == list(seattle())
    assert "low = 3; high = 2" in choices_of(found)["columns"][0]


# -- workbooks -------------------------------------------------------------------------------------------------


def test_workbooks_of_a_station(tmp_path):
    for headings in (("Date", "Low", "High"), None):
        found = read_weather_file(write_workbook(tmp_path / "t.xlsx", seattle(), headings))
        assert triples(found) == list(seattle())
        assert "workbook" in found.form


def test_a_workbook_with_notes_texts_and_other_sheets(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["Read me"])
    sheet = book.create_sheet("Data")
    sheet.append(["Station 7, °C"])
    sheet.append([])
    sheet.append(["Datum", None, "Min", "Max", None, "Bemerkung"])
    for index, (day, low, high) in enumerate(seattle()):
        note = "Frost" if index == 9 else None
        sheet.append([day.strftime("%d.%m.%Y"), None, low, str(high).replace(".", ","), None, note])
    path = tmp_path / "t.xlsx"
    book.save(path)
    found = read_weather_file(path)
    assert triples(found) == list(seattle())
    assert choices_of(found)["sheet"] == ("Data", "the only one with weather")


def test_a_workbook_with_weather_on_two_sheets_wants_one(tmp_path):
    book = openpyxl.Workbook()
    for name, shift in (("wall", 1), ("open", 0)):
        sheet = book.create_sheet(name)
        sheet.append(["Date", "Low", "High"])
        for day, low, high in seattle():
            sheet.append([day, low + shift, high + shift])
    path = tmp_path / "t.xlsx"
    book.save(path)
    with pytest.raises(TwoReadingsError, match="--sheet") as caught:
        read_weather_file(path)
    assert caught.value.answers == ("wall", "open")
    assert triples(read_weather_file(path, Options(sheet="open"))) == list(seattle())


def test_day_numbers_in_cells_without_a_date_style_are_dates(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["Date", "Low", "High"])
    for day, low, high in seattle():
        book.active.append([(day - date(1899, 12, 30)).days, low, high])
    path = tmp_path / "t.xlsx"
    book.save(path)
    assert triples(read_weather_file(path)) == list(seattle())


# -- for a climate ---------------------------------------------------------------------------------------------


def test_rows_for_a_climate_are_in_the_unit_that_is_wanted(tmp_path):
    path = forms.text(tmp_path / "t.csv", chicago())
    assert [tuple(row) for row in read_weather(path)] == list(chicago())
    assert [tuple(row) for row in read_weather(path, "F")] == list(chicago())
    with pytest.raises(ValueError, match="in °F"):
        read_weather(path, "C")
    dly = forms.fixed_width(tmp_path / "t.dly", chicago())
    assert [tuple(row) for row in read_weather(dly, "C")] == forms.in_tenths(chicago())
    for (_, low, high), (_, wanted_low, wanted_high) in zip(read_weather(dly, "F"), chicago()):
        assert abs(low - wanted_low) <= 0.15
        assert abs(high - wanted_high) <= 0.15


def test_twelve_months_are_rows_of_months(tmp_path):
    path = tmp_path / "months.csv"
    rows = [[month, month - 7.5, month + 2.5] for month in range(1, 13)]
    for separator, heading in ((",", "month,low,high\n"), (";", ""), ("\t", "")):
        lines = (separator.join(str(cell) for cell in row) for row in rows)
        path.write_text(heading + "\n".join(lines))
        assert read_weather(path) == rows


def test_a_question_that_a_climate_s_options_cannot_answer_names_the_command_that_can(tmp_path):
    rows = [row for row in seattle() if row[0].day <= 12]
    path = forms.text(tmp_path / "t.csv", rows, date="%d/%m/%Y")
    with pytest.raises(TwoReadingsError, match=r"wanted --date-order .*, an option of: sheetfuncs add-weather"):
        read_weather(path, "C")


def test_a_unit_that_no_weather_has_is_said_to_be_none_that_is_known(tmp_path):
    path = forms.text(tmp_path / "t.csv", [(day, low * 20, high * 20) for day, low, high in chicago()])
    with pytest.raises(TwoReadingsError, match="is in no unit that is known"):
        read_weather_file(path)
