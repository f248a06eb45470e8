"""The one error of this package: a file that cannot be recalculated, in one line."""

from __future__ import annotations

from ..cells.errors import FileError


class WorkbookFileError(FileError):
    """One line that gives the reason why a workbook file was left as it is."""
