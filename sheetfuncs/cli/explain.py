"""``sheetfuncs explain``: the reference of one function from its declaration, or what has to do with a word."""

from __future__ import annotations

import ast
import doctest
import re
from collections.abc import Sequence
from typing import Any

import click

from ..functions import all_functions
from ..functions.declare import Function
from .function_commands import help_text
from .show import say

_FUNCTIONS = {function.name: function for function in all_functions()}
#: What the examples' invented valley and its days are in a workbook made from the template.
_NAMES = {"valley": "Climate_in_use", "valley_days": "Weather_days"}
_DATE = re.compile(r"datetime\.date\((\d+), (\d+), (\d+)\)")
_LINE = re.compile(r"InputError\((['\"])(.*?)\1\)", re.DOTALL)


@click.command()
@click.argument("function", required=False, metavar="[FUNCTION or WORD]")
def explain(function: str | None) -> None:
    """Explain a function: what it gives, its arguments, sources, cells to paste. A word: what has to do with it."""
    name = (function or "").lower().replace("-", "_")
    if function is None:
        text = overview()
    elif name in _FUNCTIONS:
        text = reference(_FUNCTIONS[name])
    else:
        about = [declared for declared in all_functions() if _is_about(declared, function)]
        if not about:
            raise click.UsageError(f"no function has to do with {function}. `sheetfuncs --help` lists them.")
        text = f"What has to do with {function}:\n\n{overview(about)}"
    for line in text.splitlines():  # a formula is pasted whole
        click.echo(line) if line.startswith("  =") else say(line, wrap=name in _FUNCTIONS)


def _is_about(function: Function, words: str) -> bool:
    """Return whether all words stand in what a function, its help, its arguments or their help say."""
    texts = [function.name, function.theme, help_text(function)]
    texts += [text for parameter in function.parameters for text in (parameter.name, parameter.help)]
    text = " ".join(texts).lower().replace("_", " ")
    return all(word in text for word in words.lower().replace("_", " ").replace("-", " ").split())


def overview(functions: Sequence[Function] | None = None) -> str:
    """Return functions, all by default, by theme: what each takes, and what it gives."""
    lines: list[str] = []
    theme = ""
    for function in all_functions() if functions is None else functions:
        if function.theme != theme:
            theme = function.theme
            lines += ["", theme] if lines else [theme]
        lines += [f"  {function.signature_text()}", f"      {function.summary}"]
    return "\n".join(lines)


def reference(function: Function) -> str:
    """Return the reference of a function as text."""
    lines = [function.signature_text(), "", help_text(function), "", "Arguments"]
    width = max(len(parameter.name) for parameter in function.parameters)
    for parameter in function.parameters:
        default = f" Default {parameter.default_text}." if parameter.default_text else ""
        optional = "" if parameter.required else " Optional."
        lines.append(f"  {parameter.name:<{width}}  {parameter.help} ({parameter.kind.name}).{optional}{default}")
    headings = ", ".join(function.headings)
    shapes = {"row": f"one row: {headings}", "table": f"rows of {headings}", "column": "a column"}
    shape = shapes.get(function.shape, "one cell")
    lines += ["", f"Gives  {function.result.name}, {shape}", f"Theme  {function.theme}", ""]
    lines += [f"Python        sheetfuncs.{function.name}(...)", f"Command line  sheetfuncs {function.command_name} ..."]
    examples = cell_examples(function)
    if examples:
        lines += ["", "In a cell of a workbook made by sheetfuncs new (the answers are those of an invented valley)"]
        for formula, shown in examples:
            lines += [f"  {formula}", f"      {shown}"]
    return "\n".join(lines)


# -- examples as cells ----------------------------------------------------------------------------------------


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
