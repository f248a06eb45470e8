"""The macro module that hands a worksheet function's call to Python, written from the declarations.

It has the name and the functions of the module that the xlwings ribbon's *Import Functions* writes, so that a click
there replaces it; what it saves is that click, and the trust setting that the click needs.
"""

from __future__ import annotations

from typing import Iterable

from ...functions.declare import Function
from .wording import argument_names, function_help

#: The name that xlwings gives to the module it writes.
MODULE = "xlwings_udfs"
#: The Python module that xlwings imports.
PYTHON_MODULE = f"{__package__}.udfs"
#: The code page of the macro project.
ENCODING = "cp1252"


def wrapper_module(functions: Iterable[Function]) -> str:
    """Return the macro module of some functions, lines ended as the macro language wants them."""
    lines = [
        f'Attribute VB_Name = "{MODULE}"',
        "Option Explicit",
        "' Written by sheetfuncs; Import Functions on the xlwings ribbon writes it again.",
    ]
    for function in functions:
        lines += ["", *_wrapper(function)]
    return "\r\n".join(lines) + "\r\n"


def _wrapper(function: Function) -> list[str]:
    name = function.worksheet_name
    names = argument_names(function)
    words = function_help(function).replace("−", "-").encode(ENCODING, "replace").decode(ENCODING).replace('"', '""')
    signature = ", ".join(f"Optional {argument}" for argument in names)
    return [
        f"Public Function {name}({signature})",
        f'Attribute {name}.VB_Description = "{words}"',
        f'Attribute {name}.VB_ProcData.VB_Invoke_Func = " \\n14"',
        "    On Error GoTo Failed",
        f'    {name} = XLPy.CallUDF("{PYTHON_MODULE}", "{name}", _',
        f"        Array({', '.join(names)}), ThisWorkbook, Application.Caller)",
        "    Exit Function",
        "Failed:",
        f'    {name} = "Check: Python gave no answer: " & Left(Err.Description, 60)',
        "End Function",
    ]
