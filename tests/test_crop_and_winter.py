"""Kilograms, weeks, a later flush; shelter, spring and cuttings."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

import sheetfuncs
from sheetfuncs import crop_weight, later_flush_window, picking_by_week

from .climates import temperate
from .records import chicago, clemson, in_celsius

WEEKS = [date(2026, 8, 3) + timedelta(days=7 * week) for week in range(20)]


def test_mendoza_castillo_yield():
    """Mendoza-Castillo et al. 2016, Exp. Agric.: 109.5 t/ha at 1.25 plants/m² and 8 stems is 8.76 kg a plant.

    The figs a stem are not given: 21.9 of 50 g make the same weight.
    """
    a_plant = 109.5 * 1000 / (1.25 * 10_000)
    assert crop_weight(8, 21.9, 50) == pytest.approx(a_plant)


def test_what_is_kept_is_a_share():
    assert crop_weight(8, 12, 45, 0.75) == pytest.approx(0.75 * crop_weight(8, 12, 45))
    with pytest.raises(sheetfuncs.InputError, match="kept share is 75"):
        crop_weight(8, 12, 45, 75)


TREE = st.tuples(st.integers(0, 120), st.integers(0, 40), st.floats(0, 30))


@given(st.lists(TREE, min_size=1, max_size=30))
def test_the_weeks_sum_to_the_crop(trees):
    first = [WEEKS[0] + timedelta(days=start % 90) for start, _, _ in trees]
    last = [day + timedelta(days=length) for day, (_, length, _) in zip(first, trees)]
    weights = [weight for _, _, weight in trees]
    weeks = picking_by_week(first, last, weights, WEEKS)
    assert sum(weeks) == pytest.approx(sum(weights), abs=1e-6)


@given(st.lists(TREE, min_size=1, max_size=10), st.integers(0, 140))
def test_after_the_season_s_end_nothing_is_picked_and_the_rest_stays(trees, until):
    first = [WEEKS[0] + timedelta(days=start % 90) for start, _, _ in trees]
    last = [day + timedelta(days=length) for day, (_, length, _) in zip(first, trees)]
    weights = [weight for _, _, weight in trees]
    end = WEEKS[0] + timedelta(days=until)
    cut = picking_by_week(first, last, weights, WEEKS, end)
    whole = picking_by_week(first, last, weights, WEEKS)
    for start, kept, all_of_it in zip(WEEKS, cut, whole):
        if start + timedelta(days=7) <= end:
            assert kept == pytest.approx(all_of_it)
        elif start >= end:
            assert kept == 0
    days = [(day, weight / ((b - a).days + 1)) for a, b, weight in zip(first, last, weights)
            for day in (a + timedelta(days=n) for n in range((b - a).days + 1))]  # fmt: skip
    assert sum(cut) == pytest.approx(sum(weight for day, weight in days if day < end), abs=1e-6)


def test_trees_without_dates_are_left_out_and_blank_weeks_stay_blank():
    late = "Check: not ripe before the season's end with that chance"
    function = next(f for f in sheetfuncs.all_functions() if f.name == "picking_by_week")
    cells = [
        [["2026-09-01"], ["2026-09-01"], [None]],
        [["2026-09-14"], [late], [None]],
        [[4.2], [9.9], [None]],
        [["2026-08-31"], [None], ["2026-09-07"], ["2026-09-14"]],
    ]
    assert function.in_cell(cells) == [[1.8], [None], [2.1], [0.3]]


def test_a_second_crop_on_a_hot_frost_free_record_and_none_on_a_cool_one():
    """Souza et al. 2009, Rev. Bras. Frutic. 31(2): 1,955 °C·day from an August cut, 2,200 from a July cut."""
    hot = sheetfuncs.climate_at(sheetfuncs.climate_of(in_celsius(clemson(1991, 2020)), stall_at="off"), 8, 12)
    assert sheetfuncs.first_frost(hot, 2021, 0.5) is None
    window = later_flush_window(hot, "2021-08-01", 1955)
    assert window[0] is not None
    assert date(2021, 10, 15) < window[0] < date(2021, 12, 31)
    assert window[0] < window[1] < window[2]
    cool = sheetfuncs.climate_of(in_celsius(chicago()))
    with pytest.raises(sheetfuncs.InputError, match=r"too short for a later flush: .* a chance of under 1 %"):
        later_flush_window(cool, "2017-07-01", 2200)


def test_the_later_flush_is_a_cut_without_a_lag():
    hot = sheetfuncs.climate_of(in_celsius(clemson(1991, 2020)))
    assert later_flush_window(hot, "2021-05-01", 1955) == sheetfuncs.ripen_window(hot, "2021-05-01", 1955, 250, 0)


def test_shelter_and_spring_are_the_freeze_dates_at_their_limits():
    climate = temperate()
    # −4 °C is 24.8 °F and −1 °C is 30.2 °F.
    assert sheetfuncs.shelter_by(climate, 2017) == sheetfuncs.first_frost(climate, 2017, 0.1, 24.8)
    assert sheetfuncs.safe_outside_from(climate, 2017) == sheetfuncs.last_frost(climate, 2017, 0.1, 30.2)
    lows = [sheetfuncs.shelter_by(climate, 2017, limit) for limit in (34, 30, 26, 22)]
    assert lows == sorted(lows)


def test_shelter_is_counted_by_hand():
    firsts = []
    for year in range(2001, 2016):
        day = date(year, 8, 1)
        known = {row[0]: row[1] for row in chicago() if row[0].year == year}
        firsts.append(next(known_day for known_day in sorted(known) if known_day >= day and known[known_day] <= 24.89))
    numbers = [day.timetuple().tm_yday for day in firsts]
    wanted = NormalDist.from_samples(numbers).inv_cdf(0.1)
    climate = temperate()
    assert sheetfuncs.shelter_by(climate, 2017) == date(2016, 12, 31) + timedelta(days=round(wanted))


def test_cuttings_root_before_the_season_ends():
    climate = temperate()
    end = sheetfuncs.season_end(climate, 2017, 0.2)
    assert sheetfuncs.root_cuttings_by(climate, 2017) == end - timedelta(days=60)
    assert sheetfuncs.root_cuttings_by(climate, 2017, 45, 0.5) == sheetfuncs.season_end(climate, 2017) - timedelta(45)


def test_a_week_that_does_not_rise_is_named_by_its_line():
    with pytest.raises(sheetfuncs.InputError, match="week starts, line 3 is 2026-08-24"):
        picking_by_week([], [], [], [date(2026, 8, 31), None, date(2026, 8, 24)])
