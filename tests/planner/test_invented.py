"""The invented weather is the same each time and could be true."""

from __future__ import annotations

from datetime import date
from statistics import mean, stdev

import pytest

import sheetfuncs
from sheetfuncs.planner.invented import LATITUDE, SEED, TREES, demo_weather, invent_weather

RECORD = invent_weather(SEED, 23, LATITUDE)


def _month(number: int) -> list[float]:
    return [(low + high) / 2 for day, low, high in RECORD if day.month == number]


def test_the_same_seed_gives_the_same_weather() -> None:
    assert invent_weather(7, 2, 43.0) == invent_weather(7, 2, 43.0)
    assert invent_weather(7, 2, 43.0) != invent_weather(8, 2, 43.0)


def test_a_valley_near_43_degrees_north() -> None:
    assert 22 <= mean(_month(7)) <= 23.1
    assert -1 < mean(_month(1)) < 3
    first = [
        next(day for day, low, _ in RECORD if day >= date(year, 8, 1) and low <= 0).timetuple().tm_yday
        for year in range(2003, 2025)
    ]
    assert date(2025, 10, 16) <= date.fromordinal(date(2024, 12, 31).toordinal() + round(mean(first)))
    assert date.fromordinal(date(2024, 12, 31).toordinal() + round(mean(first))) <= date(2025, 10, 31)
    assert 7 <= stdev(first) <= 17


def test_days_are_possible_and_remember_the_day_before() -> None:
    assert all(low < high and low > -30 and high < 43 for _, low, high in RECORD)
    july = [(low + high) / 2 for day, low, high in RECORD if day.month == 7]
    pairs = list(zip(july, july[1:]))
    middle = mean(july)
    memory = mean((a - middle) * (b - middle) for a, b in pairs) / mean((a - middle) ** 2 for a in july)
    assert 0.5 < memory < 0.95


def test_a_southern_latitude_turns_the_year() -> None:
    southern = invent_weather(SEED, 3, -LATITUDE)
    assert mean(high for day, _, high in southern if day.month == 1) > 25
    assert mean(high for day, _, high in southern if day.month == 7) < 12


def test_the_record_ends_in_june_with_at_least_22_seasons() -> None:
    record = demo_weather()
    assert record[-1][0] == date(2026, 6, 21)
    note = sheetfuncs.climate_note(sheetfuncs.climate_of([list(row) for row in record]))
    assert note.startswith("22 seasons 2003–2025")
    assert "2 days filled" in note
    assert "2011" in note


@pytest.mark.parametrize("key", ["kind", "position"])
def test_the_holding_is_mixed(key: str) -> None:
    assert len({tree[key] for tree in TREES}) >= 4


def test_tags_are_invented_and_different() -> None:
    tags = [tree["tag"] for tree in TREES]
    assert len(tags) == len(set(tags)) == 30
