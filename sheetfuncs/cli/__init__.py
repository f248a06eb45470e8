"""The command line: one sub-command a function, generated from the declarations, and the work on workbook files."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    from .app import run

    run()
