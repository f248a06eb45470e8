"""Recalculating a book of 1,000 trees and 30 seasons, beside the engine's own time with functions that do nothing."""

from __future__ import annotations

import dataclasses
import random
import resource
import tempfile
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import sheetfuncs
from sheetfuncs.functions.declare import Function
from sheetfuncs.hosts.workbook_file import recalculate
from sheetfuncs.hosts.workbook_file.book import Book
from sheetfuncs.hosts.workbook_file.engine import Evaluation
from sheetfuncs.hosts.workbook_file.package import Package
from sheetfuncs.hosts.workbook_file.prepare import copy_for_engine, plan
from sheetfuncs.season.normals import daily_from_monthly
from sheetfuncs.template import book as template
from sheetfuncs.template.invented import demo_contents

from .measure import Ratio, in_turn

TREES, SEASONS, LAST = 1000, 30, 2025


class Constant:
    """A function by name that gives the same answer to everything."""

    def __init__(self, function: Function) -> None:
        """Take the name of a declared function and an answer of its kind."""
        self.worksheet_name = function.worksheet_name
        one: Any = {"date": date(2026, 7, 1), "climate": "30 seasons · 0", "text": "so"}.get(function.result.name, 0.5)
        self._answer = [[one] * len(function.headings)] if function.shape == "row" else one
        self._function = function

    def in_cell(self, cells: Any, epoch: date) -> Any:
        """Answer whatever is asked."""
        return self._answer

    def __getattr__(self, name: str) -> Any:
        return getattr(self._function, name)


def _contents() -> Any:
    """Return the demo's contents with a thousand trees and thirty seasons of weather."""
    contents = demo_contents()
    chosen = random.Random(1)
    lows = daily_from_monthly([-4, -3, 1, 5, 9, 13, 16, 15, 11, 6, 1, -3])
    highs = daily_from_monthly([4, 7, 12, 18, 24, 29, 32, 31, 26, 18, 10, 5])
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
    sheets, speller = plan(book, functions)
    speller.find_unknown(list({planned.facts for sheet in sheets for planned in sheet.cells}))
    return copy_for_engine(book, sheets, speller), book


def run() -> list[Ratio]:
    """Time both."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.xlsx"
        template.assemble(_contents(), TREES).save(path)
        functions = sheetfuncs.all_functions()
        copy, book = _prepared(path, functions)
        constants = [Constant(function) for function in functions]
        out = Path(folder) / "out.xlsx"
        done = recalculate(path, out)
        print(f"{done.formulas:,} formulas, {done.ours:,} with functions of ours, {len(done.checks):,} say Check")
        ratio = in_turn(
            f"recalculating {TREES:,} trees / engine alone with constants",
            lambda: recalculate(path, out),
            lambda: Evaluation(copy, constants, book.epoch, book.iterates, lambda calls: None),
            rounds=5,
            target="at most 3",
        )
        print(f"most memory so far {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:,.0f} MiB")
        return [ratio]
