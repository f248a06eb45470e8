"""Every formula is one that all hosts can read."""

from __future__ import annotations

import re

import formualizer
import openpyxl
import pytest
from openpyxl.formula import Tokenizer
from openpyxl.worksheet.formula import ArrayFormula

from sheetfuncs.functions import all_functions
from sheetfuncs.planner.build import READY_TREES
from sheetfuncs.planner.sheets import rounds, what_would_help

#: Functions that every spreadsheet of the last fifteen years has.
COMMON = {
    "ABS", "AND", "COUNT", "COUNTA", "COUNTIF", "COUNTIFS", "DATE", "DAY", "IF", "IFERROR", "INDEX", "INT", "ISNUMBER",
    "LEFT", "MATCH", "MAX", "MEDIAN", "MID", "MIN", "MOD", "MONTH", "N", "NOT", "NOW", "OR", "ROUND", "ROW", "ROWS",
    "SMALL", "SUBSTITUTE", "SUM", "SUMIF", "TRIM", "YEAR",
}  # fmt: skip
LONGEST_FORMULA = 8192
LONGEST_TEXT = 255


def formulas(workbook: openpyxl.Workbook) -> list[tuple[str, str]]:
    return [
        (f"{sheet.title}!{cell.coordinate}", cell.value)
        for sheet in workbook
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and cell.value.startswith("=")
    ]


@pytest.fixture(scope="module")
def tokens(blank: openpyxl.Workbook) -> list[tuple[str, str, list]]:
    return [(where, formula, Tokenizer(formula).items) for where, formula in formulas(blank)]


def test_every_formula_parses(blank: openpyxl.Workbook) -> None:
    all_of_them = formulas(blank)
    assert len(all_of_them) > READY_TREES * 15
    for where, formula in all_of_them:
        assert formualizer.parse(formula), where
        assert len(formula) < LONGEST_FORMULA, where


def test_only_our_functions_and_common_ones_by_their_bare_names(tokens: list) -> None:
    known = COMMON | {function.worksheet_name for function in all_functions()}
    used = {
        token.value[:-1]
        for _, _, items in tokens
        for token in items
        if token.type == "FUNC" and token.subtype == "OPEN"
    }
    assert used <= known
    assert {"LATEST_PRUNE_DATE", "RIPEN_WINDOW", "RIPEN_CHANCE", "CROP_RIPE_SHARE", "CLIMATE_AT"} <= used


def test_no_structured_reference_no_array_and_no_long_text(tokens: list) -> None:
    for where, formula, items in tokens:
        outside_texts = re.sub(r'"[^"]*"', '""', formula)
        assert not set("[]{}#@") & set(outside_texts), where
        for token in items:
            if token.subtype == "TEXT":
                assert len(token.value) - 2 <= LONGEST_TEXT, where


def test_rounds_and_what_would_help_are_one_answer_each(blank: openpyxl.Workbook) -> None:
    """So that no host works them out once a row."""
    arrays = {
        (sheet.title, cell.value.ref): cell.value.text
        for sheet in blank
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, ArrayFormula)
    }
    plan = rounds.lookups(READY_TREES).cells("planned")
    helps = what_would_help.WORKING.cells("all_measure", "all_gained")
    assert set(arrays) == {tuple(re.sub("[$']", "", cells).split("!")) for cells in (plan, helps)}
    assert arrays["Rounds", plan.split("!")[1].replace("$", "")].count("PRUNE_ROUNDS(Tree_round_from,") == 1
    texts = [formula for _, formula in formulas(blank) if "PRUNE_ROUNDS" in formula]
    assert {text.count("Tree_") for text in texts} <= {0}, "of the weekdays alone"


def test_the_names_in_formulas_are_defined(blank: openpyxl.Workbook, tokens: list) -> None:
    cell = re.compile(r"((\w+|'[^']+')!)?\$?[A-Z]{1,3}\$?\d+(:\$?[A-Z]{1,3}\$?\d+)?$")
    used = {
        token.value
        for _, _, items in tokens
        for token in items
        if token.type == "OPERAND" and token.subtype == "RANGE" and not cell.match(token.value)
    }
    assert used
    assert used <= set(blank.defined_names)


def test_calls_give_no_more_arguments_than_the_functions_take(tokens: list) -> None:
    takes = {function.worksheet_name: function for function in all_functions()}
    for where, _, items in tokens:
        for name, count in _calls(items):
            if name in takes:
                parameters = takes[name].parameters
                assert count <= max(len(parameters), 1), (where, name)  # an empty call counts as one
                assert count >= sum(parameter.required for parameter in parameters), (where, name)


def _calls(items: list) -> list[tuple[str, int]]:
    done, open_calls = [], []
    for token in items:
        if token.subtype == "OPEN":
            open_calls.append([token.value[:-1] if token.type == "FUNC" else "(", 1])
        elif token.type == "SEP":
            open_calls[-1][1] += 1
        elif token.subtype == "CLOSE":
            done.append(tuple(open_calls.pop()))
    return done
