"""Monthly normals that are none; and whatever a cell holds, it never raises."""

from __future__ import annotations

import math
from datetime import date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sheetfuncs
from sheetfuncs.cells.errors import CellFault
from sheetfuncs.functions import all_functions

from .climates import temperate
from .records import chicago
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


# -- cells never raise ------------------------------------------------------------------------------------

scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.floats(),
    st.integers(-(10**6), 10**12),
    st.sampled_from([0, 1, 0.5, 0.8, 1300, 2017, 43000.0, "2017-07-01", "80%", "off", "F", "sine", "north", ""]),
    st.text(max_size=30),
    st.dates(),
    st.datetimes(),
    st.sampled_from([CellFault("#N/A"), "Check: the cell before", "30 seasons 1991–2020 · 7f3a9c"]),
)
ranges = st.lists(st.lists(scalars, min_size=1, max_size=3), max_size=4)


def _good(value):
    if isinstance(value, str):
        return not value.startswith("Check:") or (len(value) < 100 and "\n" not in value)
    if isinstance(value, float):
        return math.isfinite(value)
    if isinstance(value, list):
        return all(isinstance(row, list) and all(_good(cell) for cell in row) for row in value)
    return value is None or (isinstance(value, (int, date)) and not isinstance(value, datetime))


@pytest.mark.parametrize("function", all_functions(), ids=lambda function: function.name)
@given(data=st.data())
@settings(max_examples=80)
def test_no_exception_reaches_a_cell_and_no_line_is_too_long(function, data):
    cells = []
    for index, parameter in enumerate(function.parameters):
        if index == 0 and parameter.name == "climate" and data.draw(st.booleans()):
            cells.append(_known_climate())
        else:
            cells.append(data.draw(st.one_of(scalars, ranges)))
    cells = cells[: data.draw(st.integers(0, len(cells)))]
    assert _good(function.in_cell(cells)), cells


_KNOWN = []


def _known_climate():
    """Return the text of a climate that is loaded."""
    if not _KNOWN:
        declared = {function.name: function for function in all_functions()}
        _KNOWN.append(declared["climate_of"].in_cell([[list(row) for row in chicago()], "F"]))
    return _KNOWN[0]


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
