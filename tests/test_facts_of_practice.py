"""What growers say about these dates, held against open records with the default kinds.

Every fact here is common practice without a source. The kinds' needs are the defaults: early 1,150, middle 1,300, late
1,450 °C·day above 8 °C (judgement; see ``sheetfuncs``' own notes on where they come from).
"""

from __future__ import annotations

from datetime import date

import pytest

import sheetfuncs

from .records import chicago, clemson, great_lakes, seattle

EARLY, MIDDLE, LATE = 1150, 1300, 1450


@pytest.fixture(scope="module")
def temperate():
    return sheetfuncs.climate_of(chicago(), "F")


@pytest.fixture(scope="module")
def hot():
    return sheetfuncs.climate_of(clemson(1991, 2020), "F")


@pytest.fixture(scope="module")
def cool():
    return sheetfuncs.climate_of(seattle(), "C")


def _days_to_ripe(climate, cut, need):
    first, _, _ = sheetfuncs.ripen_window(climate, cut, need)
    return (first - cut).days


def test_the_temperate_record_is_the_one_meant(temperate):
    # "where the average first frost is about 1 November"
    assert abs((sheetfuncs.first_frost(temperate, 2017) - date(2017, 10, 29)).days) <= 1


def test_figs_ripen_in_about_70_days_in_hot_places_90_in_temperate_and_up_to_120_in_cool_ones(temperate, hot, cool):
    # Common practice, no source. Early and middle kinds; cuts at the time that each place allows.
    for need, lowest, highest in ((EARLY, 65, 80), (MIDDLE, 70, 88)):
        assert lowest <= _days_to_ripe(hot, date(2021, 7, 1), need * 1.8) <= highest
    for need, lowest, highest in ((EARLY, 80, 95), (MIDDLE, 85, 112)):
        assert lowest <= _days_to_ripe(temperate, date(2017, 6, 24), need * 1.8) <= highest
    assert 95 <= _days_to_ripe(cool, date(2016, 6, 1), EARLY) <= 125
    assert 105 <= _days_to_ripe(cool, date(2016, 6, 1), MIDDLE) <= 135


def test_hot_and_cool_bracket_the_temperate_record(temperate, hot, cool):
    for need in (EARLY, MIDDLE):
        days = [
            _days_to_ripe(climate, date(season, 6, 1), need * factor)
            for climate, season, factor in ((hot, 2021, 1.8), (temperate, 2017, 1.8), (cool, 2016, 1))
        ]
        assert days == sorted(days)
        assert days[2] - days[0] >= 25
        last = [
            sheetfuncs.latest_prune_date(climate, season, need * factor).replace(year=2000)
            for climate, season, factor in ((hot, 2021, 1.8), (temperate, 2017, 1.8), (cool, 2016, 1))
        ]
        assert last == sorted(last, reverse=True)


def test_a_cut_about_1_july_ripens_about_90_days_later_and_some_time_in_october_at_the_latest(temperate):
    # Common practice, no source, for an average first frost of about 1 November.
    days = [_days_to_ripe(temperate, date(2017, 7, 1), need * 1.8) for need in (EARLY, MIDDLE)]
    assert 80 <= days[0] <= 100
    assert sum(days) / 2 == pytest.approx(90, abs=12)
    for need in (EARLY, MIDDLE):
        first, _, _ = sheetfuncs.ripen_window(temperate, date(2017, 7, 1), need * 1.8)
        assert date(2017, 9, 15) <= first <= date(2017, 10, 31)


def test_the_last_dates_lie_about_the_usual_ones(temperate):
    # Common practice, no source: containers about 1 July, trees in the ground about 15 July.
    early, middle = (
        [sheetfuncs.latest_prune_date(temperate, 2017, need * 1.8, chance) for chance in (0.8, 0.5)]
        for need in (EARLY, MIDDLE)
    )
    for day in early + middle:
        assert date(2017, 6, 20) <= day <= date(2017, 7, 15)
    assert min(early) >= date(2017, 6, 25)
    assert abs((middle[1] - date(2017, 7, 1)).days) <= 5


def test_green_figs_make_next_to_no_progress_in_a_cold_early_november(temperate):
    # Common practice, no source: even when the frost comes late. The first ten days of November bring 3 % of a need.
    november = sheetfuncs.heat_units_between(temperate, date(2017, 11, 1), date(2017, 11, 11))
    july = sheetfuncs.heat_units_between(temperate, date(2017, 7, 1), date(2017, 7, 11))
    assert november < 0.04 * MIDDLE * 1.8
    assert november < 0.3 * july
    late_frost = sheetfuncs.climate_with_frost(temperate, date(2017, 11, 25))
    later_still = sheetfuncs.climate_with_frost(temperate, date(2017, 12, 20))
    # A frost that comes four weeks later still moves no date, because the season has stalled before.
    for need in (EARLY, MIDDLE):
        dates = [sheetfuncs.latest_prune_date(climate, 2017, need * 1.8) for climate in (late_frost, later_still)]
        assert (dates[1] - dates[0]).days <= 2


def test_a_grower_s_frost_estimate_moves_every_date(temperate):
    sooner = sheetfuncs.climate_with_frost(temperate, date(2017, 10, 5))
    later = sheetfuncs.climate_with_frost(temperate, date(2017, 10, 20))
    for need in (EARLY, MIDDLE, LATE):
        for chance in (0.5, 0.8):
            moved = sheetfuncs.latest_prune_date(later, 2017, need * 1.8, chance)
            assert moved > sheetfuncs.latest_prune_date(sooner, 2017, need * 1.8, chance)


def test_containers_are_usually_cut_from_1_july_and_the_ground_two_weeks_later_where_the_freeze_comes_on_1_november():
    # Common practice, no source.
    climate = sheetfuncs.climate_with_frost(sheetfuncs.climate_of(chicago(), "F"), date(2016, 11, 1))
    assert sheetfuncs.usual_cut_from(climate, 2017) == date(2017, 7, 1)
    assert sheetfuncs.usual_cut_from(climate, 2017, 109) == date(2017, 7, 15)


def test_a_place_without_freezes_has_no_usual_day(hot):
    assert sheetfuncs.usual_cut_from(sheetfuncs.climate_at(hot, 0, 20), 2021) is None


@pytest.fixture(scope="module")
def lake_places(temperate):
    """Climates about two of the Great Lakes."""
    made = {name: sheetfuncs.climate_of(rows) for name, rows in great_lakes().items()}
    made["Chicago"] = temperate
    return made


def test_the_last_dates_follow_the_first_freeze_from_place_to_place(lake_places):
    # Common practice, no source: 1 to 15 July where the first freeze comes about 1 November, so 123 to 109 days before
    # it. Early kinds lie within, middle ones ten days before; the average first freezes are 2 to 29 October.
    found = []
    for name, climate in lake_places.items():
        factor = 1.8 if name == "Chicago" else 1
        freeze = sheetfuncs.first_frost(climate, 2022)
        early, middle = (sheetfuncs.latest_prune_date(climate, 2022, need * factor) for need in (EARLY, MIDDLE))
        assert 109 <= (freeze - early).days <= 123, name
        assert 119 <= (freeze - middle).days <= 135, name
        found.append((freeze, early))
    found.sort()
    assert [early for _, early in found] == sorted(early for _, early in found)
    assert (found[-1][0] - found[0][0]).days == 27
    assert (found[-1][1] - found[0][1]).days >= 21


def test_figs_ripen_in_90_to_120_days_between_temperate_and_cool(lake_places):
    # Common practice, no source. An early kind cut about the time of its own last date.
    for name, climate in lake_places.items():
        need = EARLY * (1.8 if name == "Chicago" else 1)
        assert 80 <= _days_to_ripe(climate, sheetfuncs.latest_prune_date(climate, 2022, need, 0.9), need) <= 122, name


def test_a_season_that_ends_for_good_leaves_the_middle_kind_until_the_end_of_june(temperate):
    # By counting it is 29 June; with the first cool week as the end it was 24 June. Common practice: about 1 July.
    exact = sheetfuncs.latest_prune_date(temperate, 2017, MIDDLE * 1.8, 0.8, 10, 0)
    assert date(2017, 6, 25) <= exact <= date(2017, 7, 1)
