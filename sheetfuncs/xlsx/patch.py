"""New stored values in a worksheet's XML; every byte that is not one of them stays."""

from __future__ import annotations

import re
from typing import Iterable, NamedTuple

from .values import Value, markup
from .xml_cells import ScannedSheet, XmlCell

_KIND = re.compile(rb"""\s+t\s*=\s*(?:"[^"]*"|'[^']*')""")


class ByteEdit(NamedTuple):
    """A stretch of bytes and what replaces it."""

    start: int
    end: int
    new: bytes


def patched(xml: bytes, edits: Iterable[ByteEdit]) -> bytes:
    """Return bytes with stretches of them exchanged."""
    pieces, at = [], 0
    for edit in sorted(edits, key=lambda edit: edit[:2]):
        pieces += [xml[at : edit.start], edit.new]
        at = edit.end
    pieces.append(xml[at:])
    return b"".join(pieces)


def value_edits(sheet: ScannedSheet, cell: XmlCell, value: Value) -> list[ByteEdit]:
    """Return what makes a cell hold another stored value; its formula and its style stay."""
    kind, text = markup(value)
    element = b"" if text is None else value_element(sheet.prefix, text)
    edits = []
    tag = sheet.xml[cell.start : cell.tag_end]
    new_tag = tag if kind == cell.kind or (kind, cell.kind) == ("", "n") else _tag_of_kind(tag, kind)
    if cell.new_value_at < 0:  # an empty tag
        if element:
            new_tag = opened(new_tag) + element + f"</{sheet.prefix}c>".encode()
    elif cell.value_start >= 0:
        edits.append(ByteEdit(cell.value_start, cell.value_end, element))
    elif element:
        edits.append(ByteEdit(cell.new_value_at, cell.new_value_at, element))
    if new_tag != tag:
        edits.append(ByteEdit(cell.start, cell.tag_end, new_tag))
    return edits


def value_element(prefix: str, text: str) -> bytes:
    """Return the element of a stored value, whose text is escaped already."""
    keeps_spaces = ' xml:space="preserve"' if text != text.strip() else ""  # Calc drops them at the ends otherwise
    return f"<{prefix}v{keeps_spaces}>{text}</{prefix}v>".encode()


def opened(tag: bytes) -> bytes:
    """Return a start tag made from an empty tag."""
    return tag[: tag.rindex(b"/")].rstrip() + b">" if tag.endswith(b"/>") else tag


def _tag_of_kind(tag: bytes, kind: str) -> bytes:
    """Return a cell's start tag with another attribute ``t``."""
    attribute = f' t="{kind}"'.encode() if kind else b""
    if _KIND.search(tag):
        return _KIND.sub(attribute, tag, count=1)
    end = len(tag) - (2 if tag.endswith(b"/>") else 1)
    return tag[:end].rstrip() + attribute + tag[end:]
