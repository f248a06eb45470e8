"""Rows of weather as hosts hand them over: order and form must not matter, and what is odd is named by its row."""

from __future__ import annotations

import random
from datetime import date

import pytest

import sheetfuncs
from sheetfuncs.cells.dates import to_serial

from . import records

CLIMATE_OF = {function.name: function for function in sheetfuncs.all_functions()}["climate_of"].in_cell


def rows() -> list[list]:
    """Return ten seasons, a day of which lacks a high."""
    found = [[to_serial(day), low, high] for day, low, high in records.clemson(2001, 2010)]
    found[100][2] = None
    return found


@pytest.mark.parametrize(
    "form",
    [
        lambda found: tuple(tuple("" if cell is None else cell for cell in row) for row in found),
        lambda found: [[date.fromordinal(int(row[0]) + date(1899, 12, 30).toordinal()), *row[1:]] for row in found],
        lambda found: [["Date", "Low", "High"], *found, [None, None, None]],
        lambda found: [[*row, "a note"] for row in found],
        lambda found: [[row[0], str(row[1]), row[2]] for row in found],
        lambda found: [[int(row[0]), *row[1:]] for row in found],
        lambda found: random.Random(1).sample(found, len(found)),
    ],
    ids=["blank texts", "dates", "heading and blank row", "a fourth column", "texts", "whole numbers", "shuffled"],
)
def test_the_form_of_the_rows_does_not_matter(form):
    assert CLIMATE_OF([form(rows()), "F"]) == CLIMATE_OF([rows(), "F"])


def test_the_first_row_that_cannot_be_read_is_named():
    odd = rows()
    odd[7][2], odd[9][0] = "warm", "then"
    assert CLIMATE_OF([odd, "F"]).startswith("Check: weather row 8 of the range, high is \"warm\"")


def refused(found: list[list]) -> list[str]:
    return [str(one) for one in sheetfuncs.climate_of(found, "F").days.record.refused]


def test_a_jump_is_told_by_both_neighbours():
    odd = rows()
    index = 50
    odd[index][1] = odd[index - 1][1] - 60.0
    assert len(refused(odd)) == len(refused(rows())) + 1
    odd[index + 1][1] = None
    assert len(refused(odd)) == len(refused(rows()))


def test_of_two_jumps_in_a_row_the_earlier_is_refused_whatever_the_order_of_the_rows():
    odd = rows()
    for index, low in ((50, 30.0), (51, -40.0), (52, 30.0), (53, -40.0)):
        odd[index][1] = low
    days = [one.day for one in sheetfuncs.climate_of(odd, "F").days.record.refused]
    assert days == [one.day for one in sheetfuncs.climate_of(odd[::-1], "F").days.record.refused]
    assert days


def test_heat_is_reckoned_when_it_is_asked_for():
    climate = sheetfuncs.climate_of(rows(), "F")
    assert "heat" not in vars(climate.days)
    assert sheetfuncs.latest_prune_date(climate, 2011, 2340)
    assert "heat" in vars(climate.days)


def test_the_heat_of_recorded_days_is_the_sum_of_its_days():
    climate = sheetfuncs.climate_of(rows(), "F")
    start, middle, end = date(2005, 5, 1), date(2005, 7, 3), date(2005, 9, 1)
    whole, parts = (
        sheetfuncs.heat_units_between(climate, start, end),
        [sheetfuncs.heat_units_between(climate, *ends) for ends in ((start, middle), (middle, end))],
    )
    assert whole == pytest.approx(sum(parts), abs=1e-9)
    assert sheetfuncs.heat_units_between(climate, end, end) == 0
