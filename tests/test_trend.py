"""How a record has changed, and what its last seasons alone give."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import scipy  # its parts are loaded where they are used

import sheetfuncs
from sheetfuncs.functions.examples import VALLEY_NORMALS
from sheetfuncs.season import trend as trends
from sheetfuncs.season.errors import Unanswerable
from sheetfuncs.season.intervals import t_quantile
from sheetfuncs.season.ripening import Outlook

from .both import mirrored
from .climates import hot, temperate
from .records import chicago, clemson

NEED = 1300 * 1.8


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 13, 28, 88, 299])
@pytest.mark.parametrize("chance", [0.5, 0.75, 0.9, 0.975, 0.995])
def test_student_s_quantile(freedom, chance):
    wanted = scipy.stats.t.ppf(chance, freedom)
    assert t_quantile(chance, freedom) == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("climate", [hot, temperate])
def test_slopes_and_their_intervals_are_those_of_least_squares(climate):
    fitted = trends.trend(climate())
    freezes = [pair for pair in climate().freeze_of_years(True) if pair[1] is not None]
    for slope, points in ((fitted.first_freeze, freezes), (fitted.heat, trends.season_heats(climate()))):
        line = scipy.stats.linregress(*zip(*points))
        error = line.stderr * scipy.stats.t.ppf(0.975, len(points) - 2)
        wanted = (10 * line.slope, 10 * (line.slope - error), 10 * (line.slope + error))
        assert (slope.per_decade, slope.low, slope.high) == pytest.approx(wanted, rel=1e-6)
        assert slope.seasons == len(points)


def test_first_freezes_are_the_ones_the_frost_functions_use():
    for climate in (hot(1930), temperate(), sheetfuncs.climate_of(mirrored(chicago()), "F")):
        assert tuple(number for _, number in climate.freeze_of_years(True)) == climate.freezes(True).numbers


def test_heat_of_a_season_is_that_of_its_growing_part():
    heats = dict(trends.season_heats(temperate()))
    assert heats[2005] == pytest.approx(sheetfuncs.heat_units_between(temperate(), "2005-04-01", "2005-12-01"))
    assert 2016 not in heats  # ends in August


def test_a_warming_that_was_put_in_is_found():
    start = date(1991, 1, 1)
    level = [row for row in clemson(1991, 2020) if None not in row]
    warmer = [(day, *(value + (day - start).days / 3652.5 for value in pair)) for day, *pair in level]
    before, after = (trends.trend(sheetfuncs.climate_of(rows, "F")).heat for rows in (level, warmer))
    # One degree a decade on (nearly) each of the growing part's 244 days.
    assert 200 < after.per_decade - before.per_decade < 244
    assert after.seasons == before.seasons


def test_years_without_a_freeze_are_counted_not_invented():
    mild = [
        (day, None if low is None else low + 14, None if high is None else high + 14) for day, low, high in clemson()
    ]
    fitted = trends.trend(sheetfuncs.climate_of(mild, "F"))
    assert fitted.no_freeze > 0
    assert fitted.first_freeze.seasons + fitted.no_freeze == len(hot(1930).freeze_of_years(True))


def test_too_few_seasons_have_no_slope():
    fitted = trends.trend(sheetfuncs.climate_of(clemson(2012, 2020), "F"))
    assert fitted.heat is None
    assert fitted.first_freeze is None


# -- the last seasons alone -------------------------------------------------------------------------------


@pytest.mark.parametrize("seasons", [3, 15, 30])
def test_the_last_seasons_are_a_record_that_begins_later(seasons):
    only = hot(1930).last_seasons(seasons)
    later = sheetfuncs.climate_of(clemson(2021 - seasons, 2020), "F")
    assert only.days.complete == later.days.complete == tuple(range(2021 - seasons, 2021))
    assert only.freezes(True) == later.freezes(True)
    assert only.freezes(False) == later.freezes(False)
    for chance in (0.5, 0.8):
        wanted = sheetfuncs.latest_prune_date(later, 2021, NEED, chance)
        assert sheetfuncs.latest_prune_date(only, 2021, NEED, chance) == wanted
    assert str(only) != str(hot(1930))


def test_an_incomplete_season_does_not_count_and_a_season_in_progress_stays():
    known = sheetfuncs.climate_until(hot(1930), "1965-07-20")
    only = known.last_seasons(4)
    assert only.days.complete == (1960, 1961, 1963, 1964)  # 1962 lacks September
    assert only.days.record.end == known.days.record.end
    assert len(only.traces(1965)) == 4


def test_more_seasons_than_there_are_change_nothing():
    assert temperate().last_seasons(15) is temperate()
    assert temperate().last_seasons(200) is temperate()


def test_a_typed_frost_stays():
    typed = sheetfuncs.climate_with_frost(temperate(), date(2015, 10, 25))
    assert typed.last_seasons(5).estimate == typed.estimate


def test_what_the_last_seasons_would_change():
    change = trends.last_seasons_change(hot(1930), 30, NEED)
    only = hot(1930).last_seasons(30)
    assert change.seasons == (90, 30)
    assert change.last_date == tuple(Outlook(one, 2021, NEED).last_cut() for one in (hot(1930), only))
    mean_day = sum(only.freezes(True).numbers) / 30
    assert change.first_freeze[1] == date(2020, 12, 31) + timedelta(days=round(mean_day))
    assert change.heat[1] - change.heat[0] == pytest.approx(102.8, abs=0.1)


def test_the_trend_of_clemson():
    fitted = trends.trend(hot(1930))
    assert (fitted.first, fitted.last, fitted.no_freeze) == (1930, 2020, 0)
    slopes = [(fitted.first_freeze, (0.89, -0.03, 1.80)), (fitted.heat, (1.6, -20.3, 23.5))]
    for slope, wanted in slopes:
        assert (slope.per_decade, slope.low, slope.high) == pytest.approx(wanted, abs=0.05)
    # Warm, cool, warm: a straight line over all of it hides what the last 30 seasons did.
    late = trends.trend(hot(1930).last_seasons(30)).heat
    assert late.low > fitted.heat.high


@pytest.mark.parametrize(
    "ask", [trends.trend, lambda climate: trends.last_seasons_change(climate, 9, NEED)]
)
def test_normals_have_no_seasons(ask):
    with pytest.raises(Unanswerable, match="wanted a daily record"):
        ask(sheetfuncs.climate_of(VALLEY_NORMALS))


def test_two_seasons_are_too_few():
    with pytest.raises(Unanswerable, match="last seasons is 2, wanted 3"):
        temperate().last_seasons(2)
