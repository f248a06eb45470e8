"""Logs of readings: daily lows and highs in local time, against pandas, and true hourly sums."""

from __future__ import annotations

import csv
import tracemalloc
from datetime import date, datetime, timedelta, timezone

import openpyxl
import pandas
import pytest
from zoneinfo import ZoneInfo

import sheetfuncs
from sheetfuncs.weather import Options, TwoReadingsError, read_weather_file
from sheetfuncs.weather.logs import ENOUGH_HOURS

from ..records import airports, chicago, seattle
from . import forms

NEW_YORK = ZoneInfo("America/New_York")


def triples(found):
    return [tuple(day) for day in found.days]


@pytest.fixture(scope="module")
def hourly():
    """Return the hourly record of Newark, 2013, °F: NOAA's, in the local time with daylight saving."""
    frame = airports()
    frame = frame[(frame.origin == "EWR") & frame.temp.notna()].copy()
    frame["moment"] = pandas.to_datetime(frame.time_hour, utc=True)
    frame["local"] = frame.moment.dt.tz_convert("America/New_York")
    frame["day"] = frame.local.dt.date
    return frame


@pytest.fixture(scope="module")
def by_pandas(hourly):
    """Return low, high and hours of each day, as pandas groups them."""
    hourly = hourly.assign(clock=hourly.local.dt.hour)
    return hourly.groupby("day").agg(low=("temp", "min"), high=("temp", "max"), hours=("clock", "nunique"))


def written(path, rows, heading="time,temp"):
    path.write_text("\n".join([heading, *(f"{stamp},{value}" for stamp, value in rows)]) + "\n")
    return path


def enough(by_pandas):
    kept = by_pandas[by_pandas.hours >= ENOUGH_HOURS]
    return [(day, row.low, row.high) for day, row in kept.iterrows()]


def test_days_of_new_york_are_those_of_pandas(hourly, by_pandas, tmp_path):
    path = written(tmp_path / "ewr.csv", zip(hourly.local.dt.strftime("%Y-%m-%d %H:%M"), hourly.temp))
    found = read_weather_file(path)
    assert triples(found) == enough(by_pandas)
    assert found.unit == "F"
    assert "8,702 readings" in found.form
    thin = by_pandas[by_pandas.hours < ENOUGH_HOURS]
    assert [refused.day for refused in found.refused] == list(thin.index)
    assert all("of 24 hours" in refused.reason for refused in found.refused)


@pytest.mark.parametrize("style", ["%Y-%m-%dT%H:%M:%SZ", "%Y-%m-%d %H:%M UTC", "%Y-%m-%dT%H:%M:%S+00:00", "%Y%m%d%H%M"])
def test_times_in_utc_are_turned_into_the_local_day(hourly, by_pandas, tmp_path, style):
    heading = "time (UTC),temp" if style == "%Y%m%d%H%M" else "time,temp"
    path = written(tmp_path / "ewr.csv", zip(hourly.moment.dt.strftime(style), hourly.temp), heading)
    with pytest.raises(TwoReadingsError, match="--time-zone") as caught:
        read_weather_file(path)
    assert caught.value.option == "time_zone"
    assert triples(read_weather_file(path, Options(time_zone="America/New_York"))) == enough(by_pandas)
    with pytest.raises(ValueError, match="time zone"):
        read_weather_file(path, Options(time_zone="Nowhere/At_All"))


def test_times_with_their_distance_from_utc_are_local(hourly, by_pandas, tmp_path):
    path = written(tmp_path / "ewr.csv", zip((moment.isoformat() for moment in hourly.local), hourly.temp))
    assert triples(read_weather_file(path)) == enough(by_pandas)


@pytest.mark.parametrize("columns", [None, "year=year,month=month,day=day,hour=hour,temperature=temp"])
def test_year_month_day_and_hour_may_stand_apart(hourly, by_pandas, tmp_path, columns):
    frame = hourly.drop(columns=["time_hour", "moment", "local"] + (["day"] if columns is None else []))
    frame = frame.assign(year=hourly.local.dt.year, month=hourly.local.dt.month, day=hourly.local.dt.day,
                         hour=hourly.local.dt.hour)  # fmt: skip
    frame.to_csv(tmp_path / "ewr.csv", index=False)
    assert triples(read_weather_file(tmp_path / "ewr.csv", Options(columns=columns))) == enough(by_pandas)


def test_a_column_of_dates_and_one_of_times(hourly, by_pandas, tmp_path):
    for style, separator in (("%d.%m.%Y;%H:%M", ";"), ("%m/%d/%Y\t%I:%M %p", "\t"), ("%Y-%m-%d;%-H:%M:%S", ";")):
        lines = [separator.join(("Datum", "Uhrzeit", "Temperatur", "Feuchte"))]
        for moment, temp in zip(hourly.local, hourly.temp):
            lines.append(separator.join((moment.strftime(style), str(temp).replace(".", ","), "55")))
        path = tmp_path / "ewr.txt"
        path.write_text("\n".join(lines))
        assert triples(read_weather_file(path)) == enough(by_pandas)


def test_a_workbook_of_readings(hourly, by_pandas, tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["Time", "Temperature (°F)", "Humidity"])
    for moment, temp in zip(hourly.local, hourly.temp):
        book.active.append([moment.replace(tzinfo=None).to_pydatetime(), temp, 50])
    book.save(tmp_path / "ewr.xlsx")
    assert triples(read_weather_file(tmp_path / "ewr.xlsx")) == enough(by_pandas)


def test_newest_first_is_the_same(hourly, by_pandas, tmp_path):
    rows = list(zip(hourly.local.dt.strftime("%m/%d/%Y %H:%M"), hourly.temp))
    assert triples(read_weather_file(written(tmp_path / "ewr.csv", reversed(rows)))) == enough(by_pandas)


def test_heat_of_the_days_is_near_the_true_hourly_sums(hourly, tmp_path):
    """Published check: hourly degree-days, base 10 °C, of the complete days sum to 2,123.5; a sine gives 0.4 % more."""
    complete = hourly.groupby("day").filter(lambda day: day.local.dt.hour.nunique() == 24)
    celsius = (complete.temp - 32) / 1.8
    true = ((celsius - 10).clip(lower=0) / 24).sum()
    assert complete.day.nunique() == 346
    assert true == pytest.approx(2123.5, abs=0.05)
    path = written(tmp_path / "ewr.csv", zip(complete.local.dt.strftime("%Y-%m-%d %H:%M"), complete.temp))
    days = read_weather_file(path).days
    sums = sum(sheetfuncs.heat_units_day((low - 32) / 1.8, (high - 32) / 1.8, 10) for _, low, high in days)
    assert sums / true == pytest.approx(1.004, abs=0.0005)


def test_three_airports_in_one_file_want_one(by_pandas, tmp_path):
    path = tmp_path / "all.csv"
    frame = airports()
    frame.to_csv(path, index=False)
    zone = Options(time_zone="America/New_York")
    with pytest.raises(TwoReadingsError, match="more than one station"):
        read_weather_file(path, zone)
    columns = "station=origin,date=time_hour,temperature=temp"
    with pytest.raises(TwoReadingsError, match=r"EWR, JFK.*--station"):
        read_weather_file(path, Options(columns=columns, time_zone="America/New_York"))
    found = read_weather_file(path, Options(columns=columns, station="EWR", time_zone="America/New_York"))
    assert triples(found) == enough(by_pandas)
    # Side by side, each time stands there three times.
    frame.sort_values("time_hour", kind="stable").to_csv(path, index=False)
    with pytest.raises(TwoReadingsError, match="several readings for the same times"):
        read_weather_file(path, zone)


# -- days on which the clocks change ---------------------------------------------------------------------------


def local_readings(first, last, minutes, zone=NEW_YORK):
    """Return (local time, temperature) through some days; colder with each hour of the night that is repeated."""
    moment = datetime(first.year, first.month, first.day, tzinfo=zone).astimezone(timezone.utc)
    end = datetime(last.year, last.month, last.day, tzinfo=zone).astimezone(timezone.utc) + timedelta(days=1)
    while moment < end:
        local = moment.astimezone(zone)
        yield local, 20.0 + local.hour / 2 - 0.25 * local.fold - local.day / 10
        moment += timedelta(minutes=minutes)


@pytest.mark.parametrize("minutes", [10, 30, 60])
def test_a_day_of_23_and_a_day_of_25_hours_are_whole(tmp_path, minutes):
    for first, last in ((date(2013, 3, 9), date(2013, 3, 11)), (date(2013, 11, 2), date(2013, 11, 4))):
        log = list(local_readings(first, last, minutes))
        of_day = {}
        for local, value in log:
            of_day.setdefault(local.date(), []).append(value)
        wanted = [(day, min(values), max(values)) for day, values in of_day.items() if len(of_day) == 3 or day <= last]
        wanted = [day for day in wanted if day[0] <= last]
        lengths = {len(values) * minutes / 60 for values in of_day.values()}
        assert lengths & {23.0, 25.0}
        plain = written(tmp_path / "log.csv", [(local.strftime("%Y-%m-%d %H:%M"), value) for local, value in log])
        utc = written(
            tmp_path / "utc.csv",
            [(local.astimezone(timezone.utc).strftime("%Y-%m-%dT%H:%MZ"), value) for local, value in log],
        )
        options = Options(unit="C")
        assert triples(read_weather_file(plain, options))[:3] == wanted
        zoned = Options(unit="C", time_zone="America/New_York")
        assert triples(read_weather_file(utc, zoned))[:3] == wanted


def test_midnight_at_24_belongs_to_the_next_day(tmp_path):
    rows = []
    for day in range(1, 5):
        rows += [(f"2013-05-{day:02} {hour:02}:00", day + hour / 10) for hour in range(1, 24)]
        rows.append((f"2013-05-{day:02} 24:00", -5.0 - day))
    found = read_weather_file(written(tmp_path / "log.csv", rows), Options(unit="C"))
    later = [(date(2013, 5, day), -5.0 - (day - 1), day + 2.3) for day in (2, 3, 4)]
    assert triples(found) == [(date(2013, 5, 1), 1.1, 3.3), *later]
    assert [refused.day for refused in found.refused] == [date(2013, 5, 5)]


# -- broken and odd logs ---------------------------------------------------------------------------------------


def test_ten_minutes_and_lows_and_highs_of_intervals(tmp_path):
    rows = seattle()[:400]
    for minutes in (10, 60):
        log = forms.readings(rows, minutes)
        path = written(tmp_path / "log.csv", ((f"{time:%d/%m/%Y %H:%M}", value) for time, value in log))
        assert triples(read_weather_file(path)) == list(rows)
    lines = ((f"{time:%Y-%m-%d %H:%M}", f"{value - 0.5:.2f},{value + 0.5:.2f}") for time, value in forms.readings(rows))
    path = written(tmp_path / "log.csv", lines, "time,tmin,tmax")
    found = read_weather_file(path)
    assert [(day, round(low + 0.5, 2), round(high - 0.5, 2)) for day, low, high in found.days] == list(rows)


def test_a_day_with_too_few_hours_is_refused_with_the_limit(tmp_path):
    rows = [
        (f"{time:%Y-%m-%d %H:%M}", value)
        for time, value in forms.readings(seattle()[:300], 10)
        if not (time.date() == date(2012, 4, 4) and time.hour < 24 - ENOUGH_HOURS + 1)
        and not (time.date() == date(2012, 4, 9) and time.hour < 24 - ENOUGH_HOURS)
    ]
    found = read_weather_file(written(tmp_path / "log.csv", rows))
    assert [(item.day, item.reason) for item in found.refused] == [
        (date(2012, 4, 4), f"has readings in {ENOUGH_HOURS - 1} of 24 hours, wanted {ENOUGH_HOURS}")
    ]
    assert date(2012, 4, 9) in [day.day for day in found.days]


def test_glitches_of_a_sensor_are_left_out_and_counted(tmp_path):
    rows = [(f"{time:%Y-%m-%d %H:%M}", value) for time, value in forms.readings(seattle()[:400])]
    for index, glitch in ((500, 85.0), (1000, -127.0), (2000, 85.0), (3000, -999.9)):
        rows[index] = (rows[index][0], glitch)
    found = read_weather_file(written(tmp_path / "log.csv", rows))
    lows = {day: low for day, low, _ in seattle()}
    assert found.unit == "C"
    assert len(found.days) == 400
    assert all(lows[day] - 0.01 <= low and high <= 40 for day, low, high in found.days)
    left_out = next(choice for choice in found.choices if choice.what == "readings left out")
    assert left_out.reading == "3"


def test_a_log_in_fahrenheit_goes_over_60_degrees(tmp_path):
    rows = [row for row in chicago() if row[0].year == 2012]
    path = written(tmp_path / "log.csv", ((f"{t:%Y-%m-%d %H:%M}", v) for t, v in forms.readings(rows)))
    found = read_weather_file(path)
    assert (found.unit, triples(found)) == ("F", rows)


def test_a_log_in_tenths(tmp_path):
    rows = seattle()[:400]
    lines = [(f"{time:%Y%m%d},{time.hour}", round(value * 10)) for time, value in forms.readings(rows)]
    path = written(tmp_path / "log.csv", lines, "YYYYMMDD,HH,T")
    with pytest.raises(TwoReadingsError, match="tenths"):
        read_weather_file(path)
    found = read_weather_file(path, Options(unit="tenths"))
    assert triples(found) == [(day, round(low, 1), round(high, 1)) for day, low, high in rows]


def test_broken_lines_of_a_log_are_named(tmp_path):
    rows = [(f"{time:%Y-%m-%d %H:%M}", value) for time, value in forms.readings(seattle()[:300])]
    rows[700] = ("2012-13-45 10:00", 5.0)
    rows[701] = (rows[701][0], "=cmd")
    rows[702] = (rows[702][0], "5.0,7")
    rows[703] = ("2012-01-30 25:00", 5.0)
    found = read_weather_file(written(tmp_path / "log.csv", rows))
    assert [item.line for item in found.unreadable] == [702, 703, 704, 705]
    words = ("date", "=cmd", "columns", "25:00")
    assert all(word in item.reason for word, item in zip(words, found.unreadable))
    assert len(found.days) == 300


def test_one_reading_a_day_is_no_log(tmp_path):
    rows = [(f"{day} 12:00", high) for day, _, high in seattle()]
    with pytest.raises(ValueError, match="1 of 24 hours"):
        read_weather_file(written(tmp_path / "log.csv", rows))


# -- long logs -------------------------------------------------------------------------------------------------


def test_memory_grows_with_the_days_and_not_with_the_lines(tmp_path):
    """The same 60 days by the hour and by the minute; progress is called up to the end of the file."""
    peaks, calls = [], []
    for minutes in (60, 1):
        path = tmp_path / f"{minutes}.csv"
        with path.open("w", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(["time", "temperature", "humidity", "note"])
            for time, value in forms.readings(seattle()[150:210], minutes):
                writer.writerow([time.strftime("%Y-%m-%d %H:%M"), value, 55, "x" * 60])
        tracemalloc.start()
        found = read_weather_file(path, Options(unit="C"), progress=lambda done, total: calls.append((done, total)))
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert len(found.days) == 60
    size = path.stat().st_size
    assert size > 5_000_000
    assert max(peaks) < 2_000_000
    assert calls[-1] == (size, size)
    assert [done for done, total in calls if total == size] == sorted(done for done, total in calls if total == size)
