"""From the rows of any table to readings: one station's, each with its date as written; the others are noted."""

from __future__ import annotations

import math
from contextlib import suppress
from datetime import date, timedelta
from itertools import chain, pairwise
from typing import Callable, Iterator, Mapping, NamedTuple, Sequence, Tuple

from .choosing import PARTS
from .columns import Columns
from .errors import TwoReadingsError, WeatherFileError
from .marks import Placed
from .model import Choice, Options, Refused
from .numbers import read_number
from .rows import Rows
from .stamps import Dates, split_stamp
from .texts import printable

#: More broken lines than this are no weather file.
MOST_UNREADABLE = 1_000
#: More rows or more different dates than any record of days has.
MOST_DAYS = 150_000
#: So many of the stations in a file are named.
_SHOWN = 5


#: A row as the file has it: its line, date and time of day as written, low and high, and all its fields.
Reading = Tuple[int, str, str, float, float, Sequence[str]]


class LineDay(NamedTuple):
    """One day with the line it comes from [°, in the file's unit]."""

    line: int
    day: date
    low: float
    high: float


class Notes:
    """What is noted while rows are read: the station, the dates as written, and the lines that gave nothing."""

    def __init__(self, name: str, options: Options) -> None:
        """Start with nothing. name : of the file."""
        self.name = name
        self.options = options
        self._stations: dict[str, None] = {}  # in their order
        self.dates = Dates(name, options.date_order)
        self.last_line = 0
        self._lines: list[tuple[int, str, str]] = []
        self._broken: list[Refused] = []

    def broken_line(self, line: int, reason: str) -> None:
        """Note a line that cannot be read; raises :class:`WeatherFileError` where they are too many."""
        self._broken.append(Refused(line, None, reason, True))
        if len(self._broken) > MOST_UNREADABLE:
            first = self._broken[0]
            raise WeatherFileError(
                f"{self.name} has more than {MOST_UNREADABLE} lines that cannot be read, the first line {first.line}:"
                f" {first.reason}"
            )

    def unused_day(self, line: int, text: str, reason: str) -> None:
        """Note a line that is read and cannot be used. text : its date as written."""
        self._lines.append((line, text, reason))

    def day(self, line: int, text: str) -> date | None:
        """Return the day of a date as it is written; a line with one that is no day in its order is noted."""
        day = self.dates.day(text)
        if day is None:
            self.broken_line(line, f'has the date "{printable(text, 28)}", which is no day, read as the others are')
        return day

    @property
    def station(self) -> str:
        """The station that is read; "" where the file names none."""
        return self.options.station or "".join(self._stations)

    def is_of_station(self, station: str) -> bool:
        """Note a row's station and return whether it is the one that is read; raises :class:`TwoReadingsError`."""
        self._stations[station] = None
        if len(self._stations) > 1 and not self.options.station:
            raise several_stations(self.name, list(self._stations))
        return self.options.station in (None, station)

    def check_station(self) -> None:
        """Raise :class:`WeatherFileError` where all rows were of other stations than the one that is wanted."""
        if self.options.station and self.options.station not in self._stations:
            shown = ", ".join(map(printable, self._stations)) or "none"
            raise WeatherFileError(f"{self.name} has no station {printable(self.options.station)}, but {shown}")

    def refused(self) -> list[Refused]:
        """Return the lines that gave nothing, with their days."""
        return [*self._broken, *(Refused(line, self.dates.day(text), reason) for line, text, reason in self._lines)]


def days_of_table(rows: Rows, notes: Notes) -> tuple[list[LineDay], Choice]:
    """Return the days of a table with one day a row, and how its dates are read; what gave none is noted."""
    found: list[tuple[int, str, float, float]] = []
    marks = rows.columns.marks
    for line, text, _, low, high, fields in readings(rows, notes):
        if marks and (doubt := _doubt(marks, {"low": low, "high": high}, fields)):
            notes.unused_day(line, text, doubt)
        elif low == low and high == high:
            found.append((line, text, low, high))
        elif low == low or high == high:
            notes.unused_day(line, text, f"has no {'high' if low == low else 'low'}")
        if len(found) > MOST_DAYS:
            raise WeatherFileError(f"{notes.name} has more than {MOST_DAYS:,} days, wanted those of one station")
    choice = notes.dates.decide()
    days = [(line, notes.day(line, text), low, high) for line, text, low, high in found]
    return [LineDay(line, day, low, high) for line, day, low, high in days if day is not None], choice


def _doubt(marks: Sequence[tuple[str, Placed]], values: Mapping[str, float], fields: Sequence[str]) -> str:
    """Return what the service's own marks say against a row's values, "" where they say nothing."""
    known = (item for item in marks if not math.isnan(values[item[0]]))
    return next((f"the {role} {doubt}" for role, mark in known if (doubt := mark.doubt(fields))), "")


def readings(rows: Rows, notes: Notes) -> Iterator[Reading]:
    """Go over the rows of one station that have a date and temperatures; what is missing is NaN."""
    columns = rows.columns
    width, stamp, dates = columns.width, _stamp_reader(columns), notes.dates
    # A file of lows or highs alone has its values for both; it is joined with the other one later.
    at = [columns.at[role] for role in ("temperature", "low", "high") if role in columns.at]
    low_at, high_at = at[0], at[-1]
    line, station_at = 0, columns.at.get("station")
    if notes.options.station and station_at is None:
        raise WeatherFileError(
            f"{notes.name} has no column of stations: leave --station out, or name it with --columns station=…"
        )
    for (line, fields), following in pairwise(chain(rows.rows, [None])):  # type: ignore[misc]
        # A line without the column is broken, and named as such.
        if station_at is not None and station_at < len(fields) and not notes.is_of_station(fields[station_at].strip()):
            continue
        why = "" if len(fields) == width else _wrong_width(fields, width)
        text, clock = ("", "") if why else stamp(fields)
        if not why and text not in dates.written and not dates.take_in(text, line):
            why = f'has no date that can be read: "{printable(text, 28)}"'
        if why:
            if "".join(fields).strip() and not fields[0].startswith("#"):
                notes.broken_line(line, why)
            continue
        low = read_number(fields[low_at])
        high = low if high_at == low_at else read_number(fields[high_at])
        if low is None or high is None:
            strange = fields[low_at if low is None else high_at]
            notes.broken_line(line, f'has "{printable(strange, 28)}" where a temperature is wanted')
        elif following is None and rows.is_cut(fields):
            notes.broken_line(line, "is cut off in the middle of a number")
        else:
            yield line, text, clock, low, high, fields
    notes.last_line = line
    notes.check_station()


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
    with suppress(ValueError, OverflowError):
        day = date(int(year), 1, 1) + timedelta(days=int(number) - 1)
        if day.year == int(year):
            return day.isoformat()
    return f"{year} day {number}"


def _wrong_width(fields: Sequence[str], width: int) -> str:
    """Return why a row has not the columns of the table, "" where it has."""
    if len(fields) < width:
        return f"has {len(fields)} columns where others have {width}; cut off?"
    if any(field.strip() for field in fields[width:]):
        return f"has {len(fields)} columns where others have {width}; a decimal comma wants semicolons between columns"
    return ""
