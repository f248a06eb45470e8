"""Logs of readings, many a day: their lows and highs by the local day."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, timezone
from math import inf

from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from ..cells.dates import WrittenDate
from .collecting import MOST_DAYS, LineDay, Notes, readings
from .errors import TwoReadingsError, WeatherFileError
from .finishing import unit_of
from .model import Choice, Refused
from .numbers import MISSING_NUMBERS
from .rows import Rows
from .stamps import Clock, read_clock
from .texts import printable
from .units import BY_HEADING, CELSIUS, FAHRENHEIT, TENTHS

#: A day of readings counts when at least so many of its 24 hours have one (judgement): the day on which clocks go
#: forward has 23, and a night or an afternoon without readings would give a false low or high.
ENOUGH_HOURS = 20
#: Readings outside are no weather: −60 to 60 °C, also in °F [°]. The unit is known only when all are read.
_POSSIBLE = {CELSIUS: (-60.0, 60.0), FAHRENHEIT: (-76.0, 140.0)}
#: From this share on, repeated times are no accident.
_MANY = 0.05


@dataclass
class Extremes:
    """What some readings of a day come to. hours : bits, one an hour of the clock."""

    low: float = inf
    high: float = -inf
    hours: int = 0

    def take_in(self, low: float, high: float, hours: int) -> None:
        """Take in a reading, or what other readings of the day come to."""
        if low < self.low:
            self.low = low
        if high > self.high:
            self.high = high
        self.hours |= hours


@dataclass
class LogDay:
    """The readings of one day, and its first line. by_unit : what they come to if they are in °C, or in °F."""

    line: int
    by_unit: dict[str, Extremes] = field(default_factory=lambda: {unit: Extremes() for unit in _POSSIBLE})


@dataclass
class Log:
    """The readings of a log by the text of their day, and how many days later they count: those at 24:00 one.

    offsets : distances from UTC that stand there. left_out : readings that are no weather in a unit; first_out : the
    first in words. repeats, returns : how often a time stands there again, and a day comes again after another one.
    """

    days: dict[tuple[str, int], LogDay] = field(default_factory=dict)
    offsets: set[int | None] = field(default_factory=set)
    left_out: Counter[str] = field(default_factory=Counter)
    first_out: dict[str, str] = field(default_factory=dict)
    readings: int = 0
    repeats: int = 0
    returns: int = 0


def days_of_log(rows: Rows, notes: Notes) -> tuple[list[LineDay], str, list[Refused], list[Choice], int]:
    """Return the days of a log, their unit, days with too few readings, what was decided, and how many readings.

    The memory it takes grows with the days, not with the lines. Raises :class:`TwoReadingsError` where the times are
    UTC and the station's zone is not known, or where one time has several readings.
    """
    log = _collected(rows, notes)
    choices = [notes.dates.decide()]
    by_day: dict[date, LogDay] = {}
    for (text, later), of_day in log.days.items():
        day = notes.day(of_day.line, text)
        if day is None:
            continue
        known = by_day.setdefault(day + timedelta(days=later), of_day)
        if known is not of_day:
            known.line = min(known.line, of_day.line)
            for unit, extremes in of_day.by_unit.items():
                known.by_unit[unit].take_in(extremes.low, extremes.high, extremes.hours)
    wide = {day: found.by_unit[FAHRENHEIT] for day, found in sorted(by_day.items())}
    every = [LineDay(by_day[day].line, day, found.low, found.high) for day, found in wide.items() if found.hours]
    # Tenths are divided while they are read; what is left is °C or °F.
    if _in_tenths(rows, notes):
        unit, choice = CELSIUS, Choice("unit", "tenths of °C", "as you say" if notes.options.unit else BY_HEADING)
    elif every:
        unit, choice = unit_of(every, rows.columns, notes.options, notes.name)
    else:
        raise WeatherFileError(f"{notes.name} holds no reading that can be weather")
    if unit == TENTHS:
        raise _question_of_tenths(log, notes.name)
    choices.append(choice)
    days, refused = [], []
    for day in wide:
        line, found = by_day[day].line, by_day[day].by_unit[unit]
        hours = found.hours.bit_count()
        if hours < ENOUGH_HOURS:
            refused.append(Refused(line, day, f"has readings in {hours} of 24 hours, wanted {ENOUGH_HOURS}"))
        else:
            days.append(LineDay(line, day, found.low, found.high))
    if log.left_out[unit]:
        why = f"no weather, such as {log.first_out[unit]}"
        choices.append(Choice("readings left out", f"{log.left_out[unit]:,}", why))
    return days, unit, refused, choices, log.readings


def _in_tenths(rows: Rows, notes: Notes) -> bool:
    return TENTHS in (notes.options.unit, rows.columns.unit)


def _collected(rows: Rows, notes: Notes) -> Log:
    """Return the readings of a log by day; lines that gave none are noted."""
    log = Log()
    zone = _zone(notes.options.time_zone) if notes.options.time_zone else None
    in_tenths = _in_tenths(rows, notes)
    stamp, key = ("", ""), ("", 0)
    of_day = LogDay(0)
    for line, text, clock_text, low, high, _ in readings(rows, notes):
        clock = read_clock(clock_text or "0:00")
        if clock is None:
            shown = printable(" ".join((text, clock_text)), 28)
            notes.broken_line(line, f'has no date and time that can be read: "{shown}"')
            continue
        if low != low or high != high:
            continue
        log.readings += 1
        stamp_before, stamp = stamp, (text, clock_text)
        log.repeats += stamp == stamp_before
        hour, _, offset = clock
        log.offsets.add(offset)
        key_before, key = key, (text, hour // 24)
        if zone is not None:
            local = _in_zone(notes.dates.written[text], clock, zone, notes, line)
            hour, key = local.hour, (local.date().isoformat(), 0)
            notes.dates.take_in(key[0], line)
        if key != key_before:
            log.returns += key in log.days
            of_day = log.days.setdefault(key, LogDay(line))
            if len(log.days) > MOST_DAYS:
                raise WeatherFileError(f"{notes.name} has more than {MOST_DAYS:,} days, wanted one station's")
        if in_tenths:
            low, high = low / 10, high / 10
        for unit, (least, most) in _POSSIBLE.items():
            if low >= least and high <= most:
                of_day.by_unit[unit].take_in(low, high, 1 << hour % 24)
            elif low not in MISSING_NUMBERS:
                log.left_out[unit] += 1
                if unit not in log.first_out:
                    log.first_out[unit] = f"{low if low < least else high:g} in line {line}"
    _check(log, notes.name, zone is None, rows.columns.utc)
    return log


def _in_zone(written: WrittenDate, clock: Clock, zone: ZoneInfo, notes: Notes, line: int) -> datetime:
    """Return the time on the station's clock of one in UTC."""
    day = written.day(notes.options.date_order or "")
    if day is None:
        raise TwoReadingsError(
            f"{notes.name}, line {line}: to turn UTC into another time the order of day and month must be known,"
            " wanted --date-order",
            "date_order",
            ("day-month", "month-day"),
        )
    moment = datetime(day.year, day.month, day.day, tzinfo=timezone.utc)
    return (moment + timedelta(minutes=60 * clock.hour + clock.minute - (clock.offset or 0))).astimezone(zone)


def _check(log: Log, name: str, is_local: bool, says_utc: bool) -> None:
    """Raise where the times of a log as a whole cannot be right."""
    if is_local and (says_utc or log.offsets - {None} == {0}):
        raise TwoReadingsError(
            f"{name} has its times in UTC, and a day's low and high are those of the local day, wanted"
            " --time-zone such as Europe/Vienna (or UTC)",
            "time_zone",
        )
    if log.repeats > _MANY * log.readings or log.returns > max(3, _MANY * len(log.days)):
        raise TwoReadingsError(
            f"{name} has several readings for the same times: more than one station or sensor?"
            " Wanted --station, or a file of one",
            "station",
        )
    if 2 * log.left_out[FAHRENHEIT] > log.readings:
        raise _question_of_tenths(log, name)


def _question_of_tenths(log: Log, name: str) -> TwoReadingsError:
    first = log.first_out.get(FAHRENHEIT, log.first_out[CELSIUS])
    return TwoReadingsError(
        f"{name} has mostly values that are no weather, such as {first}: tenths of °C?"
        " Wanted --unit tenths, or a file of temperatures",
        "unit",
        (TENTHS,),
    )


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise WeatherFileError(f'time zone is "{printable(name)}", wanted one such as Europe/Vienna') from None
