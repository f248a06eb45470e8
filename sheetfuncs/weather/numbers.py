"""Temperatures as texts: with a point or a comma, with or without a unit, or a mark for a missing one."""

from __future__ import annotations

import math
import re

from .texts import in_letters

MISSING = math.nan

#: Words and numbers that stand for a missing value in files of weather services (common; no standard).
_MISSING_WORDS = frozenset([
    "", "na", "n/a", "n.a.", "nan", "null", "none", "nil", "-", "--", "---", "----", ".", "..", "...", "*", "**", "***",
    "?", "m", "x", "#n/a", "#n/d", "#nv", "///", "//", "/", "missing", "nd", "s/d",
])  # fmt: skip
MISSING_NUMBERS = frozenset(
    sign * number for number in (999, 999.9, 999.99, 6999, 7999, 8888, 9999, 9999.9, 32767) for sign in (1, -1)
) | {-99.0, -99.9, -99.99, -32768.0}
_NUMBER = re.compile(r"([+-]?(?:\d{1,5}(?:[.,]\d*)?|[.,]\d+))\s*(?:°|º|deg)?\s*([CF]?)\.?$", re.IGNORECASE)
_SIGNS = str.maketrans({"−": "-", "–": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "})


class NoNumberError(ValueError):
    """A text that is neither a number nor a mark for a missing one."""


def read_number(text: str) -> float:
    """Return a temperature, :data:`MISSING` for a mark that says there is none; raises :class:`NoNumberError`."""
    try:
        number = float(text)  # most are plain
    except ValueError:
        return read_with_unit(text)[0]
    if -100 < number < 900 and number not in MISSING_NUMBERS and "_" not in text:
        return number
    return read_with_unit(text)[0]


def read_with_unit(text: str) -> tuple[float, str]:
    """Return a temperature and the unit written behind it, "C", "F" or ""; raises :class:`NoNumberError`."""
    text = text.strip()
    if not text.isascii():
        text = in_letters(text).translate(_SIGNS).strip()
    match = _NUMBER.match(text)
    if match is None:
        if text.lower() in _MISSING_WORDS:
            return MISSING, ""
        raise NoNumberError(text)
    number = float(match[1].replace(",", "."))
    return (MISSING, "") if number in MISSING_NUMBERS else (number, match[2].upper())


def is_number(text: str) -> bool:
    """Return whether a text holds a number; a mark for a missing one does not count."""
    try:
        number = read_number(text)
    except NoNumberError:
        return False
    return number == number


def is_number_or_missing(text: str) -> bool:
    """Return whether a text holds a number or a mark for a missing one."""
    try:
        read_number(text)
    except NoNumberError:
        return False
    return True
