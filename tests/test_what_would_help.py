"""Each measure's line is what the other functions say of the tree as the measure changes it; the best comes first."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sheetfuncs
from sheetfuncs import what_would_help

from .climates import temperate
from .records import seattle

IN_CELL = what_would_help.declaration.in_cell


@lru_cache(maxsize=None)
def _climate(name, high=0.0, low=0.0):
    climate = {
        "cool": lambda: sheetfuncs.climate_of(seattle()),
        "temperate": lambda: temperate(),
        "frost typed": lambda: sheetfuncs.climate_with_frost(_climate("temperate"), date(2015, 10, 12)),
    }[name]()
    return sheetfuncs.climate_at(climate, high, low) if high or low else climate


SEASONS = {"cool": 2016, "temperate": 2017, "frost typed": 2017}
FACTOR = {"cool": 1.0, "temperate": 1.8, "frost typed": 1.8}


def _last(climate, season, need, chance=0.8):
    try:
        return sheetfuncs.latest_prune_date(climate, season, need, chance)
    except sheetfuncs.InputError:
        return None


@pytest.mark.parametrize("name", SEASONS)
@pytest.mark.parametrize("need", [1250, 1450])
def test_each_line_is_what_the_other_functions_say(name, need):
    climate, season, factor = _climate(name), SEASONS[name], FACTOR[name]
    cut, need = date(season, 6, 10), need * factor
    changed = {
        "as it is": (climate, need, 0.8, cut),
        "with a chance of 60 %": (climate, need, 0.6, cut),
        "under a cover": (_climate(name, 0, 1.0 * factor), need, 0.8, cut),
        "in a tunnel": (_climate(name, 0, 1.3 * factor), need, 0.8, cut),
        "an early variety": (climate, 1150 * factor, 0.8, cut),
        "a middle variety": (climate, 1300 * factor, 0.8, cut),
        "figs 10 days earlier, by an early start under cover": (climate, need, 0.8, cut - timedelta(days=10)),
    }
    if need < 1300 * factor:
        del changed["a middle variety"]
    lines = {line[0]: line[1:] for line in what_would_help(climate, cut, need)}
    assert set(lines) == set(changed)
    plain = _last(climate, season, need)
    for measure, (there, its_need, chance, day) in changed.items():
        last = _last(there, season, its_need, chance)
        gained = None if last is None or plain is None else (last - plain).days + (cut - day).days
        wanted = (
            last,
            pytest.approx(sheetfuncs.ripen_chance(there, day, its_need), abs=1e-8),
            pytest.approx(sheetfuncs.crop_ripe_share(there, day, its_need), abs=1e-8),
            gained,
        )
        assert lines[measure] == wanted, measure


@given(
    st.sampled_from(sorted(SEASONS)), st.floats(700, 2200), st.floats(0.1, 0.99), st.integers(0, 120), st.floats(-3, 3)
)
@settings(max_examples=40)
def test_the_best_comes_first_and_no_covering_costs_days(name, need, chance, days, low):
    climate, season, factor = _climate(name, 0, round(low) * FACTOR[name]), SEASONS[name], FACTOR[name]
    lines = what_would_help(climate, date(season, 4, 20) + timedelta(days=days), need * factor, chance)
    gained = [line[4] for line in lines if line[4] is not None]
    assert gained == sorted(gained, reverse=True)
    assert all(days >= 0 for days in gained)
    without = [line[1] for line in lines if line[0].startswith(("as it is", "under", "in an"))]
    known = [day for day in without if day is not None]
    assert without == known + [None] * (len(without) - len(known))
    assert ("out of the hollow" in [line[0] for line in lines]) == (round(low) < 0)


def test_positions_and_varieties_of_one_s_own():
    climate = _climate("temperate")
    wall, hollow = _climate("temperate", 2.0, 1.0), _climate("temperate", 0.0, -3.0)
    lines = what_would_help(
        climate, date(2017, 6, 20), 1300 * 1.8, 0.8, 10, 0.06, 450, ["wall", None, "hollow", "here"],
        [wall, hollow, hollow, climate], ["quick", "slow"], [1000 * 1.8, 1400 * 1.8],
    )  # fmt: skip
    names = [line[0] for line in lines]
    assert {"wall", "hollow", "quick"} < set(names)
    assert "slow" not in names
    assert "here" not in names
    assert names.index("quick") < names.index("wall") < names.index("as it is") < names.index("hollow")


def test_so_many_lines_as_a_sheet_has_room_for():
    cells = [_climate("cool"), date(2016, 6, 10), 1300, *[None] * 8]
    every = IN_CELL(cells)
    assert [len(row) for row in every] == [5] * len(every)
    assert IN_CELL([*cells, 3]) == every[:3]
    assert IN_CELL([*cells, 20]) == every + [[None] * 5] * (20 - len(every))


@pytest.mark.parametrize(
    ("index", "cell", "words"),
    [
        (7, [["wall"]], ("positions", "both columns")),
        (10, [[1200]], ("varieties", "no names")),
        (3, 80, ("chance is 80",)),
        (0, "Check: no weather", ("no weather",)),
        (11, 0, ("lines is 0",)),
    ],
)
def test_what_is_wrong_is_named(index, cell, words):
    cells = [_climate("cool"), date(2016, 6, 10), 1300, *[None] * 9]
    cells[index] = cell
    line = IN_CELL(cells)
    assert line.startswith("Check: ")
    for word in words:
        assert word in line


def test_a_position_s_fault_and_unit_are_named():
    cells = [_climate("cool"), date(2016, 6, 10), 1300, *[None] * 4, [["wall"], ["tunnel"]]]
    assert "no such gain" in IN_CELL([*cells, [["Check: no such gain"], [_climate("cool")]]])
    assert "wanted °C" in IN_CELL([*cells, [[_climate("cool")], [_climate("temperate")]]])
