"""The sheet *What would help*: the function's answer for a tree, and for a variety that is only thought of."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any, Callable

import pytest

import sheetfuncs
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.planner.invented import TODAY
from sheetfuncs.planner.sheets import positions, what_would_help

from .conftest import Answers
from .test_answers import at_position, climate  # noqa: F401 - climate is a fixture
from .test_log_and_needs import in_kinds

Typed = Callable[[dict], Answers]


def help_cell(name: str) -> tuple[str, str]:
    return what_would_help.NAME, f"B{what_would_help.CASE.row_of(name)}"


def measures(answers: Answers) -> list[tuple]:
    """Return the lines of the sheet that are not blank."""
    table = what_would_help.TABLE
    lines = (
        tuple(answers.at(table.sheet, f"{table.letter(one.key)}{row}") for one in table.columns)
        for row in range(table.first_row, table.last_row + 1)
    )
    return [line for line in lines if line[0] not in ("", None)]


def as_measures(climate: Any, cut: Any, kind_needs: dict, kind: str, spread: float = 0.06) -> list[tuple]:  # noqa: F811
    stands = [line["name"] for line in positions.STANDING]
    measures = sheetfuncs.what_would_help(
        at_position(climate, "open"), cut, kind_needs[kind], 0.7, need_spread=spread, positions=stands,
        position_climates=[at_position(climate, name) for name in stands],
        varieties=list(kind_needs), variety_needs=list(kind_needs.values()),
    )  # fmt: skip
    return [
        (line[0], "" if line[1] is None else to_serial(line[1]), *(pytest.approx(part) for part in line[2:4]), line[4])
        for line in measures
    ]


def test_what_would_help_is_the_function_s_answer(demo_answers: Answers, climate: Any, answer: Typed) -> None:  # noqa: F811
    names = ("early", "middle", "late", "early, own log")
    needs = {name: in_kinds(demo_answers, "need_in_use", name) for name in names}
    found = measures(demo_answers)
    assert found[0][4] > 0, "the most days first"
    assert found == as_measures(climate, TODAY, needs, "late")
    lead = demo_answers.at(what_would_help.NAME, "A4")
    assert lead.startswith("late at open: last cut date 7 Jun with the chance you want; a cut on 22 Jun ripens figs")
    # A variety one thinks of planting, cut on another day.
    book = answer({help_cell("Help_kind"): "early", help_cell("Help_cut"): datetime(2026, 7, 1)})
    assert measures(book) == as_measures(climate, "2026-07-01", needs, "early")


def test_what_would_help_is_blank_in_a_blank_workbook(blank_path: Path) -> None:
    book = Answers(blank_path)
    assert not measures(book)
    assert book.at(what_would_help.NAME, "A4") == "Fill Place, Weather, Varieties and Positions first."
