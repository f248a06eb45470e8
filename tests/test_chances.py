"""The chance in one season more: its formula by another library, its edges by hand, its interval by scipy."""

from __future__ import annotations

import math
from datetime import date, timedelta
from statistics import stdev

import numpy
import pytest
import scipy  # its parts are loaded where they are used

import sheetfuncs
from sheetfuncs.season.chances import ChanceCurve, expected_share, season_spread, share_with_chance
from sheetfuncs.season.days import MILLIONTHS
from sheetfuncs.season.intervals import binomial_interval
from sheetfuncs.season.traces import millionths

from .climates import hot, temperate
from .records import new_york, seattle

DAY = timedelta(days=1)
NEED = 1300 * 1.8


@pytest.fixture(scope="module", params=["30 seasons", "15 seasons", "4 seasons"])
def place(request):
    """Return a climate, a season to come, and a need [heat units] that its seasons bring by autumn."""
    if request.param == "30 seasons":
        return hot(), 2021, NEED
    if request.param == "15 seasons":
        return temperate(), 2017, NEED
    return sheetfuncs.climate_of(seattle()), 2016, 700.0


def _left(climate, season, cut, lag=10):
    """Return each season's heat from figs seen to its end [heat units]."""
    traces = climate.traces(season)
    start = traces.days.index(cut + lag * DAY)
    return numpy.array(traces.heat_left(start)) / MILLIONTHS


def _day_of_mean(climate, season, need):
    """Return, by numpy's interpolation, how much seasons differ on the day on which the mean heat left is the need."""
    traces = climate.traces(season)
    table = numpy.array([traces.heat_left(start) for start in range(traces.days.count + 1)]) / MILLIONTHS
    means = table.mean(axis=1)
    share = numpy.interp(-need, -means, numpy.arange(len(means)))
    at = numpy.array([numpy.interp(share, numpy.arange(len(means)), column) for column in table.T])
    return at.std(ddof=1)


# -- the formula ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("spread", [0.0, 0.06, 0.12])
def test_the_chance_is_the_mean_of_the_normal_chances(place, spread):
    climate, season, need = place
    deviation = _day_of_mean(climate, season, need)
    seasons = len(climate.traces(season))
    for step in range(0, 100, 9):
        cut = date(season, 5, 1) + step * DAY
        left = _left(climate, season, cut)
        wide = math.sqrt((spread * need) ** 2 + 2 * deviation**2 / seasons)
        wanted = scipy.stats.norm.cdf(left, need, wide).mean()
        assert sheetfuncs.ripen_chance(climate, cut, need, 10, spread) == pytest.approx(wanted, abs=1e-6), cut


def test_normal_seasons_and_a_normal_need_give_the_normal_s_own_chance():
    # Of n draws with mean 0 and variance s², one more differs from their mean with variance s²(1 + 1/n): a great many
    # draws of n seasons must hold what is promised. 80 % promised by counting holds in 67 % from three seasons.
    dice = numpy.random.default_rng(7)
    for seasons, within in ((3, 0.07), (5, 0.04), (10, 0.02), (30, 0.01)):
        left = dice.normal(1300, 90, (4000, seasons))
        spread = left.std(axis=1, ddof=1)
        wide = numpy.sqrt(78**2 + 2 * spread**2 / seasons)
        needs = dice.normal(1300, 78, 4000)
        coming = dice.normal(1300, 90, 4000)
        # The shift of the cut at which the promise is 80 %, by bisection for all at once.
        low, high = numpy.full(4000, -900.0), numpy.full(4000, 900.0)
        for _ in range(40):
            middle = (low + high) / 2
            chance = scipy.stats.norm.cdf((left - middle[:, None] - 1300) / wide[:, None]).mean(axis=1)
            low, high = numpy.where(chance >= 0.8, middle, low), numpy.where(chance >= 0.8, high, middle)
        held = (coming - low >= needs).mean()
        assert held == pytest.approx(0.8, abs=within), seasons


# -- the edges --------------------------------------------------------------------------------------------


def test_a_need_known_exactly_in_one_season_is_a_step():
    climate = temperate()
    past = sheetfuncs.climate_until(climate, date(2010, 1, 1))
    # The first season of the record has no other to stand for it.
    assert len(past.traces(2001)) == 1
    chances = [sheetfuncs.ripen_chance(past, date(2001, 5, 1) + step * DAY, NEED, 10, 0) for step in range(120)]
    assert set(chances) == {0.0, 1.0}
    last = date(2001, 5, 1) + (chances.index(0.0) - 1) * DAY
    assert sheetfuncs.latest_prune_date(past, 2001, NEED, 0.8, 10, 0) == last


def test_where_a_whole_season_brings_too_little_its_own_spread_counts():
    climate = sheetfuncs.climate_of(seattle())
    traces = climate.traces(2016)
    need = millionths(5000)
    assert sum(traces.heat_left(0)) < 4 * need
    assert season_spread(traces, need) == pytest.approx(stdev(traces.heat_left(0)))
    assert sheetfuncs.ripen_chance(climate, date(2016, 4, 1), 5000) < 1e-6
    with pytest.raises(sheetfuncs.InputError, match="no cut in season 2016"):
        sheetfuncs.latest_prune_date(climate, 2016, 5000)


def test_four_seasons_promise_what_an_independent_implementation_says():
    # Written apart from this one, from the formula alone: New York, 15, 12 and 10 July; its days are rounded otherwise.
    climate = sheetfuncs.climate_of(new_york())
    found = [sheetfuncs.latest_prune_date(climate, 2016, 1150, chance, 10, 0.06) for chance in (0.8, 0.9, 0.95)]
    for ours, theirs in zip(found, (date(2016, 7, 15), date(2016, 7, 12), date(2016, 7, 10))):
        assert abs((ours - theirs).days) <= 1


def test_heat_that_is_known_is_the_same_in_all_traces_and_adds_no_spread():
    climate = temperate()
    before = season_spread(sheetfuncs.climate_until(climate, date(2014, 1, 1)).traces(2014), millionths(NEED))
    spreads = []
    for morning in (date(2014, 7, 1), date(2014, 9, 1), date(2014, 10, 1)):
        traces = sheetfuncs.climate_until(climate, morning).traces(2014)
        start = traces.days.index(morning)
        spreads.append(season_spread(traces, millionths(NEED)))
        # The day whose mean is the need lies before: what differs is what comes from this morning on.
        if sum(traces.heat_left(start)) < millionths(NEED) * len(traces):
            assert spreads[-1] == pytest.approx(stdev(traces.heat_left(start)))
    assert before >= spreads[0] > spreads[1] > spreads[2] > 0
    over = sheetfuncs.climate_until(climate, date(2014, 12, 31)).traces(2014)
    assert season_spread(over, millionths(NEED)) == 0
    assert len(set(over.ends)) == 1


def test_in_a_season_that_is_over_only_the_need_is_uncertain():
    climate = sheetfuncs.climate_until(temperate(), date(2014, 12, 31))
    cut = date(2014, 6, 25)
    left = _left(climate, 2014, cut)
    assert len(set(left)) == 1
    wanted = scipy.stats.norm.cdf(left[0], NEED, 0.06 * NEED)
    assert sheetfuncs.ripen_chance(climate, cut, NEED) == pytest.approx(wanted, abs=1e-6)
    assert sheetfuncs.ripen_chance(climate, cut, NEED, 10, 0) in (0, 1)


def test_positions_share_the_open_place_s_spread():
    # Else one freeze fewer in a sheltered place would make its seasons differ more and its last date earlier.
    climate = sheetfuncs.climate_of(seattle())
    for step in range(1, 60):
        warm = sheetfuncs.climate_at(climate, 0.02 * step, 0.05 * step)
        for chance in (0.5, 0.8, 0.9, 0.99):
            before = sheetfuncs.latest_prune_date(climate, 2016, 700, chance)
            assert sheetfuncs.latest_prune_date(warm, 2016, 700, chance) >= before, (step, chance)


def test_the_curve_never_rises_and_starts_and_ends_certain(place):
    climate, season, need = place
    curve = ChanceCurve(climate.traces(season), millionths(need), 0.06 * millionths(need))
    chances = [curve.chance(start) for start in range(climate.traces(season).days.count + 1)]
    assert all(later <= sooner for sooner, later in zip(chances, chances[1:]))
    assert chances[-1] == 0
    assert chances[0] == 1.0 or need == 700
    for chance in (1e-9, 0.1, 0.5, 0.8, 0.999):
        start = curve.last_start(chance)
        assert start == max((at for at, one in enumerate(chances) if one >= chance), default=-1)


def test_more_spread_never_makes_an_earlier_date_at_half(place):
    climate, season, need = place
    half = [sheetfuncs.latest_prune_date(climate, season, need, 0.5, 10, spread) for spread in (0.0, 0.06, 0.12)]
    assert max(half) - min(half) <= 2 * DAY
    # At four in five a need that is less well known costs days.
    sure = [sheetfuncs.latest_prune_date(climate, season, need, 0.8, 10, spread) for spread in (0.0, 0.06, 0.12)]
    assert sure[0] >= sure[1] >= sure[2] < sure[0]


# -- windows and shares -----------------------------------------------------------------------------------


def test_the_first_ripe_date_is_given_where_the_chance_is_reached_and_only_there(place):
    climate, season, need = place
    for step in range(0, 150, 3):
        cut = date(season, 4, 1) + step * DAY
        for chance in (0.2, 0.5, 0.8):
            first = sheetfuncs.ripen_window(climate, cut, need, 0, 10, chance)[0]
            assert (first is not None) == (sheetfuncs.ripen_chance(climate, cut, need) >= chance), (cut, chance)


def test_the_expected_share_and_its_quantiles_by_many_draws():
    dice = numpy.random.default_rng(11)
    left = dice.normal(1400, 120, 20)
    units = [millionths(heat) for heat in left]
    need, width, deviation = millionths(1300), millionths(250), millionths(90)
    needs = dice.normal(1300, 90, 200_000)
    drawn = numpy.clip((dice.choice(left, 200_000) - needs) / 250, 0, 1)
    assert expected_share(units, need, width, deviation) == pytest.approx(drawn.mean(), abs=0.004)
    for chance in (0.05, 0.1, 0.5, 0.9, 0.95):
        wanted = numpy.quantile(drawn, 1 - chance)
        assert share_with_chance(units, need, width, deviation, chance) == pytest.approx(wanted, abs=0.01), chance


def test_a_share_without_spread_is_the_seasons_own():
    units = [millionths(heat) for heat in (1200, 1300, 1400, 1600)]
    assert expected_share(units, millionths(1300), millionths(250), 0) == pytest.approx((0 + 0 + 0.4 + 1) / 4)


# -- the interval of a count ------------------------------------------------------------------------------


@pytest.mark.parametrize("number", [1, 2, 3, 10, 15, 30, 90])
def test_the_interval_is_scipy_s(number):
    for held in range(number + 1):
        for confidence in (0.8, 0.95, 0.99):
            wanted = scipy.stats.binomtest(held, number).proportion_ci(confidence, "exact")
            assert binomial_interval(held, number, confidence) == pytest.approx(tuple(wanted), abs=1e-9)


def test_the_interval_that_the_method_names_itself():
    # 24 of 30: 61 to 92 %. No failure in 10: 69 % at least, by 0.025^(1/10).
    low, high = binomial_interval(24, 30)
    assert (round(100 * low), round(100 * high)) == (61, 92)
    assert binomial_interval(10, 10) == pytest.approx((0.025**0.1, 1.0))


def test_seasons_are_counted_at_the_need_as_it_stands():
    climate = hot()
    cut = date(2021, 7, 15)
    ripe = int((_left(climate, 2021, cut) >= NEED - 1e-6).sum())
    low, high = (round(100 * end) for end in binomial_interval(ripe, 30))
    assert sheetfuncs.ripen_seasons(climate, cut, NEED) == f"{ripe} of 30 seasons ({low}–{high} %)"
    assert sheetfuncs.ripen_seasons(climate, date(2021, 12, 1), NEED) == "0 of 30 seasons (0–12 %)"


def test_in_chicago_four_in_five_seasons_ripen_a_cut_until_29_june():
    """About 120 days before the average first freeze, as practice has it in cool places (no source)."""
    climate = temperate()
    assert sheetfuncs.ripen_seasons(climate, "2017-06-29", NEED).startswith("12 of 15 seasons")
    assert not sheetfuncs.ripen_seasons(climate, "2017-06-30", NEED).startswith("12 of")
    freeze = sheetfuncs.first_frost(climate, 2017)
    assert 115 <= (freeze - date(2017, 6, 29)).days <= 125
    # What is not known exactly costs days.
    assert date(2017, 6, 22) <= sheetfuncs.latest_prune_date(climate, 2017, NEED) < date(2017, 6, 29)


def test_where_it_freezes_about_1_november_the_middle_kind_is_cut_by_mid_july():
    """Containers about 1 July, trees in the ground about two weeks later (common practice, no source)."""
    climate = hot()
    assert abs((sheetfuncs.first_frost(climate, 2021) - date(2021, 11, 1)).days) <= 5
    last = [sheetfuncs.latest_prune_date(climate, 2021, need * 1.8) for need in (1450, 1300, 1150)]
    assert date(2021, 7, 1) <= last[0] < last[1] < last[2] <= date(2021, 7, 25)
    assert abs((last[1] - date(2021, 7, 15)).days) <= 3
