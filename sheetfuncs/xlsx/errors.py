"""The one error of this package: a file that cannot be recalculated, in one line."""

from __future__ import annotations

from ..cells.errors import CHECK, InputError, printable


class WorkbookFileError(InputError):
    """One line that gives the reason why a workbook file was left as it is.

    Unlike the line of a cell it is not cut, so that long file names stay readable.
    """

    def __init__(self, line: str) -> None:
        line = printable(" ".join(line.split()))
        ValueError.__init__(self, line if line.startswith(CHECK) else CHECK + line)
