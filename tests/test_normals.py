"""What monthly normals promise, held against the open records: each place judged with what the others show."""

from __future__ import annotations

from datetime import date
from statistics import mean, stdev

import numpy
import pytest

import sheetfuncs
from sheetfuncs.season.days import MILLIONTHS
from sheetfuncs.season.normals import HEAT_SPREAD, differing_seasons

from .benchmarks.calibration import places
from .benchmarks.normals import fitted, held, normals_of


def test_the_spread_in_use_is_the_one_that_the_records_show():
    assert round(fitted(), 3) == HEAT_SPREAD


def test_normals_hold_what_they_promise_in_places_that_the_spread_was_not_taken_from():
    shares = {name: held(name, fitted(name), [0.8])[0.8].share for name in places()}
    assert 75 <= mean(shares.values()) <= 88
    assert min(shares.values()) >= 65, shares


def test_a_smooth_year_that_is_the_same_every_time_holds_far_less():
    before, after = (held("Milan", spread, [0.8])[0.8].share for spread in (0.0, fitted("Milan")))
    assert before < 65 < 75 < after


def test_equally_likely_seasons_have_the_spread_and_a_heat_that_says_little_of_the_frost():
    chances, shares = zip(*differing_seasons(0.066))
    assert sorted(chances) == pytest.approx([(rank + 0.5) / 30 for rank in range(30)])
    assert mean(shares) == pytest.approx(1)
    assert stdev(shares) == pytest.approx(0.066, rel=0.02)
    assert 0 < numpy.corrcoef(chances, shares)[0, 1] < 0.4


def test_the_mean_of_the_seasons_is_the_smooth_year():
    climate = normals_of("Chicago", 2015)
    traces = climate.traces(2016)
    start, end = traces.days.index(date(2016, 6, 1)), traces.days.index(date(2016, 8, 1))
    heat = sheetfuncs.heat_units_between(climate, date(2016, 6, 1), date(2016, 8, 1))
    assert mean(total[end] - total[start] for total in traces.totals) / MILLIONTHS == pytest.approx(heat)


def test_a_warmer_position_of_normals_never_has_an_earlier_date():
    climate = normals_of("Seattle", 2015)
    for chance in (0.05, 0.5, 0.8, 0.99):
        dates = [sheetfuncs.latest_prune_date(climate.at(g / 2, g / 4), 2016, 1000, chance) for g in range(8)]
        assert dates == sorted(dates)
        assert dates[0] < dates[-1]
