"""Words and ranges: no day to come is missing, no chance is certain, and one season may differ from the mean."""

from __future__ import annotations

from datetime import date, timedelta

import numpy
import pytest

import sheetfuncs
from sheetfuncs.functions.arguments import chance_text

from .climates import hot, temperate
from .records import chicago

DAY = timedelta(days=1)
NEED = 1300 * 1.8


def test_no_day_to_come_is_counted_as_missing():
    # The record ends on 28 August 2016; ten days of May were not written down.
    rows = [row for row in chicago() if not date(2016, 5, 3) <= row[0] <= date(2016, 5, 12)]
    note = sheetfuncs.climate_note(sheetfuncs.climate_of(rows, "F"))
    assert "1 season left out: 2016 (10 days missing from 3 May)" in note
    assert "left out" not in sheetfuncs.climate_note(temperate())


@pytest.mark.parametrize("morning", [date(2010, 4, 20), date(2010, 8, 1), date(2010, 11, 25)])
def test_a_record_that_was_cut_off_lacks_nothing_either(morning):
    climate = sheetfuncs.climate_until(temperate(), morning)
    assert "left out" not in sheetfuncs.climate_note(climate)


@pytest.mark.parametrize(
    ("chance", "text"),
    [
        (1.0, "over 99 %"), (0.991, "over 99 %"), (0.99, "99 %"), (0.5, "50 %"), (0.01, "1 %"), (0.0099, "under 1 %"),
        (0.0, "under 1 %"),
    ],
)  # fmt: skip
def test_no_chance_is_shown_as_certain(chance, text):
    assert chance_text(chance) == text


def test_a_cut_on_1_june_is_not_promised_with_certainty():
    climate = hot()
    assert 0.99 < sheetfuncs.ripen_chance(climate, date(2021, 6, 1), NEED) <= 1
    late = sheetfuncs.prune_advice("2021-07-25", "2021-06-01", "2021-07-15", "yes", None, climate, NEED)
    assert "100 %" not in late


# -- how far one season may differ ------------------------------------------------------------------------


@pytest.fixture(scope="module")
def climate():
    return hot()


@pytest.mark.parametrize("day", [date(2021, 7, 1), date(2021, 7, 15), date(2021, 7, 25)])
def test_the_range_is_met_by_drawn_seasons(climate, day):
    dice = numpy.random.default_rng(3)
    traces = climate.traces(2021)
    left = numpy.array(traces.heat_left(traces.days.index(day + 10 * DAY))) / 1e6
    deviation = climate.deviation(2021, NEED, 0.06) / 1e6
    drawn = numpy.clip((dice.choice(left, 100_000) - dice.normal(NEED, deviation, 100_000)) / 450, 0, 1)
    low, high = sheetfuncs.crop_ripe_range(climate, day, NEED)
    assert low == pytest.approx(numpy.quantile(drawn, 0.1), abs=0.02)
    assert high == pytest.approx(numpy.quantile(drawn, 0.9), abs=0.02)
    share = sheetfuncs.crop_ripe_share(climate, day, NEED)
    assert share == pytest.approx(drawn.mean(), abs=0.01)
    # One season differs from the mean by a good deal.
    assert drawn.std() > 0.15
    assert low < share < high


def test_the_range_falls_with_a_later_cut(climate):
    ranges = [sheetfuncs.crop_ripe_range(climate, date(2021, 6, 1) + step * DAY, NEED) for step in range(0, 120, 4)]
    for sooner, later in zip(ranges, ranges[1:]):
        assert later[0] <= sooner[0] + 1e-9
        assert later[1] <= sooner[1] + 1e-9
    assert ranges[0] == (1.0, 1.0)
    assert ranges[-1] == (0.0, 0.0)
