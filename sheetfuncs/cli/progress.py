"""A sign on standard error that long work goes on; nothing where that is no terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..weather.model import Progress


@contextmanager
def waiting(text: str) -> Iterator[None]:
    """Show a text with a moving sign while the block runs."""
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
