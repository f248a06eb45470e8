"""The parts of each font in the order that the Open XML schema wants; openpyxl writes them in another."""

from __future__ import annotations

import re

#: Ecma-376, CT_Font.
_ORDER = (
    b"b", b"i", b"strike", b"condense", b"extend", b"outline", b"shadow", b"u", b"vertAlign", b"sz", b"color", b"name",
    b"family", b"charset", b"scheme",
)  # fmt: skip
_FONT = re.compile(rb"(<font>)(.*?)(</font>)", re.DOTALL)
_PART = re.compile(rb"<(\w+)\b[^>]*/>")


def with_fonts_in_order(styles: bytes) -> bytes:
    """Return the part of the styles with each font's parts in order; one written otherwise stays as it is."""

    def ordered(font: re.Match[bytes]) -> bytes:
        parts = list(_PART.finditer(font[2]))
        if b"".join(part[0] for part in parts) != font[2] or any(part[1] not in _ORDER for part in parts):
            return font[0]
        return font[1] + b"".join(part[0] for part in sorted(parts, key=lambda part: _ORDER.index(part[1]))) + font[3]

    return _FONT.sub(ordered, styles)
