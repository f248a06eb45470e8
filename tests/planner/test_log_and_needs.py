"""The log's lines, and the needs that they teach."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import openpyxl
import pytest

from sheetfuncs.planner.build import DEMO_TREES
from sheetfuncs.planner.invented import LOG
from sheetfuncs.planner.sheets import (
    log,
)
from sheetfuncs.planner.sheets import varieties as kinds

from .conftest import Answers
from .test_answers import at_position, cell, climate, learned, setting  # noqa: F401 - climate is a fixture
from .test_year import Typed, at_midnight

# -- log and kinds ---------------------------------------------------------------------------------------------


def in_kinds(answers: Answers, key: str, kind: str) -> Any:
    names = [answers.at("Varieties", f"A{row}") for row in range(kinds.TABLE.first_row, kinds.TABLE.last_row + 1)]
    return answers.at("Varieties", f"{kinds.TABLE.letter(key)}{kinds.TABLE.first_row + names.index(kind)}")


@pytest.mark.parametrize(("kind", "table"), [("early", 1150), ("middle", 1300), ("early, own log", 1040)])
def test_the_log_teaches_each_kind_from_its_own_lines(
    kind: str, table: float, demo_answers: Answers, climate: Any  # noqa: F811
) -> None:
    need, lines, miss, _, spread = learned(climate, kind, None, table, 0.12 if kind == "early, own log" else 0.06)
    assert in_kinds(demo_answers, "uncertainty_left", kind) == pytest.approx(spread)
    assert lines == sum(line["kind"] == kind and line["first_ripe"] is not None for line in LOG)
    assert in_kinds(demo_answers, "learned", kind) == pytest.approx(need)
    assert in_kinds(demo_answers, "learned_from", kind) == lines
    assert in_kinds(demo_answers, "miss", kind) == pytest.approx(miss)
    assert in_kinds(demo_answers, "not_counted", kind) == "all count"


def in_pairs(answers: Answers) -> dict[tuple[str, str], dict[str, Any]]:
    """Return the lines of the second table on *Kinds* by kind and position."""
    rows = {}
    for row in range(kinds.PAIRS.first_row, kinds.PAIRS.last_row + 1):
        line = {one.key: answers.at("Varieties", f"{kinds.PAIRS.letter(one.key)}{row}") for one in kinds.PAIRS.columns}
        if line["kind"]:
            rows[line["kind"], line["position"]] = line
    return rows


def test_the_log_teaches_each_kind_position_by_position(demo_answers: Answers, climate: Any) -> None:  # noqa: F811
    rows = in_pairs(demo_answers)
    assert list(rows) == list(dict.fromkeys((line["kind"], line["position"]) for line in LOG if line["first_ripe"]))
    tables = {"early": 1150, "middle": 1300, "early, own log": 1040}
    for (kind, position), row in rows.items():
        before = 0.12 if kind == "early, own log" else 0.06
        need, lines, miss, _, spread = learned(climate, kind, position, tables[kind], before)
        assert row["uncertainty"] == pytest.approx(spread)
        assert (row["learned"], row["learned_from"], row["miss"]) == (pytest.approx(need), lines, miss)
        assert row["in_use"] == ("yes" if kind == "middle" else "no")
    assert sum(row["learned_from"] for row in rows.values()) == sum(line["first_ripe"] is not None for line in LOG)


def test_trees_take_the_need_of_their_position_where_it_is_chosen(answer: Typed, demo_answers: Answers) -> None:
    row = kinds.TABLE.first_row + 1
    rows = in_pairs(demo_answers)
    for tag, there in (("P-03", "south wall"), ("P-04", "unheated tunnel")):
        assert demo_answers.at("Trees", cell("need", tag)) == rows["middle", there]["learned"]
    # No line of the log at this one's position: what the kind teaches anywhere.
    assert demo_answers.at("Trees", cell("need", "P-09")) == in_kinds(demo_answers, "learned", "middle")
    logged = answer({("Varieties", f"{kinds.TABLE.letter('use')}{row}"): "log"})
    for tag in ("P-03", "P-04", "P-09"):
        assert logged.at("Trees", cell("need", tag)) == in_kinds(demo_answers, "learned", "middle")
    # Who does nothing has the table's.
    table = answer({("Varieties", f"{kinds.TABLE.letter('use')}{row}"): None})
    for tag in ("P-03", "P-04", "P-09"):
        assert table.at("Trees", cell("need", tag)) == 1300
    assert in_kinds(table, "learned", "middle") == in_kinds(demo_answers, "learned", "middle")
    assert {line["in_use"] for line in in_pairs(table).values()} == {"no"}


def test_a_kind_may_learn_from_one_position_only(answer: Typed, climate: Any) -> None:  # noqa: F811
    learn_at = "Varieties", f"{kinds.TABLE.letter('learn_at')}{kinds.TABLE.first_row + 1}"
    book = answer({learn_at: "south wall"})
    need, lines, *_ = learned(climate, "middle", "south wall", 1300)
    assert in_kinds(book, "learned", "middle") == pytest.approx(need)
    assert in_kinds(book, "learned_from", "middle") == lines
    nowhere = answer({learn_at: "roof"})
    assert in_kinds(nowhere, "need_in_use", "middle").startswith("Check: no line of the log")


def test_a_line_without_a_position_is_named_and_the_others_count(answer: Typed) -> None:
    row = log.TABLE.first_row + next(number for number, line in enumerate(LOG) if line["kind"] == "early")
    for typed, words in ((None, "no climate"), ("roof", 'climate says: position is "roof", wanted a position')):
        book = answer({("Log", f"{log.TABLE.letter('position')}{row}"): typed})
        assert in_kinds(book, "learned_from", "early") == 5
        assert in_kinds(book, "not_counted", "early").startswith(f"Check: line {row}: {words}")


def test_a_log_line_moves_the_need_in_use_only_where_the_log_is_chosen(answer: Typed, demo_answers: Answers) -> None:
    ripe = log.TABLE.letter("first_ripe")
    moved = {
        ("Log", f"{ripe}{row}"): at_midnight(line["first_ripe"] + timedelta(days=9))
        for row, line in enumerate(LOG, start=log.TABLE.first_row)
        if line["first_ripe"]
    }
    later = answer(moved)
    for kind, moves in (("middle", True), ("early", False), ("late", False)):
        before, after = (in_kinds(book, "need_in_use", kind) for book in (demo_answers, later))
        assert (after > before) is moves, kind
    assert in_kinds(later, "learned", "early") > in_kinds(demo_answers, "learned", "early")
    assert later.day("Trees", cell("latest", "P-03")) < demo_answers.day("Trees", cell("latest", "P-03"))


def test_a_line_that_cannot_be_is_named_and_the_others_count(answer: Typed) -> None:
    row = log.TABLE.first_row + next(
        number for number, line in enumerate(LOG) if (line["kind"], line["position"]) == ("early", "open")
    )
    book = answer({("Log", f"{log.TABLE.letter('first_ripe')}{row}"): datetime(2023, 5, 1)})
    assert in_kinds(book, "learned_from", "early") == 5
    assert in_kinds(book, "not_counted", "early").startswith(f"Check: line {row}: ripe before")


def test_the_log_chosen_without_a_line_is_a_check(answer: Typed) -> None:
    row = kinds.TABLE.first_row + 2
    book = answer({("Varieties", f"{kinds.TABLE.letter('use')}{row}"): "log"})
    assert in_kinds(book, "need_in_use", "late").startswith("Check: no line of the log")
    assert book.at("Trees", cell("advice", "P-08")) == "see Varieties"


def test_the_log_holds_ten_years_of_each_tree_and_its_last_line_teaches_as_the_first(
    answer: Typed, demo_answers: Answers, demo: openpyxl.Workbook
) -> None:
    sheet, (table,) = demo["Log"], log.page(DEMO_TREES).tables
    assert table.rows == 10 * DEMO_TREES
    assert log.page(DEMO_TREES, 2000).tables[0].rows >= 2000 + DEMO_TREES  # carried lines, and a year's more
    for one in table.columns:
        cells = [sheet[f"{table.letter(one.key)}{row}"] for row in (table.first_row, table.last_row)]
        assert len({(each.number_format, each.fill.fgColor.rgb, each.protection.locked) for each in cells}) == 1
        assert all(str(each.value).startswith("=") for each in cells) is bool(one.formula), one.heading
    line = next(one for one in LOG if (one["kind"], one["position"]) == ("early", "open"))
    typed = {
        ("Log", f"{table.letter(key)}{table.last_row}"): at_midnight(value) if isinstance(value, date) else value
        for key, value in line.items()
    }
    book = answer(typed)
    assert in_kinds(book, "learned_from", "early") == in_kinds(demo_answers, "learned_from", "early") + 1
    first = next(row for row, one in enumerate(LOG, start=table.first_row) if one is line)
    for one in table.columns:
        if one.formula and one.key != "pair":
            letter = table.letter(one.key)
            assert book.at("Log", f"{letter}{table.last_row}") == book.at("Log", f"{letter}{first}") != "", one.heading
    assert "lines print" in book.at("Log", "A4")
    assert "lines print" not in demo_answers.at("Log", "A4")
