"""Whatever an argument is, a cell holds an answer of its kind or one line; a script gets an InputError at most."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sheetfuncs
from sheetfuncs.cells.dates import EPOCH_1900, EPOCH_1904

from . import arguments as given_arguments
from .arguments import FUNCTIONS, arguments, complaints
from .commands import WAYS, same_as_in_a_cell

EPOCHS = st.sampled_from([EPOCH_1900, EPOCH_1900, EPOCH_1904])


def call(name: str, cells: list[Any], epoch: date) -> None:
    """Call a function as a cell and as a script does; raises where an answer is none."""
    given_arguments.again_on_the_shelf()
    function = FUNCTIONS[name]
    answer = function.in_cell(cells, epoch)
    found = complaints(function, answer)
    assert not found, (found[:3], name)
    line = ""
    try:
        getattr(sheetfuncs, name)(*cells)
    except sheetfuncs.InputError as error:
        line = str(error)
    except TypeError:  # the wrong shape of a call, and nothing else
        if len(cells) <= len(function.parameters):
            raise
    assert not line or (line.startswith("Check:") and len(line) < 100), line


@pytest.mark.parametrize("name", FUNCTIONS)
@given(data=st.data(), epoch=EPOCHS)
@settings(max_examples=40)
def test_any_arguments(name: str, data: st.DataObject, epoch: date) -> None:
    call(name, data.draw(arguments(name)), epoch)


@pytest.mark.parametrize("name", FUNCTIONS)
@given(data=st.data(), way=st.sampled_from(WAYS))
@settings(max_examples=15)
def test_the_command_line_answers_as_the_cell_does(name: str, data: st.DataObject, way: tuple[str, ...]) -> None:
    given_arguments.again_on_the_shelf()
    same_as_in_a_cell(FUNCTIONS[name], data.draw(arguments(name)), way)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_good_call_can_be_typed(name: str) -> None:
    function = FUNCTIONS[name]
    assert same_as_in_a_cell(function, [good(parameter) for parameter in function.parameters], WAYS[0])


@pytest.mark.parametrize("name", FUNCTIONS)
def test_each_edge_in_each_place(name: str) -> None:
    """Every known troublemaker in every place of an otherwise good call, alone and in a column."""
    function = FUNCTIONS[name]
    whole = [good(parameter) for parameter in function.parameters]
    troubles = (*given_arguments.EDGE_DATES, *given_arguments.EDGE_NUMBERS, *given_arguments.EDGE_TEXTS,
                *given_arguments.FAULTS, [], [[]], [[], [1]], [[None]], [[None], [None]])  # fmt: skip
    for at in range(len(whole)):
        for trouble in troubles:
            call(name, [*whole[:at], trouble, *whole[at + 1 :]], EPOCH_1900)
            call(name, [*whole[:at], [[trouble], [trouble]]], EPOCH_1904)


def good(parameter: Any) -> Any:
    """Return one careful user's value for an argument."""
    days = [[date(2025, 6, 10)], [date(2025, 6, 20)]]
    by_name = {
        "climate": given_arguments.climate_texts()[0],
        "weather": [list(row) for row in given_arguments.VALLEY_NORMALS],
        "estimates": date(2025, 10, 10),
        "heat_needs": [[1150], [1300]],
        "low": 10, "high": 25, "base": 8, "ceiling": 36, "frost_at": 0, "stall_at": 12,
        "start": date(2025, 6, 1), "end": date(2025, 7, 1), "seen_dates": [[None], [None]],
        "ripe_dates": [[date(2025, 9, 10)], [date(2025, 9, 20)]], "week_starts": days, "weights": [[4], [5]],
        "minutes": [[20], [30]], "need_spread": 0.06, "positions": None,
        "position_climates": None, "kinds": None, "varieties": None, "variety_needs": None, "lines": 3,
    }  # fmt: skip
    by_kind = {
        "date": date(2025, 6, 15), "season": 2025, "heat units": 1150,
        "chance": 0.5, "share": 0.9, "days": 10, "count": 8, "temperature change": 1, "grams": 45, "minutes": 60,
    }  # fmt: skip
    if parameter.name in by_name:
        return by_name[parameter.name]
    return days if parameter.kind.many else by_kind.get(parameter.kind.name)


def test_a_huge_range_is_answered() -> None:
    """Two hundred thousand blank rows below a few full ones, as a whole column hands over."""
    column = [[date(2025, 6, day)] for day in range(1, 21)] + [[None]] * 200_000
    answer = FUNCTIONS["ready_to_prune_from"].in_cell([column, 4])
    assert len(answer) == 20
    assert not complaints(FUNCTIONS["ready_to_prune_from"], answer)
    wide = [[1.0] * 16_384]
    assert not complaints(FUNCTIONS["latest_prune_date"], FUNCTIONS["latest_prune_date"].in_cell([wide, 2026, 1300]))


@pytest.mark.parametrize("name", [name for name, one in FUNCTIONS.items() if one.parameters[0].name == "climate"])
def test_a_climate_that_nobody_knows(name: str) -> None:
    function = FUNCTIONS[name]
    cells = [good(parameter) for parameter in function.parameters]
    answer = function.in_cell(["10 seasons 2016–2025 · 0badc0de", *cells[1:]])
    assert isinstance(answer, str)
    assert answer.startswith("Check: climate not loaded here")
