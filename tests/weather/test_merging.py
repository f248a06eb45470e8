"""New days joined with known ones: nothing known is lost, and the second time nothing changes."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfuncs.weather import Day
from sheetfuncs.weather.merging import SAME, KnownDay, Merge, merge
from sheetfuncs.weather.units import in_unit

START = date(2020, 1, 1)


def known(row, day, low, high, strange=""):
    return KnownDay(row, START + timedelta(days=day), low, high, strange)


def new(day, low, high):
    return Day(START + timedelta(days=day), low, high)


def after(rows, merged):
    """Return the rows as they are when a merge is carried out."""
    by_row = {row.row: row for row in rows}
    for change in merged.replaced:
        by_row[change.row] = KnownDay(change.row, change.day, change.new_low, change.new_high)
    for change in merged.completed:
        low = change.new_low if change.low is None else change.low
        high = change.new_high if change.high is None else change.high
        by_row[change.row] = KnownDay(change.row, change.day, low, high)
    end = max(by_row, default=8) + 1
    for row, day in enumerate(merged.added, start=end):
        by_row[row] = KnownDay(row, *day)
    return [by_row[row] for row in sorted(by_row)]


def test_each_day_goes_where_it_belongs():
    rows = [known(9, 0, 1.0, 9.0), known(10, 1, 2.0, 8.0), known(12, 2, 3.0, None), known(13, 7, 4.0, 7.0)]
    days = [new(0, 1.0, 9.0), new(1, 2.5, 8.0), new(2, 3.0, 6.0), new(3, 4.0, 5.0), new(4, 5.0, 4.0)]
    merged = merge(rows, days)
    assert merged.added == (days[3],)
    assert merged.kept == (rows[0],)
    assert merged.differing == ((10, days[1].day, 2.0, 8.0, 2.5, 8.0),)
    assert merged.completed == ((12, days[2].day, 3.0, None, 3.0, 6.0),)
    assert merged.replaced == ()
    assert [(item.row, item.day, item.reason) for item in merged.invalid] == [(0, days[4].day, "low 5 above high 4")]
    replacing = merge(rows, days, replace=True)
    assert (replacing.replaced, replacing.differing) == (merged.differing, ())


def test_rows_that_cannot_be_read_are_named_and_left_alone_unless_replaced():
    rows = [KnownDay(9, None, 1.0, 2.0, "has no date"), known(10, 1, None, 8.0, 'low is "cold"')]
    merged = merge(rows, [new(1, 2.0, 8.0)])
    assert [item.row for item in merged.invalid] == [9, 10]
    assert [change.row for change in merged.differing] == [10]
    assert [change.row for change in merge(rows, [new(1, 2.0, 8.0)], replace=True).replaced] == [10]


def test_a_day_that_stands_twice_is_looked_at_twice():
    rows = [known(9, 0, 1.0, 9.0), known(10, 0, 2.0, 9.0)]
    merged = merge(rows, [new(0, 1.0, 9.0)], replace=True)
    assert [row.row for row in merged.kept] == [9]
    assert [change.row for change in merged.replaced] == [10]


def test_days_before_a_spreadsheets_calendar_are_named():
    merged = merge([], [Day(date(1900, 2, 28), 1.0, 2.0), Day(date(1900, 3, 1), 1.0, 2.0)])
    assert [day.day for day in merged.added] == [date(1900, 3, 1)]
    assert "1900" in merged.invalid[0].reason


def test_numbers_that_are_none_are_no_days():
    merged = merge([], [Day(START, float("nan"), 2.0), Day(START + timedelta(days=1), 1.0, float("inf"))])
    assert (merged.added, len(merged.invalid)) == ((), 2)


@given(st.integers(-40, 120), st.integers(0, 40))
def test_whole_fahrenheit_kept_as_tenths_of_celsius_is_the_same(low, more):
    day = Day(START, float(low), float(low + more))
    in_tenths = in_unit([day], "F", "C")
    assert merge([KnownDay(9, *in_unit(in_tenths, "C", "F")[0])], [day], unit="F").kept
    assert merge([KnownDay(9, *day)], in_unit(in_tenths, "C", "F"), unit="F").kept


@pytest.mark.parametrize("unit", ["C", "F"])
def test_a_tenth_of_celsius_is_a_difference(unit):
    step = SAME[unit] * 2
    assert merge([known(9, 0, 1.0, 9.0)], [new(0, 1.0 + step, 9.0)], unit=unit).differing


TEMPERATURES = st.one_of(st.none(), st.integers(-300, 400).map(lambda tenths: tenths / 10))
ROWS = st.lists(st.tuples(st.integers(0, 30), TEMPERATURES, TEMPERATURES), max_size=25)
DAYS = st.dictionaries(st.integers(0, 30), st.tuples(st.integers(-300, 150), st.integers(0, 250)), max_size=25)


@given(ROWS, DAYS, st.booleans())
def test_nothing_known_is_lost_and_the_second_time_changes_nothing(rows, days, replace):
    rows = [known(9 + index, *row) for index, row in enumerate(rows)]
    days = [new(day, low / 10, (low + more) / 10) for day, (low, more) in sorted(days.items())]
    once = merge(rows, days, replace)
    result = after(rows, once)
    held = {row.row: row for row in result}
    for row in rows:
        assert held[row.row].day == row.day
        if not replace:
            for old, now in zip(row[2:4], held[row.row][2:4]):
                assert old is None or now == old
    assert {day.day for day in days} <= {row.day for row in result}
    assert [row.day for row in result].count(None) == 0
    touched = [*once.kept, *once.replaced, *once.completed, *once.differing]
    assert len({item.row for item in touched}) == len(touched)
    twice = merge(result, days, replace)
    assert (twice.added, twice.replaced, twice.completed) == ((), (), ())
    assert {change.day for change in twice.differing} == {change.day for change in once.differing}
    if replace:
        assert not twice.differing


def test_nothing_and_nothing_is_nothing():
    assert merge([], []) == Merge()
