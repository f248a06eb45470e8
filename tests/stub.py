"""Writes the stub that shows the package's functions to editors and type checkers: ``python -m tests.stub``."""

from __future__ import annotations

import textwrap
from pathlib import Path

import sheetfuncs
from sheetfuncs.functions.declare import Function, Parameter
from sheetfuncs.functions.help import hint, result_hint

STUB = Path(sheetfuncs.__file__).with_suffix(".pyi")
_HEAD = '''\
"""The package as editors and type checkers see it. Written by: python -m tests.stub"""

from collections.abc import Iterable
from datetime import date
from typing import Any, Protocol, TypeAlias, overload

from sheetfuncs.cells.errors import InputError as InputError
from sheetfuncs.functions import all_functions as all_functions
from sheetfuncs.functions.frames import UnansweredLineWarning as UnansweredLineWarning
from sheetfuncs.functions.plan import plan_trees as plan_trees
from sheetfuncs.season.climate import Climate

class _HasToNumpy(Protocol):
    """A column or a frame of any library."""

    def to_numpy(self) -> Any: ...

#: A date, a text such as "2026-07-01", or the number of a spreadsheet's day.
Date: TypeAlias = date | str | float
#: A number, or a text that holds one.
Number: TypeAlias = float | str
Column: TypeAlias = Iterable[Any] | _HasToNumpy

'''


def written() -> str:
    """Return the stub's text."""
    functions = sheetfuncs.all_functions()
    names = sorted(sheetfuncs.__all__)
    listed = textwrap.indent(textwrap.fill(", ".join(f'"{name}"' for name in names), 116), "    ")
    return _HEAD + f"__all__ = [\n{listed},\n]\n\n" + "\n".join(map(_of_function, functions))


def _of_function(function: Function) -> str:
    about = [function.summary, "", *(f"{one.name} : {one.help}{_of_kind(one)}" for one in function.parameters)]
    docstring = textwrap.indent('"""' + "\n".join(about) + '\n"""', "    ", lambda line: bool(line.strip()))
    single = _signature(function, ""), result_hint(function.compute)
    text = f"@overload\ndef {function.name}{single[0]} -> {single[1]}:\n{docstring}\n"
    if all(parameter.kind.many for parameter in function.parameters):
        return text.removeprefix("@overload\n")
    return text + f"@overload\ndef {function.name}{_signature(function, ' | Column')} -> Any: ...\n"


def _signature(function: Function, more: str) -> str:
    lines = []
    for parameter in function.parameters:
        kind = hint(parameter) + ("" if parameter.kind.many else more)
        lines.append(f"{parameter.name}: {kind}{_default(parameter)}")
    return "(" + ", ".join(lines) + ")"


def _of_kind(parameter: Parameter) -> str:
    default = f"; default {parameter.default_text}" if parameter.default_text else ""
    return f" ({parameter.kind.name}{default})"


def _default(parameter: Parameter) -> str:
    if parameter.required:
        return ""
    is_plain = type(parameter.default) in (int, float, str, bool, type(None))
    return f" = {parameter.default!r}" if is_plain else " = ..."


if __name__ == "__main__":
    STUB.write_text(written(), encoding="utf-8")
    print(f"{STUB.name}: {len(written().splitlines())} lines")
