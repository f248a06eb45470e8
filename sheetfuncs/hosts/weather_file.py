"""A daily record in a text file: rows of date, low, high, as the functions take them."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from ..cells.errors import InputError

#: Words that head a column, in small letters (common in station files; no standard).
HEADINGS = {
    "date": ("date", "day", "datum", "fecha", "data"),
    "low": ("low", "min", "tmin", "temp_min", "minimum", "mintemp"),
    "high": ("high", "max", "tmax", "temp_max", "maximum", "maxtemp"),
}


def read_weather(path: Path) -> list[list[str]]:
    """Return the rows [date, low, high] of a text file, or [month, low, high] of normals.

    Columns are told by their headings, or are the first three. Raises :class:`InputError` with one line.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise InputError(f"weather file {path.name} is not there") from None
    except IsADirectoryError:
        raise InputError(f"weather file {path.name} is a folder, wanted a text file") from None
    except UnicodeDecodeError:
        raise InputError(f"weather file {path.name} is not a text file, wanted rows of date, low, high") from None
    except OSError as reason:
        raise InputError(f"weather file {path.name} cannot be read: {reason.strerror}") from None
    rows = [row for row in csv.reader(io.StringIO(text), _dialect(text)) if any(cell.strip() for cell in row)]
    if not rows:
        raise InputError(f"weather file {path.name} is blank, wanted rows of date, low, high")
    columns = _columns(rows[0])
    if columns is None:
        columns = (0, 1, 2)
    else:
        rows = rows[1:]
    if any(len(row) <= max(columns) for row in rows):
        short = next(place for place, row in enumerate(rows, start=1) if len(row) <= max(columns))
        raise InputError(f"weather file {path.name}, line {short} has fewer than 3 columns, wanted date, low, high")
    return [[row[column].strip() for column in columns] for row in rows]


def _dialect(text: str) -> type[csv.Dialect] | csv.Dialect:
    try:
        return csv.Sniffer().sniff(text[:4096], delimiters=",;\t")
    except csv.Error:
        return csv.excel


def _columns(heading: list[str]) -> tuple[int, int, int] | None:
    """Return the columns of date, low and high that a heading names; ``None`` where it does not name all three."""
    words = [word.strip().lower() for word in heading]
    found = []
    for names in HEADINGS.values():
        places = [place for place, word in enumerate(words) if word in names]
        if len(places) != 1:
            return None
        found.append(places[0])
    return found[0], found[1], found[2]
