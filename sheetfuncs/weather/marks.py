"""How weather services mark values that they doubt; such values are not used, and are counted.

Each layout is a line of :data:`MARKS`. Where the services say it is named beside each; what is marked "from memory" was
written so and not looked up.
"""

from __future__ import annotations

from typing import NamedTuple, Sequence

from .texts import printable

#: What failed, by quality flag (GHCN-Daily readme.txt; names from memory).
_CHECKS = {
    "D": "duplicate", "G": "gap", "I": "internal consistency", "K": "streak", "L": "length of a total",
    "M": "megaconsistency", "N": "naught", "O": "outlier of the climate", "R": "lagged range",
    "S": "spatial consistency", "T": "temporal consistency", "W": "too warm for snow", "X": "bounds",
    "Z": "later inquiry",
}  # fmt: skip


def flag_reason(flag: str) -> str:
    """Return what a quality flag says."""
    check = _CHECKS.get(flag)
    return f"failed NOAA's check ({flag}{': ' + check if check else ''})"


class Mark(NamedTuple):
    """One kind of mark.

    heading : of the column with the marks, in small letters; {} is the heading of the value, without it the column
    stands to the right of the value. doubtful : marks of a doubt; where there are none, every mark is one but those
    that are fine. part : which of several with commas between. reason : why the value is doubtful.
    """

    heading: str
    doubtful: frozenset[str] = frozenset()
    fine: frozenset[str] = frozenset([""])
    part: int | None = None
    reason: str = 'is doubted by the service (mark "{}")'


def _letters(text: str) -> frozenset[str]:
    return frozenset(text.split())


#: All but NOAA's fields from memory of each service's own description.
MARKS = (
    Mark("{}_attributes", part=1, reason=""),  # NOAA, GHCN-Daily: "M,Q,S", a letter as Q is a failed check
    Mark("q_{}", _letters("1 9")),  # Europe's station dataset, header of its files: 1 suspect, 9 missing (from memory)
    Mark("q{}", _letters("2")),  # France, description of its daily files: 2 doubtful (from memory)
    Mark("qc", _letters("I M N P Q R S Y")),  # California's network: out of range or service, pending (from memory)
    Mark("品質情報", _letters("0 1 2 3 4")),  # Japan's agency: 8 normal, 5 nearly so, 4 and less doubtful (from memory)
    Mark("days of accumulation of", fine=_letters("1") | {""}, reason="is of {} days"),  # Australia (from memory)
)
#: How far to the right of a value the column of its marks may stand.
_NEAR = 3


class Placed(NamedTuple):
    """A kind of marks, and the column that holds them."""

    mark: Mark
    column: int

    def doubt(self, fields: Sequence[str]) -> str:
        """Return what a row's mark says against its value, "" where it says nothing."""
        text = fields[self.column].strip()
        if self.mark.part is not None:
            text = (text.split(",") + [""] * self.mark.part)[self.mark.part].strip()
        letter = text.removesuffix(".0")
        if letter in self.mark.doubtful or (not self.mark.doubtful and letter not in self.mark.fine):
            return self.mark.reason.format(printable(letter, 8)) or flag_reason(letter)
        return ""


def marks_of(names: Sequence[str], column: int | None) -> tuple[Placed, ...]:
    """Return the columns with the marks of a value's column, by their headings."""
    if column is None or column >= len(names):
        return ()
    plain = [name.strip().lower() for name in names]
    found = []
    for mark in MARKS:
        if "{}" in mark.heading:
            wanted = mark.heading.format(plain[column])
            indexes = [index for index, name in enumerate(plain) if name == wanted]
        else:
            right = range(column + 1, min(column + 1 + _NEAR, len(plain)))
            indexes = [index for index in right if plain[index].startswith(mark.heading)]
        found += [Placed(mark, index) for index in indexes[:1]]
    return tuple(found)
