"""Recalculating a book of 1,000 trees and 30 seasons beside the engine alone with functions that give a constant."""

from __future__ import annotations

import random
import tempfile
from datetime import datetime, time, timedelta
from pathlib import Path

import formualizer
import openpyxl

from sheetfuncs.functions import all_functions
from sheetfuncs.hosts.workbook_file import read_values, recalculate
from sheetfuncs.template import build_demo, trees, weather
from tests import records

from .measure import Ratio, in_turn, peak_memory

TREES = 1000


def make_book(folder: Path) -> Path:
    """Save a book of 1,000 trees, no two rows alike, and 30 seasons of a real record; nothing is evaluated yet."""
    path = build_demo(folder / "book.xlsx", trees=TREES)
    book = openpyxl.load_workbook(path)
    sheet, first = book[trees.NAME], trees.HEADING_ROW + 1
    typed = [column for column in range(1, 10) if not str(sheet.cell(first, column).value).startswith("=")]
    filled = [row for row in range(first, first + TREES) if sheet.cell(row, 1).value]
    chance = random.Random(7)
    for row in range(first, first + TREES):
        like = chance.choice(filled)
        for column in typed[1:]:
            sheet.cell(row, column).value = sheet.cell(like, column).value
        sheet.cell(row, 1).value = f"T-{row}"
        if chance.random() < 0.5:
            sheet.cell(row, 9).value = datetime(2026, 6, 1) + timedelta(days=chance.randrange(90))
    days = book[weather.NAME]
    top = weather.DAYS.first_row
    days_of_30_seasons = records.in_celsius(records.clemson(1991, 2020))
    for row in range(top, max(days.max_row, top + len(days_of_30_seasons)) + 1):
        values = days_of_30_seasons[row - top] if row - top < len(days_of_30_seasons) else (None,) * 3
        for column, value in enumerate(values, start=1):
            days.cell(row, column).value = datetime.combine(value, time()) if column == 1 and value else value
    book.save(path)
    return path


def engine_alone(path: Path, parallel: bool) -> None:
    """Load a book and evaluate it with functions that give a constant."""
    settings = formualizer.EvaluationConfig()
    settings.enable_parallel = parallel
    book = formualizer.Workbook.from_path(str(path), config=formualizer.WorkbookConfig(eval_config=settings))
    for function in all_functions():
        book.register_function(function.worksheet_name, lambda *_: 1.0)
    book.evaluate_all()


def run() -> list[Ratio]:
    """Time both on one book, in which every value is new, so that all of them are written."""
    with tempfile.TemporaryDirectory() as folder:
        path, out = make_book(Path(folder)), Path(folder, "out.xlsx")
        result = recalculate(path, out)
        answers = read_values(out)[trees.NAME]
        first = trees.HEADING_ROW + 1
        dates = {answers[f"J{row}"] for row in range(first, first + TREES)}
        assert all(isinstance(value, datetime) for value in dates), "a tree has no last date"
        print(f"{result.formulas:,} formulas, {result.ours:,} with functions of ours, {len(dates)} last dates")
        print(f"most memory taken by Python objects: {peak_memory(lambda: recalculate(path, out)):.0f} MiB")

        def ours() -> None:
            recalculate(path, out)

        return [
            in_turn("recalculate / engine alone", ours, lambda: engine_alone(path, True), target="at most 3"),
            in_turn("recalculate / engine alone, on one thread", ours, lambda: engine_alone(path, False)),
        ]
