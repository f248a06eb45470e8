"""GHCN-Daily in its published layouts, made from real records and read back to the same days."""

from __future__ import annotations

import gzip
from datetime import date

import pytest

from sheetfuncs.weather import Gap, Options, TwoReadingsError, WeatherFileError, read_weather_file

from ..records import chicago, clemson
from . import forms

MAKERS = {
    "fixed": forms.fixed_width,
    "by station": lambda path, rows, **more: forms.one_value_a_line(path, rows, heading=False, **more),
    "by year": forms.one_value_a_line,
    "one day a line": forms.one_day_a_line,
}


@pytest.fixture(params=MAKERS)
def make(request):
    return MAKERS[request.param]


def triples(found):
    return [tuple(day) for day in found.days]


def test_a_record_comes_back_day_for_day(make, tmp_path):
    found = read_weather_file(make(tmp_path / "station.txt", chicago()))
    assert triples(found) == forms.in_tenths(chicago())
    assert (found.unit, found.station, found.gaps, found.refused) == ("C", forms.STATION, (), ())
    assert "GHCN-Daily" in found.form


def test_missing_values_are_gaps_and_a_half_day_is_named(make, tmp_path):
    rows = clemson(1961, 1965)
    found = read_weather_file(make(tmp_path / "station.txt", rows))
    assert triples(found) == forms.in_tenths(rows)
    assert Gap(date(1962, 9, 1), date(1962, 9, 30)) in found.gaps
    halves = [day for day, low, high in rows if (low is None) != (high is None)]
    assert [refused.day for refused in found.refused] == halves
    assert not found.unreadable


def test_an_impossible_low_of_the_published_record_is_refused(make, tmp_path):
    found = read_weather_file(make(tmp_path / "station.txt", clemson(1936, 1936)))
    assert [refused.day for refused in found.refused if "between" in refused.reason] == [date(1936, 7, 18)]
    assert date(1936, 7, 18) not in [day for day, *_ in found.days]
    assert [day.day for day in found.doubtful] == [date(1936, 7, 18)]


def test_a_value_that_failed_a_check_is_refused_with_the_check(make, tmp_path):
    rows = [row for row in chicago() if row[0].year == 2010]
    flags = {(date(2010, 5, 3), "TMAX"): "S", (date(2010, 6, 4), "TMIN"): "X"}
    found = read_weather_file(make(tmp_path / "station.txt", rows, flags=flags))
    assert {day for day, *_ in forms.in_tenths(rows)} - {day.day for day in found.days} == {
        date(2010, 5, 3), date(2010, 6, 4),
    }  # fmt: skip
    output = {refused.day: refused.reason for refused in found.refused}
    assert "high" in output[date(2010, 5, 3)]
    assert "spatial" in output[date(2010, 5, 3)]
    assert "low" in output[date(2010, 6, 4)]
    assert "bounds" in output[date(2010, 6, 4)]
    assert not found.unreadable


def test_packed_files_are_read(make, tmp_path):
    plain = make(tmp_path / "station.txt", chicago())
    packed = tmp_path / "station.txt.gz"
    packed.write_bytes(gzip.compress(plain.read_bytes()))
    assert triples(read_weather_file(packed)) == triples(read_weather_file(plain))


def test_a_file_of_a_year_with_many_stations_wants_one(tmp_path):
    rows = [row for row in chicago() if row[0].year == 2010]
    other = "YYC00000007"
    path = forms.one_value_a_line(tmp_path / "2010.csv", rows, stations=(forms.STATION, other))
    with pytest.raises(TwoReadingsError, match=f"{forms.STATION}.*{other}.*--station") as caught:
        read_weather_file(path)
    assert caught.value.option == "station"
    found = read_weather_file(path, Options(station=other))
    assert triples(found) == [
        (day, round(low + 0.1, 1), round(high + 0.1, 1)) for day, low, high in forms.in_tenths(rows)
    ]
    with pytest.raises(WeatherFileError, match="ZZ"):
        read_weather_file(path, Options(station="ZZC00000000"))


def test_one_day_a_line_is_also_ordered_in_whole_fahrenheit(tmp_path):
    def whole(value, unit):
        return round(value)

    path = forms.one_day_a_line(tmp_path / "order.csv", chicago(), value=whole)
    found = read_weather_file(path)
    assert found.unit == "F"
    assert triples(found) == [(day, round(low), round(high)) for day, low, high in chicago()]


def test_tenths_and_fahrenheit_of_a_few_months_are_not_guessed(tmp_path):
    rows = [row for row in chicago() if row[0].year == 2010 and row[0].month in (6, 7)]
    path = forms.one_day_a_line(tmp_path / "order.csv", rows, value=lambda value, unit: round(value))
    with pytest.raises(TwoReadingsError, match="--unit") as caught:
        read_weather_file(path)
    assert set(caught.value.answers) == {"F", "tenths"}
    assert read_weather_file(path, Options(unit="F")).unit == "F"


def test_a_fixed_line_cut_in_the_middle_gives_the_whole_values_and_is_named(tmp_path):
    rows = [row for row in chicago() if row[0].year == 2010]
    path = forms.fixed_width(tmp_path / "station.dly", rows)
    lines = path.read_text().splitlines()
    last = max(number for number, line in enumerate(lines) if "TMIN" in line)
    path.write_text("\n".join([*lines[:last], lines[last][: 21 + 8 * 9 + 3]]))
    found = read_weather_file(path)
    assert [(item.line, item.reason) for item in found.unreadable] == [(last + 1, "is cut off at day 10")]
    assert found.days[-1].day == date(2010, 12, 9)
    assert triples(found) == forms.in_tenths(rows)[: len(found.days)]


def test_lines_whose_blank_flags_were_cut_away_are_whole(tmp_path):
    rows = [row for row in chicago() if row[0].year == 2010]
    path = forms.fixed_width(tmp_path / "station.dly", rows)
    path.write_text("\n".join(line[:268].rstrip() for line in path.read_text().splitlines()) + "\n")
    found = read_weather_file(path)
    assert triples(found) == forms.in_tenths(rows)
    assert not found.refused


def test_a_date_that_is_none_and_a_line_of_another_kind_are_named(tmp_path):
    rows = [row for row in chicago() if row[0].year == 2010]
    path = forms.one_value_a_line(tmp_path / "2010.csv", rows)
    with path.open("a") as file:
        file.write(f"{forms.STATION},20101332,TMAX,100,,,0,\n{forms.STATION},20101231,TMAX\n")
        file.write(f"{forms.STATION},20101231,TMAX,=cmd,,,0,\n")
    found = read_weather_file(path)
    assert triples(found) == forms.in_tenths(rows)
    assert ["20101332" in found.unreadable[0].reason, "columns" in found.unreadable[1].reason] == [True, True]
    assert "=cmd" in found.unreadable[2].reason
