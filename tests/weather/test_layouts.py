"""Layouts in which public weather services give daily values, each written here from a real record.

The headings and marks are from memory of the services' own descriptions.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from sheetfuncs.cli import weather as command
from sheetfuncs.weather import Gap, HalfFileError, Options, TwoReadingsError, WeatherFileError, join, read_weather_file

from ..records import chicago, in_celsius, seattle

STATIONS = Path(__file__).resolve().parents[1] / "stations"
ROWS = seattle()
WARM = [row for row in chicago() if None not in row][:1500]


def write(path, heading, rows, encoding="utf-8"):
    """Write lines of a heading and of a record's rows. rows : a function of date, low, high."""
    path.write_bytes("\n".join([*heading, *(rows(*row) for row in ROWS), ""]).encode(encoding))
    return path


def read(path, **options):
    found = read_weather_file(path, Options(**options))
    return [tuple(day) for day in found.days]


def number(day):
    """Return the number of a day in its year."""
    return day.timetuple().tm_yday


def unit_of(found):
    return next(choice for choice in found.choices if choice.what == "unit")[1:]


GRID = ["-BEGIN HEADER-", "Invented values", "The value for missing data: -999", "-END HEADER-"]
PLAIN = {
    "a grid by day of the year": (
        [*GRID, "YEAR,DOY,T2M_MAX,T2M_MIN"], lambda a, lo, hi: f"{a.year},{number(a)},{hi},{lo}",
    ),
    "a grid by date": (
        [*GRID, "YEAR,MO,DY,T2M_MAX,T2M_MIN"], lambda a, lo, hi: f"{a.year},{a.month},{a.day},{hi},{lo}",
    ),
    "Germany": (
        ["STATIONS_ID;MESS_DATUM;QN_3;  FX;QN_4; TMK; TXK; TNK; TGK;eor"],
        lambda a, lo, hi: f"        433;{a:%Y%m%d};   10;  11.9;    3;  10.0;{hi:7.1f};{lo:7.1f};   1.0;eor",
    ),
    "Canada": (
        ['"Station Name","Climate ID","Date/Time","Year","Month","Day","Data Quality","Max Temp (°C)","Max Temp Flag",'
         '"Min Temp (°C)","Min Temp Flag","Mean Temp (°C)","Heat Deg Days (°C)"'],
        lambda a, lo, hi: f'"INVENTED","6100000","{a}","{a.year}","{a.month}","{a.day}","","{hi}","","{lo}","","9","1"',
    ),
    "France": (
        ["NUM_POSTE;NOM_USUEL;LAT;LON;ALTI;AAAAMMJJ;RR;QRR;TN;QTN;HTN;TX;QTX;HTX;TM;QTM;TNSOL"],
        lambda a, lo, hi: f"01014002;INVENTED;46.2;5.6;260;{a:%Y%m%d};0.0;1;{lo};1;600;{hi};1;1400;9.0;1;",
    ),
    "Spain": (
        ["fecha;indicativo;nombre;altitud;tmed;prec;tmin;horatmin;tmax;horatmax;velmedia"],
        lambda a, lo, hi: f"{a};0016A;INVENTED;71;9,0;0,0;{lo};05:30;{hi};14:20;2,2".replace(".", ","),
    ),
    "Austria": (
        ["time,station,tlmin,tlmax,substation"], lambda a, lo, hi: f"{a}T00:00+00:00,5904,{lo},{hi},0",
    ),
    "Switzerland": (
        ["station_abbr;reference_timestamp;tre200d0;tre200dx;tre200dn;rre150d0"],
        lambda a, lo, hi: f"INV;{a:%d.%m.%Y} 00:00;9.0;{hi};{lo};0.0",
    ),
    "New Zealand": (
        ["Station,Date(NZST),Tmax(C),Period(Hrs),Tmin(C),Period(Hrs),Tgmin(C),Freq"],
        lambda a, lo, hi: f"Invented,{a:%Y%m%d}:0900,{hi},24,{lo},24,1.0,D",
    ),
    "two columns of dates": (
        ["Date       Day Date2      T.Max Smx T.Min Smn Rain", "(yyyymmdd)  () (ddmmyyyy)  (oC)  ()  (oC)  ()  (mm)"],
        lambda a, lo, hi: f"{a:%Y%m%d} {number(a):3} {a:%d-%m-%Y} {hi:5} 25 {lo:5} 25 0.0",
    ),
    "the Netherlands": (
        ["# SOURCE", "# STN  NAME", "# 260  INVENTED", "#", "# TN : Minimum temperature (in 0.1 degrees Celsius)",
         "# TX : Maximum temperature (in 0.1 degrees Celsius)", "# STN,YYYYMMDD,   TN,   TX", "#"],
        lambda a, lo, hi: f"  260,{a:%Y%m%d},{round(lo * 10):5},{round(hi * 10):5}",
    ),
    "a table with decimal commas": (
        ["Datum;Höchste;Tiefste"], lambda a, lo, hi: f"{a:%d.%m.%Y};" + f"{hi};{lo}".replace(".", ","),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", PLAIN)
def test_read_without_a_question(name, tmp_path):
    assert read(write(tmp_path / "t.txt", *PLAIN[name])) == list(ROWS)


FAHRENHEIT = {
    "applied climate": ("Date,MaxTemperature,MinTemperature,Precipitation", lambda a, lo, hi: f"{a},{hi:g},{lo:g},T"),
    "by name": ("Date,TMAX,TMIN,PCPN,SNOW", lambda a, lo, hi: f"{a},{hi:g},{lo:g},T,M"),
    "California": (
        "Stn Id,Stn Name,Date,Jul,ETo (in),qc,Max Air Temp (F),qc,Min Air Temp (F),qc,Avg Air Temp (F),qc",
        lambda a, lo, hi: f"2,Invented,{a.month}/{a.day}/{a.year},{number(a)},0.06,,{hi:g},,{lo:g},,50.0,",
    ),
    "summary of the day": (
        '"STATION","DATE","TEMP","TEMP_ATTRIBUTES","MAX","MAX_ATTRIBUTES","MIN","MIN_ATTRIBUTES","PRCP"',
        lambda a, lo, hi: f'"72530094846","{a}","  50.0","24","  {hi:g}"," ","  {lo:g}","*"," 0.00"',
    ),
}


@pytest.mark.parametrize("name", FAHRENHEIT)
def test_read_without_a_question_in_fahrenheit(name, tmp_path):
    heading, row = FAHRENHEIT[name]
    path = tmp_path / "t.csv"
    path.write_text("\n".join([heading, *(row(*day) for day in WARM)]) + "\n")
    found = read_weather_file(path)
    assert [tuple(day) for day in found.days] == WARM
    assert found.unit == "F"


def test_a_winter_in_tenths_is_known_by_what_the_notes_say(tmp_path):
    heading, row = PLAIN["the Netherlands"]
    path = tmp_path / "t.txt"
    path.write_text("\n".join([*heading, *(row(*day) for day in ROWS[:20])]) + "\n")
    found = read_weather_file(path)
    assert [tuple(day) for day in found.days] == list(ROWS[:20])
    assert unit_of(found) == ("tenths of °C", "as the file says")


def test_the_last_of_december_left_out_in_leap_years_is_one_gap_and_no_shift(tmp_path):
    heading = ["Latitude: 42.3  Longitude: -83.7", "Tile: 1", "year,yday,prcp (mm/day),tmax (deg c),tmin (deg c)"]
    lines = [f"{a.year},{number(a)},0.00,{hi},{lo}" for a, lo, hi in ROWS if number(a) < 366]
    (tmp_path / "t.csv").write_text("\n".join([*heading, *lines]) + "\n")
    found = read_weather_file(tmp_path / "t.csv")
    assert [tuple(day) for day in found.days] == [row for row in ROWS if row[0] != date(2012, 12, 31)]
    assert found.gaps == (Gap(date(2012, 12, 31), date(2012, 12, 31)),)


def test_a_day_of_the_year_that_is_none_is_named(tmp_path):
    path = write(tmp_path / "t.csv", *PLAIN["a grid by day of the year"])
    path.write_text(path.read_text() + "2015,366,9,1\n")
    (broken,) = read_weather_file(path).unreadable
    assert '"2015 day 366"' in broken.reason


def test_japanese_headings_in_shift_jis_and_doubted_values(tmp_path):
    heading = [
        "ダウンロードした時刻：2026/01/01 10:00:00", "", ",発明,発明,発明,発明,発明,発明",
        "年月日,最高気温(℃),最高気温(℃),最高気温(℃),最低気温(℃),最低気温(℃),最低気温(℃)",
        ",,品質情報,均質番号,,品質情報,均質番号",
    ]  # fmt: skip
    path = write(
        tmp_path / "t.csv", heading,
        lambda a, lo, hi: f"{a.year}/{a.month}/{a.day},{hi},{4 if a == date(2013, 7, 4) else 8},1,{lo},5,1", "cp932",
    )  # fmt: skip
    found = read_weather_file(path)
    assert [tuple(day) for day in found.days] == [row for row in ROWS if row[0] != date(2013, 7, 4)]
    assert [(refused.day, refused.reason) for refused in found.refused] == [
        (date(2013, 7, 4), 'the high is doubted by the service (mark "4")')
    ]
    assert unit_of(found) == ("°C", "as the file says")


def test_marks_of_doubt_are_not_used_and_counted(tmp_path):
    odd = {date(2013, 1, 5): "2", date(2014, 5, 6): "2"}
    path = write(
        tmp_path / "t.csv", ["NUM_POSTE;AAAAMMJJ;TN;QTN;TX;QTX"],
        lambda a, lo, hi: f"01014002;{a:%Y%m%d};{lo};{odd.get(a, 1)};{hi};{0 if a.month == 3 else 1}",
    )  # fmt: skip
    found = read_weather_file(path)
    assert [tuple(day) for day in found.days] == [row for row in ROWS if row[0] not in odd]
    assert {refused.day for refused in found.refused} == set(odd)


# -- one element a file ----------------------------------------------------------------------------------------


def australian(folder, what, mark=lambda day: "1"):
    code, word = ("IDCJAC0010", "Maximum") if what == "high" else ("IDCJAC0011", "Minimum")
    heading = (f"Product code,Bureau of Meteorology station number,Year,Month,Day,{word} temperature (Degree C),"
               f"Days of accumulation of {word.lower()} temperature,Quality")  # fmt: skip
    return write(
        folder / f"{what}s.csv", [heading],
        lambda a, lo, hi: f"{code},066062,{a.year},{a.month:02},{a.day:02},{hi if what == 'high' else lo},{mark(a)},N",
    )  # fmt: skip


def european(folder, what, station=11):
    name = "TX" if what == "high" else "TN"
    heading = ["EUROPEAN CLIMATE DATASET", "", "FILE FORMAT (MISSING VALUE CODE IS -9999):", "",
               "15-22 DATE : Date YYYYMMDD", f"24-28 {name}   : temperature in 0.1 &#176;C",
               f"30-34 Q_{name} : Quality code for {name} (0='valid'; 1='suspect'; 9='missing')", "",
               f"STAID, SOUID,    DATE,   {name}, Q_{name}"]  # fmt: skip
    doubted = {date(2013, 8, 9): 1}
    return write(
        folder / f"{what}s.txt", heading,
        lambda a, lo, hi: f"{station:6},  1111,{a:%Y%m%d},{round(10 * (hi if what == 'high' else lo)):5},"
        f"{doubted.get(a, 0):5}",
    )  # fmt: skip


def half(path):
    with pytest.raises(HalfFileError) as caught:
        read_weather_file(path)
    return caught.value


def test_lows_and_highs_in_two_files(tmp_path):
    lows, highs = half(australian(tmp_path, "low")), half(australian(tmp_path, "high"))
    for one, other in ((lows, highs), (highs, lows)):
        found = join(one, other, Options())
        assert [tuple(day) for day in found.days] == list(ROWS)
        assert (found.unit, found.station, found.name) == ("C", "066062", "lows.csv and highs.csv")
    assert lows.line == "Check: lows.csv holds lows alone, wanted the file with the highs beside it"


def test_a_low_of_several_days_is_none_of_a_day(tmp_path):
    several = australian(tmp_path, "low", lambda day: "3" if day == date(2014, 4, 20) else "1")
    found = join(half(several), half(australian(tmp_path, "high")), Options())
    assert [tuple(day) for day in found.days] == [row for row in ROWS if row[0] != date(2014, 4, 20)]
    (refused,) = found.refused
    assert refused.reason == "the low is of 3 days (lows.csv)"


def test_tenths_and_suspect_values_in_two_files(tmp_path):
    found = join(half(european(tmp_path, "low")), half(european(tmp_path, "high")), Options())
    assert [tuple(day) for day in found.days] == [row for row in ROWS if row[0] != date(2013, 8, 9)]
    assert unit_of(found) == ("tenths of °C", "as the file says")
    with pytest.raises(WeatherFileError, match="two stations, 11 and 12"):
        join(half(european(tmp_path, "low")), half(european(tmp_path, "high", 12)), Options())


def test_two_files_go_into_a_workbook_together_and_one_does_not(tmp_path, add):
    lows, highs = australian(tmp_path, "low"), australian(tmp_path, "high")
    assert "holds highs alone" in add(highs)
    assert "1,461 days new" in add(highs, lows)


# -- what must be a question ------------------------------------------------------------------------------------


def test_no_headings_and_more_than_two_numbers(tmp_path, book, monkeypatch):
    path = write(tmp_path / "t.csv", [], lambda a, lo, hi: f"{a},{(lo + hi) / 2:.1f},{lo},{hi},0.0")
    with pytest.raises(TwoReadingsError, match=r"which column is the low.* 1: 2012-01-01, 2: 8.9, 3: 5.0, 4: 12.8"):
        read_weather_file(path)
    assert read(path, columns="date=1,low=3,high=4") == list(ROWS)
    monkeypatch.setattr(command, "_someone_answers", lambda: True)
    result = CliRunner().invoke(command.add_weather, [str(book), str(path)], input="date=1,low=3,high=4\ny\n")
    assert result.output.count("which column is the low") == 1
    assert "Next time without a question: --columns date=1,low=3,high=4" in result.output
    assert "1,461 days new" in result.output


@pytest.mark.parametrize("path", sorted(STATIONS.glob("*.csv.gz")), ids=lambda path: path.name[:11])
def test_years_of_rain_alone_come_before_the_temperatures(path):
    found = read_weather_file(path)
    assert len(found.days) > 5000
    assert found.station == path.name[:11]
    assert found.form.startswith("GHCN-Daily, one day a line")


def test_records_in_celsius_are_not_taken_for_the_other_unit(tmp_path):
    rows = [row for row in in_celsius(chicago()) if None not in row]
    (tmp_path / "t.csv").write_text("\n".join(["Date,Max,Min", *(f"{a},{hi},{lo}" for a, lo, hi in rows)]) + "\n")
    assert read_weather_file(tmp_path / "t.csv").unit == "C"
