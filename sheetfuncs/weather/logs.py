"""Logs of readings, many a day: their lows and highs by the local day."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from itertools import groupby
from math import inf, isnan
from operator import eq
from typing import Sequence

from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from .choosing import Columns
from .collecting import MOST_DAYS, Stations, Unread, is_cut, stamp_reader, wrong_width
from .errors import TwoReadingsError, WeatherFileError
from .model import Asked
from .numbers import MISSING_NUMBERS, read_number
from .rows import Rows, is_aside
from .stamps import Clock, DateText, read_clock, read_date_text
from .texts import printable
from .units import TENTHS

#: A day of readings counts when at least so many of its 24 hours have one (judgement): the day on which clocks go
#: forward has 23, and a night or an afternoon without readings would give a false low or high.
ENOUGH_HOURS = 20
#: Readings outside are no weather, whatever the unit: −60 to 60 °C, in °F [°].
_INNER, _OUTER = (-60.0, 60.0), (-76.0, 140.0)
#: From this share on, repeated times are no accident.
_MANY = 0.05


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
    columns = rows.columns
    reader = _LogReader(columns, asked, log, unread)
    fields: list[str] = []
    if reader.takes_blocks:
        for first, block in rows.blocks:
            reader.take_in_block(first, block)
            unread.last_line, fields = first + len(block) - 1, block[-1]
    else:
        for line, fields in stations.rows(rows.rows()):
            reader.take_in(line, fields)
            unread.last_line = line
    if fields and is_cut(rows, fields, (columns.low, columns.high, columns.temperature)):
        unread.broken_line(unread.last_line, "is cut off in the middle of a number")
        log.days.pop(reader.current, None)
    reader.check()
    return log, unread


class _LogReader:
    def __init__(self, columns: Columns, asked: Asked, log: Log, unread: Unread) -> None:
        self._columns, self._asked, self._log, self._unread = columns, asked, log, unread
        self._stamp = stamp_reader(columns)
        low, high = (columns.low, columns.high) if columns.temperature is None else (columns.temperature,) * 2
        assert low is not None
        assert high is not None
        self._low, self._high = low, high
        self._tenths = TENTHS in (asked.unit, columns.unit)
        self._zone = _zone(asked.time_zone, log.name) if asked.time_zone else None
        #: Where a block of usual rows can be taken in at once: a million rows go this way.
        self.takes_blocks = (
            columns.station is None and bool(columns.separator) and low == high and not self._zone and not self._tenths
        )
        self._bits: dict[str, int] = {}
        self._last: tuple[object, ...] = ()
        self._last_local: tuple[str, int] = ("", 0)
        self._before = ""
        self.current = ""
        self._returns = self._repeats = 0

    def take_in_block(self, first: int, block: Sequence[list[str]]) -> None:
        """Take in rows that follow each other; ``first`` is the line of the first."""
        if not self._take_in_usual(first, block):
            for line, fields in enumerate(block, start=first):
                self.take_in(line, fields)

    def _take_in_usual(self, first: int, block: Sequence[list[str]]) -> bool:
        """Take in a block at once; return whether all its rows are such that this can be done."""
        columns = self._columns
        if set(map(len, block)) != {columns.width}:
            return False
        stamps = [fields[columns.date] for fields in block]  # type: ignore[index]
        at = stamps[0].find(columns.separator)
        # Where a stamp is of another length than the first, its time is none that is known.
        texts = [stamp[:at] for stamp in stamps]
        try:
            values = [float(fields[self._low]) for fields in block]
            bits = [self._bits[stamp[at + 1 :]] for stamp in stamps]
        except (ValueError, KeyError):
            return False
        if isnan(sum(values)) or any(self._date(text) is None for text in set(texts)):
            return False
        self._repeats += sum(map(eq, stamps, stamps[1:]))
        start = 0
        for text, group in groupby(texts):
            end = start + sum(1 for _ in group)
            day = self._day(text, first + start)
            least, most = min(values[start:end]), max(values[start:end])
            if least >= _INNER[0] and most <= _INNER[1]:
                hours = 0
                for bit in set(bits[start:end]):
                    hours |= bit
                day.take_in(least, most, hours)
            else:
                for place in range(start, end):
                    self._put(day, bits[place], values[place], values[place], first + place)
            start = end
        self._log.readings += len(block)
        self._before = stamps[-1][at + 1 :]
        return True

    def take_in(self, line: int, fields: list[str]) -> None:
        """Take in one row, whatever it is."""
        found = self._read(line, fields)
        if found is None:
            return
        text, clock, bit, low, high = found
        if text == self.current and clock == self._before:
            self._repeats += 1
        self._before = clock
        self._log.readings += 1
        self._put(self._day(text, line), bit, low, high, line)

    def _date(self, text: str) -> DateText | None:
        """Return a date as it is written, ``None`` where a text is none."""
        written = self._log.written
        if text not in written:
            found = read_date_text(text)
            if found is None:
                return None
            written[text] = found
        return written[text]

    def _day(self, text: str, line: int) -> DayReadings:
        """Return the readings of a day."""
        log = self._log
        if text in log.days:
            self._returns += text != self.current
            self.current = text
            return log.days[text]
        self.current = text
        if len(log.days) > MOST_DAYS:
            raise WeatherFileError(f"{log.name} has more different dates than any record of days")
        log.days[text] = day = DayReadings(line)
        return day

    def _put(self, day: DayReadings, bit: int, low: float, high: float, line: int) -> None:
        """Put one reading where it belongs."""
        if low >= _INNER[0] and high <= _INNER[1]:
            day.take_in(low, high, bit)
        elif low >= _OUTER[0] and high <= _OUTER[1]:
            day.wide_low, day.wide_high = min(day.wide_low, low), max(day.wide_high, high)
            day.wide_hours |= bit
            day.wide += 1
        elif low not in MISSING_NUMBERS:
            self._log.beyond += 1
            wrong = low if low < _OUTER[0] else high
            self._log.first_beyond = self._log.first_beyond or f"{wrong:g} in line {line}"

    def _read(self, line: int, fields: Sequence[str]) -> tuple[str, str, int, float, float] | None:
        """Return day, time, hour and temperatures of a row, ``None`` where it gives no reading."""
        if is_aside(fields):
            return None
        if why := wrong_width(fields, self._columns.width):
            self._unread.broken_line(line, why)
            return None
        text, clock_text = self._stamp(fields)
        clock = read_clock(clock_text) if clock_text else Clock(0)
        written = self._date(text)
        if written is None or clock is None:
            shown = printable(" ".join((text, clock_text)), 28)
            self._unread.broken_line(line, f'has no date and time that can be read: "{shown}"')
            return None
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
            local, hour = self._in_zone(written, clock.hour, clock.minute, clock.offset or 0, line)
            self._date(local)
            return local, f"{clock_text} {text}", 1 << hour, low, high
        if clock.hour == 24:
            day = self._log.midnights.setdefault(text, DayReadings(line))
            self._put(day, 1, low, high, line)
            return None
        self._bits[clock_text] = 1 << clock.hour
        return text, clock_text, 1 << clock.hour, low, high

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
