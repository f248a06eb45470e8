"""What commands share: lines, tables and JSON, a sign that work goes on, and the copy of a book as it was."""

from __future__ import annotations

import re
import sys
import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..cells.errors import CHECK, printable
from ..functions.declare import Function

if TYPE_CHECKING:
    from ..weather.model import Progress
    from ..xlsx.files import Backup

#: Columns where the output is no terminal.
USUAL_WIDTH = 80


# -- lines and tables ------------------------------------------------------------------------------------------


def say(line: str, err: bool = False, wrap: bool = False) -> None:
    """Write one line; what came from a file into it cannot steer the terminal.

    On a terminal, or with ``wrap``, it is wrapped between words, the rest under what follows its first word and spaces.
    """
    line = printable(line)
    if wrap or (sys.stderr if err else sys.stdout).isatty():
        label, margin = re.match(r"\s*(?:\S+\s{2,})?", line)[0], line[: len(line) - len(line.lstrip())]  # type: ignore[index]
        line = textwrap.fill(
            line,
            min(width(), 100),
            subsequent_indent=" " * len(label if label != margin else margin and margin + "  "),
            break_long_words=False,
            break_on_hyphens=False,
        )
    click.echo(line, err=err)


def width() -> int:
    """Return how many columns there are."""
    from rich.console import Console

    console = Console()
    return console.width if console.is_terminal else USUAL_WIDTH


def print_table(
    headings: Sequence[str], rows: Iterable[Sequence[object]], widths: Sequence[int | None] = (), figures: bool = False
) -> None:
    """Print a table; where there is room no word is broken.

    widths : of the columns, at most; ``None``: what is left. figures : what stands under a heading is not wrapped, and
    goes to the right but in the first column.
    """
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE, pad_edge=False, show_edge=False, padding=(0, 1, 0, 0))
    cells = [[printable(str(cell)) for cell in row] for row in rows]
    for number, heading in enumerate(headings):
        least = max(map(len, [*heading.split(), *(row[number] for row in cells if figures)]))
        table.add_column(
            textwrap.fill(heading, least) if figures else heading,
            min_width=least,
            max_width=widths[number] if widths else None,
            justify="right" if figures and number else "left",
            overflow="fold",
        )
    for row in cells:
        table.add_row(*map(Text, row))
    Console(width=width()).print(table)


# -- a function's answer ---------------------------------------------------------------------------------------


def plain(function: Function, answer: Any) -> str:
    """Return an answer as lines of text."""
    if not isinstance(answer, list):
        return _word(answer)
    if function.shape == "row":
        longest = max(len(heading) for heading in function.headings)
        return "\n".join(f"{name:<{longest}}  {_word(part)}" for name, part in zip(function.headings, answer[0]))
    return "\n".join("  ".join(_word(part) for part in row) for row in answer)


def as_json(function: Function, answer: Any) -> str:
    """Return an answer as one JSON object: the function's name and its value."""
    value: Any = answer
    if isinstance(answer, list):
        rows = [row[0] if len(row) == 1 else row for row in answer]
        value = dict(zip(function.headings, answer[0])) if function.shape == "row" else rows
    return json_text({"function": function.name, "value": value})


def json_text(value: Any) -> str:
    """Return a value as JSON, dates as 2026-07-01, in which no control character stands as itself."""
    import json

    text = json.dumps(value, ensure_ascii=False, default=str)
    return re.sub("[\x7f-\x9f\ud800-\udfff\u2028-\u202e\u2066-\u2069]", lambda found: f"\\u{ord(found[0]):04x}", text)


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


# -- while it works --------------------------------------------------------------------------------------------


@contextmanager
def waiting(text: str) -> Iterator[None]:
    """Show a text with a moving sign on a terminal's standard error while the block runs."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(text + " …"):
        yield


@contextmanager
def bytes_read(text: str) -> Iterator[Progress | None]:
    """Show on a terminal how much of a long file has come in; the block is given what it calls with its progress."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress as Bar

    with Bar(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(text, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total or None)


# -- a book as it was ------------------------------------------------------------------------------------------


def backup_option(book: str) -> Callable[[Any], Any]:
    """Return the option that says when to keep a book as it was; it is named as in the command's arguments."""
    kept = f"Keep {book} as it was, plan.xlsx as plan.before.xlsx; by default where none is kept yet."
    when = {None: "first", True: "always", False: "never"}
    return click.option("--backup/--no-backup", default=None, help=kept, callback=lambda *given: when[given[-1]])


BACKUP = backup_option("BOOK")


@contextmanager
def naming_the_copy(book: Path, silent: bool = False, backup: Backup = "first") -> Iterator[None]:
    """Say afterwards where a book was kept, if it was."""
    from ..xlsx.files import kept_as

    before = kept_as(book, backup)
    state = _state(before)
    yield
    if _state(before) != state and not silent:
        say(f"{book.name} as it was is kept as {before.name}.")


def _state(path: Path) -> object:
    return path.stat().st_mtime_ns if path.exists() else None
