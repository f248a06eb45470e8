"""Columns and frames of a script: their cells in, and answers back in the same form. No library of frames is needed."""

from __future__ import annotations

import sys
import warnings
from datetime import date
from typing import Any, Sequence

from ..cells.errors import InputError
from ..cells.kinds import FileRows


class UnansweredLineWarning(UserWarning):
    """Some lines of a column could not be answered; the first of them is named."""


def has_index(argument: Any) -> bool:
    """Return whether an argument is a column or a frame whose lines have names of their own."""
    return hasattr(argument, "to_numpy") and any(one.__module__.startswith("pandas.") for one in type(argument).__mro__)


def as_cells(argument: Any) -> Any:
    """Return a script's argument as a host would hand it over: sequences and frames of any library as lists.

    What a column marks as missing is a blank. A frame of several columns brings its headings along, and its index
    where that holds dates.
    """
    if has_index(argument):
        return _cells_of_frame(argument) if hasattr(argument, "columns") else _cells_of_column(argument)
    if hasattr(argument, "to_numpy"):
        argument = argument.to_numpy()
    if hasattr(argument, "tolist"):
        return argument.tolist()
    kept = (str, bytes, FileRows)
    if hasattr(argument, "__iter__") and type(argument) not in (list, tuple) and not isinstance(argument, kept):
        return list(argument)
    return argument


def _cells_of_column(column: Any) -> list[Any]:
    missing = column.isna().tolist()
    return [None if is_missing else cell for cell, is_missing in zip(column.tolist(), missing)]


def _cells_of_frame(frame: Any) -> list[Any]:
    names = list(frame.columns)
    columns = [_cells_of_column(frame.iloc[:, index]) for index in range(len(names))]
    if len(columns) == 1:
        return columns[0]
    if getattr(frame.index.dtype, "kind", "") == "M":
        names, columns = ["date", *names], [frame.index.tolist(), *columns]
    return [names, *map(list, zip(*columns))]


def common_index(columns: Sequence[Any]) -> Any:
    """Return the index that columns share, ``None`` where none has one; raises :class:`InputError` if they differ."""
    indices = [column.index for column in columns if has_index(column)]
    if any(not index.equals(indices[0]) for index in indices):
        raise InputError("columns have lines of different names, wanted columns of one frame")
    return indices[0] if indices else None


def in_the_form_of(index: Any, answers: Sequence[Any], headings: Sequence[str], name: str, are_dates: bool) -> Any:
    """Return the answers to the lines of a column: with its index where it has one, else as a list.

    headings : of an answer of several values. are_dates : whether its values are dates.
    With an index, a line without an answer is a missing value, and an :class:`UnansweredLineWarning` names the first
    one that was refused; in a list its :class:`InputError` stands in the line.
    """
    if index is None:
        return list(answers)
    pandas = sys.modules["pandas"]  # which the script has loaded
    refused = [answer for answer in answers if isinstance(answer, InputError)]
    if refused:
        text = f"{name}: {len(refused)} of {len(answers)} lines are not answered. {refused[0].line}"
        warnings.warn(text, UnansweredLineWarning, stacklevel=4)
    kept = [None if isinstance(answer, InputError) else answer for answer in answers]

    def column(values: Sequence[Any]) -> Any:
        return pandas.Series(values, index=index, name=name, dtype=_dtype(values, are_dates))

    if not headings:
        return column(kept)
    parts = zip(*[(None,) * len(headings) if answer is None else answer for answer in kept])
    blank: list[list[Any]] = [[] for _ in headings]
    return pandas.DataFrame(dict(zip(headings, map(column, list(parts) or blank))), index=index)


def _dtype(answers: Sequence[Any], are_dates: bool) -> str:
    """Return how answers are kept: dates and numbers as such, so that one of them may be missing."""
    types = {type(answer) for answer in answers if answer is not None}
    if (are_dates or types) and types <= {date}:
        return "datetime64[s]"
    return "float64" if types and types <= {int, float} else "object"
