"""What must hold whatever the numbers: shifts of years, units, hemispheres, and other ways to hand over a record."""

from __future__ import annotations

import math
import random
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sheetfuncs

from .both import mirrored, mirrored_day
from .climates import temperate
from .records import chicago, clemson, in_celsius
from .test_properties import NEVER, _climate, _last

DAY = timedelta(days=1)


# -- shifts, units, hemispheres ---------------------------------------------------------------------------


def _answers(climate, season, factor=1.0, south=False):
    """Return many answers about one season, dates as they are."""
    cut = date(season - 1 if south else season, 12 if south else 6, 20)
    dates = []
    for need in (1150, 1300, 1450):
        dates += [_last(climate, season, need * factor, chance) for chance in (0.3, 0.5, 0.8, 0.95)]
        dates += sheetfuncs.ripen_window(climate, cut, need * factor, 250 * factor)
    for chance in (0.1, 0.5, 0.9):
        dates.append(sheetfuncs.season_end(climate, season, chance))
        dates.append(sheetfuncs.first_frost(climate, season, chance))
        dates.append(sheetfuncs.last_frost(climate, season, chance))
    chance = sheetfuncs.ripen_chance(climate, cut, 1300 * factor)
    return dates, chance, sheetfuncs.crop_ripe_share(climate, cut, 1300 * factor, 250 * factor)


@pytest.mark.parametrize("years", [-28, -8, 4, 28])
@pytest.mark.parametrize("season", [2014, 2016, 2017])
def test_a_record_shifted_by_years_gives_shifted_answers(years, season):
    def shifted(day):
        return day if day in (None, NEVER) else day.replace(year=day.year + years)

    rows = [(shifted(day), low, high) for day, low, high in chicago()]
    dates, chance, share = _answers(temperate(), season, 1.8)
    moved = _answers(sheetfuncs.climate_of(rows, "F"), season + years, 1.8)
    assert moved == ([shifted(day) for day in dates], chance, pytest.approx(share))


def _common_years(years, seed):
    """Return an invented record without a leap day's trace: the same values in each year's slots."""
    dice = random.Random(seed)
    rows = []
    day = date(years[0], 1, 1)
    while day.year <= years[-1]:
        middle = 11 - 14 * math.cos(2 * math.pi * (day.timetuple().tm_yday - 18) / 365) + dice.gauss(0, 3)
        swing = abs(dice.gauss(5, 2))
        rows.append((day, round(middle - swing, 1), round(middle + swing, 1)))
        day += DAY
    return rows


@pytest.mark.parametrize("seed", range(3))
def test_a_record_shifted_by_one_year_shifts_the_answers_by_about_a_year(seed):
    # By one year leap days fall elsewhere, which may move an answer by a day.
    rows = [row for row in _common_years(range(2005, 2011), seed) if (row[0].month, row[0].day) != (2, 29)]
    moved = [(day.replace(year=day.year + 1), low, high) for day, low, high in rows]
    dates, chance, share = _answers(sheetfuncs.climate_of(rows), 2013)
    later, later_chance, later_share = _answers(sheetfuncs.climate_of(moved), 2014)
    assert (later_chance, later_share) == (chance, pytest.approx(share))
    for sooner, moved_day in zip(dates, later):
        if sooner in (None, NEVER):
            assert moved_day == sooner
        else:
            assert abs((moved_day - sooner).days - 365) <= 1


@pytest.mark.parametrize(("record", "season"), [(chicago, 2016), (chicago, 2017), (lambda: clemson(1930, 1950), 1951)])
def test_celsius_and_fahrenheit_give_the_same_dates(record, season):
    fahrenheit = _answers(sheetfuncs.climate_of(record(), "F"), season, 1.8)
    celsius = _answers(sheetfuncs.climate_of(in_celsius(record()), "C"), season)
    assert celsius == (fahrenheit[0], pytest.approx(fahrenheit[1]), pytest.approx(fahrenheit[2]))


@pytest.mark.parametrize(("record", "season"), [(chicago, 2017), (lambda: clemson(1931, 1950), 1951)])
def test_a_whole_fahrenheit_freeze_kept_in_tenths_of_celsius_stays_a_freeze(record, season):
    # 28 °F is −2.2 °C in a record of tenths, above −2.222…: no freeze must be lost by that rounding.
    whole = [(day, *(None if value is None else round(value) for value in pair)) for day, *pair in record()]
    tenths = [
        (day, *(None if value is None else round((value - 32) / 1.8, 1) for value in pair)) for day, *pair in whole
    ]
    for at, celsius in ((32, 0), (28, (28 - 32) / 1.8), (30, (30 - 32) / 1.8)):
        fahrenheit = sheetfuncs.climate_of(whole, "F", frost_at=at, stall_at="off")
        other = sheetfuncs.climate_of(tenths, "C", frost_at=celsius, stall_at="off")
        for chance in (0.1, 0.5, 0.9):
            assert sheetfuncs.first_frost(other, season, chance) == sheetfuncs.first_frost(fahrenheit, season, chance)
            assert sheetfuncs.season_end(other, season, chance) == sheetfuncs.season_end(fahrenheit, season, chance)


@pytest.mark.parametrize("season", [2015, 2017, 2018])
@pytest.mark.parametrize("record", [chicago, lambda: clemson(1999, 2014)], ids=["temperate", "hot"])
def test_a_southern_record_mirrors_a_northern_one(record, season):
    north = sheetfuncs.climate_of(record(), "F")
    south = sheetfuncs.climate_of(mirrored(record()), "F")
    for need in (1150 * 1.8, 1300 * 1.8, 1450 * 1.8):
        for chance in (0.3, 0.5, 0.8, 0.95):
            there = _last(north, season, need, chance)
            assert _last(south, season, need, chance) == (there if there == NEVER else mirrored_day(there))
        for cut in (date(season, 6, 10), date(season, 7, 1), date(season, 7, 20)):
            found = sheetfuncs.ripen_chance(south, mirrored_day(cut), need)
            assert found == sheetfuncs.ripen_chance(north, cut, need)
            wanted = sheetfuncs.ripen_window(north, cut, need, 450)
            found = sheetfuncs.ripen_window(south, mirrored_day(cut), need, 450)
            assert tuple(found) == tuple(day and mirrored_day(day) for day in wanted)
    for chance in (0.1, 0.5, 0.9):
        for function in (sheetfuncs.first_frost, sheetfuncs.season_end):
            assert function(south, season, chance) == mirrored_day(function(north, season, chance))
        # The spring before a season's summer: leap days lie on the other side of it, so a day more or less.
        wanted = mirrored_day(sheetfuncs.last_frost(north, season, chance))
        assert abs((sheetfuncs.last_frost(south, season, chance) - wanted).days) <= 1


@given(st.integers(0, 10_000), st.floats(-3, 6), st.floats(0.5, 4))
@settings(max_examples=12)
def test_invented_records_keep_chance_and_date_inverse(seed, warmer, noise):
    dice = random.Random(seed)
    rows = []
    day = date(2011, 1, 1)
    while day < date(2016, 7, 1):
        middle = 10 + warmer - 14 * math.cos(2 * math.pi * (day.timetuple().tm_yday - 20) / 365)
        middle += dice.gauss(0, noise)
        rows.append((day, round(middle - 5, 1), round(middle + 6, 1)))
        day += DAY
    climate = sheetfuncs.climate_of(rows)
    for chance in (0.2, 0.5, 0.8, 1.0):
        last = _last(climate, 2017, 1300, chance)
        if last == NEVER:
            leaves = sheetfuncs.heat_date(climate, date(2017, 1, 1), 150)
            assert sheetfuncs.ripen_chance(climate, leaves, 1300) < chance
        else:
            assert sheetfuncs.ripen_chance(climate, last, 1300) >= chance
            assert sheetfuncs.ripen_chance(climate, last + DAY, 1300) < chance


# -- the same record in other words ----------------------------------------------------------------------


def test_the_order_of_the_rows_does_not_matter():
    rows = list(chicago())
    random.Random(3).shuffle(rows)
    assert _answers(sheetfuncs.climate_of(rows, "F"), 2017, 1.8) == _answers(_climate("future")[0], 2017, 1.8)


def test_a_day_given_twice_alike_counts_once():
    rows = [*chicago(), *chicago()[100:200]]
    assert _answers(sheetfuncs.climate_of(rows, "F"), 2017, 1.8) == _answers(_climate("future")[0], 2017, 1.8)


def test_dates_as_texts_and_as_serials_are_the_same_dates():
    expected = _answers(_climate("future")[0], 2017, 1.8)
    texts = [(day.isoformat(), low, high) for day, low, high in chicago()]
    serials = [(float((day - date(1899, 12, 30)).days), low, high) for day, low, high in chicago()]
    for rows in (texts, serials):
        assert _answers(sheetfuncs.climate_of(rows, "F"), 2017, 1.8) == expected


def test_looking_back_uses_nothing_from_later():
    # Other weather after the day must change nothing that was known on its morning.
    day = date(2012, 8, 10)
    warmed = [(when, low + 9 * (when >= day), high + 9 * (when >= day)) for when, low, high in chicago()]
    then, other = (sheetfuncs.climate_until(sheetfuncs.climate_of(rows, "F"), day) for rows in (chicago(), warmed))
    cut_short = sheetfuncs.climate_of([row for row in chicago() if row[0] < day], "F")
    assert _answers(then, 2012, 1.8) == _answers(other, 2012, 1.8) == _answers(cut_short, 2012, 1.8)


def test_any_change_changes_the_climate_s_text():
    base = temperate()
    changed = list(chicago())
    changed[3000] = (changed[3000][0], changed[3000][1] - 0.1, changed[3000][2])
    frost = sheetfuncs.climate_with_frost(base, date(2015, 11, 1))
    others = [
        base,
        sheetfuncs.climate_of(changed, "F"),
        sheetfuncs.climate_of(chicago(), "F", base=47),
        sheetfuncs.climate_of(chicago(), "F", ceiling=95),
        sheetfuncs.climate_of(chicago(), "F", frost_at=31),
        sheetfuncs.climate_of(chicago(), "F", stall_at=53),
        sheetfuncs.climate_of(chicago(), "F", stall_at="off"),
        sheetfuncs.climate_of(chicago(), "F", method="average"),
        sheetfuncs.climate_of(chicago(), "F", cutoff="vertical"),
        sheetfuncs.climate_of(chicago()[:-1], "F"),
        sheetfuncs.climate_at(base, 1, 0),
        sheetfuncs.climate_at(base, 0, 1),
        sheetfuncs.climate_until(base, date(2014, 7, 1)),
        frost,
        sheetfuncs.climate_with_frost(base, date(2015, 11, 2)),
        sheetfuncs.climate_with_frost(base, [(0.5, date(2015, 11, 1)), (0.9, date(2015, 11, 20))]),
        sheetfuncs.climate_at(frost, 1, 0),
    ]
    texts = [str(climate) for climate in others]
    assert len(set(texts)) == len(texts)
    assert str(sheetfuncs.climate_of(list(chicago()), "F")) == texts[0]
    assert all("·" in text and len(text) < 60 for text in texts)
