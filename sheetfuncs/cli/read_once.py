"""A weather file's rows, read once: a file of the same content is looked up in the user's cache."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path
from typing import Any

from ..cells.cache import Cache, user_folder
from ..cells.kinds import FileRows

_CODE = Path(__file__).resolve().parent.parent / "weather"
#: A file beyond this is read each time [bytes].
_LARGEST_FILE = 8 * 2**20


def weather_rows(path: Path, unit: str | None) -> FileRows:
    """Return the rows of a weather file as :func:`~sheetfuncs.weather.read_weather` reads them."""
    name = _name(path, unit)
    cache = Cache(user_folder())
    rows = _dated(cache.read(name)) if name else None
    if rows is None:
        from ..weather import read_weather

        rows = read_weather(path, unit)
        if name:
            is_dated = bool(rows) and isinstance(rows[0][0], date)
            plain = [[first.toordinal(), *rest] for first, *rest in rows] if is_dated else rows
            cache.write(name, {"dated": is_dated, "rows": plain, "lines": list(rows.lines)})
    return rows


def _dated(found: Any) -> FileRows | None:
    try:
        rows, from_ordinal = found["rows"], date.fromordinal
        if found["dated"]:
            rows = [[from_ordinal(day), low, high] for day, low, high in rows]
        return FileRows(rows, found["lines"]) if len(found["lines"]) == len(rows) else None
    except (TypeError, KeyError, ValueError, OverflowError):
        return None


def _name(path: Path, unit: str | None) -> str:
    """Return the name of what is read: it changes with the file, the unit, and the code that reads it."""
    try:
        if not path.is_file() or path.stat().st_size > _LARGEST_FILE:
            return ""
        digest = hashlib.sha256(path.read_bytes())
    except OSError:
        return ""
    code = [(file.name, file.stat().st_size, file.stat().st_mtime_ns) for file in sorted(_CODE.glob("*.py"))]
    digest.update(repr((unit, path.name, code)).encode())
    return digest.hexdigest()
