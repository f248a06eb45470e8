"""The examples of the reference as cells: a formula that can be pasted, and what it shows."""

from __future__ import annotations

import ast
import doctest
import re
from typing import Any

from ..functions import all_functions
from ..functions.declare import Function

#: What the examples' invented valley and its days are in a workbook made from the template.
_NAMES = {"valley": "Climate_in_use", "valley_days": "Weather_days"}
_FUNCTIONS = {function.name: function for function in all_functions()}
_DATE = re.compile(r"datetime\.date\((\d+), (\d+), (\d+)\)")
_LINE = re.compile(r"InputError\((['\"])(.*?)\1\)", re.DOTALL)


def cell_examples(function: Function) -> list[tuple[str, str]]:
    """Return (formula, what it shows) of each example of a function that is a plain call of it."""
    examples = doctest.DocTestParser().get_examples(function.doc.partition("\nExamples\n")[2])
    found = ((_formula(example.source), _in_words(" ".join(example.want.split()))) for example in examples)
    return [(formula, shown) for formula, shown in found if formula is not None]


def _in_words(shown: str) -> str:
    """Return an answer without Python's marks: dates as 2026-07-01, lines as they are, "blank" for ``None``."""
    if shown[:1] in "'\"":
        return shown.strip("'\"")
    text = _DATE.sub(lambda found: "{}-{:0>2}-{:0>2}".format(*found.groups()), shown)
    text = _LINE.sub(lambda found: found[2], text)
    return re.sub(r"[\[\]()']", "", text).replace("None", "blank").replace("True", "yes").replace("False", "no")


def _formula(call: str) -> str | None:
    """Return a call as a cell's formula; ``None`` where it is more than calls of the functions."""
    try:
        node = ast.parse(call, mode="eval").body
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "round":
            node = node.args[0]
        return f"={_cell(node)}" if isinstance(node, ast.Call) else None
    except (SyntaxError, ValueError, KeyError):
        return None


def _cell(node: ast.expr) -> str:
    if isinstance(node, ast.Name):
        return _NAMES[node.id]
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult):
        return _written(ast.literal_eval(node.left) * ast.literal_eval(node.right))
    if not isinstance(node, ast.Call):
        return _written(ast.literal_eval(node))
    name = getattr(node.func, "id", "")
    if name in _NAMES:
        return _NAMES[name]
    function = _FUNCTIONS[name]
    names = [parameter.name for parameter in function.parameters]
    given = {**dict(zip(names, node.args)), **{str(word.arg): word.value for word in node.keywords}}
    last = max((names.index(name) for name in given), default=-1)
    arguments = ",".join(_cell(given[name]) if name in given else "" for name in names[: last + 1])
    return f"{function.worksheet_name}({arguments})"


def _written(value: Any) -> str:
    """Return a value as a formula holds it; rows as an array, a blank line in it as an empty text."""
    if isinstance(value, (list, tuple)):
        rows = [row if isinstance(row, (list, tuple)) else [row] for row in value]
        return "{" + ";".join(",".join(_written("" if one is None else one) for one in row) for row in rows) + "}"
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    return f'"{value}"' if isinstance(value, str) else repr(value)
