"""What ends a season, and what a season that nothing ends says: small cases, against the slow reference and by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

import sheetfuncs

from .both import both
from .records import chicago, in_celsius
from .reference import day_by_day as slow

DAY = timedelta(days=1)


def _years_of(mean_on):
    """Return four years of days whose mean is a function of the day, ten degrees from low to high."""
    days = slow.days_from(date(2011, 1, 1), date(2014, 12, 31))
    return [(day, mean_on(day) - 5, mean_on(day) + 5) for day in days]


def test_the_season_ends_on_the_day_after_its_last_warm_week():
    def mean_on(day):
        if not (10, 1) <= (day.month, day.day) <= (10, 8):
            return 22.0 if (3, 1) < (day.month, day.day) < (10, 9) else 8.0
        return {1: 20.0, 8: 12.5}.get(day.day, 11.0)

    climate, place = both(_years_of(mean_on), "C", south=False)
    # 1 to 7 October have a mean of (20 + 6·11)/7 = 12.3, 2 to 8 October one of (6·11 + 12.5)/7 = 11.2.
    assert slow.season_end(slow.traces(place, 2015)) == date(2015, 10, 8)
    assert sheetfuncs.season_end(climate, 2015) == date(2015, 10, 8)


def test_a_cool_week_that_warm_ones_follow_ends_nothing():
    def mean_on(day):
        cool = date(day.year, 9, 10) <= day <= date(day.year, 9, 20)
        return 20.0 if date(day.year, 3, 1) < day < date(day.year, 10, 25) and not cool else 8.0

    climate, place = both(_years_of(mean_on), "C", south=False)
    # The last warm week holds 4 days of 20 and 3 of 8 degrees, a mean of 14.9; the next one 3 and 4, 13.1; then 11.4.
    wanted = date(2015, 10, 29)
    assert slow.season_end(slow.traces(place, 2015)) == wanted
    assert sheetfuncs.season_end(climate, 2015) == wanted
    # A freeze before it ends the season all the same.
    early = sheetfuncs.climate_with_frost(climate, [(0.5, date(2015, 10, 1)), (0.9, date(2015, 10, 3))])
    assert sheetfuncs.season_end(early, 2015) < date(2015, 10, 5)


def test_warm_weeks_after_midwinter_are_the_next_spring_s():
    def mean_on(day):
        return 20.0 if date(day.year, 2, 5) <= day < date(day.year, 10, 20) else 8.0

    climate, place = both(_years_of(mean_on), "C", south=False)
    assert sheetfuncs.season_end(climate, 2015) == slow.season_end(slow.traces(place, 2015)) == date(2015, 10, 24)


def test_where_nothing_ends_the_season_there_is_no_last_date():
    first = date(2011, 1, 1)
    rows = [(first + step * DAY, 18.0 + (step % 365 < 182), 30.0) for step in range(365 * 5)]
    climate, place = both(rows, "C", south=False)
    runs = slow.traces(place, 2017)
    assert slow.latest_prune_date(runs, 2017, 1300) == date(2017, 12, 31)
    with pytest.raises(sheetfuncs.InputError, match=r"season 2017 does not end here with chance 0.8: any cut ripens"):
        sheetfuncs.latest_prune_date(climate, 2017, 1300)
    assert sheetfuncs.season_end(climate, 2017) is None
    assert sheetfuncs.first_frost(climate, 2017) is None
    assert sheetfuncs.ripen_chance(climate, date(2017, 12, 31), 1300) == 1


def test_a_date_before_shoots_have_leaves_is_no_useful_cut():
    # Chicago's days made 6 °C cooler: a cut would have to come in spring.
    cool = [(day, low - 6, high - 6) for day, low, high in in_celsius(chicago())]
    climate, place = both(cool, "C")
    law = slow.law_of(slow.open_left(place, 2017), 1150)
    raw = slow.latest_of(slow.left_by_date(slow.traces(place, 2017), 2017), law, 0.5)
    by_then = sheetfuncs.heat_date(climate, date(2017, 1, 1), 150)
    assert date(2017, 2, 1) < raw < by_then
    words = f"no useful cut in season 2017: it would be by {raw.day} {raw:%b}, first leaves {by_then.day} {by_then:%b}"
    with pytest.raises(sheetfuncs.InputError, match=words):
        sheetfuncs.latest_prune_date(climate, 2017, 1150, 0.5)
    with pytest.raises(sheetfuncs.InputError, match=r"no cut in season 2017 ripens figs with chance 0.5"):
        sheetfuncs.latest_prune_date(climate, 2017, 2500, 0.5)


def test_a_low_that_was_recorded_stays_where_only_the_high_is_missing():
    # A freeze must not be smoothed away because the day's high was not written down.
    rows = []
    for year in range(2011, 2016):
        day = date(year, 1, 1)
        while day.year == year:
            rows.append((day, 2.0 if day < date(year, 11, 20) else -3.0, 25.0))
            day += DAY
    for index, (day, _, _) in enumerate(rows):
        if (day.month, day.day) == (10, 12):
            rows[index] = (day, -1.0, None)
    climate, place = both(rows, "C", south=False, stall_at="off")
    assert slow.season_end(slow.traces(place, 2017)) == date(2017, 10, 12)
    assert sheetfuncs.season_end(climate, 2017) == date(2017, 10, 12)
