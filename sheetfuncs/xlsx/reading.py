"""The values that a workbook file holds, as the last program to save it left them."""

from __future__ import annotations

import io
import warnings
from pathlib import Path
from typing import Any, Callable, Iterable

from .errors import WorkbookFileError


def read_values(path: Path | str) -> dict[str, dict[str, Any]]:
    """Return the stored values of a workbook: sheet to cell to value, blank cells left out.

    Dates come as ``datetime``, errors as their texts. Raises :class:`WorkbookFileError` in one line.
    """
    # Going over a sheet's rows would make its blank cells.
    return _read(path, lambda book: {sheet.title: _values(sorted(sheet._cells.items())) for sheet in book.worksheets})


def read_sheet(path: Path | str, name: str) -> dict[str, Any]:
    """Return the stored values of one sheet by cell, much quicker than those of all; none where it is not there."""

    def values(book: Any) -> dict[str, Any]:
        for sheet in book.worksheets:
            if sheet.title == name:
                sheet.reset_dimensions()  # what a file says of them may be wrong
                return _values(enumerate(cell for row in sheet.rows for cell in row))
        return {}

    return _read(path, values, read_only=True)


def _values(cells: Iterable[tuple[Any, Any]]) -> dict[str, Any]:
    return {cell.coordinate: cell.value for _, cell in cells if cell.value is not None}


def _read(path: Path | str, values: Callable[[Any], dict[str, Any]], read_only: bool = False) -> dict[str, Any]:
    import openpyxl  # all of them take a while to load, and the process that evaluates has no use for them

    from .inputs import open_book

    path = Path(path)
    raw = open_book(path).book.package.raw
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return values(openpyxl.load_workbook(io.BytesIO(raw), data_only=True, read_only=read_only))
        except Exception as error:  # a file from elsewhere fails in many ways
            raise WorkbookFileError(f"{path.name} cannot be read ({error})") from error
