"""The command line: one sub-command a function, generated from the declarations, and the work on workbook files."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    import gc

    from .app import run

    gc.set_threshold(50_000)  # a workbook is many small objects and no garbage; the search took a tenth of the time
    run()
