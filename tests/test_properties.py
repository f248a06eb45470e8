"""What must hold whatever the numbers: directions, shifts, units and hemispheres."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sheetfuncs

from .climates import hot, temperate
from .records import chicago, seattle

DAY = timedelta(days=1)
NEVER = date(1, 1, 1)

needs = st.floats(500, 2000).map(lambda need: need * 1.8)
chances = st.floats(0.01, 1.0)
cut_days = st.dates(date(2017, 3, 1), date(2017, 10, 31))
frosts = st.dates(date(2015, 9, 10), date(2015, 12, 10))


@lru_cache(maxsize=None)
def _climate(name):
    climate = temperate()
    if name == "future":
        return climate, 2017
    if name == "in progress":
        return sheetfuncs.climate_until(climate, date(2014, 7, 25)), 2014
    if name == "four seasons":
        return sheetfuncs.climate_of(seattle(), "C"), 2016
    return hot(), 2021


places = st.sampled_from(["future", "in progress", "hot", "four seasons"])
spreads = st.sampled_from([0.0, 0.03, 0.06, 0.12, 0.5])


def _last(climate, season, need, chance=0.8, need_spread=0.06):
    """Return the last date, or a date before all others where there is none."""
    try:
        return sheetfuncs.latest_prune_date(climate, season, need, chance, 10, need_spread)
    except sheetfuncs.InputError:
        return NEVER


def _end(climate, season, chance):
    """Return the season's end, a date after all others where nothing ends it."""
    return sheetfuncs.season_end(climate, season, chance) or date.max


# -- directions -------------------------------------------------------------------------------------------


@given(places, needs, needs, chances, spreads)
def test_a_smaller_need_never_gives_an_earlier_date(name, one, other, chance, spread):
    climate, season = _climate(name)
    less, more = sorted((one, other))
    assert _last(climate, season, less, chance, spread) >= _last(climate, season, more, chance, spread)


@given(places, needs, st.floats(0, 2), chances)
def test_hardly_less_need_never_gives_an_earlier_date(name, need, less, chance):
    # How much seasons differ is taken on the day on which the heat left equals the need: it must not jump.
    climate, season = _climate(name)
    assert _last(climate, season, need - less, chance) >= _last(climate, season, need, chance)


@given(places, needs, chances, chances)
def test_a_lower_chance_never_gives_an_earlier_date(name, need, one, other):
    climate, season = _climate(name)
    assert _last(climate, season, need, min(one, other)) >= _last(climate, season, need, max(one, other))


@given(places, needs, chances, frosts, frosts)
def test_a_later_typed_frost_never_gives_an_earlier_date(name, need, chance, one, other):
    climate, season = _climate(name)
    sooner, later = (sheetfuncs.climate_with_frost(climate, day) for day in sorted((one, other)))
    assert _last(later, season, need, chance) >= _last(sooner, season, need, chance)
    assert _end(later, season, chance) >= _end(sooner, season, chance)


@given(needs, chances, st.integers(0, 30), st.integers(0, 30))
def test_later_typed_rows_never_give_an_earlier_date(need, chance, one, other):
    climate, season = _climate("future")
    rows = ((0.1, date(2015, 10, 1)), (0.5, date(2015, 10, 18)), (0.9, date(2015, 11, 8)))
    sooner, later = (
        sheetfuncs.climate_with_frost(climate, [(share, day + step * DAY) for share, day in rows])
        for step in sorted((one, other))
    )
    assert _last(later, season, need, chance) >= _last(sooner, season, need, chance)


@given(needs, chances, st.floats(20, 36), st.floats(20, 36))
@settings(max_examples=10)
def test_a_harder_freeze_never_gives_an_earlier_date(need, chance, one, other):
    later, sooner = (sheetfuncs.climate_of(chicago(), "F", frost_at=at) for at in sorted((one, other)))
    assert _last(later, 2017, need, chance) >= _last(sooner, 2017, need, chance)


def _never_worse(base, warm, season, need, chance, cut):
    assert _last(warm, season, need, chance) >= _last(base, season, need, chance)
    assert sheetfuncs.ripen_chance(warm, cut, need) >= sheetfuncs.ripen_chance(base, cut, need)
    assert sheetfuncs.crop_ripe_share(warm, cut, need) >= sheetfuncs.crop_ripe_share(base, cut, need) - 1e-9
    assert _end(warm, season, chance) >= _end(base, season, chance)


@given(places, needs, chances, st.floats(0, 8), st.floats(0, 8), st.dates(date(2001, 3, 1), date(2001, 10, 31)))
@settings(max_examples=40)
def test_a_warmer_position_is_never_worse(name, need, chance, high, low, cut):
    climate, season = _climate(name)
    warm = sheetfuncs.climate_at(climate, high, low)
    _never_worse(climate, warm, season, need, chance, cut.replace(year=season))


@given(places, needs, chances, frosts, st.floats(0, 6), st.floats(0, 6))
@settings(max_examples=40)
def test_a_warmer_position_is_never_worse_with_a_typed_frost(name, need, chance, frost, high, low):
    climate, season = _climate(name)
    base = sheetfuncs.climate_with_frost(climate, frost)
    warm = sheetfuncs.climate_at(base, high, low)
    _never_worse(base, warm, season, need, chance, date(season, 7, 1))


@pytest.mark.parametrize("frost", [date(2015, 10, 5), date(2015, 10, 20)])
@pytest.mark.parametrize("low", [0.2, 0.5, 1.0, 2.0])
def test_a_little_warmer_night_moves_no_tree_back_where_the_frost_is_typed(frost, low):
    # The warmer nights must not shuffle which past season gets which of the estimate's frosts.
    base = sheetfuncs.climate_with_frost(_climate("future")[0], frost)
    warm = sheetfuncs.climate_at(base, 0, low)
    for chance in (0.1, 0.3, 0.5, 0.7, 0.8, 0.9, 1.0):
        _never_worse(base, warm, 2017, 1150 * 1.8, chance, date(2017, 7, 1))


@given(places, needs, st.floats(0, 900), cut_days, cut_days)
def test_a_later_cut_never_ripens_sooner_or_more(name, need, spread, one, other):
    climate, season = _climate(name)
    first, second = sorted((one.replace(year=season), other.replace(year=season)))
    assert sheetfuncs.ripen_chance(climate, first, need) >= sheetfuncs.ripen_chance(climate, second, need)
    shares = [sheetfuncs.crop_ripe_share(climate, cut, need, spread) for cut in (first, second)]
    assert 0 <= shares[1] <= shares[0] + 1e-9 <= 1 + 1e-9
    windows = [sheetfuncs.ripen_window(climate, cut, need, spread) for cut in (first, second)]
    for sooner, later in zip(*windows):
        assert later is None or (sooner is not None and sooner <= later)
    for window in windows:
        reached = [day for day in window if day is not None]
        assert list(window) == reached + [None] * (3 - len(reached))
        assert reached == sorted(reached)


@given(places, st.dates(date(2014, 1, 1), date(2024, 12, 31)), st.integers(0, 200), st.integers(0, 200))
def test_sums_over_adjacent_spans_add_up(name, start, one, other):
    climate, _ = _climate(name)
    middle, end = start + one * DAY, start + (one + other) * DAY
    parts = [sheetfuncs.heat_units_between(climate, *span) for span in ((start, middle), (middle, end))]
    assert sheetfuncs.heat_units_between(climate, start, end) == pytest.approx(sum(parts), abs=1e-6)
