"""Recalculating books of ever more trees, beside the same with functions that return a constant.

The lean books hold 50 years of weather and, a tree, three functions of ours and two formulas of the engine's own; each
is measured in a process of its own, with the most memory it took. The large one is the template with 1,000 trees,
beside the engine's evaluation alone.
"""

from __future__ import annotations

import dataclasses
import random
import statistics
import tempfile
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import openpyxl

import sheetfuncs
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.planner import build as template
from sheetfuncs.planner.invented import demo_contents
from sheetfuncs.recalc import recalculate
from sheetfuncs.recalc.engine import Evaluation, Job
from sheetfuncs.recalc.plan import Plan
from sheetfuncs.recalc.prepare import copy_for_engine
from sheetfuncs.recalc.reading import Formulas
from sheetfuncs.recalc.spelling import spell
from sheetfuncs.season.normals import daily_from_monthly
from sheetfuncs.xlsx.package import Package
from sheetfuncs.xlsx.workbook import Book
from tests import records

from .constants import Constant
from .measure import Ratio, in_child, in_turn

TREES, SEASONS, LAST = 1000, 30, 2025
#: Trees of the lean books, and how often each is measured.
LEAN = {100: 5, 1_000: 5, 10_000: 3}


def _contents() -> Any:
    """Return the demo's contents with a thousand trees and thirty seasons of weather."""
    contents = demo_contents()
    chosen = random.Random(1)
    lows = daily_from_monthly((-4, -3, 1, 5, 9, 13, 16, 15, 11, 6, 1, -3))
    highs = daily_from_monthly((4, 7, 12, 18, 24, 29, 32, 31, 26, 18, 10, 5))
    weather, day = [], date(LAST - SEASONS + 1, 1, 1)
    while day.year <= LAST:
        number = min(day.timetuple().tm_yday, 365) - 1
        swing = chosen.gauss(0, 2.5)
        weather.append((day, round(lows[number] + swing, 1), round(highs[number] + swing, 1)))
        day += timedelta(days=1)
    trees = [dict(tree, tag=f"T-{number}") for number, tree in enumerate(list(contents.trees) * 34)][:TREES]
    return dataclasses.replace(contents, weather=tuple(weather), trees=tuple(trees))


def _prepared(path: Path, functions: tuple) -> tuple[bytes, Book]:
    book = Book(Package(path.read_bytes(), path.name))
    formulas = Formulas(book, functions)
    plan = Plan(formulas)
    spell(formulas, functions, book.shared_strings)
    return copy_for_engine(book, plan.sheets), book


def _write_lean(path: Path, trees: int) -> Path:
    """Write a book of so many trees over 50 years of a real record."""
    book = openpyxl.Workbook(write_only=True)
    weather, sheet = book.create_sheet("Weather"), book.create_sheet("Trees")
    days = records.clemson(1971, 2020)
    for day, low, high in days:
        weather.append([to_serial(day), low, high])
    sheet.append([f'=CLIMATE_OF(Weather!A1:C{len(days)},"F")', "=CLIMATE_WITH_FROST(A1,B2)"])
    sheet.append([None, to_serial(date(2020, 11, 1))])
    for row in range(3, trees + 3):
        sheet.append([
            1900 + row % 400, f"=LATEST_PRUNE_DATE($B$1,2021,A{row},0.8,10)", f"=B{row}-14",
            f"=RIPEN_CHANCE($B$1,C{row},A{row})", f"=RIPEN_WINDOW($B$1,C{row},A{row})", f'=IF(D{row}>0.8,"yes","no")',
        ])  # fmt: skip
    book.save(path)
    return path


def _lean(folder: Path) -> list[Ratio]:
    ratios, medians = [], {}
    for trees, rounds in LEAN.items():
        path = _write_lean(folder / f"{trees}.xlsx", trees)
        found: dict[str, list[dict[str, float]]] = {"recalculate": [], "constants": []}
        for _ in range(rounds):
            for what, results in found.items():
                results.append(in_child("constants", what, path))
        ours, floor = (statistics.median(one["seconds"] for one in results) for results in found.values())
        own, started = (max(one[key] for one in found["recalculate"]) for key in ("self", "started"))
        medians[trees] = ours
        memory = f"{own:.0f} + {started:.0f} MiB" if started else f"{own:.0f} MiB"
        ratios.append(Ratio(f"{trees:,} trees, lean ({memory}) / the same with constants", ours, floor, "at most 1.5"))
    fewer, middle, more = medians.values()
    return [
        *ratios,
        Ratio("1,000 trees, lean / 100", middle, fewer, "10: linear"),
        Ratio("10,000 trees, lean / 1,000", more, middle, "10: linear"),
    ]


def _large(folder: Path) -> Ratio:
    path = folder / "large.xlsx"
    template.assemble(_contents(), TREES).save(path)
    functions = sheetfuncs.all_functions()
    copy, book = _prepared(path, functions)
    constants = [Constant(function) for function in functions]
    done = recalculate(path, folder / "out.xlsx")
    print(f"the template: {done.formulas:,} formulas, {done.ours:,} with functions of ours")
    return in_turn(
        f"the template with {TREES:,} trees / engine alone with constants",
        lambda: recalculate(path, folder / "out.xlsx"),
        lambda: Evaluation(Job(copy, book.epoch, book.iterates), constants),
        rounds=5,
        target="at most 1.5",
    )


def run() -> list[Ratio]:
    """Time all."""
    with tempfile.TemporaryDirectory() as folder:
        return [*_lean(Path(folder)), _large(Path(folder))]
