"""The slow reference itself against published values: a yardstick must be checked before it is used."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest

from .records import chicago, clemson, seattle
from .reference import day_by_day as slow

PUBLISHED = Path(__file__).parent / "published"


def _table(name):
    with open(PUBLISHED / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_its_degree_days_are_the_published_ones():
    for row in _table("heat_of_a_day.csv"):
        keys = ("low", "high", "base", "ceiling", "next_low")
        values = [float(row[key]) if row[key] else None for key in keys]
        found = slow.heat_of_day(*values[:4], row["method"], row["cutoff"], values[4])
        wanted = 27.125 if row["misprint"] else float(row["printed"])
        assert found == pytest.approx(wanted, abs=float(row["within"])), row


def test_its_freeze_dates_are_the_published_ones():
    place = slow.place_of(clemson(1971, 2000), "F")
    for row in _table("clemson_freeze_dates.csv"):
        at = float(row["at_f"])
        function, numbers = {
            "first": (slow.first_frost, slow.first_freezes),
            "last": (slow.last_frost, slow.last_freezes),
        }[row["freeze"]]
        found = list(numbers(place, at).values())
        assert len(found) == int(row["years"])
        assert sum(number is not None for number in found) == int(row["years_with_freeze"])
        day = function(place, 2001, float(row["chance"]), at)
        assert ("" if day is None else day.strftime("%m-%d")) == row["printed"], row


def test_the_records_are_the_ones_described():
    assert len(chicago()) == 5698
    assert (chicago()[0][0], chicago()[-1][0]) == (date(2001, 1, 22), date(2016, 8, 28))
    assert all(later[0] - sooner[0] == timedelta(days=1) for sooner, later in zip(chicago(), chicago()[1:]))
    assert slow.clean(chicago(), "F")[1:] == ([], set())
    record = clemson()
    assert (record[-1][0] - record[0][0]).days + 1 - len(record) == 90
    assert [record[number - 1][0] for number in slow.clean(record, "F")[1]] == [date(1936, 7, 18)]
    assert slow.clean(seattle(), "C")[1:] == ([], set())


def test_a_day_by_hand():
    # Three equal summers, 20 heat units a day, frost on 15 October: the trace's last good cut can be counted.
    rows = []
    for year in (2011, 2012, 2013, 2014):
        day = date(year, 1, 1)
        while day.year == year:
            rows.append((day, -1.0 if day >= date(year, 10, 15) else 28.0, 28.0))
            day += timedelta(days=1)
    place = slow.place_of(rows, "C", stall_at="off")
    assert slow.complete_seasons(place) == [2011, 2012, 2013, 2014]
    runs = slow.traces(place, 2015)
    assert {run.end for run in runs} == {date(2015, 10, 15)}
    # 65 days of 20 make 1,300: the last of them is 14 October, the first 11 August, the cut ten days before.
    assert slow.latest_prune_date(runs, 2015, 1300) == date(2015, 8, 1)
    assert slow.ripe_day(runs[0], date(2015, 8, 1), 1300) == date(2015, 10, 14)
    assert slow.ripe_day(runs[0], date(2015, 8, 2), 1300) is None
