"""A table's columns: how its lines are cut, which row holds the headings, where the data start, and the unit."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from typing import Mapping, Sequence

from . import headings
from .choosing import Columns, Fields, as_wanted, by_contents, by_headings, is_date, is_log, roles_wanted
from .errors import WeatherFileError
from .numbers import is_number, is_number_or_missing, read_with_unit
from .stamps import read_clock, read_date_text
from .texts import in_letters

#: How far down a table's headings may stand [rows of the sample].
_LAST_HEADING = 80
_QUOTED = re.compile(r'"[^"]*"')


# -- how a line is cut into fields -----------------------------------------------------------------------------


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


# -- which column is which -------------------------------------------------------------------------------------


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
    data = [row for row in sample[start:] if any(field.strip() for field in row)]
    width = Counter(map(len, data)).most_common(1)[0][0]
    data = [row for row in data if len(row) == width]
    above = [row for row in sample[:start] if any(field.strip() for field in row)]
    names = _heading_above(above, width) if heading is None else _heading_with_second(sample[heading:start])
    names = tuple(in_letters(field).strip().lstrip("#").strip() for field in names)
    if roles:
        found, how = as_wanted(roles, names, width, name), "as you say"
    elif heading is not None:
        found, how = by_headings(names, data, width, name), "by their headings"
    else:
        found, how = by_contents(data, width, name), "by what stands in them"
    units = [row for row in above if len(row) >= min(width, 2)]
    return replace(
        found,
        names=names,
        data_from=start,
        how=how,
        unit=_unit_of(found, units, data) or _unit_explained(found, names, above),
        is_log=found.temperature is not None or is_log(data, found.date, found.parts, found.time),
        separator=_separator(found, data),
    )


def _separator(columns: Columns, data: Sequence[Fields]) -> str:
    """Return what stands between date and time of day in every row, "" where a row must be looked at more closely."""
    if columns.date is None or columns.time is not None:
        return ""
    for separator in ("T", " "):
        cut = [row[columns.date].partition(separator) for row in data]
        if all(read_date_text(day) is not None and read_clock(clock) is not None for day, _, clock in cut):
            return separator
    return ""


def _find_heading(sample: Sequence[Fields]) -> int | None:
    """Return the index of the row whose words name a date and temperatures, or else a date and lows or highs alone."""
    half = None
    for index, row in enumerate(sample[:_LAST_HEADING]):
        fields = [in_letters(field) for field in row]
        if any(is_number(field) for field in fields):
            continue
        roles = [headings.roles_of(field) for field in fields]
        every = frozenset().union(*roles)
        dated = every & {"date", "time"} or every >= {"year", "month", "day"} or every >= {"year", "day of year"}
        if not dated or len(fields) < 2:
            continue
        if "temperature" in every or every >= {"low", "high"}:
            return index
        if half is None and every & {"low", "high"}:
            half = index
    return half


def _heading_with_second(rows: Sequence[Fields]) -> Fields:
    """Return the first of some rows; where it says the same of several columns, those below tell them apart."""
    names = list(rows[0])
    for row in rows[1:]:
        if len(row) == len(names) and len(set(rows[0])) < len(names):
            names = [second.strip() or first for first, second in zip(names, row)]
    return names


def _first_data(sample: Sequence[Fields], heading: int | None) -> int | None:
    """Return the index of the first row of data: one with a date, or, below headings, with numbers."""
    for index, row in enumerate(sample):
        if heading is not None and index <= heading:
            continue
        dates = [field for field in row if is_date(field)]
        numbers = [field for field in row if is_number_or_missing(field) and field.strip()]
        if (heading is not None and len(numbers) > 1) or (dates and len(numbers) > 0 and _is_usual(len(row), sample)):
            return index
    return None


def _is_usual(width: int, sample: Sequence[Fields]) -> bool:
    widths = Counter(len(row) for row in sample if any(field.strip() for field in row))
    return width == widths.most_common(1)[0][0] or widths[width] > 1


def _heading_above(above: Sequence[Fields], width: int) -> Fields:
    """Return the row right above the data where it could be their headings."""
    if above and len(above[-1]) == width and not any(is_number(field) for field in above[-1]):
        return above[-1]
    return ()


def _heading_with(sample: Sequence[Fields], roles: Mapping[str, str]) -> int | None:
    """Return the index of the row that has all the headings which the user names, ``None`` where none are named."""
    wanted = {heading.lower() for heading in roles.values() if not heading.isdigit()}
    for index, row in enumerate(sample[:_LAST_HEADING] if wanted else ()):
        if wanted <= {in_letters(field).strip().lstrip("#").strip().lower() for field in row}:
            return index
    return None


def _unit_of(columns: Columns, above: Sequence[Fields], data: Sequence[Fields]) -> str:
    """Return the unit that the headings or the values of the temperatures name."""
    indexes = [index for index in (columns.low, columns.high, columns.temperature) if index is not None]
    found = {headings.unit_of(in_letters(row[index]).strip()) for row in above for index in indexes if index < len(row)}
    for row in data[:50]:
        for index in indexes:
            try:
                found.add(read_with_unit(row[index])[1])
            except ValueError:
                continue
    found.discard("")
    return found.pop() if len(found) == 1 else ""


def _unit_explained(columns: Columns, names: Fields, above: Sequence[Fields]) -> str:
    """Return the unit that notes above the table name, such as ``TX : maximum temperature in 0.1 °C``."""
    found = set()
    for index in (columns.low, columns.high, columns.temperature):
        if index is None or index >= len(names):
            continue
        explains = re.compile(rf"[#\s\d-]*\b{re.escape(names[index])}(?:\s*[:=]|\s\s)")
        for row in above:
            text = in_letters(" ".join(row))
            if explains.match(text):
                found.add(headings.unit_of(text))
    found.discard("")
    return found.pop() if len(found) == 1 else ""
