"""A station that was moved is named with its year; one that stayed is not."""

from __future__ import annotations

import random

import pytest

from sheetfuncs.weather import read_weather_file
from sheetfuncs.weather.model import Day
from sheetfuncs.weather.steps import _step, steps

from ..records import chicago, clemson, great_lakes
from . import forms


def days_of(rows):
    return [Day(*row) for row in rows if None not in row]


@pytest.mark.parametrize("name", great_lakes())
def test_a_station_that_stayed_has_no_step(name):
    assert steps(days_of(great_lakes()[name]), "C") == []
    fahrenheit = [Day(day, low * 1.8 + 32, high * 1.8 + 32) for day, low, high in days_of(great_lakes()[name])]
    assert steps(fahrenheit, "F") == []


@pytest.mark.parametrize("by", [-2.5, 2.5])
@pytest.mark.parametrize("name", ["Toledo", "Ann Arbor"])
def test_a_move_to_another_place_is_named_with_its_year(name, by):
    moved = [Day(day, low + (by if day.year >= 2009 else 0), high) for day, low, high in days_of(great_lakes()[name])]
    (found,) = steps(moved, "C")
    first = int(found.reading.split("from ")[1][:4])
    assert abs(first - 2009) <= 1, found
    assert found.reading.startswith("lows from")
    assert ("warmer" if by > 0 else "cooler") in found.reading


@pytest.mark.parametrize("years", [15, 20, 50])
def test_one_drawn_record_in_twenty_reaches_the_value(years):
    draw = random.Random(years)
    records = ([draw.gauss(0, 1) for _ in range(years)] for _ in range(1500))
    assert 0.03 < sum(_step(record) is not None for record in records) / 1500 < 0.07


def test_ten_years_are_the_least():
    few = [Day(day, low + (5 if day.year >= 2004 else 0), high) for day, low, high in days_of(chicago())]
    assert steps([day for day in few if 2001 < day.day.year < 2008], "F") == []


def test_a_file_says_it_and_all_its_days_are_kept(tmp_path):
    rows = [row for row in clemson() if None not in row and row[0].year >= 1950]
    found = read_weather_file(forms.text(tmp_path / "t.csv", rows))
    assert next(choice.reading for choice in found.choices if choice.what == "step").startswith("lows from 19")
    assert len(found.days) + len(found.refused) == len(rows)
