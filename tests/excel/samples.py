"""A sound call of every function, taken from the examples in its help, as cells."""

from __future__ import annotations

import ast
from datetime import date
from functools import lru_cache
from typing import Any

import sheetfuncs
from sheetfuncs.cells.climates import CLIMATES
from sheetfuncs.cells.kinds import DATE
from sheetfuncs.functions import all_functions
from sheetfuncs.functions.declare import Function
from sheetfuncs.functions.examples import valley_days

FUNCTIONS = all_functions()
NAMES = [function.worksheet_name for function in FUNCTIONS]


@lru_cache(maxsize=1)
def _names() -> dict[str, Any]:
    names = {name: getattr(sheetfuncs, name) for name in sheetfuncs.__all__}
    names.update(date=date, valley_days=valley_days, valley=sheetfuncs.climate_of(valley_days()))
    return names


@lru_cache(maxsize=None)
def sample(function: Function) -> tuple[Any, ...]:
    """Return the arguments of the first example of a function as cells: climates by their texts, dates as dates."""
    for line in function.doc.splitlines():
        if line.startswith(">>> "):
            for node in ast.walk(ast.parse(line[4:])):
                if isinstance(node, ast.Call) and getattr(node.func, "id", "") == function.name:
                    given = [eval(ast.unparse(argument), dict(_names())) for argument in node.args]
                    return tuple(_as_cell(value, index, function) for index, value in enumerate(given))
    raise AssertionError(f"{function.name} has no example")


def _as_cell(value: Any, index: int, function: Function) -> Any:
    kind = function.parameters[index].kind
    if getattr(value, "is_climate", False):
        return CLIMATES.put(value)
    if isinstance(value, (list, tuple)):
        rows = [list(row) if isinstance(row, (list, tuple)) else [row] for row in value]
        return [[_as_date(cell) for cell in row] for row in rows]
    if kind is DATE or kind.name == "one date, or rows of chance and date":
        return _as_date(value)
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _as_date(value: Any) -> Any:
    return date.fromisoformat(value) if isinstance(value, str) and value[:2] == "20" else value
