"""What is done with the rows of any table: one station's are passed on, broken ones are noted."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Callable, Iterable, Iterator, Sequence

from .choosing import Columns
from .errors import TwoReadingsError, WeatherFileError
from .model import Refused
from .numbers import is_number
from .rows import Row, Rows, decimals_of
from .stamps import split_stamp
from .texts import printable

#: More broken lines than this are no weather file.
MOST_UNREADABLE = 1_000
#: More rows or more different dates than any record of days has.
MOST_DAYS = 150_000


@dataclass
class Unread:
    """The lines that gave nothing, and why; the dates of readable ones are still texts."""

    name: str
    lines: list[tuple[int, str, str, bool]] = field(default_factory=list)
    broken: int = 0
    last_line: int = 0

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


class Stations:
    """Passes on the rows of one station; ``name`` is its name."""

    def __init__(self, column: int | None, asked: str | None, name: str) -> None:
        self.name = ""
        self._column, self._asked, self._file = column, asked, name
        if asked and column is None:
            raise WeatherFileError(f"{name} has no column of stations, wanted no --station, or --columns station=…")

    def rows(self, rows: Iterable[Row]) -> Iterable[Row]:
        """Return the rows; they raise :class:`TwoReadingsError` at the second station where none was asked for."""
        return rows if self._column is None else self._of_one(rows, self._column, self._asked)

    def _of_one(self, rows: Iterable[Row], column: int, asked: str | None) -> Iterator[Row]:
        found: list[str] = []
        for row in rows:
            station = row[1][column].strip() if column < len(row[1]) else None
            if asked:
                if station is None or station == asked:
                    self.name = asked
                    yield row
                elif station not in found and len(found) < 5:
                    found.append(station)
                continue
            if station is not None and station not in found:
                found.append(station)
                self.name = station
                if len(found) > 1:
                    shown = ", ".join(map(printable, found))
                    raise TwoReadingsError(
                        f"{self._file} has more than one station ({shown}…), wanted --station with one of them",
                        "station",
                    )
            yield row
        if asked and not self.name:
            shown = ", ".join(map(printable, found)) or "none"
            raise WeatherFileError(f"{self._file} has no station {printable(asked)}, but {shown}")


def stamp_reader(columns: Columns) -> Callable[[Sequence[str]], tuple[str, str]]:
    """Return what takes the date and the time of day out of a row."""
    time = columns.time
    if columns.date is None:
        parts = columns.parts

        def from_parts(fields: Sequence[str]) -> tuple[str, str]:
            numbers = [fields[place].strip().removesuffix(".0") for place in parts]
            text = "-".join(numbers) if len(numbers) == 3 else _by_day_of_year(*numbers)
            return text, "" if time is None else fields[time]

        return from_parts
    place = columns.date
    if time is not None:
        return lambda fields: (split_stamp(fields[place])[0], fields[time])
    return lambda fields: split_stamp(fields[place])


def _by_day_of_year(year: str, number: str) -> str:
    """Return the date of a day of the year as a text, which can be none."""
    try:
        day = date(int(year), 1, 1) + timedelta(days=int(number) - 1)
        return day.isoformat() if day.year == int(year) else f"{year} day {number}"
    except (ValueError, OverflowError):
        return f"{year} day {number}"


def wrong_width(fields: Sequence[str], width: int) -> str:
    """Return why a row has not the columns of the table, "" where it has."""
    if len(fields) == width or (len(fields) > width and not any(field.strip() for field in fields[width:])):
        return ""
    if len(fields) < width:
        return f"has {len(fields)} columns where others have {width}; cut off?"
    return f"has {len(fields)} columns where others have {width}; a decimal comma wants semicolons between columns"


def is_cut(rows: Rows, fields: Sequence[str], used: Sequence[int | None]) -> bool:
    """Return whether the last row seems to end in the middle of a number."""
    width = rows.columns.width
    if rows.ends_whole() or len(fields) != width or width - 1 not in used:
        return False
    return is_number(fields[-1]) and decimals_of(fields[-1]) < rows.decimals
