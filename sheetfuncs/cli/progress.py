"""A sign on standard error that long work goes on; nothing where that is no terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def waiting(text: str) -> Iterator[None]:
    """Show a text with a moving sign while the block runs."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(text + " …"):
        yield
