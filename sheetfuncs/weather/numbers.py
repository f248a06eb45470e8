"""Temperatures as texts: with a point or a comma, with or without a unit, or a mark for a missing one."""

from __future__ import annotations

import math
import re
from functools import lru_cache

from .texts import in_letters

#: Words and numbers that stand for a missing value in files of weather services (common; no standard).
_MISSING_WORDS = frozenset([
    "", "na", "n/a", "n.a.", "nan", "null", "none", "nil", "-", "--", "---", "----", ".", "..", "...", "*", "**", "***",
    "?", "m", "x", "#n/a", "#n/d", "#nv", "///", "//", "/", "missing", "nd", "s/d",
])  # fmt: skip
MISSING_NUMBERS = frozenset(
    sign * number for number in (999, 999.9, 999.99, 6999, 7999, 8888, 9999, 9999.9, 32767) for sign in (1, -1)
) | {-99.0, -99.9, -99.99, -32768.0}
_NUMBER = re.compile(
    r"([+-]?(?:\d{1,5}(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+)?)\s*(?:°|º|deg)?\s*([CF]?)\.?$", re.IGNORECASE
)
_SIGNS = str.maketrans({"−": "-", "–": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "})


@lru_cache(maxsize=4096)
def read_number(text: str) -> float | None:
    """Return a temperature, NaN for a mark that says there is none, ``None`` for any other text."""
    return read_with_unit(text)[0]


def read_with_unit(text: str) -> tuple[float | None, str]:
    """Return a temperature as :func:`read_number` does, and the unit written behind it, "C", "F" or ""."""
    text = text.strip()
    if not text.isascii():
        text = in_letters(text).translate(_SIGNS).strip()
    match = _NUMBER.match(text)
    if match is None:
        return math.nan if text.lower() in _MISSING_WORDS else None, ""
    number = float(match[1].replace(",", "."))
    return (math.nan, "") if number in MISSING_NUMBERS else (number, match[2].upper())


def is_number_or_missing(text: str) -> bool:
    """Return whether a text holds a number or a mark for a missing one."""
    return read_number(text) is not None


def is_number(text: str) -> bool:
    """Return whether a text holds a number; a mark for a missing one does not count."""
    number = read_number(text)
    return number is not None and number == number
