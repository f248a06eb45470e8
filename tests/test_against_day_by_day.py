"""Every answer against the slow reference, on real records, on every date."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import NormalDist

import pytest

import sheetfuncs
from sheetfuncs.season.normals import daily_from_monthly

from .both import both, mirrored, with_gaps
from .records import chicago, clemson, in_celsius, seattle
from .reference import day_by_day as slow

DAY = timedelta(days=1)
CHANCES = (0.05, 0.2, 0.5, 0.8, 0.9, 1.0)
# °C·day: early, middle, late figs, and needs that are met nearly always and hardly ever.
NEEDS = (600, 1150, 1300, 1450, 1900)

MIDSUMMER_ROWS = ((0.1, date(2011, 10, 2)), (0.5, date(2011, 10, 21)), (0.9, date(2011, 11, 20)))

# name: (record, unit, season, what else)
CASES = {
    "future": (chicago, "F", 2017, {}),
    "far future": (chicago, "F", 2040, {}),
    "in progress at the record's end": (chicago, "F", 2016, {}),
    "in progress, spring of a leap year": (chicago, "F", 2012, {"until": date(2012, 2, 29)}),
    "in progress, July": (chicago, "F", 2013, {"until": date(2013, 7, 15)}),
    "in progress, just before frost": (chicago, "F", 2009, {"until": date(2009, 10, 9)}),
    "in progress, after the end": (chicago, "F", 2009, {"until": date(2009, 11, 20)}),
    "past": (chicago, "F", 2010, {}),
    "first of all, its own only trace": (chicago, "F", 2001, {}),
    "double sine, vertical": (chicago, "F", 2017, {"method": "double sine", "cutoff": "vertical"}),
    "average, own base": (chicago, "F", 2017, {"method": "average", "base": 50.0, "ceiling": 86.0}),
    "no stall": (chicago, "F", 2017, {"stall_at": "off"}),
    "harder frost": (chicago, "F", 2017, {"frost_at": 28.0, "stall_at": 45.0}),
    "celsius": (lambda: in_celsius(chicago()), "C", 2017, {}),
    "gaps, future": (lambda: with_gaps(chicago()), "F", 2017, {}),
    "gaps, in progress": (lambda: with_gaps(chicago(), 2), "F", 2014, {"until": date(2014, 8, 20)}),
    "only the growing part was ever recorded": (
        lambda: [row for row in chicago() if 4 <= row[0].month <= 11], "F", 2017, {}
    ),
    "looked at in the middle of a gap": (
        lambda: [row for row in chicago() if not date(2013, 7, 10) <= row[0] <= date(2013, 7, 12)],
        "F", 2013, {"until": date(2013, 7, 12)},
    ),
    "south wall": (chicago, "F", 2017, {"warmer": (3.6, 1.8)}),
    "hollow": (chicago, "F", 2014, {"warmer": (0.0, -2.7), "until": date(2014, 8, 5)}),
    "hot": (lambda: clemson(1996, 2020), "F", 2021, {}),
    "old, with its own gaps": (lambda: clemson(1930, 1945), "F", 1946, {}),
    "old, in progress": (lambda: clemson(1930, 1945), "F", 1938, {"until": date(1938, 9, 25)}),
    "cool, few seasons": (seattle, "C", 2016, {}),
    "typed date": (chicago, "F", 2017, {"estimates": date(2015, 11, 5)}),
    "typed date, in progress": (
        chicago, "F", 2011, {"until": date(2011, 10, 10), "estimates": date(2015, 10, 20)}
    ),
    "typed date, frost recorded": (
        chicago, "F", 2012, {"until": date(2012, 10, 20), "estimates": date(2015, 11, 5)}
    ),
    "typed rows": (chicago, "F", 2016, {"estimates": MIDSUMMER_ROWS}),
    "typed rows, some years without a freeze": (
        lambda: clemson(2001, 2020), "F", 2021, {"frost_at": 20.0, "estimates": MIDSUMMER_ROWS, "stall_at": "off"}
    ),
    "southern": (lambda: mirrored(chicago()), "F", 2017, {"south": True}),
    "southern, in progress": (
        lambda: mirrored(chicago()), "F", 2011, {"south": True, "until": date(2011, 2, 10)}
    ),
}  # fmt: skip


class Case:
    """One record both ways, with what the slow reference finds for every cut date."""

    def __init__(self, record, unit, season, more):
        self.climate, self.place = both(record(), unit, **more)
        self.season = season
        self.factor = 1.8 if unit == "F" else 1.0
        self.runs = slow.traces(self.place, season)
        self.needs = [need * self.factor for need in NEEDS]
        self.counts = slow.counts_by_date(self.runs, season, self.needs, south=self.place.south)

    def __iter__(self):
        return iter((self.climate, self.place, self.runs, self.season, self.factor))


@pytest.fixture(scope="module", params=list(CASES), ids=lambda name: name.replace(" ", "-"))
def case(request):
    return Case(*CASES[request.param])


def _or_none(function, *arguments):
    """Return the answer, ``None`` where the function says that there is none."""
    try:
        return function(*arguments)
    except sheetfuncs.InputError:
        return None


def test_the_chance_of_every_cut_date(case):
    for cut, counts in case.counts.items():
        for need, count in counts.items():
            found = sheetfuncs.ripen_chance(case.climate, cut, need)
            assert found == pytest.approx(count / len(case.runs)), (cut, need)


def test_the_last_date_found_by_trying_every_date(case):
    for need in case.needs:
        for chance in CHANCES:
            wanted = slow.latest_of(case.counts, need, chance, len(case.runs))
            found = _or_none(sheetfuncs.latest_prune_date, case.climate, case.season, need, chance)
            assert found == wanted, (need, chance)


def test_windows_and_crop_shares(case):
    climate, _, runs, _, factor = case
    for cut in list(case.counts)[120:270:6]:
        for need, chance in ((1150, 0.5), (1300, 0.8), (700, 0.9)):
            spread = 250 * factor
            window = sheetfuncs.ripen_window(climate, cut, need * factor, spread, 10, chance)
            assert tuple(window) == slow.ripen_window(runs, cut, need * factor, spread, 10, chance), (cut, need)
        for spread in (0.0, 250 * factor):
            wanted = slow.crop_ripe_share(runs, cut, 1300 * factor, spread)
            found = sheetfuncs.crop_ripe_share(climate, cut, 1300 * factor, spread)
            assert found == pytest.approx(wanted, abs=1e-6), (cut, spread)


def test_sums_of_heat_and_their_dates(case):
    climate, place, runs, _, factor = case
    days = list(case.counts)
    known_through = max(place.heat)
    for start, end in zip(days[::17], [*days[60::17], days[-1] + 40 * DAY]):
        unknown = [day for day in slow.days_from(start, end - DAY) if day not in place.heat]
        if all(day > known_through and (day.month, day.day) != (2, 29) for day in unknown):
            wanted = slow.heat_between(place, start, end)
            found = _or_none(sheetfuncs.heat_units_between, climate, start, end)
            assert found == (None if wanted is None else pytest.approx(wanted, abs=1e-3)), start
    for start in days[90:240:10]:
        for chance in CHANCES:
            wanted = slow.heat_date(runs, start, 900 * factor, chance)
            assert _or_none(sheetfuncs.heat_date, climate, start, 900 * factor, chance) == wanted, start


def test_the_season_s_end(case):
    climate, _, runs, season, _ = case
    for chance in (0.02, 0.1, 0.25, 0.37, 0.5, 0.75, 0.9, 0.99):
        assert sheetfuncs.season_end(climate, season, chance) == slow.season_end(runs, chance), chance


def test_freeze_dates_by_the_official_rule(case):
    climate, place, _, season, _ = case
    if place.estimate is None:
        for chance in (0.05, 0.1, 0.5, 0.8, 0.95):
            for at in (None, 28.0 if place.unit == "F" else -2.2):
                found = sheetfuncs.first_frost(climate, season, chance, at)
                assert found == slow.first_frost(place, season, chance, at), (chance, at)
                found = sheetfuncs.last_frost(climate, season, chance, at)
                assert found == slow.last_frost(place, season, chance, at), (chance, at)


@pytest.mark.parametrize("lag", [0, 25, 60])
def test_another_lag(lag):
    climate, place = both(chicago(), "F")
    counts = slow.counts_by_date(slow.traces(place, 2017), 2017, (2340,), lag)
    for cut, count in counts.items():
        assert sheetfuncs.ripen_chance(climate, cut, 2340, lag) == pytest.approx(count[2340] / 15), cut
    for chance in CHANCES:
        wanted = slow.latest_of(counts, 2340, chance, 15)
        assert sheetfuncs.latest_prune_date(climate, 2017, 2340, chance, lag) == wanted, chance


def test_normals_with_a_typed_frost():
    # Monthly means of an invented valley, °C.
    months = [
        (-5, 3), (-4, 5), (0, 10), (4, 16), (9, 21), (14, 27), (17, 30), (16, 29), (11, 24), (5, 17), (1, 10), (-3, 4)
    ]  # fmt: skip
    rows = [(number, *pair) for number, pair in enumerate(months, start=1)]
    climate = sheetfuncs.climate_with_frost(sheetfuncs.climate_of(rows), date(2015, 10, 8))
    lows, highs = (daily_from_monthly(values) for values in zip(*months))
    runs = slow.traces_of_normals(lows, highs, NormalDist(slow.day_number(date(2015, 10, 8), 2015), 12), 2017)
    for cut in slow.days_from(date(2017, 5, 1), date(2017, 9, 1))[::4]:
        for need in (900, 1150):
            wanted = slow.ripen_chance(runs, cut, need)
            assert sheetfuncs.ripen_chance(climate, cut, need) == pytest.approx(wanted), (cut, need)
    counts = slow.counts_by_date(runs, 2017, (1150,))
    for chance in (0.1, 0.35, 0.5, 0.8, 0.995):
        assert sheetfuncs.season_end(climate, 2017, chance) == slow.season_end(runs, chance)
        assert sheetfuncs.latest_prune_date(climate, 2017, 1150, chance) == slow.latest_of(counts, 1150, chance, 100)


def test_a_week_that_turns_cool_on_a_mild_day_is_a_stall():
    # The mild day itself lies above the limit; the week with it does not.
    rows = []
    for year in (2011, 2012, 2013, 2014):
        day = date(year, 1, 1)
        while day.year == year:
            mean = 22.0
            if day >= date(year, 10, 1):
                mean = {1: 20.0, 8: 12.5}.get(day.day, 11.0) if day < date(year, 10, 9) else 20.0
            rows.append((day, mean - 5, mean + 5))
            day += DAY
    climate, place = both(rows, "C", south=False)
    # 1 to 7 October have a mean of (20 + 6·11)/7 = 12.3, 2 to 8 October one of (6·11 + 12.5)/7 = 11.2.
    assert slow.season_end(slow.traces(place, 2015)) == date(2015, 10, 8)
    assert sheetfuncs.season_end(climate, 2015) == date(2015, 10, 8)


def test_where_nothing_ends_the_season_the_last_date_is_the_season_s_last_day():
    first = date(2011, 1, 1)
    rows = [(first + step * DAY, 18.0 + (step % 365 < 182), 30.0) for step in range(365 * 5)]
    climate, place = both(rows, "C", south=False)
    runs = slow.traces(place, 2017)
    assert slow.latest_prune_date(runs, 2017, 1300) == date(2017, 12, 31)
    assert sheetfuncs.latest_prune_date(climate, 2017, 1300) == date(2017, 12, 31)
    assert sheetfuncs.season_end(climate, 2017) is None
    assert sheetfuncs.first_frost(climate, 2017) is None
    assert sheetfuncs.ripen_chance(climate, date(2017, 12, 31), 1300) == 1


def test_a_low_that_was_recorded_stays_where_only_the_high_is_missing():
    # A freeze must not be smoothed away because the day's high was not written down.
    rows = []
    for year in range(2011, 2016):
        day = date(year, 1, 1)
        while day.year == year:
            rows.append((day, 2.0 if day < date(year, 11, 20) else -3.0, 25.0))
            day += DAY
    for place, (day, _, _) in enumerate(rows):
        if (day.month, day.day) == (10, 12):
            rows[place] = (day, -1.0, None)
    climate, place = both(rows, "C", south=False, stall_at="off")
    assert slow.season_end(slow.traces(place, 2017)) == date(2017, 10, 12)
    assert sheetfuncs.season_end(climate, 2017) == date(2017, 10, 12)
