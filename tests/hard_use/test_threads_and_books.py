"""Several threads, many books, climates without end: answers as when alone, memory within a bound."""

from __future__ import annotations

import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest

import sheetfuncs
from sheetfuncs.cells.climates import CLIMATES, Shelf
from sheetfuncs.cells.errors import InputError
from sheetfuncs.functions.examples import VALLEY_NORMALS, valley_days
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from .arguments import FUNCTIONS

ROOT = Path(__file__).resolve().parents[2]
#: What twenty recalculations with ever new climates may add to a process once twenty have filled its shelf [MiB].
MOST_ADDED = 9


def a_place(path: Path, colder: float, frost: date, trees: int = 12) -> Path:
    """Save a book of one place: its own record, frost and trees."""
    book = openpyxl.Workbook()
    sheet = book.active
    for day, low, high in valley_days():
        sheet.append([(day - date(1899, 12, 30)).days, low - colder, high - colder])
    last = sheet.max_row
    sheet["E1"], sheet["E2"] = f"=CLIMATE_OF(A1:C{last})", "=CLIMATE_WITH_FROST(E1,G1)"
    sheet["G1"] = (frost - date(1899, 12, 30)).days
    for row in range(1, trees + 1):
        sheet[f"H{row}"] = 800 + 20 * row
        sheet[f"I{row}"] = f"=LATEST_PRUNE_DATE($E$2,2026,H{row})"
        sheet[f"J{row}"] = f"=RIPEN_CHANCE(CLIMATE_AT($E$2,{row}/10,0),DATE(2026,6,{row}),H{row})"
    book.save(path)
    return path


@pytest.mark.parametrize(
    ("functions", "number_of_books"),
    [pytest.param(None, 3, id="each in a process"), pytest.param(sheetfuncs.all_functions(), 5, id="in this process")],
)
def test_books_recalculated_at_once_are_as_when_alone(tmp_path: Path, functions: Any, number_of_books: int) -> None:
    books = [
        a_place(tmp_path / f"place{number}.xlsx", number / 2, date(2026, 9, 25) + timedelta(days=4 * number))
        for number in range(number_of_books)
    ]
    for path in books:
        recalculate(path, path.with_suffix(".alone.xlsx"), functions)
    alone = {path: read_values(path.with_suffix(".alone.xlsx")) for path in books}
    assert len({str(values) for values in alone.values()}) == len(books)
    CLIMATES.clear()
    with ThreadPoolExecutor(len(books)) as pool:
        list(pool.map(lambda path: recalculate(path, path.with_suffix(".threads.xlsx"), functions), books))
    for path in books:
        assert path.with_suffix(".threads.xlsx").read_bytes() == path.with_suffix(".alone.xlsx").read_bytes()


def test_functions_called_at_once_are_as_when_alone() -> None:
    """More climates than the shelf holds, used by many threads in every order."""
    valley = sheetfuncs.climate_of(valley_days())
    frosts = [date(2026, 9, 1) + timedelta(days=step) for step in range(70)]

    def dates(frost: date) -> list[object]:
        climate = sheetfuncs.climate_with_frost(valley, frost)
        return [
            sheetfuncs.season_end(climate, 2026),
            sheetfuncs.ripen_window(climate, date(2026, 6, 1), 1000),
            sheetfuncs.ripen_chance(climate, date(2026, 6, 10), 1000),
        ]

    alone = [dates(frost) for frost in frosts]
    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(dates, frosts * 2)) == alone * 2


def test_one_climate_shared_by_threads_before_anything_of_it_is_known() -> None:
    """What a climate works out at first is the same whoever is first."""
    days = [date(2026, 5, 1) + timedelta(days=step) for step in range(60)]
    wanted = sheetfuncs.climate_of(valley_days())
    alone = [sheetfuncs.ripen_chance(wanted, day, 1000) for day in days]
    for _ in range(3):
        fresh = sheetfuncs.climate_of(valley_days())
        start = threading.Barrier(6)

        def chances(first: int, fresh: object = fresh, start: threading.Barrier = start) -> list[float]:
            start.wait()
            return [sheetfuncs.ripen_chance(fresh, day, 1000) for day in days[first:] + days[:first]]

        with ThreadPoolExecutor(6) as pool:
            for first, found in zip(range(6), pool.map(chances, range(6))):
                assert found == alone[first:] + alone[:first]


class TestShelf:
    def test_the_one_used_longest_ago_goes(self) -> None:
        shelf: Shelf[str] = Shelf(room=3)
        for thing in ("a", "b", "c"):
            shelf.put(thing)
        shelf.get("a")
        shelf.put("d")
        assert [shelf.get(thing) for thing in ("a", "c", "d")] == ["a", "c", "d"]
        with pytest.raises(InputError, match=r"climate not loaded here, recalculate the whole workbook"):
            shelf.get("b")

    def test_an_old_climate_comes_back_when_its_cell_is_recalculated(self) -> None:
        of, made, end_of = (FUNCTIONS[name].in_cell for name in ("climate_of", "climate_with_frost", "season_end"))
        normals = [list(row) for row in VALLEY_NORMALS]
        valley = of([normals])
        first = made([valley, date(2026, 9, 1)])
        end = end_of([first, 2026])
        for step in range(1, 120):
            of([normals])  # as the sheet's cell stays in use
            made([valley, date(2026, 9, 1) + timedelta(days=step)])
        assert end_of([first, 2026]).startswith("Check: climate not loaded here, recalculate the whole workbook")
        assert made([valley, date(2026, 9, 1)]) == first
        assert end_of([first, 2026]) == end

    def test_threads_leave_it_whole(self) -> None:
        shelf: Shelf[str] = Shelf(room=10)

        def use(number: int) -> None:
            for step in range(300):
                text = f"{number} {step % 17}"
                with shelf.keeping_all():
                    shelf.put(text)
                    assert shelf.get(text) == text

        with ThreadPoolExecutor(8) as pool:
            list(pool.map(use, range(8)))
        assert len(shelf._things) <= 10
        assert shelf._keepers == 0


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="this system hides the memory of a process")
def test_memory_over_many_recalculations_has_a_bound() -> None:
    """Forty recalculations, each with another record and frost date and so other climates, in one process."""
    line = [sys.executable, "-m", "tests.hard_use.memory", "--times", "40"]
    done = subprocess.run(line, cwd=ROOT, capture_output=True, text=True, check=True)
    after_half, after_all, held = map(float, done.stdout.split()[-3:])
    assert held <= 96
    assert after_all - after_half < MOST_ADDED, done.stdout
