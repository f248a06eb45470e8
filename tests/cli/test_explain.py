"""The reference on the terminal: formulas that can be pasted, no marks of Python, what has to do with a word."""

from __future__ import annotations

import os
import re
import subprocess
import sys

import click
import pytest

from sheetfuncs import all_functions
from sheetfuncs.cli.explain import cell_examples, reference
from sheetfuncs.functions.declare import Function

FUNCTIONS = {function.name: function for function in all_functions()}


def test_an_example_is_a_formula_with_its_answer():
    assert cell_examples(FUNCTIONS["ready_to_prune_from"]) == [('=READY_TO_PRUNE_FROM("2026-06-07",4)', "2026-06-15")]
    assert cell_examples(FUNCTIONS["climate_of"])[0][0] == "=CLIMATE_OF(Weather_days)"
    assert ('=PRUNE_ROUNDS({"2026-06-10"},{"2026-06-25"},,,,"Sat Sun")', "2026-06-21") in cell_examples(
        FUNCTIONS["prune_rounds"]
    )


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=lambda function: function.name)
def test_no_mark_of_python_is_left(function: Function) -> None:
    text = reference(function)
    assert not re.search(r">>>|datetime|InputError|\bNone\b|\[\[", text)
    for formula, _ in cell_examples(function):
        assert formula in text
        assert formula.count("(") == formula.count(")")
        assert formula.count("{") == formula.count("}")


def test_an_answer_in_a_cell_is_what_the_formula_gives():
    """Formulas without a climate can be worked out as they stand."""
    for name in ("ready_to_prune_from", "latest_prune_date_by_days", "crop_weight"):
        for formula, shown in cell_examples(FUNCTIONS[name]):
            cells = [part.strip('"') for part in formula.partition("(")[2].rstrip(")").split(",")]
            assert str(FUNCTIONS[name].in_cell(cells)) == shown


def test_most_functions_have_one():
    assert sum(bool(cell_examples(function)) for function in FUNCTIONS.values()) >= len(FUNCTIONS) - 5


def test_a_word_lists_what_has_to_do_with_it(run):
    listed = run("explain", "frost").output
    for name in ("FIRST_FROST", "LAST_FROST", "FROST_CHANCE", "CLIMATE_WITH_FROST"):
        assert f"  {name}(" in listed
    assert "CROP_WEIGHT(" not in listed
    assert run("explain", "first-frost").output.startswith("FIRST_FROST(")
    nothing = run("explain", "tractors")
    assert nothing.exit_code == click.UsageError.exit_code
    assert "no function has to do with tractors" in nothing.output


def test_the_package_can_be_run():
    done = subprocess.run([sys.executable, "-m", "sheetfuncs", "--version"], capture_output=True, text=True)
    assert done.returncode == 0
    assert done.stdout.startswith("sheetfuncs ")


def test_a_pipe_that_lacks_a_sign_gets_the_rest():
    environment = {**os.environ, "PYTHONIOENCODING": "cp932"}
    command = [sys.executable, "-m", "sheetfuncs", "explain"]
    done = subprocess.run(command, capture_output=True, env=environment, encoding="cp932")
    assert done.returncode == 0
    assert "[picking_heat=250 °C?day]" in done.stdout
