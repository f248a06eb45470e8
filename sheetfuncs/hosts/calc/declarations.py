"""The files by which Calc knows the functions, made from the declarations: types, names, help."""

from __future__ import annotations

from typing import Sequence
from xml.sax.saxutils import escape, quoteattr

from ...functions.declare import Function, Parameter
from .names import SERVICE

#: A category of our own, and as the list of functions shows it; offices that know none of their own show Add-In.
CATEGORY, CATEGORY_SHOWN = "SheetFuncs", "Fig trees"


def types_text(functions: Sequence[Function]) -> str:
    """Return the interface of all functions in UNOIDL.

    An argument that may be left out is ``any``: the only such type. One that is needed is a range, as the only other
    type that takes every value; a single one is a range of one cell. Every answer is a range: a single one counts as
    its value, and a column or a row comes out whole in an array formula.
    """
    rows = "sequence<sequence<any> >"
    methods = []
    for function in functions:
        arguments = (
            f"[in] {rows if parameter.required else 'any'} {_argument(index)}"
            for index, parameter in enumerate(function.parameters)
        )
        methods.append(f"      {rows} {function.worksheet_name}({', '.join(arguments)});\n")
    return f"""module sheetfuncs {{
  module calc {{
    interface XFunctions {{
{"".join(methods)}    }};
  }};
}};
"""


def functions_text(functions: Sequence[Function]) -> str:
    """Return the configuration with names, help and category of all functions."""
    body = "\n".join(_function(function) for function in functions)
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<oor:component-data xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema"
 oor:name="CalcAddIns" oor:package="org.openoffice.Office">
 <node oor:name="AddInInfo"><node oor:name="{SERVICE}" oor:op="replace">
  <node oor:name="AddInFunctions">
{body}
 </node></node></node>
</oor:component-data>
"""


def argument_help(parameter: Parameter) -> str:
    """Return the help of an argument with what a blank means, as the function wizard shows it."""
    if parameter.required:
        return parameter.help
    default = f"blank: {parameter.default_text}" if parameter.default_text else "may be blank"
    return f"{parameter.help} ({default})"


def _function(function: Function) -> str:
    arguments = "".join(
        f"\n    <node oor:name=\"{_argument(index)}\" oor:op=\"replace\">"
        f"{_text('DisplayName', parameter.name)}{_text('Description', argument_help(parameter))}</node>"
        for index, parameter in enumerate(function.parameters)
    )
    name = function.worksheet_name
    return (
        f"  <node oor:name={quoteattr(name)} oor:op=\"replace\">{_text('DisplayName', name)}"
        f"{_text('Description', function.summary)}"
        f'<prop oor:name="Category"><value>{CATEGORY}</value></prop>{_text("CategoryDisplayName", CATEGORY_SHOWN)}'
        # Newer offices read and write .xlsx files by this name; they look for en-US only.
        f"{_text('CompatibilityName', name, 'en-US')}"
        f'<node oor:name="Parameters">{arguments}</node></node>'
    )


def _argument(index: int) -> str:
    """Return the name of an argument between the types and the configuration; UNOIDL takes no underscore there."""
    return f"argument{index + 1}"


def _text(name: str, text: str, language: str = "en") -> str:
    return f'<prop oor:name="{name}"><value xml:lang="{language}">{escape(text)}</value></prop>'
