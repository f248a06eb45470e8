"""A new process knows the climates whose texts stand in a workbook's cells, and takes no other for one of them."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from sheetfuncs import all_functions
from sheetfuncs.cells.cache import Cache
from sheetfuncs.cells.climates import CLIMATES
from sheetfuncs.functions.examples import valley_days
from sheetfuncs.hosts.excel.kept_climates import KeptClimates
from sheetfuncs.hosts.excel.values import in_excel

FUNCTIONS = {function.name: function for function in all_functions()}
DAYS = [[datetime(day.year, day.month, day.day), low, high] for day, low, high in valley_days()[: 4 * 365 + 1]]


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> KeptClimates:
    found = KeptClimates(Cache(tmp_path))
    monkeypatch.setattr(CLIMATES, "find", found.find)
    return found


def call(kept: KeptClimates, name: str, *cells: Any) -> Any:
    return in_excel(FUNCTIONS[name], [cell if isinstance(cell, list) else [[cell]] for cell in cells], kept=kept)


@pytest.fixture
def texts(kept: KeptClimates) -> list[str]:
    """A chain of climates, as a workbook has them."""
    base = call(kept, "climate_of", DAYS)
    wall = call(kept, "climate_at", base, 2.0, 1.0)
    frost = call(kept, "climate_with_frost", wall, datetime(2026, 10, 10))
    until = call(kept, "climate_until", frost, datetime(2018, 7, 1))
    return [base, wall, frost, until]


def test_a_new_process_answers_at_once(kept, texts):
    answers = [call(kept, "latest_prune_date", text, 2026, 1150, 0.5) for text in texts]
    assert len(set(map(str, answers))) > 1
    CLIMATES.clear()
    assert [call(kept, "latest_prune_date", text, 2026, 1150, 0.5) for text in reversed(texts)] == answers[::-1]


def test_without_what_was_kept_it_says_what_to_do(kept, texts, tmp_path):
    CLIMATES.clear()
    for path in tmp_path.iterdir():
        path.unlink()
    assert call(kept, "latest_prune_date", texts[-1], 2026, 1150, 0.5).startswith("Check: climate not loaded here")


def test_no_other_climate_is_taken_for_it(kept, texts, tmp_path):
    """A file that names a call with another answer, a function that makes no climate, a circle, nonsense."""
    base, wall, *_ = texts
    path = next(path for path in tmp_path.iterdir() if json.loads(path.read_text())["value"][0] == wall)
    held = json.loads(path.read_text())
    _, name, epoch, cells = held["value"]
    for value in (
        [wall, name, epoch, [base, 3.0, 1.0]],
        [wall, "latest_prune_date", epoch, cells],
        [wall, name, epoch, [wall, 0.0, 0.0]],
        [wall, name, epoch, {}],
        [base, name, epoch, cells],
        [wall, name, "x", cells],
        [wall],
        None,
    ):
        path.write_text(json.dumps({**held, "value": value}))
        CLIMATES.clear()
        assert call(kept, "latest_prune_date", wall, 2026, 1150, 0.5).startswith("Check: climate not loaded here")
    path.write_text(json.dumps(held))
    assert not str(call(kept, "latest_prune_date", wall, 2026, 1150, 0.5)).startswith("Check")


def test_what_asks_for_something_is_not_kept(kept, tmp_path):
    assert call(kept, "climate_of", [["x", 1.0, 2.0]]).startswith("Check:")
    assert list(tmp_path.iterdir()) == []
