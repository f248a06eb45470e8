"""Tables with one day a row."""

from __future__ import annotations

from typing import NamedTuple, Sequence

from .choosing import Columns
from .collecting import MOST_DAYS, Stations, Unread, is_cut, stamp_reader, wrong_width
from .errors import WeatherFileError
from .numbers import is_number, read_number
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
    marked = bool(columns.low_marks or columns.high_marks)
    # A file of lows or highs alone has its values for both; it is joined with the other one later.
    places = [place for place in (columns.low, columns.high) if place is not None]
    low_place, high_place = places[0], places[-1]
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
        doubt = marked and _doubt(fields, columns)
        if doubt:
            unread.unused_day(line, text, doubt)
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


def _doubt(fields: Sequence[str], columns: Columns) -> str:
    """Return what the service's own marks say against a value, "" where they say nothing."""
    for what, place, marks in (("low", columns.low, columns.low_marks), ("high", columns.high, columns.high_marks)):
        for mark in marks:
            doubt = mark.doubt(fields)
            if doubt and place is not None and is_number(fields[place]):
                return f"the {what} {doubt}"
    return ""
