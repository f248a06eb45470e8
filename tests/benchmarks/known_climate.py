"""A call on a known climate of 30 seasons beside the same answer by numpy from the daily values each time."""

from __future__ import annotations

from datetime import date

import numpy as np

import sheetfuncs
from tests import records

from .measure import Ratio, in_turn, peak_memory

SEASON, NEED, LAG = 2021, 1300 * 1.8, 10
BASE, CEILING, FROST, STALL = 46.4, 96.8, 32.09, 53.6


def _thirty_seasons() -> list:
    return [row for row in records.clemson() if date(1991, 1, 1) <= row[0] < date(2021, 1, 1)]


def _by_season(rows: list) -> tuple[np.ndarray, np.ndarray]:
    """Return lows and highs as arrays of seasons by days from 1 January, 29 February left out."""
    grid = np.full((2, 30, 365), np.nan)
    for day, low, high in rows:
        if (day.month, day.day) != (2, 29) and low is not None and high is not None:
            number = day.replace(year=2001).timetuple().tm_yday - 1
            grid[:, day.year - 1991, number] = low, high
    flat = grid.reshape(2, -1)
    for values in flat:
        missing = np.isnan(values)
        values[missing] = np.interp(np.flatnonzero(missing), np.flatnonzero(~missing), values[~missing])
    lows, highs = grid
    return lows, highs


def _heat(lows: np.ndarray, highs: np.ndarray) -> np.ndarray:
    mean, amplitude = (lows + highs) / 2, (highs - lows) / 2

    def above(x: float) -> np.ndarray:
        with np.errstate(invalid="ignore", divide="ignore"):
            angle = np.arcsin(np.clip((x - mean) / amplitude, -1, 1))
        return ((mean - x) * (np.pi / 2 - angle) + amplitude * np.cos(angle)) / np.pi

    return np.nan_to_num(above(BASE) - above(CEILING))


def _last_starts(lows: np.ndarray, highs: np.ndarray) -> np.ndarray:
    heat = _heat(lows, highs)
    week = np.lib.stride_tricks.sliding_window_view((lows + highs) / 2, 7, axis=1).mean(axis=2)
    freeze = np.where(lows[:, 212:] <= FROST, np.arange(212, 365), 365).min(axis=1)
    stall = np.where(week[:, 206:] < STALL, np.arange(212, 365), 365).min(axis=1)
    total = np.concatenate([np.zeros((30, 1)), heat.cumsum(axis=1)], axis=1)
    at_end = np.take_along_axis(total, np.minimum(freeze, stall)[:, None], axis=1)
    return (total <= at_end - NEED).sum(axis=1) - 1


def numpy_last_date(lows: np.ndarray, highs: np.ndarray) -> int:
    """Return the day number of the last cut date at chance 0.8."""
    return int(np.sort(_last_starts(lows, highs))[30 - 24]) - LAG


def numpy_chance(lows: np.ndarray, highs: np.ndarray, cut: int) -> float:
    """Return the chance of a cut on a day number."""
    return float((_last_starts(lows, highs) >= cut + LAG).mean())


def run() -> list[Ratio]:
    """Time both; the answers must agree first."""
    rows = _thirty_seasons()
    lows, highs = _by_season(rows)
    climate = sheetfuncs.climate_of(rows, "F")
    functions = {function.name: function for function in sheetfuncs.all_functions()}
    last, chance = functions["latest_prune_date"].in_cell, functions["ripen_chance"].in_cell
    cell = functions["climate_of"].in_cell([[list(row) for row in rows], "F"])
    ours = sheetfuncs.latest_prune_date(climate, SEASON, NEED)
    assert abs((ours - date(SEASON, 1, 1)).days - numpy_last_date(lows, highs)) <= 1, "the two answers differ"
    cut = date(SEASON, 7, 10)
    number = (cut - date(SEASON, 1, 1)).days
    target = "at most 0.1"
    print(f"a climate of 30 seasons takes {peak_memory(lambda: sheetfuncs.climate_of(rows, 'F')):.1f} MiB at its peak")
    return [
        in_turn(
            "latest_prune_date, known climate / numpy from daily values",
            lambda: last([cell, SEASON, NEED, 0.8, LAG]),
            lambda: numpy_last_date(lows, highs),
            times=200,
            target=target,
        ),
        in_turn(
            "ripen_chance, known climate / numpy from daily values",
            lambda: chance([cell, cut, NEED, LAG]),
            lambda: numpy_chance(lows, highs, number),
            times=200,
            target=target,
        ),
    ]
