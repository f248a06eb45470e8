"""How answers look on a terminal and in JSON."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import click

from ..cells.errors import CHECK, printable
from ..functions.declare import Function


def say(line: str, err: bool = False) -> None:
    """Write one line; what came from a file into it cannot steer the terminal."""
    click.echo(printable(line), err=err)


def json_text(value: Any) -> str:
    """Return a value as JSON, in which no control character stands as itself."""
    import json

    text = json.dumps(value, ensure_ascii=False, default=str)
    return re.sub("[\x7f-\x9f\ud800-\udfff\u2028-\u202e\u2066-\u2069]", lambda found: f"\\u{ord(found[0]):04x}", text)


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
    value: Any = answer
    if isinstance(answer, list):
        if function.shape == "row":
            value = dict(zip(function.headings, map(_plain_value, answer[0])))
        else:
            value = [[_plain_value(part) for part in row] for row in answer]
            value = [row[0] if len(row) == 1 else row for row in value]
    return json_text({"function": function.name, "value": _plain_value(value)})


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
