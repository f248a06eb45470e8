"""How answers look on a terminal and in JSON."""

from __future__ import annotations

from datetime import date
from typing import Any

from ..cells.errors import CHECK
from ..functions.declare import Function


def plain(function: Function, answer: Any) -> str:
    """Return an answer as lines of text."""
    if not isinstance(answer, list):
        return _word(answer)
    if function.shape == "row":
        width = max(len(heading) for heading in function.headings)
        return "\n".join(f"{name:<{width}}  {_word(part)}" for name, part in zip(function.headings, answer[0]))
    return "\n".join("  ".join(_word(part) for part in row) for row in answer)


def as_json(function: Function, answer: Any) -> str:
    """Return an answer as one JSON object: the function's name and its value."""
    import json

    value: Any = answer
    if isinstance(answer, list):
        if function.shape == "row":
            value = dict(zip(function.headings, map(_plain_value, answer[0])))
        else:
            value = [[_plain_value(part) for part in row] for row in answer]
            value = [row[0] if len(row) == 1 else row for row in value]
    return json.dumps({"function": function.name, "value": _plain_value(value)}, ensure_ascii=False)


def is_check(answer: Any) -> bool:
    """Return whether an answer as a whole says what is missing or wrong."""
    return isinstance(answer, str) and answer.startswith(CHECK)


def _word(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    return str(value)


def _plain_value(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value
