"""The values that a workbook file holds, as the last program to save it left them."""

from __future__ import annotations

import io
import warnings
from pathlib import Path
from typing import Any

from .errors import WorkbookFileError


def read_values(path: Path | str) -> dict[str, dict[str, Any]]:
    """Return the stored values of a workbook: sheet to cell to value, blank cells left out.

    Dates come as ``datetime``, errors as their texts. Raises :class:`WorkbookFileError` in one line.
    """
    import openpyxl  # all of them take a while to load, and the process that evaluates has no use for them

    from .files import read_file
    from .package import Package
    from .workbook import Book

    path = Path(path)
    raw = read_file(path)
    Book(Package(raw, path.name))  # refuses, in one line, what is no workbook
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            book = openpyxl.load_workbook(io.BytesIO(raw), data_only=True)
        except Exception as error:  # a file from elsewhere fails in many ways
            raise WorkbookFileError(f"{path.name} cannot be read ({error})") from error
    return {
        sheet.title: {
            cell.coordinate: cell.value for row in sheet.iter_rows() for cell in row if cell.value is not None
        }
        for sheet in book.worksheets
    }
