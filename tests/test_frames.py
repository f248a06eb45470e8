"""Columns of a frame in, columns with the same index out; and no library of frames where none is used."""

from __future__ import annotations

import subprocess
import sys
from datetime import date

import pytest

import sheetfuncs
from sheetfuncs.functions.examples import valley_days

pandas = pytest.importorskip("pandas")
FUNCTIONS = {function.name: function for function in sheetfuncs.all_functions()}


@pytest.fixture
def trees():
    return pandas.DataFrame(
        {"heat_need": [1150, 1300, 1450.0], "lag_days": [10, None, 14], "tag": ["P-1", "P-2", "P-3"]},
        index=["south", "open", "tunnel"],
    )


def test_a_column_comes_back_with_its_index(valley, trees):
    found = sheetfuncs.latest_prune_date(valley, 2026, trees["heat_need"])
    assert list(found.index) == list(trees.index)
    assert found.name == "latest_prune_date"
    assert found.dtype.kind == "M"
    one_by_one = [sheetfuncs.latest_prune_date(valley, 2026, need) for need in trees["heat_need"]]
    assert [day.date() for day in found] == one_by_one


def test_columns_go_in_by_name_and_a_missing_value_is_a_blank(valley, trees):
    found = sheetfuncs.latest_prune_date(valley, 2026, **trees[["lag_days", "heat_need"]])
    assert [day.date() for day in found] == [
        sheetfuncs.latest_prune_date(valley, 2026, 1150, lag_days=10),
        sheetfuncs.latest_prune_date(valley, 2026, 1300),
        sheetfuncs.latest_prune_date(valley, 2026, 1450, lag_days=14),
    ]
    with pytest.raises(TypeError, match="unexpected keyword argument 'tag'"):
        sheetfuncs.latest_prune_date(valley, 2026, **trees)


def test_several_values_a_line_come_back_as_a_frame(valley, trees):
    found = sheetfuncs.ripen_window(valley, "2026-06-10", trees["heat_need"])
    assert list(found.columns) == ["first", "middle", "last"]
    assert list(found.index) == list(trees.index)
    first, middle, last = sheetfuncs.ripen_window(valley, "2026-06-10", 1150)
    assert [day.date() for day in found.loc["south"]] == [first, middle, last]
    late = sheetfuncs.ripen_window(valley, "2026-06-10", 1450)
    assert [None if day is pandas.NaT else day.date() for day in found.loc["tunnel"]] == list(late)
    assert None in late


@pytest.mark.parametrize("length", [0, 1])
def test_a_short_column_stays_a_column(valley, trees, length):
    found = sheetfuncs.ripen_chance(valley, "2026-06-10", trees["heat_need"][:length])
    assert list(found.index) == list(trees.index[:length])
    windows = sheetfuncs.ripen_window(valley, "2026-06-10", trees["heat_need"][:length])
    assert list(windows.columns) == ["first", "middle", "last"]


def test_a_long_column_keeps_all_its_lines():
    days = pandas.Series([75, *[None] * 69_999])
    assert len(sheetfuncs.latest_prune_date_by_days("2026-10-10", days)) == 70_000


def test_one_bad_line_is_named_and_missing(valley, trees):
    needs = trees["heat_need"].astype(object)
    needs.iloc[1] = "much"
    with pytest.warns(sheetfuncs.UnansweredLineWarning, match='1 of 3 lines .* line 2: heat need is "much"') as warned:
        found = sheetfuncs.ripen_chance(valley, "2026-06-10", needs)
    assert warned[0].filename == __file__
    assert list(found.isna()) == [False, True, False]
    assert found.dtype.kind == "f"


def test_columns_of_two_frames_are_refused(valley, trees):
    other = trees.reset_index(drop=True)
    with pytest.raises(sheetfuncs.InputError, match="wanted columns of one frame"):
        sheetfuncs.latest_prune_date(valley, 2026, trees["heat_need"], lag_days=other["lag_days"])


def test_an_answer_a_line_of_a_range_has_the_range_s_index(trees):
    ready = pandas.Series(["2026-06-10", "2026-06-11", "2026-06-20"], index=trees.index)
    latest = pandas.Series(pandas.to_datetime(["2026-06-20", "2026-06-21", "2026-06-30"]), index=trees.index)
    found = sheetfuncs.prune_rounds(ready, latest)
    assert list(found.index) == list(trees.index)
    listed = sheetfuncs.prune_rounds(list(ready), [day.date() for day in latest])
    assert [day.date() for day in found] == listed


def test_a_record_comes_as_a_frame_with_its_dates_as_a_column_or_as_the_index(valley):
    frame = pandas.DataFrame(valley_days(), columns=["date", "low", "high"])
    assert sheetfuncs.climate_of(frame) == valley
    frame["date"] = pandas.to_datetime(frame["date"])
    assert sheetfuncs.climate_of(frame) == valley
    assert sheetfuncs.climate_of(frame.set_index("date")) == valley


def test_dates_beyond_a_nanosecond_calendar_stay_dates():
    days = pandas.Series(["2390-06-01"])
    assert sheetfuncs.latest_prune_date_by_days(days, 10)[0] == pandas.Timestamp("2390-05-22")


def test_pandas_is_loaded_by_the_script_alone():
    code = (
        "import sys, sheetfuncs\n"
        "sheetfuncs.latest_prune_date_by_days(['2026-10-10', '2026-10-20'], 75)\n"
        "print([name for name in ('pandas', 'numpy') if name in sys.modules])"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout == "[]\n"


def test_a_list_gives_dates_and_a_column_gives_the_same_days(valley, trees):
    listed = sheetfuncs.latest_prune_date(valley, 2026, list(trees["heat_need"]))
    assert all(type(day) is date for day in listed)
