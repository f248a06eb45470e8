"""Days out of the rows of a table: one day a row, or many readings a day."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, timezone
from math import inf
from typing import Callable, Iterable, Iterator, NamedTuple, Sequence

from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from .columns import Columns
from .errors import TwoReadingsError, WeatherFileError
from .ghcn import flag_reason
from .model import Asked, Refused
from .numbers import MISSING_NUMBERS, read_number
from .rows import Row, Rows, decimals_of, is_aside
from .stamps import Clock, DateText, read_clock, read_date_text, split_stamp
from .texts import printable
from .units import TENTHS

#: A day of readings counts when at least so many of its 24 hours have one (judgement): the day on which clocks go
#: forward has 23, and a night or an afternoon without readings would give a false low or high.
ENOUGH_HOURS = 20
#: More broken lines than this are no weather file.
MOST_UNREADABLE = 1_000
#: More rows or more different dates than any record of days has.
MOST_DAYS = 150_000
#: Readings outside are no weather, whatever the unit: −60 to 60 °C, in °F [°].
_INNER, _OUTER = (-60.0, 60.0), (-76.0, 140.0)
#: From this share on, repeated times are no accident.
_MANY = 0.05


class RawDay(NamedTuple):
    """A day as the file has it: its line, its date as written, low and high."""

    line: int
    text: str
    low: float
    high: float


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


# -- what both kinds share -------------------------------------------------------------------------------------


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


def _stamp_reader(columns: Columns) -> Callable[[Sequence[str]], tuple[str, str]]:
    """Return what takes the date and the time of day out of a row."""
    time = columns.time
    if columns.date is None:
        year, month, day = columns.parts

        def from_parts(fields: Sequence[str]) -> tuple[str, str]:
            numbers = (fields[place].strip().removesuffix(".0") for place in (year, month, day))
            return "-".join(numbers), "" if time is None else fields[time]

        return from_parts
    place = columns.date
    if time is not None:
        return lambda fields: (split_stamp(fields[place])[0], fields[time])
    return lambda fields: split_stamp(fields[place])


def _wrong_width(fields: Sequence[str], width: int) -> str:
    """Return why a row has not the columns of the table, "" where it has."""
    if len(fields) == width or (len(fields) > width and not any(field.strip() for field in fields[width:])):
        return ""
    if len(fields) < width:
        return f"has {len(fields)} columns where others have {width}; cut off?"
    return f"has {len(fields)} columns where others have {width}; a decimal comma wants semicolons between columns"


def _is_cut(rows: Rows, fields: Sequence[str], used: Sequence[int | None]) -> bool:
    """Return whether the last row seems to end in the middle of a number."""
    last = rows.columns.width - 1
    return not rows.ends_whole() and last in used and decimals_of(fields[-1]) < rows.decimals


# -- one day a row ---------------------------------------------------------------------------------------------


def collect_days(rows: Rows, stations: Stations, name: str) -> tuple[list[RawDay], dict[str, DateText], Unread]:
    """Return the days of a table with one day a row, their dates as written, and the lines that gave none."""
    columns = rows.columns
    stamp = _stamp_reader(columns)
    low_place, high_place = columns.low, columns.high
    assert low_place is not None
    assert high_place is not None
    days: list[RawDay] = []
    written: dict[str, DateText] = {}
    unread = Unread(name)
    line, fields = 0, []
    for line, fields in stations.rows(rows.rows):
        if why := _wrong_width(fields, columns.width):
            if not is_aside(fields):
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
        flagged = _flagged(fields, columns)
        if flagged:
            unread.unused_day(line, text, flagged)
        elif low == low and high == high:
            days.append(RawDay(line, text, low, high))
        elif low == low or high == high:
            unread.unused_day(line, text, f"has no {'high' if low == low else 'low'}")
        if len(days) > MOST_DAYS:
            raise WeatherFileError(f"{name} has more rows than days, wanted the rows of one station")
    unread.last_line = line
    if days and _is_cut(rows, fields, (low_place, high_place)):
        unread.broken_line(days.pop().line, "is cut off in the middle of a number")
    return days, written, unread


def _flagged(fields: Sequence[str], columns: Columns) -> str:
    """Return what the service's own check says against a value, "" where it says nothing."""
    for what, place in (("low", columns.low_flags), ("high", columns.high_flags)):
        flags = fields[place].split(",") if place is not None else []
        if len(flags) > 1 and flags[1].strip():
            return f"the {what} {flag_reason(flags[1].strip())}"
    return ""


# -- many readings a day ---------------------------------------------------------------------------------------


@dataclass
class DayReadings:
    """What the readings of one day come to.

    low, high, hours : of the readings from −60 to 60. wide_low, wide_high, wide_hours : of those beyond, which are
    weather only in °F. Hours are bits, one an hour of the clock.
    """

    line: int
    low: float = inf
    high: float = -inf
    hours: int = 0
    wide_low: float = inf
    wide_high: float = -inf
    wide_hours: int = 0
    wide: int = 0

    def take_in(self, low: float, high: float, hours: int) -> None:
        """Take in what some of its readings from −60 to 60 come to."""
        self.low, self.high = min(self.low, low), max(self.high, high)
        self.hours |= hours

    def add(self, other: DayReadings) -> None:
        """Take in what other readings of the same day come to."""
        self.line = min(self.line, other.line)
        self.take_in(other.low, other.high, other.hours)
        self.wide_low, self.wide_high = min(self.wide_low, other.wide_low), max(self.wide_high, other.wide_high)
        self.wide_hours |= other.wide_hours
        self.wide += other.wide


@dataclass
class Log:
    """The readings of a log by the text of their day; ``midnights`` are those at 24:00, which belong to the next."""

    name: str
    days: dict[str, DayReadings] = field(default_factory=dict)
    midnights: dict[str, DayReadings] = field(default_factory=dict)
    written: dict[str, DateText] = field(default_factory=dict)
    offsets: set[int | None] = field(default_factory=set)
    readings: int = 0
    beyond: int = 0
    first_beyond: str = ""


def collect_log(rows: Rows, stations: Stations, asked: Asked, name: str) -> tuple[Log, Unread]:
    """Return the readings of a log by day, and the lines that gave none.

    The memory it takes grows with the days, not with the lines. Raises :class:`TwoReadingsError` where the times are
    UTC and the station's zone is not known, or where one time has several readings.
    """
    log, unread = Log(name), Unread(name)
    reader = _LogReader(rows.columns, asked, log, unread)
    line, fields = reader.take_in(stations.rows(rows.rows))
    unread.last_line = line
    if fields and _is_cut(rows, fields, (rows.columns.low, rows.columns.high, rows.columns.temperature)):
        unread.broken_line(line, "is cut off in the middle of a number")
        log.days.pop(reader.current, None)
    reader.check()
    return log, unread


class _LogReader:
    def __init__(self, columns: Columns, asked: Asked, log: Log, unread: Unread) -> None:
        self._columns, self._asked, self._log, self._unread = columns, asked, log, unread
        self._stamp = _stamp_reader(columns)
        low, high = (columns.low, columns.high) if columns.temperature is None else (columns.temperature,) * 2
        assert low is not None
        assert high is not None
        self._low, self._high = low, high
        self._tenths = TENTHS in (asked.unit, columns.unit)
        self._zone = _zone(asked.time_zone, log.name) if asked.time_zone else None
        self._bits: dict[str, int] = {}
        self._last: tuple[object, ...] = ()
        self._last_local: tuple[str, int] = ("", 0)
        self.current = ""
        self._returns = self._repeats = 0

    def take_in(self, rows: Iterable[Row]) -> Row:
        """Take in all rows and return the last one.

        A million rows go through this loop: what is usual is done in it, and the rest in :meth:`_careful`.
        """
        columns, bits, stamp, written = self._columns, self._bits, self._stamp, self._log.written
        date_place, time_place, separator = columns.date, columns.time, columns.separator
        low_place, high_place, width = self._low, self._high, columns.width
        is_one, is_plain = low_place == high_place, self._zone is None and not self._tenths
        is_split, is_apart = bool(separator), columns.date_alone
        at, before, readings, repeats = "", "", 0, 0
        day: DayReadings | None = None
        least, most, hours = inf, -inf, 0  # of the day at hand
        coldest, hottest = _INNER
        line, fields = 0, []
        for line, fields in rows:
            try:
                if is_split:
                    text, _, clock = fields[date_place].partition(separator)
                elif is_apart:
                    text, clock = fields[date_place], fields[time_place]
                else:
                    text, clock = stamp(fields)
                bit = bits[clock]
                low = high = float(fields[low_place])
                if not is_one:
                    high = float(fields[high_place])
                is_usual = is_plain and len(fields) == width and low == low and high == high
            except (ValueError, KeyError, IndexError):
                is_usual = False
            if not is_usual:
                found = self._careful(line, fields)
                if found is None:
                    continue
                text, clock, bit, low, high = found
            if text != at:
                if text not in written and self._careful(line, fields) is None:
                    continue  # no date
                if day is not None:
                    day.take_in(least, most, hours)
                at, day, least, most, hours = text, self._day(text, line), inf, -inf, 0
            elif clock == before:
                repeats += 1
            before = clock
            readings += 1
            if low < coldest or high > hottest:
                self._wide(day, bit, low, high, line)
                continue
            if low < least:
                least = low
            if high > most:
                most = high
            hours |= bit
        if day is not None:
            day.take_in(least, most, hours)
        self._log.readings, self._repeats, self.current = readings, repeats, at
        return line, fields

    def _day(self, text: str, line: int) -> DayReadings:
        """Return the readings of a day."""
        log = self._log
        if text in log.days:
            self._returns += 1
            return log.days[text]
        if len(log.days) > MOST_DAYS:
            raise WeatherFileError(f"{log.name} has more different dates than any record of days")
        log.days[text] = day = DayReadings(line)
        return day

    def _wide(self, day: DayReadings | None, bit: int, low: float, high: float, line: int) -> None:
        if day is not None and low >= _OUTER[0] and high <= _OUTER[1]:
            day.wide_low, day.wide_high = min(day.wide_low, low), max(day.wide_high, high)
            day.wide_hours |= bit
            day.wide += 1
        elif low not in MISSING_NUMBERS:
            self._log.beyond += 1
            wrong = low if low < _OUTER[0] else high
            self._log.first_beyond = self._log.first_beyond or f"{wrong:g} in line {line}"

    def _careful(self, line: int, fields: Sequence[str]) -> tuple[str, str, int, float, float] | None:
        """Return day, time, hour and temperatures of any row, ``None`` where it gives no reading."""
        if why := _wrong_width(fields, self._columns.width):
            if not is_aside(fields):
                self._unread.broken_line(line, why)
            return None
        text, clock_text = self._stamp(fields)
        clock = read_clock(clock_text) if clock_text else Clock(0)
        found = self._log.written.get(text) or read_date_text(text)
        if found is None or clock is None:
            shown = printable(" ".join((text, clock_text)), 28)
            self._unread.broken_line(line, f'has no date and time that can be read: "{shown}"')
            return None
        self._log.written[text] = found
        try:
            low, high = read_number(fields[self._low]), read_number(fields[self._high])
        except ValueError as error:
            self._unread.broken_line(line, f'has "{printable(str(error), 28)}" where a temperature is wanted')
            return None
        if low != low or high != high:
            return None
        if self._tenths:
            low, high = low / 10, high / 10
        self._log.offsets.add(clock.offset)
        if self._zone is not None:
            local, hour = self._in_zone(found, clock.hour, clock.minute, clock.offset or 0, line)
            self._log.written.setdefault(local, read_date_text(local) or found)
            return local, f"{clock_text} {text}", 1 << hour, low, high
        if clock.hour == 24:
            day = self._log.midnights.setdefault(text, DayReadings(line))
            self._put(day, low, high, line)
            return None
        self._bits[clock_text] = 1 << clock.hour
        return text, clock_text, 1 << clock.hour, low, high

    def _put(self, day: DayReadings, low: float, high: float, line: int) -> None:
        if low >= _INNER[0] and high <= _INNER[1]:
            day.take_in(low, high, 1)
        else:
            self._wide(day, 1, low, high, line)

    def _in_zone(self, written: DateText, hour: int, minute: int, offset: int, line: int) -> tuple[str, int]:
        """Return the date, as a text, and the hour on the station's clock."""
        key = (written, hour, minute // 15, offset)
        if key == self._last:
            return self._last_local
        order = self._asked.date_order or ""
        day = written.day(order)
        if day is None:
            raise TwoReadingsError(
                f"{self._log.name}, line {line}: to turn UTC into another time the order of day and month must be known"
                ", wanted --date-order",
                "date_order",
                ("day-month", "month-day"),
            )
        moment = datetime(day.year, day.month, day.day, tzinfo=timezone.utc)
        moment += timedelta(minutes=60 * hour + minute - offset)
        local = moment.astimezone(self._zone)
        self._last, self._last_local = key, (local.date().isoformat(), local.hour)
        return self._last_local

    def check(self) -> None:
        """Raise where the times of the log as a whole cannot be right."""
        log = self._log
        marked = self._columns.utc or log.offsets - {None} == {0}
        if marked and self._zone is None:
            raise TwoReadingsError(
                f"{log.name} has its times in UTC, and a day's low and high are those of the local day, wanted"
                " --time-zone such as Europe/Vienna (or UTC)",
                "time_zone",
            )
        if self._repeats > _MANY * log.readings or self._returns > max(3, _MANY * len(log.days)):
            raise TwoReadingsError(
                f"{log.name} has several readings for the same times: more than one station or sensor?"
                " Wanted --station, or a file of one",
                "station",
            )
        if 2 * log.beyond > log.readings:
            raise TwoReadingsError(
                f"{log.name} has mostly values that are no weather, such as {log.first_beyond}, wanted --unit tenths if"
                " they are tenths of °C",
                "unit",
                (TENTHS,),
            )


def _zone(name: str, file: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise WeatherFileError(f'time zone is "{printable(name)}", wanted one such as Europe/Vienna') from None
