"""A station that was moved is named with its year, wherever a climate is looked at; one that stayed is not."""

from __future__ import annotations

import math
import random
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import sheetfuncs
from sheetfuncs.cli.app import app
from sheetfuncs.season.record import Readings, clean_record
from sheetfuncs.season.steps import greatest_step, steps_of
from sheetfuncs.weather import read_weather_file

from ..records import chicago, clemson, great_lakes, write_csv
from . import forms

STATIONS = sorted((Path(__file__).parent.parent / "stations").glob("*.gz"))


def steps(rows, unit):
    known = ((number, day.toordinal(), *map(_or_nan, pair)) for number, (day, *pair) in enumerate(rows, start=1))
    return steps_of(clean_record(Readings.of_rows(known), unit), unit)


def _or_nan(value):
    return math.nan if value is None else value


def moved(rows, year, by):
    """Return rows whose lows differ from a year on."""
    return [(day, None if low is None else min(low + by * (day.year >= year), high or low + by), high)
            for day, low, high in rows]  # fmt: skip


@pytest.mark.parametrize("name", great_lakes())
def test_a_station_that_stayed_has_no_step(name):
    assert steps(great_lakes()[name], "C") == []
    in_fahrenheit = [
        (day, *(None if value is None else value * 1.8 + 32 for value in pair)) for day, *pair in great_lakes()[name]
    ]
    assert steps(in_fahrenheit, "F") == []


@pytest.mark.parametrize("path", STATIONS, ids=lambda path: path.name[:11])
def test_a_station_of_the_archive_that_stayed_has_none(path):
    found = read_weather_file(path)
    assert [choice for choice in found.choices if choice.what == "step"] == []
    assert "than before" not in sheetfuncs.climate_note(sheetfuncs.climate_of(found.days, found.unit))


@pytest.mark.parametrize("by", [-2.5, 2.5])
@pytest.mark.parametrize("name", ["Toledo", "Ann Arbor"])
def test_a_move_to_another_place_is_named_with_its_year(name, by):
    (found,) = steps(moved(great_lakes()[name], 2009, by), "C")
    assert abs(found.year - 2009) <= 1, found
    assert str(found).startswith(f"lows from {found.year} on are ")
    assert str(found).endswith(f"°C {'warmer' if by > 0 else 'cooler'} than before")


@pytest.mark.parametrize("years", [15, 20, 50])
def test_one_drawn_record_in_twenty_reaches_the_value(years):
    draw = random.Random(years)
    records = ([draw.gauss(0, 1) for _ in range(years)] for _ in range(500))
    assert 0.03 < sum(greatest_step(record) is not None for record in records) / 500 < 0.07


def test_ten_years_are_the_least():
    assert steps([row for row in moved(chicago(), 2004, 5) if 2001 < row[0].year < 2008], "F") == []


def test_a_file_says_it_and_all_its_days_are_kept(tmp_path):
    rows = [row for row in clemson() if None not in row and row[0].year >= 1950]
    found = read_weather_file(forms.text(tmp_path / "t.csv", rows))
    assert next(choice.reading for choice in found.choices if choice.what == "step").startswith("lows from 19")
    assert len(found.days) + len(found.refused) == len(rows)


def test_a_climate_says_it_in_a_script_and_the_command(tmp_path):
    rows = [list(row) for row in moved(great_lakes()["Toledo"], 2009, -2.5)]
    note = sheetfuncs.climate_note(sheetfuncs.climate_of(rows))
    assert re.search(r"; lows from 20(08|09|10) on are 2\.\d °C cooler than before: was the station moved", note), note
    assert "than before" not in sheetfuncs.climate_note(sheetfuncs.climate_of(rows, last_seasons=10))
    path = write_csv(tmp_path / "moved.csv", rows)
    assert note in CliRunner().invoke(app, ["climate-note", "--weather", str(path)]).stdout
