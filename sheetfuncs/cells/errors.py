"""The one error that a user's input can raise, and the mark of an error that a host found in a cell."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import ClassVar

CHECK = "Check: "
LONGEST_LINE = 99
_LONGEST_FOUND = 28
_LONGEST_NUMBER = 1024  # bits, the most that a floating-point number holds
#: A text that is shown without quotes: a number or truth value, which the command line knows as text only.
_PLAIN = re.compile(r"[-+]?\d{1,15}(?:\.\d{1,15})?|TRUE|FALSE", re.IGNORECASE)
# What a terminal or a file may stumble over: control signs, halves of letters, signs that turn a line around.
_UNSHOWN = re.compile("[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


class InputError(ValueError):
    """One line for a user about what is missing or wrong; it starts with ``Check:`` and fits a cell."""

    _longest: ClassVar[int | None] = LONGEST_LINE

    def __init__(self, line: str) -> None:
        line = printable(" ".join(line.split()))
        if not line.startswith(CHECK.rstrip()):
            line = CHECK + line
        if self._longest and len(line) > self._longest:
            line = line[: self._longest - 1] + "…"
        super().__init__(line)

    @property
    def line(self) -> str:
        """The line as a cell shows it."""
        return str(self.args[0])


class FileError(InputError):
    """One line about a file; it is not cut, so that long file names stay readable."""

    _longest = None


def printable(text: str) -> str:
    """Return a text of one line without what a terminal would obey."""
    return _UNSHOWN.sub("\N{REPLACEMENT CHARACTER}", text)


@dataclass(frozen=True)
class CellFault:
    """An error value that stood in a cell before we came, such as ``#N/A``."""

    text: str


def shown(found: object) -> str:
    """Return what was found in a cell as a user would recognise it, shortened."""
    if found is None or found == "":
        return "blank"
    if isinstance(found, CellFault):
        return f"an error ({found.text})"
    if isinstance(found, bool):
        return "TRUE" if found else "FALSE"
    if isinstance(found, float) and found.is_integer() and abs(found) < 1e15:
        found = int(found)
    if isinstance(found, int) and found.bit_length() > _LONGEST_NUMBER:  # Python itself will not spell out all of it
        return "a number beyond all measure"
    text = " ".join(str(found).split())
    if _PLAIN.fullmatch(text):
        return text.upper()
    if len(text) > _LONGEST_FOUND:
        text = text[: _LONGEST_FOUND - 1] + "…"
    return f'"{text}"' if isinstance(found, str) else text


def wrong(label: str, found: object, wanted: str) -> InputError:
    """Return the error for one argument: its name in the user's words, what was found, what is wanted."""
    return InputError(f"{label} is {shown(found)}, wanted {wanted}")
