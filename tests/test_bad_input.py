"""Bad input gets one clear line that starts with ``Check:`` and names the thing in the user's words."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

import sheetfuncs
from sheetfuncs.cells.errors import CellFault

from .climates import temperate
from .records import chicago

DAY = timedelta(days=1)
JULY = date(2017, 7, 1)
NORMALS = [
    (1, -5, 3), (2, -4, 5), (3, 0, 10), (4, 4, 16), (5, 9, 21), (6, 14, 27),
    (7, 17, 30), (8, 16, 29), (9, 11, 24), (10, 5, 17), (11, 1, 10), (12, -3, 4),
]  # fmt: skip


@pytest.fixture(scope="module")
def climate():
    return temperate()


def _line(function, *arguments, **named):
    """Return the one line that a call's error gives, checked for its form."""
    with pytest.raises(sheetfuncs.InputError) as caught:
        function(*arguments, **named)
    line = str(caught.value)
    assert isinstance(caught.value, ValueError)
    assert line.startswith("Check: ")
    assert line.count("Check:") == 1
    assert len(line) < 100
    assert "\n" not in line
    return line


def _year(year, low=5.0, high=20.0):
    first = date(year, 1, 1)
    return [(first + step * DAY, low, high) for step in range((date(year + 1, 1, 1) - first).days)]


# -- single values ----------------------------------------------------------------------------------------

# function, arguments (the climate first is put in), words that the line must hold
SINGLE = {
    "chance 80": ("latest_prune_date", (2017, 2340, 80), ("chance", "80", "0.8")),
    "chance 0": ("latest_prune_date", (2017, 2340, -0.5), ("chance", "-0.5")),
    "chance as text": ("latest_prune_date", (2017, 2340, "often"), ("chance", "often")),
    "season blank": ("latest_prune_date", (None, 2340), ("season", "blank")),
    "season a word": ("latest_prune_date", ("next", 2340), ("season", "next")),
    "season a date": ("latest_prune_date", (date(2017, 1, 1), 2340), ("season", "2017-01-01")),
    "season a fraction": ("latest_prune_date", (2017.5, 2340), ("season", "2017.5")),
    "heat need blank": ("latest_prune_date", (2017, " "), ("heat need", "blank")),
    "heat need a word": ("latest_prune_date", (2017, "middle"), ("heat need", "middle")),
    "heat need below zero": ("latest_prune_date", (2017, -5), ("heat need", "-5")),
    "heat need not a number": ("latest_prune_date", (2017, math.nan), ("heat need",)),
    "heat need endless": ("latest_prune_date", (2017, math.inf), ("heat need",)),
    "heat need yes": ("latest_prune_date", (2017, True), ("heat need", "TRUE")),
    "lag below zero": ("latest_prune_date", (2017, 2340, 0.8, -3), ("lag", "-3")),
    "lag a fraction": ("latest_prune_date", (2017, 2340, 0.8, 2.5), ("lag", "2.5")),
    "lag a word": ("latest_prune_date", (2017, 2340, 0.8, "ten"), ("lag", "ten")),
    "no date good enough": ("latest_prune_date", (2017, 90_000), ("90000",)),
    "season before the record": ("latest_prune_date", (1990, 2340), ("1990",)),
    "cut date blank": ("ripen_chance", (None, 2340), ("cut date", "blank")),
    "cut date a word": ("ripen_chance", ("midsummer", 2340), ("cut date", "midsummer")),
    "cut date a year": ("ripen_chance", (2017, 2340), ("cut date", "2017", "year")),
    "cut date in two ways": ("ripen_chance", ("03/04/2017", 2340), ("cut date", "03/04/2017")),
    "cut date not in the calendar": ("ripen_chance", ("2017-02-30", 2340), ("cut date", "2017-02-30")),
    "cut date an error": ("ripen_chance", (CellFault("#N/A"), 2340), ("cut date", "#N/A")),
    "cut date before the record": ("ripen_chance", (date(1985, 7, 1), 2340), ("1985",)),
    "window of a word": ("ripen_window", (JULY, 2340, "wide"), ("picking heat", "wide")),
    "window below zero": ("ripen_window", (JULY, 2340, -1), ("picking heat", "-1")),
    "share of a word": ("crop_ripe_share", (JULY, 2340, "wide"), ("picking heat", "wide")),
    "dates reversed": ("heat_units_between", (JULY, date(2017, 6, 1)), ("2017-06-01",)),
    "start blank": ("heat_units_between", (None, JULY), ("start", "blank")),
    "end blank": ("heat_units_between", (JULY, ""), ("end", "blank")),
    "start a word": ("heat_date", ("spring", 900), ("start", "spring")),
    "heat units blank": ("heat_date", (JULY, None), ("heat units", "blank")),
    "heat that never comes": ("heat_date", (JULY, 90_000, 0.9), ("90000", "0.9")),
    "rule unknown": ("first_frost", (2017, 0.5, 32, "guess"), ("rule", "guess", "normal", "ranks")),
    "spring rule unknown": ("last_frost", (2017, 0.5, 32, "guess"), ("rule", "guess", "normal", "ranks")),
    "frost at a word": ("first_frost", (2017, 0.5, "cold"), ("cold",)),
    "frost chance of a word": ("frost_chance", ("autumn",), ("day", "autumn")),
    "end of a word": ("season_end", ("soon",), ("season", "soon")),
    "warmer by a word": ("climate_at", ("much",), ("warmer", "much")),
    "warmer than any wall": ("climate_at", (2, 400), ("warmer", "400")),
    "until a word": ("climate_until", ("today",), ("day", "today")),
        "estimates a word": ("climate_with_frost", ("late",), ("late",)),
    "estimates of one chance": (
        "climate_with_frost", ([(0.5, date(2016, 10, 20)), (0.5, date(2016, 10, 25))],), ("chance",)
    ),
    "estimates the wrong way round": (
        "climate_with_frost", ([(0.1, date(2016, 11, 20)), (0.9, date(2016, 10, 1))],), ("estimate",)
    ),
    "estimates with chance 80": (
        "climate_with_frost", ([(10, date(2016, 10, 2)), (80, date(2016, 11, 1))],), ("chance", "10")
    ),
    "estimates without a date": (
        "climate_with_frost", ([(0.1, date(2016, 10, 2)), (0.8, None)],), ("line 2", "date")
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SINGLE)
def test_a_single_wrong_value(name, climate):
    function, arguments, words = SINGLE[name]
    line = _line(getattr(sheetfuncs, function), climate, *arguments)
    for word in words:
        assert word.lower() in line.lower(), line


def test_a_wrong_climate(climate):
    for wrong, word in (
        ("2340", "2340"),
        (2340, "2340"),
        ("30 seasons 1991–2020 · 0000000", "not loaded"),
        (JULY, "2017"),
    ):
        line = _line(sheetfuncs.latest_prune_date, wrong, 2017, 2340)
        assert word in line
        assert "climate" in line
    assert "climate" in _line(sheetfuncs.latest_prune_date, None, 2017, 2340)


def test_a_line_from_the_cell_before_is_passed_on_once():
    line = _line(sheetfuncs.latest_prune_date, "Check: weather is blank, wanted a table", 2017, 2340)
    assert line == "Check: weather is blank, wanted a table"


def test_thresholds_the_wrong_way_round():
    line = _line(sheetfuncs.heat_units_day, 5, 20, 36, 8)
    assert "base" in line
    assert "ceiling" in line
    line = _line(sheetfuncs.climate_of, chicago(), "F", 96, 46)
    assert "base" in line
    assert "ceiling" in line


def test_the_day_s_low_above_its_high():
    line = _line(sheetfuncs.heat_units_day, 20, 5, 8, 36)
    assert "low" in line
    assert "high" in line


@pytest.mark.parametrize(
    ("named", "words"),
    [
        ({"unit": "K"}, ("unit", "K")),
        ({"base": "low"}, ("base", "low")),
        ({"ceiling": "none at all"}, ("ceiling", "none at all")),
        ({"frost_at": "cold"}, ("frost", "cold")),
        ({"stall_at": "never"}, ("stall", "never")),
        ({"method": "guess"}, ("method", "guess", "sine", "mean")),
        ({"cutoff": "guess"}, ("cutoff", "guess", "stays level")),
        ({"hemisphere": "east"}, ("hemisphere", "east", "north", "south")),
    ],
)
def test_a_wrong_rule_of_a_climate(named, words):
    line = _line(sheetfuncs.climate_of, chicago(), **{"unit": "F", **named})
    for word in words:
        assert word in line, line


def test_a_method_the_day_does_not_know():
    assert "guess" in _line(sheetfuncs.heat_units_day, 5, 20, 8, 36, "guess")
    assert "guess" in _line(sheetfuncs.heat_units_day, 5, 20, 8, 36, "sine", "guess")


def test_two_numbers_without_a_climate():
    by_days = sheetfuncs.latest_prune_date_by_days
    assert "frost date" in _line(by_days, "soon", 90)
    assert "ripen days" in _line(by_days, JULY, "many")
    assert "ripen days" in _line(by_days, JULY, None)
    assert "ripen days" in _line(by_days, JULY, -4)
    assert "spare days" in _line(by_days, JULY, 90, "few")
    assert by_days(None, None) is None


# -- records ----------------------------------------------------------------------------------------------


def test_records_too_short():
    assert "season" in _line(sheetfuncs.climate_of, _year(2015)[180:183])
    assert "season" in _line(sheetfuncs.climate_of, _year(2015))
    assert "season" in _line(sheetfuncs.climate_of, _year(2015) + _year(2016))


def test_a_record_of_nothing():
    for nothing in ([(None, None, None)], [("", "", "")] * 5, [("Date", "Low", "High")]):
        assert "weather" in _line(sheetfuncs.climate_of, nothing)


def test_columns_swapped():
    line = _line(sheetfuncs.climate_of, [(day, high, low) for day, low, high in chicago()], "F")
    assert "low" in line
    assert "high" in line


def test_a_day_twice_with_different_values():
    rows = list(chicago())
    rows.insert(500, (rows[400][0], 1.0, 2.0))
    assert rows[400][0].isoformat() in _line(sheetfuncs.climate_of, rows, "F")


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (("someday", 40, 60), ("someday",)),
        ((date(2010, 5, 5), "warm", 60), ("warm",)),
        ((date(2010, 5, 5), 40, "hot"), ("hot",)),
        ((None, 40, 60), ("date",)),
        ((date(2010, 5, 5), CellFault("#REF!"), 60), ("#REF!",)),
    ],
)
def test_a_row_that_cannot_be_read_is_named(row, words):
    rows = list(chicago())
    rows[700] = row
    line = _line(sheetfuncs.climate_of, rows, "F")
    assert "701" in line
    for word in words:
        assert word in line


def test_a_row_with_too_few_or_too_many_columns():
    assert "column" in _line(sheetfuncs.climate_of, [row[:2] for row in chicago()], "F")


def test_a_record_of_fahrenheit_called_celsius_is_told():
    # A July of 95 °C is no weather: the values are refused, and no season is left.
    _line(sheetfuncs.climate_of, chicago(), "C")


def test_impossible_values_are_refused_and_told_not_used():
    rows = list(chicago())
    index = 2000
    rows[index] = (rows[index][0], -72.0, rows[index][2])
    other = list(chicago())
    other[index] = (rows[index][0], 70.0, 20.0)
    blank = list(chicago())
    blank[index] = (rows[index][0], None, None)
    dates = []
    for record in (rows, other, blank):
        climate = sheetfuncs.climate_of(record, "F")
        dates.append([sheetfuncs.ripen_chance(climate, JULY + step * DAY, 2340) for step in range(-20, 20)])
        note = sheetfuncs.climate_note(climate)
        if record is not blank:
            assert str(index + 1) in note, note
    assert dates[0] == dates[1] == dates[2]


def test_a_note_tells_of_seasons_left_out():
    rows = [row for row in chicago() if not date(2008, 7, 1) <= row[0] <= date(2008, 7, 10)]
    note = sheetfuncs.climate_note(sheetfuncs.climate_of(rows, "F"))
    assert "2008" in note
    assert "14" in note  # of 15 complete seasons
    assert "\n" not in note


def test_gaps_up_to_three_days_are_filled_and_counted():
    rows = [row for row in chicago() if not date(2008, 7, 1) <= row[0] <= date(2008, 7, 3)]
    note = sheetfuncs.climate_note(sheetfuncs.climate_of(rows, "F"))
    assert "3" in note
    assert "15" in note
