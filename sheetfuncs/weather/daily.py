"""Tables with one day a row."""

from __future__ import annotations

from typing import NamedTuple, Sequence

from .collecting import MOST_DAYS, Stations, Unread, is_cut, stamp_reader, wrong_width
from .columns import Columns
from .errors import WeatherFileError
from .ghcn import flag_reason
from .numbers import read_number
from .rows import Rows, is_aside
from .stamps import DateText, read_date_text
from .texts import printable


class RawDay(NamedTuple):
    """A day as the file has it: its line, its date as written, low and high."""

    line: int
    text: str
    low: float
    high: float


def collect_days(rows: Rows, stations: Stations, name: str) -> tuple[list[RawDay], dict[str, DateText], Unread]:
    """Return the days of a table with one day a row, their dates as written, and the lines that gave none."""
    columns = rows.columns
    stamp = stamp_reader(columns)
    has_flags = columns.low_flags is not None or columns.high_flags is not None
    low_place, high_place = columns.low, columns.high
    assert low_place is not None
    assert high_place is not None
    days: list[RawDay] = []
    written: dict[str, DateText] = {}
    unread = Unread(name)
    line, fields = 0, []
    for line, fields in stations.rows(rows.rows()):
        if is_aside(fields):
            continue
        if why := wrong_width(fields, columns.width):
            unread.broken_line(line, why)
            continue
        text, _ = stamp(fields)
        if text not in written:
            found = read_date_text(text)
            if found is None:
                unread.broken_line(line, f'has no date that can be read: "{printable(text, 28)}"')
                continue
            written[text] = found
        try:
            low, high = read_number(fields[low_place]), read_number(fields[high_place])
        except ValueError as error:
            unread.broken_line(line, f'has "{printable(str(error), 28)}" where a temperature is wanted')
            continue
        flagged = has_flags and _flagged(fields, columns)
        if flagged:
            unread.unused_day(line, text, flagged)
        elif low == low and high == high:
            days.append(RawDay(line, text, low, high))
        elif low == low or high == high:
            unread.unused_day(line, text, f"has no {'high' if low == low else 'low'}")
        if len(days) > MOST_DAYS:
            raise WeatherFileError(f"{name} has more rows than days, wanted the rows of one station")
    unread.last_line = line
    if days and days[-1].line == line and is_cut(rows, fields, (low_place, high_place)):
        unread.broken_line(days.pop().line, "is cut off in the middle of a number")
    return days, written, unread


def _flagged(fields: Sequence[str], columns: Columns) -> str:
    """Return what the service's own check says against a value, "" where it says nothing."""
    for what, place in (("low", columns.low_flags), ("high", columns.high_flags)):
        flags = fields[place].split(",") if place is not None else []
        if len(flags) > 1 and flags[1].strip():
            return f"the {what} {flag_reason(flags[1].strip())}"
    return ""
