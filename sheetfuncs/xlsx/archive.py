"""ZIP archives written so that the same parts give the same bytes."""

from __future__ import annotations

import io
import zipfile
from typing import Mapping

#: The time that every new entry gets.
WHEN = (2026, 1, 1, 0, 0, 0)


def archive_of(parts: Mapping[str, bytes], is_packed: bool = True) -> bytes:
    """Return an archive with parts in their order.

    is_packed : whether they are deflated; what deflating gives differs from one zlib to the next.
    """
    made = io.BytesIO()
    method = zipfile.ZIP_DEFLATED if is_packed else zipfile.ZIP_STORED
    with zipfile.ZipFile(made, "w", method, compresslevel=9) as archive:
        for name, content in parts.items():
            archive.writestr(new_entry(name, method), content)
    return made.getvalue()


def new_entry(name: str, method: int) -> zipfile.ZipInfo:
    """Return an entry that is the same on every system and at every time; method : as :mod:`zipfile` has it."""
    entry = zipfile.ZipInfo(name, WHEN)
    entry.compress_type = method
    entry.create_system = 3
    entry.external_attr = 0o644 << 16
    return entry


def with_more(raw: bytes, parts: Mapping[str, bytes]) -> bytes:
    """Return an archive with more parts behind those that it has."""
    made = io.BytesIO(raw)
    with zipfile.ZipFile(made, "a", compresslevel=9) as archive:
        for name, content in parts.items():
            archive.writestr(new_entry(name, zipfile.ZIP_DEFLATED), content)
    return made.getvalue()
