"""A spoiled record gets a line, a real one never: every open record that the tests have, in °C and in °F."""

from __future__ import annotations

import csv
import gzip
import math
from datetime import date, timedelta
from functools import lru_cache, partial
from pathlib import Path

import pytest

import sheetfuncs
from sheetfuncs import InputError, climate_note, climate_of
from sheetfuncs.season.record import Readings, clean_record

from .records import chicago, clemson, great_lakes, in_celsius, new_york, seattle

STATIONS = Path(__file__).parent / "stations"


@lru_cache(maxsize=None)
def station(name):
    """Return a station file's rows, °C."""
    rows = []
    with gzip.open(STATIONS / name, "rt", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            values = [None if not row[key].strip() else int(row[key]) / 10 for key in ("TMIN", "TMAX")]
            if values != [None, None]:
                rows.append((date.fromisoformat(row["DATE"]), *values))
    return tuple(rows)


def in_fahrenheit(rows):
    return tuple((day, *(None if value is None else round(value * 1.8 + 32) for value in pair)) for day, *pair in rows)


def readings_of(rows):
    missing = math.nan
    return Readings.of_rows(
        (number, day.toordinal(), *(missing if value is None else value for value in pair))
        for number, (day, *pair) in enumerate(rows)
    )


def invented(seasons=10, mean=11.0, swing=14.0, first=2015):
    """Return an invented record of a place with a real summer and a real winter, °C."""
    day, rows = date(first, 1, 1), []
    while day.year < first + seasons:
        noise = ((day.toordinal() * 7919) % 101 - 50) / 12
        middle = mean - swing * math.cos((day.timetuple().tm_yday - 20) / 58.1) + noise
        rows.append((day, round(middle - 5.5, 1), round(middle + 5.5, 1)))
        day += timedelta(days=1)
    return rows


FILES = sorted(path.name for path in STATIONS.glob("*.csv.gz"))
#: Records by name, each with what reads it and its unit.
REAL = {
    "Clemson": (clemson, "F"), "Clemson in °C": (lambda: in_celsius(clemson()), "C"), "Chicago": (chicago, "F"),
    "Chicago in °C": (lambda: in_celsius(chicago()), "C"), "Seattle": (seattle, "C"), "New York": (new_york, "C"),
    **{name[:11]: (partial(station, name), "C") for name in FILES},
    **{f"{name[:11]} °F": (lambda name=name: in_fahrenheit(station(name)), "F") for name in FILES},
}  # fmt: skip


def real(name):
    """Return a record's rows and their unit."""
    rows, unit = REAL[name]
    return rows(), unit


@pytest.mark.parametrize("name", REAL)
def test_a_real_record_is_never_refused_nor_any_day_of_it_for_being_0(name):
    rows, unit = real(name)
    note = climate_note(climate_of([list(row) for row in rows], unit))
    assert "written as 0" not in note
    assert "season" in note


def test_a_cool_place_and_the_south_are_none_of_these():
    cool = [(day, low - 3, high - 3) for day, low, high in invented(mean=8, swing=8)]
    assert "season" in climate_note(climate_of([list(row) for row in cool]))
    south = [(day + timedelta(days=182), low, high) for day, low, high in invented()]
    assert "season" in climate_note(climate_of([list(row) for row in south]))
    newest_first = [list(row) for row in reversed(invented())]
    assert climate_note(climate_of(newest_first)) == climate_note(climate_of([list(row) for row in invented()]))


def line_of(rows, unit="C"):
    with pytest.raises(InputError) as caught:
        climate_of([list(row) for row in rows], unit)
    assert len(caught.value.line) <= 100
    return caught.value.line


def swapped(rows, to_text=lambda day: day):
    """Return rows as a program leaves them that reads day/month as month/day where it can."""
    return [
        (day.replace(month=day.day, day=day.month) if day.day <= 12 else to_text(day), low, high)
        for day, low, high in rows
    ]


@pytest.mark.parametrize("order", ["as they came", "by date"])
@pytest.mark.parametrize("name", ["invented", "Clemson", "Chicago", "USC00208080"])
def test_days_swapped_with_months(name, order):
    rows, unit = (invented(), "C") if name == "invented" else real(name)
    spoiled = swapped(rows)
    if order == "by date":
        spoiled.sort()
    assert "days and months swapped" in line_of(spoiled, unit)


def test_days_swapped_with_months_and_the_others_texts():
    assert "days and months swapped" in line_of(swapped(invented(), lambda day: day.strftime("%d/%m/%Y")))


@pytest.mark.parametrize("name", ["invented", "Seattle", "USC00202308"])
@pytest.mark.parametrize("share", [0.5, 0.9])
def test_another_unit_from_some_day_on(name, share):
    rows = invented() if name == "invented" else [row for row in real(name)[0] if None not in row]
    cut = int(len(rows) * share)
    hot = lambda some: [(day, low * 1.8 + 32, high * 1.8 + 32) for day, low, high in some]  # noqa: E731
    assert "another unit?" in line_of([*rows[:cut], *hot(rows[cut:])])
    assert "another unit?" in line_of([*hot(rows[:cut]), *rows[cut:]], "F")


def test_a_hard_and_a_mild_winter_are_no_other_unit():
    """Toledo's February was 27 °F warmer in 2017 than in 2015."""
    toledo = in_fahrenheit([row for row in great_lakes()["Toledo"] if row[0].year in (2015, 2017)])
    assert clean_record(readings_of(toledo), "F").days_known > 700


@pytest.mark.parametrize("name", REAL)
def test_the_unit_that_it_is_not(name):
    rows, unit = real(name)
    assert "no summer in" in line_of(rows, "F" if unit == "C" else "C")


def test_twelve_normals_in_the_other_unit():
    lows, highs = [22, 25, 33, 43, 54, 64, 69, 68, 60, 48, 38, 28], [36, 40, 50, 62, 73, 82, 87.8, 85, 78, 65, 52, 40]
    normals = [list(row) for row in zip(range(1, 13), lows, highs)]
    assert "wanted unit F" in line_of(normals)
    assert "12 monthly normals" in str(climate_of(normals, "F"))
    celsius = [[month, (low - 32) / 1.8, (high - 32) / 1.8] for month, low, high in normals]
    assert "wanted unit C" in line_of(celsius, "F")


def test_columns_by_their_headings():
    rows = invented()
    wanted = climate_of([list(row) for row in rows])
    mean_between = [["Date", "Tmin", "Tmean", "Tmax"], *([day, low, (low + high) / 2, high] for day, low, high in rows)]
    assert climate_of(mean_between) == wanted
    turned = [["High °C", "Day", "Low °C"], *([high, day, low] for day, low, high in rows)]
    assert climate_of(turned) == wanted
    blank_end = [[*row, None, ""] for row in rows]
    assert climate_of(blank_end) == wanted
    for more in ([[*row, 1.0] for row in rows], [["Date", "a", "b", "c"], *([*row, 1.0] for row in rows)]):
        with pytest.raises(InputError, match="has 4 columns, wanted date, low, high or headings that name them"):
            climate_of(more)


def test_gaps_written_as_0():
    rows = [(row[0], 0.0, 0.0) if number % 50 == 0 else row for number, row in enumerate(invented())]
    zeros = sum(1 for _, low, high in rows if low == high == 0)
    note = climate_note(climate_of([list(row) for row in rows]))
    assert zeros >= 73
    assert f"{zeros} rows" in note or str(zeros) in note
    assert "written as 0" in note
    true = sheetfuncs.latest_prune_date(climate_of([list(row) for row in invented()]), 2025, 1300)
    assert abs((sheetfuncs.latest_prune_date(climate_of([list(row) for row in rows]), 2025, 1300) - true).days) <= 1


def test_a_log_whose_every_97th_reading_is_0():
    rows = [(row[0], 0.0, row[2]) if number % 4 == 0 else row for number, row in enumerate(invented())]
    assert "written as 0" in climate_note(climate_of([list(row) for row in rows]))
