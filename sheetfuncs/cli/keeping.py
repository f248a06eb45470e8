"""Keeping a workbook as it was: the option, and the line that names the copy."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from .show import say

if TYPE_CHECKING:
    from ..xlsx.files import Backup

Function = TypeVar("Function", bound="Callable[..., Any]")


def backup_option(book: str) -> Callable[[Function], Function]:
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
