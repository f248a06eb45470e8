"""Making a climate from 18,000 days of cells, beside merely reading these cells into Python in the same engine."""

from __future__ import annotations

import gc
from datetime import date
from typing import Any, Callable

import formualizer
import numpy as np
import pandas

import sheetfuncs
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.recalc.engine import from_engine
from tests import records

from .known_climate import daily_heat
from .measure import Ratio, in_turn, peak_memory

FIRST, LAST = 1971, 2020


def cells() -> list[list[Any]]:
    """Return 50 years of a real record, in °F, as a sheet holds them."""
    return [[to_serial(day), low, high] for day, low, high in records.clemson(FIRST, LAST)]


def _asking_engine(rows: list[list[Any]], answer: Callable[[Any], Any]) -> Callable[[], object]:
    """Return what has the engine hand the range to a function once."""
    book = formualizer.Workbook()
    book.add_sheet("S")
    book.set_values_batch("S", 1, 1, rows)
    book.register_function("MADE_HERE", lambda cells: answer(from_engine(cells)), allow_override_builtin=True)

    def ask() -> object:
        book.set_formula("S", 1, 5, f"=MADE_HERE(A1:C{len(rows)})")
        book.evaluate_all()
        return book.get_value("S", 1, 5)

    return ask


def _by_pandas(rows: list[list[Any]]) -> object:
    """Return a frame by day with its heat; what is refused or filled, and complete seasons, are not in it."""
    frame = pandas.DataFrame(rows, columns=["day", "low", "high"], dtype=float).set_index("day")
    frame = frame.reindex(np.arange(frame.index[0], frame.index[-1] + 1)).interpolate(limit=3, limit_area="inside")
    frame["heat"] = daily_heat(frame["low"].to_numpy(), frame["high"].to_numpy())
    return frame


def run() -> list[Ratio]:
    """Time all; without the search for garbage, as a recalculation runs."""
    rows = cells()
    make = {function.name: function for function in sheetfuncs.all_functions()}["climate_of"].in_cell

    def made() -> Any:
        return sheetfuncs.climate_of(rows, "F")

    def made_with_heat() -> object:
        return made().days.heat

    print(f"{len(rows):,} days; making takes {peak_memory(made_with_heat):.1f} MiB at its peak")
    assert made().season_of(date(2000, 7, 1)) == 2000
    reading = _asking_engine(rows, lambda cells: float(len(cells)))
    gc.disable()
    try:
        return [
            in_turn(
                "CLIMATE_OF in the engine / a function that only has its cells read",
                _asking_engine(rows, lambda cells: make([cells, "F"])),
                reading,
                target="at most 3",
            ),
            in_turn("making alone / reading", made, reading, target="at most 3"),
            in_turn("making, and its heat / reading", made_with_heat, reading),
            in_turn("making, and its heat / pandas and numpy", made_with_heat, lambda: _by_pandas(rows)),
        ]
    finally:
        gc.enable()
