"""Normal quantiles and ranks against scipy and numpy, through the functions that use them."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest
import scipy  # its parts are loaded where they are used

import sheetfuncs

from .climates import hot, temperate
from .records import chicago, clemson
from .reference import day_by_day as slow

PERCENTS = [percent / 100 for percent in range(1, 100)]


def _number(day):
    """Return the day's number in the common year 2017 counted from the 31 December before."""
    return (day - date(2016, 12, 31)).days


@pytest.fixture(scope="module")
def chicago_climate():
    return temperate()


@pytest.fixture(scope="module")
def first_freezes():
    return list(slow.first_freezes(slow.place_of(chicago(), "F")).values())


def test_normal_dates_are_scipy_s(chicago_climate, first_freezes):
    law = scipy.stats.norm(np.mean(first_freezes), np.std(first_freezes, ddof=1))
    for chance in PERCENTS:
        wanted = math.floor(law.ppf(chance) + 0.5)
        assert _number(sheetfuncs.first_frost(chicago_climate, 2017, chance)) == wanted, chance


def test_the_chance_of_frost_is_scipy_s(chicago_climate, first_freezes):
    law = scipy.stats.norm(np.mean(first_freezes), np.std(first_freezes, ddof=1))
    for step in range(120):
        day = date(2017, 8, 15) + timedelta(days=step)
        wanted = law.cdf(_number(day) + 0.5)
        assert sheetfuncs.frost_chance(chicago_climate, day) == pytest.approx(wanted, abs=1e-9), day


def test_the_chance_of_a_frost_that_not_every_year_brings():
    place = slow.place_of(clemson(1981, 2010), "F")
    climate = hot(1981, 2010)
    numbers = list(slow.first_freezes(place, 16.0).values())
    found = [number for number in numbers if number is not None]
    share = len(found) / len(numbers)
    assert share < 0.9
    law = scipy.stats.norm(np.mean(found), np.std(found, ddof=1))
    for day in (date(2016, 12, 1), date(2017, 1, 15), date(2017, 2, 20)):
        number = (day - date(2015, 12, 31)).days - 1  # 2016 had a leap day, which no common year has
        wanted = share * law.cdf(number + 0.5)
        assert sheetfuncs.frost_chance(climate, day, 16.0) == pytest.approx(wanted, abs=1e-9)
    assert sheetfuncs.first_frost(climate, 2016, share - 0.01, 16.0) is not None
    assert sheetfuncs.first_frost(climate, 2016, share, 16.0) is None
    assert sheetfuncs.first_frost(climate, 2016, 0.99, 16.0) is None
    assert sheetfuncs.first_frost(climate, 2016, 0.99, 16.0, "ranks") is None


def test_frost_chance_and_frost_date_undo_each_other(chicago_climate):
    for chance in PERCENTS:
        day = sheetfuncs.first_frost(chicago_climate, 2017, chance)
        assert sheetfuncs.frost_chance(chicago_climate, day) >= chance - 1e-9
        assert sheetfuncs.frost_chance(chicago_climate, day - timedelta(days=1)) <= chance + 1e-9


def test_ranks_are_numpy_s_hazen_quantiles(chicago_climate, first_freezes):
    last_freezes = list(slow.last_freezes(slow.place_of(chicago(), "F")).values())
    for chance in PERCENTS:
        wanted = np.quantile(first_freezes, chance, method="hazen")
        found = _number(sheetfuncs.first_frost(chicago_climate, 2017, chance, rule="ranks"))
        assert abs(found - wanted) <= 0.5 + 1e-9, chance
        wanted = np.quantile(last_freezes, 1 - chance, method="hazen")
        found = _number(sheetfuncs.last_frost(chicago_climate, 2017, chance, rule="ranks"))
        assert abs(found - wanted) <= 0.5 + 1e-9, chance


def test_the_season_s_end_is_numpy_s_hazen_quantile(chicago_climate):
    ends = [run.end.toordinal() for run in slow.traces(slow.place_of(chicago(), "F"), 2017)]
    for chance in PERCENTS:
        wanted = np.quantile(ends, chance, method="hazen")
        found = sheetfuncs.season_end(chicago_climate, 2017, chance).toordinal()
        assert found == math.floor(wanted + 0.5 + 1e-9), chance


def test_a_typed_date_is_the_middle_of_a_normal_of_12_days(chicago_climate):
    climate = sheetfuncs.climate_with_frost(chicago_climate, date(2015, 11, 3))
    law = scipy.stats.norm((date(2017, 11, 3) - date(2016, 12, 31)).days, 12)
    assert sheetfuncs.first_frost(climate, 2017) == date(2017, 11, 3)
    for chance in PERCENTS:
        wanted = math.floor(law.ppf(chance) + 0.5)
        assert _number(sheetfuncs.first_frost(climate, 2017, chance)) == wanted, chance
        day = date(2017, 11, 3) + timedelta(days=int(100 * chance) - 50)
        assert sheetfuncs.frost_chance(climate, day) == pytest.approx(law.cdf(_number(day) + 0.5), abs=1e-9)


def test_typed_chances_are_fitted_as_scipy_fits_a_line(chicago_climate):
    rows = [(0.1, date(2015, 10, 3)), (0.3, date(2015, 10, 12)), (0.5, date(2015, 10, 27)), (0.9, date(2015, 11, 20))]
    climate = sheetfuncs.climate_with_frost(chicago_climate, rows)
    days = [(day - date(2014, 12, 31)).days for _, day in rows]
    line = scipy.stats.linregress(scipy.stats.norm.ppf([chance for chance, _ in rows]), days)
    for chance in PERCENTS:
        wanted = math.floor(line.intercept + line.slope * scipy.stats.norm.ppf(chance) + 0.5)
        assert _number(sheetfuncs.first_frost(climate, 2017, chance)) == wanted, chance
