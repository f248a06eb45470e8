"""Which lines of a log count: wrong ones are named, and units, hemispheres and cells do not matter."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

import sheetfuncs
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.cells.errors import CellFault
from sheetfuncs.functions.examples import VALLEY_NORMALS, valley_days
from sheetfuncs.functions.learning import learned_heat_need
from sheetfuncs.season import learning

from .both import mirrored, mirrored_day
from .climates import valley
from .records import chicago, in_celsius
from .test_learning import TABLE, place, simulated

DAY = timedelta(days=1)


# -- wrong and missing lines ------------------------------------------------------------------------------


GOOD = (
    ["2024-06-08", "2025-06-12", "2023-06-01"],
    ["2024-06-20", None, "2023-06-09"],
    ["2024-09-22", "2025-09-28", "2023-09-13"],
)


@pytest.mark.parametrize(
    ("cut", "seen", "ripe", "line"),
    [
        ("2025-06-12", None, "2025-06-01", "Check: line 3: ripe before the cut"),
        ("2025-06-12", None, "2024-09-25", "Check: line 3: ripe before the cut"),
        ("2025-06-12", None, "2025-06-12", "Check: line 3: ripe on the day of the cut"),
        ("2025-06-12", None, "2025-06-20", "Check: line 3: ripe within 10 days of the cut"),
        ("2025-06-12", "2025-06-01", "2025-09-20", "Check: line 3: figs seen before the cut"),
        ("2025-06-12", "2025-09-21", "2025-09-20", "Check: line 3: ripe before figs were seen"),
        (None, None, "2025-09-20", "Check: line 3: ripe without a cut or figs seen"),
        ("2024-06-12", None, "2025-09-20", "Check: line 3: ripe in another season than cut"),
        (None, "2024-06-12", "2025-09-20", "Check: line 3: ripe in another season than seen"),
        ("2014-06-12", None, "2014-09-20", "Check: line 3: 91 of 91 days to ripe are not in the weather"),
        ("2026-06-12", None, "2026-09-20", "Check: line 3: 91 of 91 days to ripe are not in the weather"),
        ("soon", None, "2025-09-20", 'Check: line 3: cut date is "soon", wanted a date such as 2026-07-01'),
        (
            "2025-06-12",
            2025,
            "2025-09-20",
            "Check: line 3: seen date is 2025, wanted a date such as 2026-07-01, not a year",
        ),
        ("2025-06-12", None, "3/4/2025", 'Check: line 3: ripe date is "3/4/2025", wanted a date'),
        ("2025-06-12", CellFault("#N/A"), "2025-09-20", "Check: line 3: seen date is an error (#N/A)"),
    ],
)
def test_a_wrong_line_is_named_and_the_others_count(cut, seen, ripe, line):
    wanted = learned_heat_need(valley(), *GOOD)
    assert wanted[1] == 3
    assert wanted[3] is None
    columns = [[*good[:2], bad, *good[2:]] for good, bad in zip(GOOD, (cut, seen, ripe))]
    *numbers, check, spread = learned_heat_need(valley(), *columns)
    assert check.startswith(line)
    assert len(check) <= 99
    assert numbers == list(wanted[:3])
    # In a cell the same: one row of four cells.
    shown = learned_heat_need.declaration.in_cell([valley(), *([[cell] for cell in column] for column in columns)])
    assert shown == [[*numbers, check, spread]]


def test_unfinished_and_blank_lines_are_nobody_s_mistake():
    columns = [
        ["2025-06-12", None, *GOOD[0], "2025-06-20", "2025-06-21"],
        [None, None, *GOOD[1], "2025-06-28"],
        [None, "", *GOOD[2], "", "Check: not ripe yet"],
    ]
    assert learned_heat_need(valley(), *columns) == learned_heat_need(valley(), *GOOD)


def test_a_cut_is_not_needed_where_figs_were_seen():
    without = learned_heat_need(valley(), [None, GOOD[0][1]], GOOD[1][:2], GOOD[2][:2])
    assert without == learned_heat_need(valley(), GOOD[0][:2], GOOD[1][:2], GOOD[2][:2])


@pytest.mark.parametrize("wrong", [2, 9, 60])
def test_many_wrong_lines_fit_one_cell(wrong):
    columns = [[*good, *[bad] * wrong] for good, bad in zip(GOOD, ("2025-06-12", None, "2025-06-01"))]
    _, trees, _, check, _ = learned_heat_need(valley(), *columns)
    assert trees == 3
    assert check.startswith("Check: line 4: ripe before the cut; not counted either: 5")
    assert len(check) <= 99
    named = check.rpartition(": ")[2].split(", ")
    more = int(named.pop().split()[0]) if "more" in check else 0
    assert len(named) + more == wrong - 1


def test_three_days_missing_are_borne_and_four_are_not():
    def without(days):
        gone = {date(2025, 9, 28) - step * DAY for step in range(days)}
        return sheetfuncs.climate_of(
            [row for row in valley_days() if row[0] not in gone and row[0] < date(2025, 9, 29)]
        )

    one = ["2025-06-12"], [None], ["2025-09-28"]
    full = learned_heat_need(valley(), *one)
    borne = learned_heat_need(without(3), *one)
    assert borne[1:2] == (1,)
    assert borne[3] is None
    assert borne[0] == pytest.approx(full[0], rel=0.02)
    assert learned_heat_need(without(4), *one) == (
        1300, 0, None, "Check: line 1: 4 of 99 days to ripe are not in the weather", 0.06,
    )  # fmt: skip


def test_normals_count_every_line_by_their_middle_season():
    normals = sheetfuncs.climate_of(VALLEY_NORMALS)
    need, trees, _, check, _ = learned_heat_need(normals, ["1999-06-10"], [None], ["1999-09-15"])
    assert (trees, check) == (1, None)
    observed = sheetfuncs.heat_units_between(normals, "1999-06-20", "1999-09-15")
    assert need == pytest.approx((1300 + observed) / 2, abs=10)


def test_an_error_in_place_of_a_column_is_no_log():
    shown = learned_heat_need.declaration.in_cell([valley(), CellFault("#N/A"), [[None]], [["2025-09-20"]]])
    assert shown == "Check: cut dates is an error (#N/A), wanted a column of dates"


def test_an_empty_log_leaves_the_table():
    assert learned_heat_need(valley(), [None, None], [None], [None, None], 1150) == (1150, 0, None, None, 0.06)
    assert learned_heat_need(valley(), [], [], []) == (1300, 0, None, None, 0.06)
    assert learned_heat_need.declaration.in_cell([None, None, None, None]) is None


# -- units, hemispheres, cells ----------------------------------------------------------------------------


def test_the_unit_of_the_record_does_not_matter():
    log = simulated("chicago", TABLE, 8, 3)
    fahrenheit = learned_heat_need(place("chicago")[0], *log)
    celsius = learned_heat_need(sheetfuncs.climate_of(in_celsius(chicago())), *log)
    assert fahrenheit[0] == pytest.approx(celsius[0] * 1.8, rel=1e-6)
    assert fahrenheit[1:4] == celsius[1:4]
    assert fahrenheit[4] == pytest.approx(celsius[4])


def test_the_south_is_the_north_half_a_year_on():
    log = simulated("chicago", TABLE, 8, 3)
    moved = [[day and mirrored_day(day) for day in column] for column in log]
    north = learned_heat_need(place("chicago")[0], *log)
    south = learned_heat_need(sheetfuncs.climate_of(mirrored(chicago()), "F"), *moved)
    assert south[1] == north[1] == 8
    assert south[3] is None
    assert south[0] == pytest.approx(north[0], rel=0.02)  # a southern summer may hold a leap day


def test_serials_and_texts_are_dates():
    serials = [[cell and to_serial(date.fromisoformat(cell)) for cell in column] for column in GOOD]
    assert learned_heat_need(valley(), *serials) == learned_heat_need(valley(), *GOOD)


def test_a_position_has_needs_of_its_own():
    log = simulated("chicago", TABLE, 8, 3)
    wall = sheetfuncs.climate_at(place("chicago")[0], 4, 3)
    assert learned_heat_need(wall, *log, TABLE)[0] > learned_heat_need(place("chicago")[0], *log, TABLE)[0]


def test_a_line_whose_position_is_not_known_is_named_and_the_others_count():
    columns = [[*good] for good in GOOD]
    own = valley()
    wanted = learned_heat_need(own, *(column[:2] for column in columns))
    for cell, words in (
        (None, "no climate, is its position blank"),
        ("Check: position is not on the sheet Positions", "climate says: position is not on the sheet Positions"),
        ("roof", 'climate is "roof", wanted the cell of a CLIMATE function'),
        (CellFault("#N/A"), "climate is an error (#N/A), wanted the cell of a CLIMATE function"),
    ):
        *numbers, check, _ = learned_heat_need([own, own, cell], *columns)
        assert check == f"Check: line 3: {words}"
        assert numbers == list(wanted[:3])
        # A line of which nothing is ripe needs no climate.
        assert learned_heat_need([own, own, cell], *columns[:2], columns[2][:2]) == wanted


def test_climates_of_two_units_are_not_mixed():
    celsius = sheetfuncs.climate_of(in_celsius(chicago()))
    with pytest.raises(sheetfuncs.InputError, match="climates are in °C and in °F, wanted one unit for all"):
        learned_heat_need([celsius, place("chicago")[0]], *(column[:2] for column in GOOD))
    fahrenheit = learned_heat_need([place("chicago")[0]] * 8, *simulated("chicago", TABLE, 8, 3))
    assert fahrenheit == learned_heat_need(place("chicago")[0], *simulated("chicago", TABLE, 8, 3))


def test_leaving_one_out_leaves_the_table_where_there_is_but_one():
    climate, _ = place("chicago")
    start, ripe = date(2012, 6, 20), date(2012, 8, 30)
    foretold = learning.ripe_day(climate, start, TABLE)
    assert learned_heat_need(climate, [None], [start], [ripe], TABLE)[2] == abs((foretold - ripe).days)
