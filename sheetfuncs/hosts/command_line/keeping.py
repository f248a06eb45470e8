"""Keeping a workbook as it was: the option, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from ..workbook_file.files import Backup

BACKUP = click.option(
    "--backup/--no-backup",
    default=None,
    help="Keep BOOK as it was, plan.xlsx as plan.before.xlsx; by default where none is kept yet.",
)


def when(backup: bool | None) -> Backup:
    """Return when to keep a book, from what was asked."""
    return "first" if backup is None else "always" if backup else "never"


@contextmanager
def told(book: Path, silent: bool = False) -> Iterator[None]:
    """Say afterwards where a book was kept, if it was."""
    from ..workbook_file.files import kept_as

    before = kept_as(book)
    state = _state(before)
    yield
    if _state(before) != state and not silent:
        click.echo(f"{book.name} as it was is kept as {before.name}.")


def _state(path: Path) -> object:
    return path.stat().st_mtime_ns if path.exists() else None
