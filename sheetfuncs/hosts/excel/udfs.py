"""The module that xlwings imports: every declared function as a worksheet function of Excel.

The functions are made when the module is imported. They carry no type hints on purpose: xlwings converts by them,
and a hint such as ``float | None`` would fail at every call that passes a value.
"""

from __future__ import annotations

import inspect
import sys
from datetime import date
from typing import Any, Callable

import xlwings

from ...cells.dates import EPOCH_1900, EPOCH_1904
from ...functions import all_functions
from ...functions.declare import Function
from .kept_climates import keep_climates
from .values import in_excel
from .wording import CATEGORY, argument_help, argument_names, function_help

_KEPT = keep_climates()


def worksheet_function(function: Function) -> Callable[..., Any]:
    """Return a declared function in the form that xlwings publishes."""

    def answer(*cells):  # type: ignore[no-untyped-def]
        return in_excel(function, cells, _epoch(), _KEPT)

    names = argument_names(function)
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    # All optional: where a wanted one is left out Excel would show #VALUE!, the function itself says which it is.
    parameters = [inspect.Parameter(name, kind, default=None) for name in names]
    answer.__name__ = answer.__qualname__ = function.worksheet_name
    answer.__doc__ = function_help(function)
    answer.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    for name, parameter in zip(names, function.parameters):
        answer = xlwings.arg(name, doc=argument_help(parameter), ndim=2, err_to_str=True)(answer)
    return xlwings.func(category=CATEGORY)(answer)


def _epoch() -> date:
    """Return day 0 of the calling workbook's calendar."""
    windows = sys.modules.get("xlwings._xlwindows")
    book = getattr(windows, "BOOK_CALLER", None)
    return EPOCH_1904 if getattr(book, "Date1904", False) is True else EPOCH_1900


globals().update({function.worksheet_name: worksheet_function(function) for function in all_functions()})
