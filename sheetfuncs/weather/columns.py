"""A table's columns: how its lines are cut, which row holds the headings, where the data start, and the unit."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import Mapping, Sequence

from . import headings
from .choosing import PARTS, Fields, Roles, Table, as_wanted, by_contents, by_headings, is_date, is_log, roles_wanted
from .errors import WeatherFileError
from .marks import Placed, marks_of
from .model import Choice
from .numbers import is_number, is_number_or_missing, read_with_unit
from .texts import in_letters, printable

#: How far down a table's headings may stand [rows of the sample].
_LAST_HEADING = 80
_QUOTED = re.compile(r'"[^"]*"')
_VALUES = ("low", "high", "temperature")


@dataclass(frozen=True)
class Columns:
    """Which columns are read, and as what.

    width : how many columns a row has. at : their indexes by role, see :mod:`.choosing`. names : all headings.
    how : they were found. data_from : index of the first row of data in the sample. unit : that headings or values
    name. marks : columns in which the service doubts a value, each with the value's role. is_log : whether rows are
    readings, several a day.
    """

    width: int
    at: Roles
    names: tuple[str, ...]
    how: str
    data_from: int
    unit: str
    marks: tuple[tuple[str, Placed], ...]
    is_log: bool

    @property
    def only(self) -> str:
        """ "low" or "high" where the file holds it alone, otherwise ""."""
        values = [role for role in _VALUES if role in self.at]
        return values[0] if values in (["low"], ["high"]) else ""

    @property
    def utc(self) -> bool:
        """Whether a heading says that times are UTC."""
        indexes = [self.at[role] for role in ("date", "time") if role in self.at]
        return any(headings.names_utc(self.names[index]) for index in indexes if index < len(self.names))

    def choice(self) -> Choice:
        """Return how the columns were taken, in the user's words."""
        shown = []
        for role, index in self.at.items():
            name = printable(self.names[index], 24) if index < len(self.names) else ""
            shown.append(f"{role} = {index + 1}" + (f' "{name}"' if name else ""))
        return Choice("columns", "; ".join(shown), self.how)


def delimiters_in(lines: Sequence[str]) -> list[str]:
    """Return what could stand between the columns of a text, likeliest first: a tab, ; | or , and "" for blanks."""
    lines = [_QUOTED.sub("", line) for line in lines if line.strip()]
    found = []
    for delimiter in ("\t", ";", "|", ","):
        counts = Counter(line.count(delimiter) for line in lines)
        most, often = max(counts.items(), key=lambda item: (item[0] > 0, item[1]))
        if most and often >= 0.5 * len(lines):
            found.append(delimiter)
    return [*found, ""]


def find_columns(sample: Sequence[Fields], wanted: str | None, name: str) -> Columns:
    """Return the columns of a table, found from its first rows.

    sample : the rows at the start, blank ones as empty lists. wanted : as the user names them. name : of the file.
    Raises :class:`TwoReadingsError` where they are in doubt, :class:`WeatherFileError` where there is no table.
    """
    roles = roles_wanted(wanted) if wanted else {}
    heading = _heading_with(sample, roles) if roles else _find_heading(sample)
    start = _first_data(sample, heading)
    if start is None:
        raise WeatherFileError(f"{name} holds no rows with a date and temperatures, wanted rows of date, low, high")
    data = [row for row in sample[start:] if _is_filled(row)]
    width = Counter(map(len, data)).most_common(1)[0][0]
    above = [row for row in sample[:start] if _is_filled(row)]
    names = _heading_above(above, width) if heading is None else _heading_with_second(sample[heading:start])
    table = Table(tuple(_plain(field) for field in names), [row for row in data if len(row) == width], name)
    if roles:
        at, how = as_wanted(roles, table), "as you say"
    elif heading is not None:
        at, how = by_headings(table), "by their headings"
    else:
        at, how = by_contents(table), "by their values"
    values = {role: at[role] for role in _VALUES if role in at}
    return Columns(
        width, at, tuple(table.names), how, start,
        _unit_of(list(values.values()), table, above),
        tuple((role, placed) for role, index in values.items() for placed in marks_of(table.names, index)),
        "temperature" in at or is_log(at, table.data),
    )  # fmt: skip


def _is_filled(row: Fields) -> bool:
    return any(field.strip() for field in row)


def _plain(field: str) -> str:
    """Return a heading without the mark of a comment."""
    return in_letters(field).strip().lstrip("#").strip()


# -- headings, and where the data start ------------------------------------------------------------------------


def _find_heading(sample: Sequence[Fields]) -> int | None:
    """Return the index of the row whose words name a date and temperatures, or else a date and lows or highs alone."""
    half = None
    for index, row in enumerate(sample[:_LAST_HEADING]):
        fields = [in_letters(field) for field in row]
        every = frozenset().union(*map(headings.roles_of, fields))
        dated = every & {"date", "time"} or any(every >= set(parts) for parts in PARTS)
        if not dated or len(fields) < 2 or any(map(is_number, fields)):
            continue
        if "temperature" in every or every >= {"low", "high"}:
            return index
        if half is None and every & {"low", "high"}:
            half = index
    return half


def _heading_with(sample: Sequence[Fields], roles: Mapping[str, str]) -> int | None:
    """Return the index of the row that has all the headings which the user names, ``None`` where none are named."""
    wanted = {heading.lower() for heading in roles.values() if not heading.isdigit()}
    rows = enumerate(sample[:_LAST_HEADING] if wanted else ())
    return next((index for index, row in rows if wanted <= {_plain(field).lower() for field in row}), None)


def _heading_with_second(rows: Sequence[Fields]) -> Fields:
    """Return the first of some rows; where it says the same of several columns, those below tell them apart."""
    names = list(rows[0])
    for row in rows[1:]:
        if len(row) == len(names) and len(set(rows[0])) < len(names):
            names = [second.strip() or first for first, second in zip(names, row)]
    return names


def _heading_above(above: Sequence[Fields], width: int) -> Fields:
    """Return the row right above the data where it could be their headings."""
    return above[-1] if above and len(above[-1]) == width and not any(map(is_number, above[-1])) else ()


def _first_data(sample: Sequence[Fields], heading: int | None) -> int | None:
    """Return the index of the first row of data: one with a date, or, below headings, with numbers."""
    widths = Counter(len(row) for row in sample if _is_filled(row))
    usual = widths.most_common(1)[0][0] if widths else 0
    for index, row in enumerate(sample):
        if heading is not None and index <= heading:
            continue
        numbers = sum(1 for field in row if field.strip() and is_number_or_missing(field))
        is_usual = len(row) == usual or widths[len(row)] > 1
        if (heading is not None and numbers > 1) or (numbers and is_usual and any(map(is_date, row))):
            return index
    return None


# -- the unit --------------------------------------------------------------------------------------------------


def _unit_of(columns: Sequence[int], table: Table, above: Sequence[Fields]) -> str:
    """Return the unit of temperatures that headings or values name, or else a note above the table; "" without one.

    Such a note is ``TX : maximum temperature in 0.1 °C``.
    """
    rows = [row for row in above if len(row) >= min(table.width, 2)]
    named = {headings.unit_of(in_letters(row[index]).strip()) for row in rows for index in columns if index < len(row)}
    named |= {read_with_unit(row[index])[1] for row in table.data[:50] for index in columns}
    notes = [in_letters(" ".join(row)) for row in above]
    explained = set()
    for name in (table.names[index] for index in columns if index < len(table.names)):
        explains = re.compile(rf"[#\s\d-]*\b{re.escape(name)}(?:\s*[:=]|\s\s)")
        explained |= {headings.unit_of(text) for text in notes if explains.match(text)}
    for found in (named - {""}, explained - {""}):
        if len(found) == 1:
            return found.pop()
    return ""
