"""Logs of readings, many a day: their lows and highs by the local day."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, timezone
from math import inf
from typing import Dict, Tuple

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
from .units import BY_HEADING, CELSIUS, FAHRENHEIT, NAMES, TENTHS

#: A day of readings counts when at least so many of its 24 hours have one (judgement): the day on which clocks go
#: forward has 23, and a night or an afternoon without readings would give a false low or high.
ENOUGH_HOURS = 20
#: Readings outside are no weather: −60 to 60 °C, also in °F [°]. The unit is known only when all are read.
_POSSIBLE = {CELSIUS: (-60.0, 60.0), FAHRENHEIT: (-76.0, 140.0)}
#: From this share on, repeated times are no accident.
_MANY = 0.05


@dataclass
class Extremes:
    """What some readings of a day come to, and the first line of them. hours : bits, one an hour of the clock."""

    line: int
    low: float = inf
    high: float = -inf
    hours: int = 0

    def take_in(self, other: Extremes) -> None:
        """Take in what other readings of the day come to."""
        self.line = min(self.line, other.line)
        self.low, self.high = min(self.low, other.low), max(self.high, other.high)
        self.hours |= other.hours


#: Readings by the text of their day, and by how many days later they count: those at 24:00 one.
ByDay = Dict[Tuple[str, int], Extremes]


@dataclass
class Log:
    """The readings of a log.

    in_both : those that are weather in °C and in °F. in_one : those that are in °F alone. outside : how many are none
    in a unit; first_outside : the first in words. count : all readings. offsets : distances from UTC that stand there.
    """

    in_both: ByDay = field(default_factory=dict)
    in_one: ByDay = field(default_factory=dict)
    outside: Counter[str] = field(default_factory=Counter)
    first_outside: dict[str, str] = field(default_factory=dict)
    count: int = 0
    offsets: set[int | None] = field(default_factory=set)

    def days(self, unit: str, notes: Notes) -> dict[date, Extremes]:
        """Return what the readings come to by day if they are in a unit."""
        by_day: dict[date, Extremes] = {}
        for found in (self.in_both,) if unit == CELSIUS else (self.in_both, self.in_one):
            for (text, later), extremes in found.items():
                day = notes.dates.day(text)
                if day is not None:
                    by_day.setdefault(day + timedelta(days=later), Extremes(extremes.line)).take_in(extremes)
        return dict(sorted(by_day.items()))


def days_of_log(rows: Rows, notes: Notes) -> tuple[list[LineDay], str, list[Refused], list[Choice], int]:
    """Return the days of a log, their unit, days with too few readings, what was decided, and how many readings.

    The memory it takes grows with the days, not with the lines. Raises :class:`TwoReadingsError` where the times are
    UTC and the station's zone is not known, or where one time has several readings.
    """
    log = _collected(rows, notes)
    choices = [notes.dates.decide()]
    for (text, _), extremes in log.in_both.items():
        notes.day(extremes.line, text)
    wide = log.days(FAHRENHEIT, notes).items()
    every = [LineDay(found.line, day, found.low, found.high) for day, found in wide if found.hours]
    # Tenths are divided while they are read; what is left is °C or °F.
    if _in_tenths(rows, notes):
        unit, choice = CELSIUS, Choice("unit", NAMES[TENTHS], "as you say" if notes.options.unit else BY_HEADING)
    elif every:
        unit, choice = unit_of(every, rows.columns, notes.options, notes.name)
    else:
        raise WeatherFileError(f"{notes.name} holds no reading that can be weather")
    if unit == TENTHS:
        raise _question_of_tenths(log, notes.name)
    choices.append(choice)
    days, refused = [], []
    for day, found in log.days(unit, notes).items():
        hours = found.hours.bit_count()
        if hours < ENOUGH_HOURS:
            refused.append(Refused(found.line, day, f"has readings in {hours} of 24 hours, wanted {ENOUGH_HOURS}"))
        else:
            days.append(LineDay(found.line, day, found.low, found.high))
    if log.outside[unit]:
        why = f"no weather, such as {log.first_outside[unit]}"
        choices.append(Choice("readings left out", f"{log.outside[unit]:,}", why))
    return days, unit, refused, choices, log.count


def _in_tenths(rows: Rows, notes: Notes) -> bool:
    return TENTHS in (notes.options.unit, rows.columns.unit)


def _collected(rows: Rows, notes: Notes) -> Log:
    """Return the readings of a log by day; lines that gave none are noted."""
    log = Log()
    zone = _zone(notes.options.time_zone) if notes.options.time_zone else None
    divisor = 10 if _in_tenths(rows, notes) else 1
    least, most = _POSSIBLE[CELSIUS]
    stamp, key = ("", ""), ("", 0)
    of_day = Extremes(0)
    repeats = returns = 0  # how often a time is given again, and a day comes again after another one
    for line, text, clock_text, low, high, _ in readings(rows, notes):
        clock = read_clock(clock_text or "0:00")
        if clock is None:
            shown = printable(" ".join((text, clock_text)), 28)
            notes.broken_line(line, f'has no date and time that can be read: "{shown}"')
            continue
        if low != low or high != high:
            continue
        log.count += 1
        stamp_before, stamp = stamp, (text, clock_text)
        repeats += stamp == stamp_before
        hour, _, offset = clock
        log.offsets.add(offset)
        key_before, key = key, (text, hour // 24)
        if zone is not None:
            local = _in_zone(notes.dates.written[text], clock, zone, notes, line)
            hour, key = local.hour, (local.date().isoformat(), 0)
            notes.dates.take_in(key[0], line)
        if key != key_before:
            returns += key in log.in_both
            of_day = log.in_both.setdefault(key, Extremes(line))
            if len(log.in_both) > MOST_DAYS:
                raise WeatherFileError(f"{notes.name} has more than {MOST_DAYS:,} days, wanted one station's")
        low, high = low / divisor, high / divisor
        if least <= low and high <= most:
            if low < of_day.low:
                of_day.low = low
            if high > of_day.high:
                of_day.high = high
            of_day.hours |= 1 << hour % 24
        elif low not in MISSING_NUMBERS:
            _note_outside(log, Extremes(line, low, high, 1 << hour % 24), key)
    if zone is None and (rows.columns.utc or log.offsets - {None} == {0}):
        raise TwoReadingsError(
            f"{notes.name} has its times in UTC, and a day's low and high are those of the local day, wanted"
            " --time-zone such as Europe/Vienna (or UTC)",
            "time_zone",
        )
    if repeats > _MANY * log.count or returns > max(3, _MANY * len(log.in_both)):
        raise TwoReadingsError(
            f"{notes.name} has several readings for the same times: more than one station or sensor?"
            " Wanted --station, or a file of one",
            "station",
        )
    if 2 * log.outside[FAHRENHEIT] > log.count:
        raise _question_of_tenths(log, notes.name)
    return log


def _note_outside(log: Log, reading: Extremes, key: tuple[str, int]) -> None:
    """Note a reading that is no weather in °C, and perhaps none in °F."""
    for unit, (least, most) in _POSSIBLE.items():
        if least <= reading.low and reading.high <= most:
            log.in_one.setdefault(key, Extremes(reading.line)).take_in(reading)
        else:
            log.outside[unit] += 1
            value = reading.low if reading.low < least else reading.high
            log.first_outside.setdefault(unit, f"{value:g} in line {reading.line}")


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


def _question_of_tenths(log: Log, name: str) -> TwoReadingsError:
    first = log.first_outside.get(FAHRENHEIT, log.first_outside[CELSIUS])
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
