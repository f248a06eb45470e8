"""What ``help()`` and a type checker are shown of a function: its signature and its arguments, from its declaration."""

from __future__ import annotations

import builtins
import inspect
import re
from typing import Any, Callable, Sequence

from .arguments import Parameter

#: What a script may give for a kind; any other kind that is no range is a number, which may stand in a text.
_HINTS = {
    "climate": "Climate | str",
    "climate, or column of climates": "Climate | Column",
    "one date, or rows of chance and date": "Date | Column",
    "date": "Date",
    "yes or no": "bool | str",
    "name": "str | float",
    **dict.fromkeys(("method", "cut-off", "unit", "hemisphere", "rule", "look", "text", "container or ground"), "str"),
}


def hint(parameter: Parameter) -> str:
    """Return the type of an argument of one value, or of the range where it takes one."""
    many = parameter.kind.many
    found = _HINTS.get(parameter.kind.name, "Column" if many else "Number")
    return found if parameter.required else f"{found} | None"


def signature(parameters: Sequence[Parameter], compute: Callable[..., Any]) -> inspect.Signature:
    """Return the signature that a script sees of a function, which a plain one computes."""
    return inspect.Signature(
        [
            inspect.Parameter(
                parameter.name,
                inspect.Parameter.POSITIONAL_OR_KEYWORD,
                default=parameter.default,
                annotation=hint(parameter),
            )
            for parameter in parameters
        ],
        return_annotation=result_hint(compute),
    )


def result_hint(compute: Callable[..., Any]) -> str:
    """Return the type of an answer to single values."""
    return str(inspect.signature(compute).return_annotation).replace("_Line", "date | InputError | None")


def _kind(parameter: Parameter) -> str:
    shape = "" if parameter.kind.many else ", or a column of them"
    if parameter.required:
        return parameter.kind.name + shape
    default: Any = parameter.default_text or "blank"
    return f"{parameter.kind.name}{shape}; default {default}"


def docstring(doc: str, parameters: Sequence[Parameter], answer: str) -> str:
    """Return the help of a function: what it does, its arguments, what it returns and raises, and an example."""
    about, _, example = doc.partition("\nExamples\n--------\n")
    arguments = [f"{parameter.name} : {_kind(parameter)}\n    {parameter.help}" for parameter in parameters]
    parts = [
        about.rstrip(),
        _section("Parameters", arguments),
        _section("Returns", [f"{answer}\n    For columns: a list of answers, or a column with the index of theirs."]),
        _section("Raises", ["InputError\n    One line that names the argument, what was found and what is wanted."]),
        _section("Examples", [*_imports(example), example.rstrip()]),
    ]
    return "\n\n".join(parts) + "\n"


def _imports(example: str) -> list[str]:
    """Return the lines that an example needs before it to run as it stands."""
    called = set(re.findall(r"(?<![.\w])([a-z_]+)\(", example)) - set(dir(builtins)) - {"in"}
    ours = sorted(called - {"valley_days", "date"})
    of_valley = sorted(set(re.findall(r"\bvalley(?:_days)?\b", example)))
    return [
        *([">>> from datetime import date"] if "date" in called else []),
        f">>> from sheetfuncs import {', '.join(ours)}",
        *([f">>> from sheetfuncs.functions.examples import {', '.join(of_valley)}"] if of_valley else []),
    ]


def _section(title: str, lines: list[str]) -> str:
    return "\n".join([title, "-" * len(title), *lines])
