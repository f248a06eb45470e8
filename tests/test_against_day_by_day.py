"""Every answer against the slow reference, on real records, on every date."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cached_property
from statistics import NormalDist

import pytest

import sheetfuncs
from sheetfuncs.season.normals import daily_from_monthly

from .both import both, mirrored, with_gaps
from .records import chicago, clemson, in_celsius, seattle
from .reference import day_by_day as slow

DAY = timedelta(days=1)
CHANCES = (0.05, 0.2, 0.5, 0.8, 0.9, 0.99)
SPREADS = (0.0, 0.06, 0.2)
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
        self.left = slow.left_by_date(self.runs, season, south=self.place.south)
        open_left = slow.open_left(self.place, season)
        self.laws = {
            (need, spread): slow.law_of(open_left, need, spread) for need in self.needs for spread in SPREADS
        }

    @cached_property
    def chances(self):
        """The chance of every cut date, by need and spread."""
        return {
            key: {cut: slow.chance_of(left, law) for cut, left in self.left.items()} for key, law in self.laws.items()
        }

    def law(self, need, spread=0.06):
        return self.laws[need, spread]

    def __iter__(self):
        return iter((self.climate, self.place, self.runs, self.season, self.factor))


@pytest.fixture(scope="module", params=list(CASES), ids=lambda name: name.replace(" ", "-"))
def case(request):
    return Case(*CASES[request.param])


def _or_none(function, *arguments):
    """Return the answer, ``None`` where the function has none."""
    try:
        return function(*arguments)
    except sheetfuncs.InputError:
        return None


def test_the_chance_of_every_cut_date(case):
    """Every date, each with every third pair of a need and a spread."""
    for number, ((need, spread), chances) in enumerate(case.chances.items()):
        for cut, wanted in list(chances.items())[number % 3 :: 3]:
            found = sheetfuncs.ripen_chance(case.climate, cut, need, 10, spread)
            assert abs(found - wanted) <= 1e-6, (cut, need, spread)


def test_the_last_date_found_by_trying_every_date(case):
    for (need, spread), chances in case.chances.items():
        for chance in CHANCES:
            wanted = max((cut for cut, found in chances.items() if found >= chance), default=None)
            found = _or_none(sheetfuncs.latest_prune_date, case.climate, case.season, need, chance, 10, spread)
            leaves = sheetfuncs.heat_date(case.climate, min(case.left), 150 * case.factor)
            useful = wanted is not None and leaves <= wanted < max(case.left)
            assert found == (wanted if useful else None), (need, chance, spread)


def test_how_many_seasons_ripen_at_the_need_as_it_stands(case):
    for cut in list(case.left)[100:280:9]:
        for need in case.needs:
            wanted = f"{slow.ripe_count(case.runs, cut, need)} of {len(case.runs)} seasons ("
            assert sheetfuncs.ripen_seasons(case.climate, cut, need).startswith(wanted), (cut, need)


def test_windows_and_crop_shares(case):
    climate, _, runs, _, factor = case
    picking_heat = 250 * factor
    for cut in list(case.left)[120:270:9]:
        for number, chance, spread in ((1150, 0.5, 0.06), (1300, 0.8, 0.0), (600, 0.9, 0.2)):
            law = case.law(number * factor, spread)
            found = sheetfuncs.ripen_window(climate, cut, law.need, picking_heat, 10, chance, spread)
            assert tuple(found) == slow.ripen_window(runs, cut, law, picking_heat, 10, chance), (cut, number)
        for heat, spread in ((0.0, 0.06), (picking_heat, 0.06), (picking_heat, 0.0)):
            law = case.law(1300 * factor, spread)
            wanted = slow.crop_ripe_share(case.left[cut], law, heat)
            found = sheetfuncs.crop_ripe_share(climate, cut, law.need, heat, 10, spread)
            assert found == pytest.approx(wanted, abs=6e-4), (cut, heat, spread)  # of a thousand steps


def test_sums_of_heat_and_their_dates(case):
    climate, place, runs, _, factor = case
    days = list(case.left)
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
    left = slow.left_by_date(slow.traces(place, 2017), 2017, lag)
    law = slow.law_of(slow.open_left(place, 2017), 2340)
    for cut, heats in left.items():
        wanted = slow.chance_of(heats, law)
        assert sheetfuncs.ripen_chance(climate, cut, 2340, lag) == pytest.approx(wanted, abs=1e-6), cut
    for chance in CHANCES:
        wanted = slow.latest_of(left, law, chance)
        leaves = sheetfuncs.heat_date(climate, date(2017, 1, 1), 270)
        found = _or_none(sheetfuncs.latest_prune_date, climate, 2017, 2340, chance, lag)
        assert found == (wanted if wanted >= leaves else None), chance


def test_normals_with_a_typed_frost():
    # Monthly means of an invented valley, °C.
    months = [
        (-5, 3), (-4, 5), (0, 10), (4, 16), (9, 21), (14, 27), (17, 30), (16, 29), (11, 24), (5, 17), (1, 10), (-3, 4)
    ]  # fmt: skip
    rows = [(number, *pair) for number, pair in enumerate(months, start=1)]
    climate = sheetfuncs.climate_with_frost(sheetfuncs.climate_of(rows), date(2015, 10, 8))
    lows, highs = (daily_from_monthly(values) for values in zip(*months))
    runs = slow.traces_of_normals(lows, highs, NormalDist(slow.day_number(date(2015, 10, 8), 2015), 12), 2017)
    laws = [slow.law_of(slow.left_each_day(runs), need) for need in (900, 1150)]
    left = slow.left_by_date(runs, 2017)
    for cut in slow.days_from(date(2017, 5, 1), date(2017, 9, 1))[::4]:
        for law in laws:
            wanted = slow.chance_of(left[cut], law)
            assert sheetfuncs.ripen_chance(climate, cut, law.need) == pytest.approx(wanted, abs=1e-6), cut
    for chance in (0.1, 0.35, 0.5, 0.8, 0.995):
        assert sheetfuncs.season_end(climate, 2017, chance) == slow.season_end(runs, chance)
        assert sheetfuncs.latest_prune_date(climate, 2017, 1150, chance) == slow.latest_of(left, laws[1], chance)
