"""Days that are new joined with days that are known; nothing is written here."""

from __future__ import annotations

import math
from datetime import date
from typing import Iterable, NamedTuple, Sequence

from .model import Day

#: Two readings of one day are the same up to this [°C, °F]: whole °F kept as tenths of °C come back so near.
SAME = {"C": 0.05, "F": 0.1}
#: The first day that a spreadsheet's calendar counts rightly.
FIRST_DAY = date(1900, 3, 1)
_TOLERANCE = 1e-6


class KnownDay(NamedTuple):
    """A row that is known: its number, and what stands in it; ``None`` for a blank cell.

    strange : what cannot be read as a day of weather, "" where all can.
    """

    row: int
    day: date | None
    low: float | None
    high: float | None
    strange: str = ""


class Change(NamedTuple):
    """A known day for which a file has other values; ``None`` stands for a blank cell."""

    row: int
    day: date
    low: float | None
    high: float | None
    new_low: float
    new_high: float


class Invalid(NamedTuple):
    """A row of the workbook (``row`` > 0) or a new day that is left alone, and why."""

    row: int
    day: date | None
    reason: str


class Merge(NamedTuple):
    """What joining new days with known ones comes to; every known row stays where it is.

    added : new days. kept : known days for which the file says the same. replaced : known days that take the file's
    values. completed : known days with a blank cell that is filled; a value that is known stays. differing : known days
    that stay although the file has other values. invalid : rows and days that are left alone. left_out : days older
    than all that find room.
    """

    added: tuple[Day, ...] = ()
    kept: tuple[KnownDay, ...] = ()
    replaced: tuple[Change, ...] = ()
    completed: tuple[Change, ...] = ()
    differing: tuple[Change, ...] = ()
    invalid: tuple[Invalid, ...] = ()
    left_out: tuple[Day, ...] = ()


def merge(known_rows: Sequence[KnownDay], new_rows: Iterable[Day], replace: bool = False, unit: str = "C") -> Merge:
    """Return what becomes of each known row and each new day.

    known_rows : in any order; a day may stand there more than once. new_rows : each day once. replace : the file's
    values take the place of known ones that differ. unit : of all of them, "C" or "F".
    Known days that the file does not have stay; doing it twice changes nothing the second time.
    """
    by_day: dict[date, list[KnownDay]] = {}
    invalid = [Invalid(row.row, row.day, row.strange) for row in known_rows if row.strange]
    for row in known_rows:
        if row.day is not None:
            by_day.setdefault(row.day, []).append(row)
    added, kept = [], []
    changes: dict[str, list[Change]] = {"replaced": [], "completed": [], "differing": []}
    for new in new_rows:
        why = _why_invalid(new)
        if why:
            invalid.append(Invalid(0, new.day, why))
        elif new.day not in by_day:
            added.append(new)
        for row in () if why else by_day.get(new.day, ()):
            what = _becomes(row, new, replace, SAME[unit])
            if what == "kept":
                kept.append(row)
            else:
                low = row.low if what == "completed" and row.low is not None else new.low
                high = row.high if what == "completed" and row.high is not None else new.high
                changes[what].append(Change(row.row, new.day, row.low, row.high, low, high))
    more = {name: tuple(found) for name, found in changes.items()}
    return Merge(tuple(added), tuple(kept), invalid=tuple(invalid), **more)


def _why_invalid(new: Day) -> str:
    if not (math.isfinite(new.low) and math.isfinite(new.high)):
        return "has no low or no high"
    if new.low > new.high:
        return f"low {new.low:g} above high {new.high:g}"
    if new.day < FIRST_DAY:
        return "lies before March 1900, where a spreadsheet's calendar starts"
    return ""


def _becomes(row: KnownDay, new: Day, replace: bool, same: float) -> str:
    """Return what becomes of a known row."""
    pairs = ((row.low, new.low), (row.high, new.high))
    if all(old is None or abs(old - value) <= same + _TOLERANCE for old, value in pairs) and not row.strange:
        return "kept" if None not in (row.low, row.high) else "completed"
    return "replaced" if replace else "differing"
