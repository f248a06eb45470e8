"""The one error that a user's input can raise, and the mark of an error that a host found in a cell."""

from __future__ import annotations

from dataclasses import dataclass

CHECK = "Check: "
LONGEST_LINE = 99
_LONGEST_FOUND = 28


class InputError(ValueError):
    """One line that tells a user what is missing or wrong; it starts with ``Check:`` and fits a cell."""

    def __init__(self, line: str) -> None:
        line = " ".join(line.split())
        if not line.startswith(CHECK):
            line = CHECK + line
        if len(line) > LONGEST_LINE:
            line = line[: LONGEST_LINE - 1] + "…"
        super().__init__(line)

    @property
    def line(self) -> str:
        """The line as a cell shows it."""
        return str(self.args[0])


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
    text = " ".join(str(found).split())
    if len(text) > _LONGEST_FOUND:
        text = text[: _LONGEST_FOUND - 1] + "…"
    return f'"{text}"' if isinstance(found, str) else text


def wrong(label: str, found: object, wanted: str) -> InputError:
    """Return the error for one argument: its name in the user's words, what was found, what is wanted."""
    return InputError(f"{label} is {shown(found)}, wanted {wanted}")
