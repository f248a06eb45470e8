"""Cell references as texts and as numbers, counted from 1."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

_CELL = re.compile(r"\$?([A-Za-z]{1,3})\$?(\d{1,7})$")


class Area(NamedTuple):
    """A rectangle of cells, its corners counted."""

    top: int
    left: int
    bottom: int
    right: int

    @property
    def rows(self) -> int:
        """How many rows it has."""
        return self.bottom - self.top + 1

    @property
    def columns(self) -> int:
        """How many columns it has."""
        return self.right - self.left + 1

    def holds(self, row: int, column: int) -> bool:
        """Return whether a cell lies in it."""
        return self.top <= row <= self.bottom and self.left <= column <= self.right

    def __str__(self) -> str:
        first = cell_name(self.top, self.left)
        return first if self.rows == self.columns == 1 else f"{first}:{cell_name(self.bottom, self.right)}"


@lru_cache(maxsize=None)
def column_number(letters: str) -> int:
    """Return the number of a column: ``AB`` is 28."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


@lru_cache(maxsize=None)
def column_letters(number: int) -> str:
    """Return the letters of a column: 28 is ``AB``."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def cell_name(row: int, column: int) -> str:
    """Return a cell's name: row 2, column 28 is ``AB2``."""
    return f"{column_letters(column)}{row}"


def read_cell_name(name: str) -> tuple[int, int]:
    """Return row and column of ``AB2`` or ``$AB$2``; raises ``ValueError``."""
    match = _CELL.match(name)
    if not match:
        raise ValueError(f"{name} is no cell")
    letters, number = match.groups()
    return int(number), column_number(letters)


def read_area(text: str) -> Area:
    """Return the rectangle of ``A1:B3`` or ``A1``; raises ``ValueError``."""
    first, _, last = text.partition(":")
    top, left = read_cell_name(first)
    bottom, right = read_cell_name(last or first)
    return Area(min(top, bottom), min(left, right), max(top, bottom), max(left, right))


def quoted_sheet(name: str) -> str:
    """Return a sheet's name as it stands in a formula: ``'Tree''s'``."""
    return "'" + name.replace("'", "''") + "'"


def plain_sheet(written: str) -> str:
    """Return a sheet's name as a person writes it: ``Tree's`` for ``'Tree''s'``."""
    return written[1:-1].replace("''", "'") if written.startswith("'") else written
