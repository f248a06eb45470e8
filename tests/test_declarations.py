"""The contract that workbooks rest on: names, order and defaults; and every example in the help runs."""

from __future__ import annotations

import doctest
import hashlib
import inspect

import pytest

import sheetfuncs
from sheetfuncs.functions import all_functions, arguments
from sheetfuncs.functions.today import EDITION

REQUIRED = "required"
NONE = None

# The fixed contract, by hand: workbooks that are in use call these functions by position. More functions and more
# trailing optional arguments may come; nothing here may change.
CONTRACT = {
    "heat_units_day": {
        "low": REQUIRED, "high": REQUIRED, "base": REQUIRED, "ceiling": NONE, "method": "sine",
        "cutoff": "stays level", "next_low": NONE,
    },
    "heat_units_between": {"climate": REQUIRED, "start": REQUIRED, "end": REQUIRED},
    "heat_date": {"climate": REQUIRED, "start": REQUIRED, "heat_units": REQUIRED, "chance": 0.5},
    "climate_of": {
        "weather": REQUIRED, "unit": "C", "base": 8, "ceiling": 36, "frost_at": 0, "stall_at": 12,
        "method": "sine", "cutoff": "stays level", "hemisphere": NONE,
    },
    "climate_at": {"climate": REQUIRED, "warmer_high": 0, "warmer_low": 0},
    "climate_with_frost": {"climate": REQUIRED, "estimates": REQUIRED},
    "climate_until": {"climate": REQUIRED, "day": REQUIRED},
    "climate_note": {"climate": REQUIRED},
    "first_frost": {"climate": REQUIRED, "season": REQUIRED, "chance": 0.5, "at": NONE, "rule": "normal"},
    "last_frost": {"climate": REQUIRED, "season": REQUIRED, "chance": 0.5, "at": NONE, "rule": "normal"},
    "frost_chance": {"climate": REQUIRED, "day": REQUIRED, "at": NONE},
    "season_end": {"climate": REQUIRED, "season": REQUIRED, "chance": 0.5},
    "latest_prune_date": {
        "climate": REQUIRED, "season": REQUIRED, "heat_need": REQUIRED, "chance": 0.8, "lag_days": 10,
    },
    "latest_prune_date_by_days": {"frost_date": REQUIRED, "ripen_days": REQUIRED, "spare_days": 0},
    "ripen_chance": {"climate": REQUIRED, "cut_date": REQUIRED, "heat_need": REQUIRED, "lag_days": 10},
    "ripen_window": {
        "climate": REQUIRED, "cut_date": REQUIRED, "heat_need": REQUIRED, "picking_heat": 250, "lag_days": 10,
        "chance": 0.5,
    },
    "crop_ripe_share": {
        "climate": REQUIRED, "cut_date": REQUIRED, "heat_need": REQUIRED, "picking_heat": 250, "lag_days": 10,
    },
    "ready_to_prune_from": {
        "counted_on": REQUIRED, "leaves": REQUIRED, "leaves_wanted": 6, "days_per_leaf": 3.7,
    },
    "prune_node": {
        "counted_on": REQUIRED, "nodes": REQUIRED, "latest_set_date": REQUIRED, "days_per_node": 3.7,
        "leave_above": 2,
    },
    "prune_advice": {
        "today": REQUIRED, "ready_from": REQUIRED, "latest_date": REQUIRED, "buds_seen": REQUIRED, "cut_on": NONE,
    },
    "prune_rounds": {"ready": REQUIRED, "latest": REQUIRED, "minutes": NONE, "minutes_a_day": NONE},
    "spread_cuts": {
        "climate": REQUIRED, "heat_needs": REQUIRED, "earliest": REQUIRED, "latest": REQUIRED, "lag_days": 10,
    },
    "later_flush_window": {
        "climate": REQUIRED, "cut_date": REQUIRED, "heat_need": 2100, "picking_heat": 250, "chance": 0.5,
    },
    "crop_weight": {"shoots": REQUIRED, "figs_per_shoot": REQUIRED, "fig_grams": REQUIRED, "kept_share": 1},
    "picking_by_week": {"first": REQUIRED, "last": REQUIRED, "weights": REQUIRED, "week_starts": REQUIRED},
    "learned_heat_need": {
        "climate": REQUIRED, "cut_dates": REQUIRED, "seen_dates": REQUIRED, "ripe_dates": REQUIRED,
        "table_need": 1300, "lag_days": 10,
    },
    "shelter_by": {"climate": REQUIRED, "season": REQUIRED, "limit": -4, "chance": 0.1},
    "safe_outside_from": {"climate": REQUIRED, "season": REQUIRED, "limit": -1, "chance": 0.1},
    "root_cuttings_by": {"climate": REQUIRED, "season": REQUIRED, "rooting_days": 60, "chance": 0.2},
}  # fmt: skip
FIRST_ISSUED = list(CONTRACT)[:17]
DECLARED = {function.name: function for function in all_functions()}


@pytest.mark.parametrize("name", FIRST_ISSUED)
def test_every_function_of_the_first_version_is_there(name):
    assert name in DECLARED
    assert callable(getattr(sheetfuncs, name))
    assert DECLARED[name].worksheet_name == name.upper()
    assert DECLARED[name].command_name == name.replace("_", "-")


def test_what_a_workbook_may_use_belongs_to_its_edition():
    """When this fails, workbooks may use more than before: raise EDITION, and write it here with the new digest."""
    words = [*arguments._METHODS, *arguments._CUTOFFS]
    used = [(name, [parameter.name for parameter in one.parameters]) for name, one in sorted(DECLARED.items())]
    digest = hashlib.sha256(repr((used, words)).encode()).hexdigest()[:12]
    assert (EDITION, digest) == (1, "9cb75cf9a5da")


def test_no_name_is_declared_twice():
    assert len(all_functions()) == len(DECLARED)


@pytest.mark.parametrize("function", all_functions(), ids=lambda function: function.name)
def test_names_order_and_defaults_are_the_contract_s(function):
    fixed = CONTRACT.get(function.name)
    if fixed is None:
        pytest.skip("not in the first version")
    parameters = function.parameters
    assert [parameter.name for parameter in parameters][: len(fixed)] == list(fixed)
    assert all(not parameter.required for parameter in parameters[len(fixed) :])
    for parameter, default in zip(parameters, fixed.values()):
        if default is REQUIRED:
            assert parameter.required, parameter.name
        elif default is NONE:
            assert parameter.default is None, parameter.name
        else:
            assert parameter.default == default, parameter.name


@pytest.mark.parametrize("function", all_functions(), ids=lambda function: function.name)
def test_python_s_signature_is_the_declaration_s(function):
    face = getattr(sheetfuncs, function.name)
    assert face.declaration is function
    assert list(inspect.signature(face).parameters) == [parameter.name for parameter in function.parameters]
    assert function.name in sheetfuncs.__all__


@pytest.mark.parametrize("function", all_functions(), ids=lambda function: function.name)
def test_every_argument_and_function_has_help_that_hosts_can_show(function):
    assert function.summary.endswith(".")
    assert 10 < len(function.summary) <= 255
    for parameter in function.parameters:
        assert parameter.label
        assert 3 < len(parameter.help) <= 255, parameter.name
        assert "\n" not in parameter.help


@pytest.mark.parametrize("function", all_functions(), ids=lambda function: function.name)
def test_every_example_in_the_help_runs_as_it_stands(function):
    text = getattr(sheetfuncs, function.name).__doc__
    test = doctest.DocTestParser().get_doctest(text, {}, function.name, None, 0)
    assert any(function.name in example.source and "import" not in example.source for example in test.examples)
    assert any(example.want for example in test.examples)
    shown = []
    runner = doctest.DocTestRunner(verbose=False, optionflags=doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS)
    runner.run(test, out=shown.append)
    assert runner.failures == 0, "".join(shown)


@pytest.mark.parametrize("function", all_functions(), ids=lambda function: function.name)
def test_the_help_names_every_argument_with_its_kind_and_the_answer(function):
    lines = getattr(sheetfuncs, function.name).__doc__.splitlines()
    assert lines[0] == function.summary
    for parameter in function.parameters:
        index = next(index for index, line in enumerate(lines) if line.startswith(f"{parameter.name} : "))
        assert parameter.kind.name in lines[index]
        assert parameter.default_text in lines[index]
        assert lines[index + 1].strip() == parameter.help
    assert lines[lines.index("Returns") + 2].startswith((function.result.name, "list of"))
    assert "InputError" in lines
