"""A workbook file, taken apart and put together again without losing a byte of what is not changed.

It knows archives, parts, sheets, cells and values. It knows no formulas' meaning, no functions of ours and no figs.
"""

from __future__ import annotations

from .errors import WorkbookFileError
from .reading import read_sheet, read_values

__all__ = ["WorkbookFileError", "read_sheet", "read_values"]
