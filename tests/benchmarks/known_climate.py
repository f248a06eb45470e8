"""A call on a known climate of 30 seasons beside the same answer by numpy from the daily values each time."""

from __future__ import annotations

import itertools
from datetime import date

import numpy as np
import pandas
from scipy.special import ndtr

import sheetfuncs
from sheetfuncs.cells.kinds import CHANCE, CLIMATE, DATE, DAYS, HEAT_UNITS
from sheetfuncs.cells.kinds import SEASON as SEASON_KIND
from sheetfuncs.functions.declare import Argument, declared
from tests import records

from .measure import Ratio, in_turn, peak_memory, seconds

SEASON, NEED, NEED_SPREAD, LAG = 2021, 1300 * 1.8, 0.06, 10
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


def daily_heat(lows: np.ndarray, highs: np.ndarray) -> np.ndarray:
    """Return the heat of days by a single sine, horizontal cut-off [°F·day]."""
    mean, amplitude = (lows + highs) / 2, (highs - lows) / 2

    def above(x: float) -> np.ndarray:
        with np.errstate(invalid="ignore", divide="ignore"):
            angle = np.arcsin(np.clip((x - mean) / amplitude, -1, 1))
        return ((mean - x) * (np.pi / 2 - angle) + amplitude * np.cos(angle)) / np.pi

    return np.nan_to_num(above(BASE) - above(CEILING))


def _chances(lows: np.ndarray, highs: np.ndarray) -> np.ndarray:
    """Return the chance of ripe figs for figs seen first on each day, 1 January first."""
    heat = daily_heat(lows, highs)
    week = np.lib.stride_tricks.sliding_window_view((lows + highs) / 2, 7, axis=1).mean(axis=2)
    freeze = np.where(lows[:, 212:] <= FROST, np.arange(212, 365), 365).min(axis=1)
    cool = np.where(week[:, 206:] >= STALL, np.arange(213, 366), 212).max(axis=1)
    total = np.concatenate([np.zeros((30, 1)), heat.cumsum(axis=1)], axis=1)
    left = np.maximum(np.take_along_axis(total, np.minimum(freeze, cool)[:, None], axis=1) - total, 0)
    mean = left.mean(axis=0)
    day = np.interp(-NEED, -mean, np.arange(366))
    at_need = left[:, int(day)] + (day % 1) * (left[:, int(day) + 1] - left[:, int(day)])
    deviation = np.hypot(NEED_SPREAD * NEED, at_need.std(ddof=1) * np.sqrt(2 / 30))
    return ndtr((left - NEED) / deviation).mean(axis=0)


def numpy_last_date(lows: np.ndarray, highs: np.ndarray) -> int:
    """Return the day number of the last cut date at chance 0.8."""
    return int(np.flatnonzero(_chances(lows, highs) >= 0.8)[-1]) - LAG


def numpy_chance(lows: np.ndarray, highs: np.ndarray, cut: int) -> float:
    """Return the chance of a cut on a day number."""
    return float(_chances(lows, highs)[cut + LAG])


def pandas_last_date(frame: pandas.DataFrame) -> int:
    """Return the day number of the last cut date at chance 0.8, from rows of day, low, high."""
    by_day = frame[(frame.day.dt.month != 2) | (frame.day.dt.day != 29)]
    number = by_day.day.dt.dayofyear - (by_day.day.dt.is_leap_year & (by_day.day.dt.month > 2))
    by_day = by_day.assign(year=by_day.day.dt.year, number=number)
    lows, highs = (by_day.pivot(index="year", columns="number", values=name) for name in ("low", "high"))
    return numpy_last_date(*(values.interpolate(axis=1).to_numpy() for values in (lows, highs)))


def _climate(first: int) -> str:
    """Return the cell of the climate of the seasons from one on to 2020."""
    rows = [list(row) for row in records.clemson(first, 2020)]
    return _FUNCTIONS["climate_of"].in_cell([rows, "F"])


@declared(
    DATE,
    climate=Argument(CLIMATE, ""),
    season=Argument(SEASON_KIND, ""),
    need=Argument(HEAT_UNITS, ""),
    chance=Argument(CHANCE, ""),
    lag=Argument(DAYS, ""),
)
def bare(climate: object, season: int, need: float, chance: float, lag: int) -> date:
    """Answer the same to everything."""
    return date(SEASON, 7, 1)


_FUNCTIONS = {function.name: function for function in sheetfuncs.all_functions()}


def _single_functions(cell: str) -> list[Ratio]:
    """Time functions beside the bare call."""
    calls = {
        "latest_prune_date": [cell, SEASON, NEED, 0.8, LAG],
        "ripen_chance": [cell, date(SEASON, 7, 1), NEED, LAG],
        "ripen_seasons": [cell, date(SEASON, 7, 1), NEED, LAG],
        "crop_ripe_share": [cell, date(SEASON, 7, 1), NEED],
        "ripen_window": [cell, date(SEASON, 7, 1), NEED],
        "first_frost": [cell, SEASON, 0.1],
        "season_end": [cell, SEASON],
        "heat_units_between": [cell, date(2020, 6, 1), date(2020, 9, 1)],
    }
    floor = bare.declaration.in_cell  # type: ignore[attr-defined]
    ratios = []
    for name, cells in calls.items():
        answer = _FUNCTIONS[name].in_cell
        shown = answer(cells)
        assert not str(shown).startswith("Check:"), (name, shown)
        ratios.append(
            in_turn(
                f"{name}, known climate / a declared function that returns a constant",
                lambda answer=answer, cells=cells: answer(cells),
                lambda: floor([cell, SEASON, NEED, 0.8, LAG]),
                times=500,
                target="at most 2",
            )
        )
    return ratios


def _by_seasons() -> list[Ratio]:
    """Time a call with a need that is new to the climate, on ever longer records."""
    last = _FUNCTIONS["latest_prune_date"].in_cell
    needs = itertools.count(1000)
    climates = {seasons: _climate(2021 - seasons) for seasons in (10, 30, 90)}

    def new_need(seasons: int) -> object:
        return last([climates[seasons], SEASON, 2000 + next(needs) / 1000, 0.8, LAG])

    def beside(more: int, fewer: int) -> Ratio:
        name = f"a need that is new, {more} seasons / {fewer}"
        return in_turn(name, lambda: new_need(more), lambda: new_need(fewer), times=200)

    return [beside(30, 10), beside(90, 30)]


def run() -> list[Ratio]:
    """Time both; the answers must agree first."""
    rows = _thirty_seasons()
    lows, highs = _by_season(rows)
    climate = sheetfuncs.climate_of(rows, "F")
    frame = pandas.DataFrame(rows, columns=["day", "low", "high"])
    frame["day"] = pandas.to_datetime(frame["day"])
    last, chance = _FUNCTIONS["latest_prune_date"].in_cell, _FUNCTIONS["ripen_chance"].in_cell
    cell = _FUNCTIONS["climate_of"].in_cell([[list(row) for row in rows], "F"])
    ours = sheetfuncs.latest_prune_date(climate, SEASON, NEED)
    assert abs((ours - date(SEASON, 1, 1)).days - numpy_last_date(lows, highs)) <= 1, "the two answers differ"
    assert abs(pandas_last_date(frame) - numpy_last_date(lows, highs)) <= 1
    cut = date(SEASON, 7, 10)
    number = (cut - date(SEASON, 1, 1)).days
    target = "at most 0.02"
    needs = itertools.count(1)
    made = seconds(lambda: climate.curve(SEASON, NEED + next(needs), NEED_SPREAD).last_start(0.8), 100)
    print(f"a curve of chances with its first last date takes {made * 1e3:.2f} ms at 30 seasons (target: at most 2)")
    whole = sheetfuncs.climate_of([list(row) for row in records.clemson()], "F")
    back = seconds(lambda: sheetfuncs.promise_kept(whole, NEED))
    print(f"looking back over 85 seasons on three days each takes {back:.2f} s (target: at most 0.5)")
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
            "latest_prune_date, known climate / pandas from rows of days",
            lambda: last([cell, SEASON, NEED, 0.8, LAG]),
            lambda: pandas_last_date(frame),
            target=target,
        ),
        in_turn(
            "ripen_chance, known climate / numpy from daily values",
            lambda: chance([cell, cut, NEED, LAG]),
            lambda: numpy_chance(lows, highs, number),
            times=200,
            target=target,
        ),
        *_single_functions(cell),
        *_by_seasons(),
    ]
