"""Monthly normals that are none, and rows that are blank."""

from __future__ import annotations

from datetime import date

import pytest

import sheetfuncs
from sheetfuncs.functions import all_functions

from .climates import temperate
from .test_bad_input import JULY, NORMALS, _line


@pytest.fixture(scope="module")
def climate():
    return temperate()


# -- normals ----------------------------------------------------------------------------------------------


def test_normals_need_frost_estimates():
    climate = sheetfuncs.climate_of(NORMALS)
    for function, arguments in (
        (sheetfuncs.latest_prune_date, (2017, 1300)),
        (sheetfuncs.ripen_chance, (JULY, 1300)),
        (sheetfuncs.season_end, (2017,)),
    ):
        assert "frost" in _line(function, climate, *arguments)
    for function, day in ((sheetfuncs.first_frost, 2017), (sheetfuncs.frost_chance, JULY)):
        assert "normals" in _line(function, climate, day)
    ready = sheetfuncs.climate_with_frost(climate, date(2016, 10, 28))
    assert sheetfuncs.first_frost(ready, 2017) == date(2017, 10, 28)
    assert date(2017, 5, 1) < sheetfuncs.latest_prune_date(ready, 2017, 1300) < date(2017, 8, 1)


@pytest.mark.parametrize(
    "rows",
    [
        NORMALS[:11],
        [*NORMALS[:11], (13, -3, 4)],
        [*NORMALS[:11], (11, -3, 4)],
        [*NORMALS[:11], (12, 4, -3)],
        [*NORMALS[:11], (12, None, 4)],
        [*NORMALS[:11], (12, "cold", 4)],
    ],
    ids=["eleven", "month 13", "month twice", "low above high", "blank", "text"],
)
def test_normals_that_are_not_twelve_good_months(rows):
    _line(sheetfuncs.climate_of, rows)


# -- blank cells -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("function", all_functions(), ids=lambda function: function.name)
def test_a_blank_row_stays_blank(function):
    if not any(parameter.required for parameter in function.parameters):
        pytest.skip("needs nothing to give an answer")
    assert function.in_cell([]) is None
    assert function.in_cell([None] * len(function.parameters)) is None
    blanks = [[[None]] if parameter.kind.many else None for parameter in function.parameters]
    answer = function.in_cell(blanks)
    # Where a whole range is blank, a line about it is as good: nothing beside it is to stay blank.
    only_a_range = function.parameters[0].kind.many
    assert answer in (None, [], [[None]]) or (only_a_range and answer.startswith("Check:"))
