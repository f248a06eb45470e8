"""Values that others have published, each with its source; see ``published/README.md``."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest

import sheetfuncs
from sheetfuncs.season.normals import daily_from_monthly

from .climates import hot

PUBLISHED = Path(__file__).parent / "published"


def _table(name):
    with open(PUBLISHED / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _number(text):
    return float(text) if text else None


# -- heat of a day ----------------------------------------------------------------------------------------

HEAT_OF_A_DAY = _table("heat_of_a_day.csv")


def _heat(row):
    return sheetfuncs.heat_units_day(
        _number(row["low"]),
        _number(row["high"]),
        _number(row["base"]),
        _number(row["ceiling"]),
        row["method"],
        row["cutoff"],
        # Given, the afternoon of a sine runs down to it, too.
        _number(row["next_low"]) if row["method"].startswith("double") else None,
    )


def _name(row):
    return "-".join(row[key] for key in ("source", "low", "high", "method")).replace(" ", "_")


@pytest.mark.parametrize("row", [row for row in HEAT_OF_A_DAY if not row["misprint"]], ids=_name)
def test_a_published_degree_day_is_met(row):
    assert _heat(row) == pytest.approx(float(row["printed"]), abs=float(row["within"]))


def test_the_table_s_one_misprint_is_one():
    (row,) = [row for row in HEAT_OF_A_DAY if row["misprint"]]
    first_half = dict(row, method="triangle", next_low="")
    second_half = dict(first_half, low=row["next_low"])
    assert _heat(row) == pytest.approx((_heat(first_half) + _heat(second_half)) / 2)
    assert _heat(row) == pytest.approx(27.125)
    assert row["printed"] == "24.88"


def test_all_published_days_are_there():
    assert len(HEAT_OF_A_DAY) == 71


# -- freeze dates by chance -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def clemson_1971_to_2000():
    return hot(1971, 2000)


@pytest.mark.parametrize(
    "row",
    _table("clemson_freeze_dates.csv"),
    ids=lambda row: f"{row['freeze']}-{row['at_f']}F-{row['chance']}",
)
def test_the_freeze_table_is_met_to_the_printed_day(row, clemson_1971_to_2000):
    function = sheetfuncs.first_frost if row["freeze"] == "first" else sheetfuncs.last_frost
    day = function(clemson_1971_to_2000, 2001, float(row["chance"]), float(row["at_f"]))
    assert ("" if day is None else day.strftime("%m-%d")) == row["printed"]
    assert day is None or day.year == 2001


# -- normals become days ----------------------------------------------------------------------------------

# Madison, Wisconsin, °C: Bartlein & Shafer 2019, Geosci. Model Dev. 12.
# The method: Epstein 1991, J. Climate 4:365–368.
MADISON = (-6.77, -4.33, 1.52, 8.35, 14.74, 20.29, 23.22, 22.17, 16.94, 10.35, 3.08, -4.29)
MONTH_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@pytest.mark.parametrize(("day", "printed"), [(1, -6.58), (15, -6.98), (196, 23.34), (365, -6.51)])
def test_normals_become_the_published_days(day, printed):
    assert daily_from_monthly(MADISON)[day - 1] == pytest.approx(printed, abs=0.15)


def test_days_made_of_normals_keep_the_monthly_means_and_peak_in_july():
    days = daily_from_monthly(MADISON)
    assert len(days) == 365
    start = 0
    for printed, length in zip(MADISON, MONTH_LENGTHS):
        assert sum(days[start : start + length]) / length == pytest.approx(printed, abs=0.001)
        start += length
    assert abs(days.index(max(days)) + 1 - 206) <= 1


# -- from a fig seen to a ripe fig ------------------------------------------------------------------------


def _steady(low, high, years=range(2010, 2015)):
    """Return a record in which every day of the year is the same."""
    first, last = date(years[0], 1, 1), date(years[-1], 12, 31)
    return [(first + timedelta(days=step), low, high) for step in range((last - first).days + 1)]


def test_houraishi_at_a_constant_24_7_degrees_takes_85_days():
    # 2,100 °C·day above 0 °C at a mean of 24.7 °C, 80–89 days: Yahata & Nogata 2000,
    # J. Japan. Soc. Hort. Sci. 69(2).
    climate = sheetfuncs.climate_of(_steady(24.7, 24.7), "C", 0, stall_at="off", hemisphere="north")
    seen = date(2015, 7, 1)
    assert (sheetfuncs.heat_date(climate, seen, 2100) - seen).days == 85
    first, _, _ = sheetfuncs.ripen_window(climate, seen, 2100, 0, 0)
    assert (first - seen).days == 85


def test_the_same_figs_above_8_degrees_need_about_1420():
    # The late kind's need of 1,450 °C·day rests on it: 85 days of 24.7 − 8 (derived from the same source).
    climate = sheetfuncs.climate_of(_steady(24.7, 24.7), "C", stall_at="off", hemisphere="north")
    heat = sheetfuncs.heat_units_between(climate, date(2015, 7, 1), date(2015, 9, 24))
    assert heat == pytest.approx(1420, abs=1)


def test_figs_set_on_22_june_are_first_picked_80_days_later():
    # Figs set 22 June, first harvest 10 September 2017: Miyagi Prefecture, summary of 2018;
    # their advice: 75–80 days.
    assert sheetfuncs.latest_prune_date_by_days(date(2017, 9, 10), 80) == date(2017, 6, 22)
    assert sheetfuncs.latest_prune_date_by_days("2017-09-10", 80, 5) == date(2017, 6, 17)
