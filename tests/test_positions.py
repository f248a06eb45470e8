"""A warmer position never has an earlier frost, shelter date or last date, at any chance; the station stays itself."""

from __future__ import annotations

import random
from datetime import date, timedelta
from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sheetfuncs
from sheetfuncs.functions.examples import VALLEY_NORMALS
from sheetfuncs.planner.invented import demo_weather
from sheetfuncs.season.frost import FreezeYear, freezes_at_position, freezes_of_years

from .both import with_gaps
from .records import chicago, clemson, seattle

LATEST, NEVER = date(9000, 1, 1), date(1, 1, 1)
RECORDS = {
    "demo": (demo_weather, "C", 2026),
    "cool, few seasons": (seattle, "C", 2016),
    "temperate": (chicago, "F", 2017),
    "temperate, gaps": (lambda: with_gaps(chicago(), 3), "F", 2017),
    "hot, freezes in some years only": (lambda: clemson(1991, 2020), "F", 2021),
    "only the growing part": (lambda: [row for row in chicago() if 4 <= row[0].month <= 11], "F", 2017),
}
#: Monthly normals have no frosts but typed ones.
ALL_RECORDS = {**RECORDS, "monthly normals": (lambda: VALLEY_NORMALS, "C", 2017)}
TYPED = {
    "one date": date(2015, 10, 12),
    "rows": [(0.1, date(2015, 9, 28)), (0.5, date(2015, 10, 14)), (0.9, date(2015, 11, 9))],
}


@lru_cache(maxsize=None)
def _place(name, typed=None, until=None):
    record, unit, season = ALL_RECORDS[name]
    climate = sheetfuncs.climate_of(record(), unit)
    if until is not None:
        climate = sheetfuncs.climate_until(climate, until)
    return (climate if typed is None else sheetfuncs.climate_with_frost(climate, TYPED[typed])), season


@lru_cache(maxsize=4096)
def _position(name, gain, typed=None):
    climate, season = _place(name, typed)
    return sheetfuncs.climate_at(climate, 0, gain) if gain else climate, season


def _or(none, function, *arguments, **more):
    """Return the answer, a date beyond all others where there is none."""
    try:
        return function(*arguments, **more) or none
    except sheetfuncs.InputError as reason:
        if "any cut ripens figs" in reason.line:
            return LATEST
        if any(words in reason.line for words in ("too few for a chance", "no cut in season", "no useful cut")):
            return none
        raise


def _frosts(climate, season, chance, rule, limit):
    """Return dates of which none may come earlier in a warmer position."""
    autumn = [
        _or(LATEST, sheetfuncs.first_frost, climate, season, chance, limit, rule),
        _or(LATEST, sheetfuncs.shelter_by, climate, season, limit, chance),
    ]
    spring = [
        _or(NEVER, sheetfuncs.last_frost, climate, season, chance, limit, rule),
        _or(NEVER, sheetfuncs.safe_outside_from, climate, season, limit, chance),
    ]
    return [day.toordinal() for day in autumn] + [-day.toordinal() for day in spring]


gains = st.floats(-6, 6).map(lambda gain: round(gain, 2))
chances = st.floats(0.005, 0.995)


@pytest.mark.parametrize(
    ("function", "cooler", "warmer"), [("shelter_by", 0.3, 0.5), ("first_frost", 2.0, 2.5)]
)
@pytest.mark.parametrize("chance", [0.1, 0.2])
def test_the_demonstration_s_positions(function, cooler, warmer, chance):
    # The official rule at each position gives 28 and 24 October, 14 and 13 October.
    days = [
        getattr(sheetfuncs, function)(_position("demo", gain)[0], 2026, chance=chance) for gain in (cooler, warmer)
    ]
    assert days == sorted(days)


@given(st.sampled_from(sorted(RECORDS)), gains, gains, chances, st.sampled_from(["normal", "ranks"]), st.booleans())
@settings(max_examples=300)
def test_frosts_of_a_warmer_position(name, one, other, chance, rule, hard):
    unit = RECORDS[name][1]
    factor = 1.8 if unit == "F" else 1.0
    limit = (-4.0 if hard else 0.0) * factor + (32 if unit == "F" else 0)
    positions = [_position(name, gain * factor)[0] for gain in sorted((one, other))]
    dates = [_frosts(climate, RECORDS[name][2], chance, rule, limit) for climate in positions]
    for sooner, later in zip(*dates):
        assert sooner <= later


@given(st.sampled_from(sorted(RECORDS)), gains, gains, chances)
@settings(max_examples=150)
def test_the_season_and_the_last_cut_of_a_warmer_position(name, one, other, chance):
    factor = 1.8 if RECORDS[name][1] == "F" else 1.0
    positions = [_position(name, gain * factor) for gain in sorted((one, other))]
    for function, more in ((sheetfuncs.season_end, (chance,)), (sheetfuncs.latest_prune_date, (1150 * factor, chance))):
        none = LATEST if function is sheetfuncs.season_end else NEVER
        sooner, later = (_or(none, function, climate, season, *more) for climate, season in positions)
        assert sooner <= later, function.__name__


@given(st.sampled_from(sorted(ALL_RECORDS)), st.sampled_from(sorted(TYPED)), gains, gains, chances)
@settings(max_examples=200)
def test_a_typed_frost_at_a_warmer_position(name, typed, one, other, chance):
    factor = 1.8 if ALL_RECORDS[name][1] == "F" else 1.0
    positions = [_position(name, gain * factor, typed) for gain in sorted((one, other))]
    for function, more in (
        (sheetfuncs.first_frost, (chance,)),
        (sheetfuncs.season_end, (chance,)),
        (sheetfuncs.latest_prune_date, (1150 * factor, chance)),
    ):
        none = NEVER if function is sheetfuncs.latest_prune_date else LATEST
        sooner, later = (_or(none, function, climate, season, *more) for climate, season in positions)
        assert sooner <= later, function.__name__
    chance_by = [sheetfuncs.frost_chance(climate, date(season, 10, 20)) for climate, season in positions]
    assert chance_by[0] >= chance_by[1] - 1e-12


@lru_cache(maxsize=2048)
def _in_progress(typed, gain, until):
    climate = sheetfuncs.climate_at(_place("temperate", typed, until)[0], 0, gain)
    return climate, until.year


@given(
    st.sampled_from([None, *TYPED]), gains, gains, chances,
    st.sampled_from([date(2009, 9, 20), date(2012, 10, 9), date(2013, 10, 26), date(2014, 11, 20)]),
)  # fmt: skip
@settings(max_examples=150)
def test_a_season_in_progress_at_a_warmer_position(typed, one, other, chance, until):
    positions = [_in_progress(typed, gain * 1.8, until) for gain in sorted((one, other))]
    for function, more in ((sheetfuncs.season_end, (chance,)), (sheetfuncs.latest_prune_date, (1150 * 1.8, chance))):
        none = LATEST if function is sheetfuncs.season_end else NEVER
        sooner, later = (_or(none, function, climate, season, *more) for climate, season in positions)
        assert sooner <= later, function.__name__


@given(st.sampled_from(sorted(RECORDS)), gains, st.dates(date(2001, 8, 10), date(2002, 2, 20)), chances, chances)
def test_chances_at_one_position_rise_with_the_day_and_undo_the_dates(name, gain, day, one, other):
    factor = 1.8 if RECORDS[name][1] == "F" else 1.0
    climate, season = _position(name, gain * factor)
    days = [_or(LATEST, sheetfuncs.first_frost, climate, season, chance) for chance in sorted((one, other))]
    assert days == sorted(days)
    for chance, found in zip(sorted((one, other)), days):
        if date(season, 8, 10) < found < date(season + 1, 2, 20):
            before = sheetfuncs.frost_chance(climate, found - timedelta(days=1))
            assert before <= chance + 1e-9
            assert sheetfuncs.frost_chance(climate, found) >= chance - 1e-9


@given(st.randoms(use_true_random=False), st.integers(2, 12), st.floats(-3, 3), st.floats(-8, 8), st.floats(-8, 8))
@settings(max_examples=200)
def test_any_years_with_any_days_missing(dice, count, limit, one, other):
    years = []
    for _ in range(count):
        mild = dice.gauss(4, 5)
        lows = [mild + 10 - 0.4 * day + dice.gauss(0, 3) for day in range(40)]
        for day in range(40):
            if dice.random() < 0.02:
                lows[day] = float("nan")
        years.append(FreezeYear(lows, 1, 1))
    found = [freezes_at_position(years, limit, gain) for gain in sorted((one, other)) if gain]
    station = freezes_of_years(years, limit)
    if not station.numbers or len(station.with_freeze()) == 1 or len(found) < 2 or found[0].moved is None:
        return
    for percent in range(2, 100, 7):
        cooler, warmer = (dates.quantile(percent / 100, 1) for dates in found)
        assert cooler <= warmer
        here = station.quantile(percent / 100, 1)
        assert cooler <= here or (one > 0 and other > 0)
        assert warmer >= here or (one < 0 and other < 0)
    for sooner, later in zip(found[0].numbers, found[1].numbers):
        assert later is None or sooner <= later


def test_where_freezes_are_rare_a_hollow_has_a_date_of_its_own_years():
    # At −12 °C the hot station freezes in some years only; a hollow of −6 °C freezes there in most.
    climate, season = _place("hot, freezes in some years only")
    at = -12 * 1.8 + 32
    share = len(climate.freezes(True, at).with_freeze()) / len(climate.freezes(True, at).numbers)
    assert 0 < share < 0.5
    assert sheetfuncs.first_frost(climate, season, 0.5, at) is None
    hollow = sheetfuncs.climate_at(climate, 0, -6 * 1.8)
    assert date(season, 11, 1) < sheetfuncs.first_frost(hollow, season, 0.5, at) < date(season + 1, 1, 31)


def test_a_position_of_no_gain_is_the_station():
    climate, season = _place("temperate")
    for percent in range(1, 100):
        for function in (sheetfuncs.first_frost, sheetfuncs.last_frost):
            here, there = (
                function(one, season, percent / 100) for one in (climate, sheetfuncs.climate_at(climate, 3.0, 0.0))
            )
            assert here == there


# -- a record's own rounding ------------------------------------------------------------------------------


def _record(decimals, in_fahrenheit=False, years=6, seed=4):
    """Return years of lows that cross the freezing point slowly, rounded as a station would."""
    dice = random.Random(seed)
    rows, day = [], date(2001, 1, 1)
    while day.year < 2001 + years:
        away = min(abs((day - date(day.year, 7, 20)).days), 183)
        low = 16 - 0.17 * away + dice.gauss(0, 1.5)
        low = (round(low * 1.8 + 32) - 32) / 1.8 if in_fahrenheit else low
        rows.append((day, round(low, decimals), round(low + 9, decimals)))
        day += timedelta(days=1)
    return rows


def _number(day):
    return (day - date(day.year - 1, 12, 31)).days


def _set(rows, day, low):
    return [(each, low, high) if each == day else (each, low_was, high) for each, low_was, high in rows]


@pytest.mark.parametrize(
    ("decimals", "in_fahrenheit", "low", "at", "freezes"),
    [
        (1, False, 0.0, 0.0, True),
        (1, False, 0.1, 0.0, False),
        (1, False, -2.2, -2.2222, True),  # 28 °F, kept in tenths of °C
        (1, True, -2.2, -2.2222, True),
        (2, False, 0.0, 0.0, True),
        (2, False, 0.01, 0.0, False),
        (2, False, 0.04, 0.0, False),
        (2, True, -2.22, -2.2222, True),
        (2, True, -3.89, -3.9, True),  # 25 °F, kept in hundredths; the limit in tenths
        (2, False, -3.89, -3.9, False),
        (6, False, 0.004, 0.0, False),
        (6, False, -0.001, 0.0, True),
    ],
)
def test_a_low_is_compared_in_the_record_s_own_rounding(decimals, in_fahrenheit, low, at, freezes):
    day = date(2004, 9, 2)
    rows = [
        (each, max(lowest, 1.1) if each.month in (8, 9) else lowest, high + 2)
        for each, lowest, high in _record(decimals, in_fahrenheit)
    ]
    climate = sheetfuncs.climate_of(_set(rows, day, low), frost_at=at)
    assert (_number(day) in climate.freezes(True).numbers) == freezes


def test_a_record_in_hundredths_has_the_freezes_that_it_shows():
    rows = _record(2, years=12)
    climate = sheetfuncs.climate_of(rows)
    shown = {}
    for day, low, _ in rows:
        if day.month >= 8 and low <= 0:
            shown.setdefault(day.year, _number(day))
    assert list(climate.freezes(True).numbers) == [shown[year] for year in sorted(shown)]
