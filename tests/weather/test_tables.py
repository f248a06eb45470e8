"""Plain tables: any order of columns, any separator, headings in several languages or none, and what tells them."""

from __future__ import annotations

import gzip
import itertools
from datetime import date

import pytest

from sheetfuncs.cells.dates import read_date
from sheetfuncs.weather import Options, TwoReadingsError, read_weather_file
from sheetfuncs.weather.stamps import read_date_text

from ..records import chicago, seattle
from . import forms


def triples(found):
    return [tuple(day) for day in found.days]


def choices_of(found):
    return {choice.what: (choice.reading, choice.why) for choice in found.choices}


@pytest.mark.parametrize("separator", [",", ";", "\t", "|", ", ", "   "])
@pytest.mark.parametrize("order", list(itertools.permutations(range(3))))
def test_columns_stand_in_any_order_with_and_without_headings(tmp_path, separator, order):
    for heading in (None, tuple(("Date", "Low", "High")[index] for index in order)):
        path = forms.text(tmp_path / "t.txt", seattle(), heading, separator, order=order)
        found = read_weather_file(path)
        assert triples(found) == list(seattle())
        assert (found.unit, found.refused, found.gaps) == ("C", (), ())


@pytest.mark.parametrize(
    "heading",
    [
        ("date", "tmin", "tmax"),
        ("DATE", "TN", "TX"),
        ("Datum", "Tiefsttemperatur in °C", "Höchsttemperatur in °C"),
        ("Messdatum", "TNK", "TXK"),
        ("Date", "Température minimale (°C)", "Température maximale (°C)"),
        ("Fecha", "Temp. mínima", "Temp. máxima"),
        ("Data", "T min", "T max"),
        ("Datum", "Minimum temperatuur", "Maximum temperatuur"),
        ("Data", "Temperatura minimalna", "Temperatura maksymalna"),
        ("日付", "最低気温(℃)", "最高気温(℃)"),
        ("日期", "最低气温", "最高气温"),
        ("Ημερομηνία", "Ελάχιστη θερμοκρασία", "Μέγιστη θερμοκρασία"),
        ("Date/Time (LST)", "Min Temp (°C)", "Max Temp (°C)"),
        ("day", "lowTemp", "highTemp"),
    ],
)
def test_headings_in_several_languages(tmp_path, heading):
    # High before low: what stands in the columns would not show a wrong heading.
    path = forms.text(tmp_path / "t.csv", seattle(), [heading[index] for index in (2, 0, 1)], ";", order=(2, 0, 1))
    found = read_weather_file(path)
    assert triples(found) == list(seattle())
    assert choices_of(found)["columns"][1] == "by their headings"


def test_other_columns_of_a_station_do_not_confuse(tmp_path):
    heading = ("Date/Time", "Min Temp (°C)", "Max Temp (°C)", "Max Temp Flag", "Mean Temp (°C)", "Dew Point Temp (°C)",
               "Min Humidity", "Year", "Month", "Day")  # fmt: skip
    path = forms.text(tmp_path / "t.csv", seattle(), heading, more=("", "9.9", "1.1", "55", "2012", "1", "1"))
    assert triples(read_weather_file(path)) == list(seattle())


def test_year_month_and_day_may_stand_apart(tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle(), ("Year", "Mo", "Dy", "Low", "High"), date="%Y,%m,%d")
    assert triples(read_weather_file(path)) == list(seattle())


def test_notes_above_and_remarks_between_are_passed_over(tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle())
    lines = path.read_text().splitlines()
    above = ["Invented valley, station 7", "Made on 2026-01-01", "", lines[0], "yyyy-mm-dd,°C,°C"]
    path.write_text("\n".join([*above, *lines[1:500], "", "# sensor cleaned", ",,", *lines[500:]]))
    found = read_weather_file(path)
    assert triples(found) == list(seattle())
    assert choices_of(found)["unit"] == ("°C", "as the file says")


def test_a_heading_behind_a_hash_is_one(tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle(), ("# STN", "YYYYMMDD", "TN", "TX"), date="260,%Y%m%d")
    found = read_weather_file(path)
    assert (triples(found), found.station) == (list(seattle()), "260")


@pytest.mark.parametrize("separator", [";", "\t", " ", "|"])
def test_decimal_commas(tmp_path, separator):
    path = forms.text(tmp_path / "t.csv", seattle(), None, separator, "%d.%m.%Y", comma=True)
    assert triples(read_weather_file(path)) == list(seattle())


def test_decimal_commas_in_quotation_marks(tmp_path):
    lines = ['"Datum","Min","Max"']
    for day, low, high in seattle():
        values = (f'"{value}"'.replace(".", ",") for value in (low, high))
        lines.append(",".join([f'"{day:%d.%m.%Y}"', *values]))
    path = tmp_path / "t.csv"
    path.write_text("\n".join(lines))
    assert triples(read_weather_file(path)) == list(seattle())


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_ends_of_lines(tmp_path, encoding, end):
    heading = ("Date", "Température minimale (°C)", "Température maximale (°C)")
    path = forms.text(tmp_path / "t.csv", seattle(), heading, ";", encoding=encoding, end=end)
    packed = tmp_path / "t.csv.gz"
    packed.write_bytes(gzip.compress(path.read_bytes()))
    for one in (path, packed):
        found = read_weather_file(one)
        assert triples(found) == list(seattle())
        assert "Température" in choices_of(found)["columns"][0]
        assert found.lines == len(seattle()) + 1


def test_units_and_other_minus_signs_beside_values(tmp_path):
    lines = ["Day;Low;High"]
    for day, low, high in seattle():
        lines.append(f"{day};{low} °C;{high} °C".replace("-7.1", "−7.1"))
    path = tmp_path / "t.csv"
    path.write_text("\n".join(lines))
    found = read_weather_file(path)
    assert triples(found) == list(seattle())
    assert choices_of(found)["unit"] == ("°C", "as the file says")


@pytest.mark.parametrize("mark", ["", "NA", "-9999", "-999.9", "9999", "---", "M", "nan", "-99.9", "null"])
def test_marks_of_missing_values_are_gaps(tmp_path, mark):
    gone = range(100, 110)
    lines = ["date,low,high"]
    for index, (day, low, high) in enumerate(seattle()):
        lines.append(f"{day},{mark},{mark}" if index in gone else f"{day},{low},{high}")
    path = tmp_path / "t.csv"
    path.write_text("\n".join(lines) + "\n")
    found = read_weather_file(path)
    assert triples(found) == [row for index, row in enumerate(seattle()) if index not in gone]
    assert ([gap.days for gap in found.gaps], found.refused) == ([10], ())


# -- dates -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "style",
    ["%Y-%m-%d", "%Y/%m/%d", "%Y%m%d", "%d/%m/%Y", "%m/%d/%Y", "%d.%m.%Y", "%m-%d-%Y", "%d/%m/%y", "%m/%d/%y",
     "%d %b %Y", "%d-%B-%Y", "%B %d, %Y", "%Y-%m-%d 00:00", "%Y-%m-%dT00:00:00", "%Y年%m月%d日"],
)  # fmt: skip
def test_dates_in_many_styles(tmp_path, style):
    separator = ";" if "," in style else ","
    path = forms.text(tmp_path / "t.csv", seattle(), separator=separator, date=style)
    assert triples(read_weather_file(path)) == list(seattle())


def test_names_of_months_in_other_languages(tmp_path):
    names = (
        "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
        "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
        "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
        "gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre dicembre",
    )
    for months in map(str.split, names):
        lines = [f"{day.day}. {months[day.month - 1]} {day.year};{low};{high}" for day, low, high in seattle()]
        path = tmp_path / "t.csv"
        path.write_text("\n".join(lines))
        assert triples(read_weather_file(path)) == list(seattle())


@pytest.mark.parametrize("text", ["2026/7/4", "20260704", "4. Juli 2026", "4 de julio de 2026", "July 4, 2026"])
def test_a_typed_date_is_read_as_one_of_a_file_is(text):
    assert read_date(text) == date(2026, 7, 4)
    assert read_date_text(text).day("day-month") == date(2026, 7, 4)


@pytest.mark.parametrize("text", ["4/7/2026", "4.7.26", "July 2026", "4 July"])
def test_a_typed_date_that_can_be_two_days_is_refused(text):
    with pytest.raises(ValueError, match="in no doubt"):
        read_date(text)


FEW = [row for row in seattle() if row[0].year == 2013 and row[0].day <= 12]


def test_days_and_months_are_decided_by_one_line_in_the_whole_file(tmp_path):
    for style, wanted in (("%d/%m/%Y", "day/month/year"), ("%m/%d/%Y", "month/day/year")):
        rows = [*FEW, *[row for row in seattle() if row[0] == date(2013, 12, 13)]]
        found = read_weather_file(forms.text(tmp_path / "t.csv", rows, date=style))
        assert triples(found) == rows
        reading, why = choices_of(found)["dates"]
        assert reading == wanted
        assert f"line {len(rows) + 1} has" in why


def test_days_and_months_that_nothing_decides_are_a_question(tmp_path):
    for style, answer in (("%d/%m/%Y", "day-month"), ("%m/%d/%Y", "month-day")):
        path = forms.text(tmp_path / "t.csv", FEW, date=style)
        with pytest.raises(TwoReadingsError, match="--date-order") as caught:
            read_weather_file(path)
        assert (caught.value.option, caught.value.answers) == ("date_order", ("day-month", "month-day"))
        assert triples(read_weather_file(path, Options(date_order=answer))) == FEW


def test_two_digits_of_a_year_are_never_in_the_future(tmp_path):
    rows = [(date(1930, 1, 1 + index), 5.5 + index % 3, 15.5 + index % 7) for index in range(28)]
    found = read_weather_file(forms.text(tmp_path / "t.csv", rows, date="%d/%m/%y"), Options(unit="C"))
    assert found.days[0].day == date(1930, 1, 1)
    assert "two digits" in choices_of(found)["dates"][0]


def test_years_first_in_two_digits(tmp_path):
    path = forms.text(tmp_path / "t.csv", chicago(), date="%y-%m-%d")
    found = read_weather_file(path)
    assert triples(found) == list(chicago())
    assert choices_of(found)["dates"][0].startswith("year/month/day")


def test_what_decided_the_order_is_named(tmp_path):
    # No month is the thirteenth; that the year comes first, and not the day, only the lines one after the other show.
    rows = [(date(2013, 1, 1 + index), 5.5 + index % 3, 15.5 + index % 7) for index in range(12)]
    found = read_weather_file(forms.text(tmp_path / "t.csv", rows, date="%y-%m-%d"), Options(unit="C"))
    assert choices_of(found)["dates"] == ("year/month/day, years of two digits", "line follows line day by day")


def test_a_day_after_today_was_not_measured(tmp_path):
    path = forms.text(tmp_path / "t.csv", seattle())
    found = read_weather_file(path, today=date(2015, 12, 29))
    assert found.days[-1].day == date(2015, 12, 30)
    assert [(item.day, "after today" in item.reason) for item in found.refused] == [(date(2015, 12, 31), True)]
