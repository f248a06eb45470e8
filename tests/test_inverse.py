"""The chance of a cut date and the last date of a chance undo each other, to the day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

import sheetfuncs

from .both import mirrored
from .climates import hot, temperate
from .records import chicago

DAY = timedelta(days=1)

CLIMATES = {
    "chicago": lambda: temperate(),
    "chicago, July 2013": lambda: sheetfuncs.climate_until(temperate(), date(2013, 7, 20)),
    "chicago, frost typed": lambda: sheetfuncs.climate_with_frost(
        temperate(), date(2015, 10, 25)
    ),
    "clemson, 90 years": lambda: hot(1930),
    "southern": lambda: sheetfuncs.climate_of(mirrored(chicago()), "F"),
}
SEASONS = {"chicago, July 2013": 2013, "clemson, 90 years": 2021}


@pytest.fixture(scope="module", params=list(CLIMATES))
def place(request):
    return CLIMATES[request.param](), SEASONS.get(request.param, 2017), request.param == "southern"


@pytest.mark.parametrize("need", [1150 * 1.8, 1300 * 1.8])
def test_the_last_date_keeps_its_chance_and_the_next_day_does_not(place, need):
    climate, season, south = place
    # From mid-May on (mid-November in the south) shoots have leaves.
    best = sheetfuncs.ripen_chance(climate, date(season - 1, 11, 15) if south else date(season, 5, 15), need)
    for percent in range(1, 101):
        chance = percent / 100
        if chance > best:
            continue
        last = sheetfuncs.latest_prune_date(climate, season, need, chance)
        assert sheetfuncs.ripen_chance(climate, last, need) >= chance
        assert sheetfuncs.ripen_chance(climate, last + DAY, need) < chance


@pytest.mark.parametrize("need", [1150 * 1.8, 1300 * 1.8])
def test_every_date_comes_back_from_its_own_chance(place, need):
    climate, season, south = place
    cut = date(season - 1, 11, 15) if south else date(season, 5, 15)
    before = 1.0
    for _ in range(170):
        chance = sheetfuncs.ripen_chance(climate, cut, need)
        assert chance <= before
        if chance > 0:
            last = sheetfuncs.latest_prune_date(climate, season, need, chance)
            assert last >= cut
            assert sheetfuncs.ripen_chance(climate, last, need) == chance
        before = chance
        cut += DAY
    assert before < 1e-12
