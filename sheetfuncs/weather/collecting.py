"""From the rows of any table to readings: one station's, each with its date as written; the others are noted."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Callable, Iterator, Mapping, NamedTuple, Sequence, Tuple

from ..cells.dates import WrittenDate
from .choosing import PARTS
from .columns import Columns
from .errors import TwoReadingsError, WeatherFileError
from .marks import Placed
from .model import Options, Refused
from .numbers import is_number, read_number
from .rows import Row, Rows, decimals_of
from .stamps import read_date_text, split_stamp
from .texts import printable

#: More broken lines than this are no weather file.
MOST_UNREADABLE = 1_000
#: More rows or more different dates than any record of days has.
MOST_DAYS = 150_000


class RawDay(NamedTuple):
    """A day as the file has it: its line, its date as written, low and high."""

    line: int
    text: str
    low: float
    high: float


#: A row as the file has it: its line, date and time of day as written, low and high, and all its fields.
Reading = Tuple[int, str, str, float, float, Sequence[str]]


@dataclass
class Notes:
    """What is noted while rows are read: the station, the dates as written, and the lines that gave nothing."""

    name: str
    station: str = ""
    written: dict[str, WrittenDate] = field(default_factory=dict)
    lines: list[tuple[int, str, str, bool]] = field(default_factory=list)
    broken: int = 0
    last_line: int = 0

    def date_text(self, text: str) -> WrittenDate | None:
        """Return a date as it is written, ``None`` where a text is none."""
        found = self.written.get(text) or read_date_text(text)
        if found is not None:
            self.written[text] = found
        return found

    def broken_line(self, line: int, reason: str) -> None:
        """Note a line that cannot be read; raises :class:`WeatherFileError` where they are too many."""
        self.broken += 1
        self.lines.append((line, "", reason, True))
        if self.broken > MOST_UNREADABLE:
            first, _, why, _ = next(item for item in self.lines if item[3])
            raise WeatherFileError(
                f"{self.name} has more than {MOST_UNREADABLE} lines that cannot be read, the first line {first}: {why}"
            )

    def unused_day(self, line: int, text: str, reason: str) -> None:
        """Note a line that is read and cannot be used."""
        self.lines.append((line, text, reason, False))

    def refused(self, day_of: Callable[[str], date | None]) -> list[Refused]:
        """Return the lines with their days."""
        return [
            Refused(line, day_of(text) if text else None, reason, broken) for line, text, reason, broken in self.lines
        ]


def collect_days(rows: Rows, options: Options, notes: Notes) -> list[RawDay]:
    """Return the days of a table with one day a row; what gave none is noted."""
    days: list[RawDay] = []
    marks = rows.columns.marks
    for line, text, _, low, high, fields in readings(rows, options, notes):
        if marks and (doubt := _doubt(marks, {"low": low, "high": high}, fields)):
            notes.unused_day(line, text, doubt)
        elif low == low and high == high:
            days.append(RawDay(line, text, low, high))
        elif low == low or high == high:
            notes.unused_day(line, text, f"has no {'high' if low == low else 'low'}")
        if len(days) > MOST_DAYS:
            raise WeatherFileError(f"{notes.name} has more rows than days, wanted the rows of one station")
    return days


def _doubt(marks: Sequence[tuple[str, Placed]], values: Mapping[str, float], fields: Sequence[str]) -> str:
    """Return what the service's own marks say against a row's values, "" where they say nothing."""
    known = (item for item in marks if not math.isnan(values[item[0]]))
    return next((f"the {role} {doubt}" for role, mark in known if (doubt := mark.doubt(fields))), "")


def readings(rows: Rows, options: Options, notes: Notes) -> Iterator[Reading]:
    """Go over the rows of one station that have a date and temperatures; what is missing is NaN."""
    columns = rows.columns
    width, stamp, written = columns.width, _stamp_reader(columns), notes.written
    # A file of lows or highs alone has its values for both; it is joined with the other one later.
    at = [columns.at[role] for role in ("temperature", "low", "high") if role in columns.at]
    low_at, high_at = at[0], at[-1]
    before: Reading | None = None
    line = 0
    for line, fields in _of_one_station(rows, options.station, notes):
        if before is not None:
            yield before
            before = None
        why = "" if len(fields) == width else _wrong_width(fields, width)
        if not why:
            text, clock = stamp(fields)
            if text in written or notes.date_text(text) is not None:
                try:
                    low = read_number(fields[low_at])
                    high = low if high_at == low_at else read_number(fields[high_at])
                    before = (line, text, clock, low, high, fields)
                except ValueError as error:
                    notes.broken_line(line, f'has "{printable(str(error), 28)}" where a temperature is wanted')
                continue
            why = f'has no date that can be read: "{printable(text, 28)}"'
        if "".join(fields).strip() and not fields[0].startswith("#"):
            notes.broken_line(line, why)
    notes.last_line = line
    if before is not None and not _is_cut(rows, before[-1], at):
        yield before
    elif before is not None:
        notes.broken_line(before[0], "is cut off in the middle of a number")


def _of_one_station(rows: Rows, wanted: str | None, notes: Notes) -> Iterator[Row]:
    """Go over the rows of one station, of all where no column names it; raises at the second one."""
    column = rows.columns.at.get("station")
    if column is None:
        if wanted:
            raise WeatherFileError(
                f"{notes.name} has no column of stations, wanted no --station, or --columns station=…"
            )
        yield from rows.rows
        return
    found: list[str] = []
    for row in rows.rows:
        station = row[1][column].strip() if column < len(row[1]) else None
        if station is not None and station not in found and (len(found) < 5 or station == wanted):
            found.append(station)
            if len(found) > 1 and not wanted:
                raise several_stations(notes.name, found)
        if station is None or not wanted or station == wanted:
            yield row
    notes.station = wanted or found[0] if found else ""
    if wanted and wanted not in found:
        shown = ", ".join(map(printable, found)) or "none"
        raise WeatherFileError(f"{notes.name} has no station {printable(wanted)}, but {shown}")


def several_stations(name: str, stations: Sequence[str]) -> TwoReadingsError:
    """Return the question which of several stations is wanted."""
    shown = ", ".join(map(printable, stations))
    return TwoReadingsError(
        f"{name} has more than one station ({shown}…), wanted --station with one of them", "station"
    )


def _stamp_reader(columns: Columns) -> Callable[[Sequence[str]], tuple[str, str]]:
    """Return what takes the date and the time of day out of a row."""
    date_at, time_at = columns.at.get("date"), columns.at.get("time")
    if date_at is None:
        parts = next([columns.at[part] for part in parts] for parts in PARTS if columns.at.keys() >= set(parts))

        def from_parts(fields: Sequence[str]) -> tuple[str, str]:
            numbers = [fields[index].strip().removesuffix(".0") for index in parts]
            text = "-".join(numbers) if len(numbers) == 3 else _by_day_of_year(*numbers)
            return text, "" if time_at is None else fields[time_at]

        return from_parts
    if time_at is not None:
        return lambda fields: (split_stamp(fields[date_at])[0], fields[time_at])
    return lambda fields: split_stamp(fields[date_at])


def _by_day_of_year(year: str, number: str) -> str:
    """Return the date of a day of the year as a text, which can be none."""
    try:
        day = date(int(year), 1, 1) + timedelta(days=int(number) - 1)
        return day.isoformat() if day.year == int(year) else f"{year} day {number}"
    except (ValueError, OverflowError):
        return f"{year} day {number}"


def _wrong_width(fields: Sequence[str], width: int) -> str:
    """Return why a row has not the columns of the table, "" where it has."""
    if len(fields) < width:
        return f"has {len(fields)} columns where others have {width}; cut off?"
    if any(field.strip() for field in fields[width:]):
        return f"has {len(fields)} columns where others have {width}; a decimal comma wants semicolons between columns"
    return ""


def _is_cut(rows: Rows, fields: Sequence[str], used: Sequence[int]) -> bool:
    """Return whether the last row seems to end in the middle of a number."""
    width = rows.columns.width
    if rows.ends_whole() or len(fields) != width or width - 1 not in used:
        return False
    return is_number(fields[-1]) and decimals_of(fields[-1]) < rows.decimals
