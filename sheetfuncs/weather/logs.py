"""Logs of readings, many a day: their lows and highs by the local day."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, timezone
from math import inf

from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from ..cells.dates import WrittenDate
from .collecting import MOST_DAYS, Notes, readings
from .errors import TwoReadingsError, WeatherFileError
from .finishing import LineDay, day_of, decide_unit_of, no_day
from .model import Choice, Options, Refused
from .numbers import MISSING_NUMBERS
from .rows import Rows
from .stamps import Clock, decide_order, read_clock
from .texts import printable
from .units import BY_HEADING, CELSIUS, TENTHS

#: A day of readings counts when at least so many of its 24 hours have one (judgement): the day on which clocks go
#: forward has 23, and a night or an afternoon without readings would give a false low or high.
ENOUGH_HOURS = 20
#: Readings outside are no weather, whatever the unit: −60 to 60 °C, in °F [°].
_INNER, _OUTER = (-60.0, 60.0), (-76.0, 140.0)
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
class DayReadings:
    """The readings of one day from −60 to 60, and those beyond, which are weather only in °F."""

    line: int
    inner: Extremes = field(default_factory=Extremes)
    wide: Extremes = field(default_factory=Extremes)
    wide_readings: int = 0


@dataclass
class Log:
    """The readings of a log by the text of their day, and how many days later they count: those at 24:00 one.

    offsets : distances from UTC that stand there. beyond : readings that are no weather, the first of them in words.
    repeats, returns : how often a time stands there again, and a day comes again after another one.
    """

    days: dict[tuple[str, int], DayReadings] = field(default_factory=dict)
    offsets: set[int | None] = field(default_factory=set)
    readings: int = 0
    beyond: int = 0
    first_beyond: str = ""
    repeats: int = 0
    returns: int = 0

    def put_beyond(self, of_day: DayReadings, hour: int, low: float, high: float, line: int) -> None:
        """Put a reading that is no weather in °C where it belongs."""
        if low >= _OUTER[0] and high <= _OUTER[1]:
            of_day.wide.take_in(low, high, 1 << hour)
            of_day.wide_readings += 1
        elif low not in MISSING_NUMBERS:
            self.beyond += 1
            self.first_beyond = self.first_beyond or f"{low if low < _OUTER[0] else high:g} in line {line}"


def collect_log(rows: Rows, options: Options, notes: Notes) -> Log:
    """Return the readings of a log by day; lines that gave none are noted.

    The memory it takes grows with the days, not with the lines. Raises :class:`TwoReadingsError` where the times are
    UTC and the station's zone is not known, or where one time has several readings.
    """
    log = Log()
    zone = _zone(options.time_zone) if options.time_zone else None
    in_tenths = TENTHS in (options.unit, rows.columns.unit)
    stamp_before, key = ("", ""), ("", 0)
    of_day = DayReadings(0)
    for line, text, clock_text, low, high, _ in readings(rows, options, notes):
        clock = read_clock(clock_text or "0:00")
        if clock is None:
            shown = printable(" ".join((text, clock_text)), 28)
            notes.broken_line(line, f'has no date and time that can be read: "{shown}"')
            continue
        if low != low or high != high:
            continue
        log.readings += 1
        stamp = (text, clock_text)
        if stamp == stamp_before:
            log.repeats += 1
        stamp_before = stamp
        hour, _, offset = clock
        log.offsets.add(offset)
        key_before, key = key, (text, hour // 24)
        if zone is not None:
            local = _in_zone(notes.written[text], clock, zone, options.date_order, f"{notes.name}, line {line}")
            hour, key = local.hour, (local.date().isoformat(), 0)
            notes.date_text(key[0])
        if key != key_before:
            log.returns += key in log.days
            of_day = log.days.setdefault(key, DayReadings(line))
            if len(log.days) > MOST_DAYS:
                raise WeatherFileError(f"{notes.name} has more different dates than any record of days")
        if in_tenths:
            low, high = low / 10, high / 10
        if low >= _INNER[0] and high <= _INNER[1]:
            of_day.inner.take_in(low, high, 1 << hour % 24)
        else:
            log.put_beyond(of_day, hour % 24, low, high, line)
    _check(log, notes.name, zone is None, rows.columns.utc)
    return log


def _in_zone(written: WrittenDate, clock: Clock, zone: ZoneInfo, order: str | None, where: str) -> datetime:
    """Return the time on the station's clock of one in UTC."""
    day = written.day(order or "")
    if day is None:
        raise TwoReadingsError(
            f"{where}: to turn UTC into another time the order of day and month must be known, wanted --date-order",
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
    if 2 * log.beyond > log.readings:
        raise TwoReadingsError(
            f"{name} has mostly values that are no weather, such as {log.first_beyond}, wanted --unit tenths if"
            " they are tenths of °C",
            "unit",
            (TENTHS,),
        )


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise WeatherFileError(f'time zone is "{printable(name)}", wanted one such as Europe/Vienna') from None


# -- from readings to days -------------------------------------------------------------------------------------


def finish_log(
    log: Log, notes: Notes, rows: Rows, options: Options
) -> tuple[list[LineDay], str, list[Refused], list[Choice]]:
    """Return the days of a log, their unit, what was refused and what was decided."""
    dated = sorted((of_day.line, text) for (text, _), of_day in log.days.items())
    orders, how = decide_order(dated, notes.written, options.date_order, notes.name)
    refused: list[Refused] = notes.refused(lambda text: day_of(text, notes.written, orders))
    by_day: dict[date, DayReadings] = {}
    for (text, later), of_day in log.days.items():
        day = day_of(text, notes.written, orders)
        if day is None:
            refused.append(no_day(of_day.line, text))
            continue
        known = by_day.setdefault(day + timedelta(days=later), of_day)
        if known is not of_day:
            known.line = min(known.line, of_day.line)
            known.inner.take_in(of_day.inner.low, of_day.inner.high, of_day.inner.hours)
            known.wide.take_in(of_day.wide.low, of_day.wide.high, of_day.wide.hours)
            known.wide_readings += of_day.wide_readings
    every = {
        day: LineDay(found.line, day, min(found.inner.low, found.wide.low), max(found.inner.high, found.wide.high))
        for day, found in sorted(by_day.items())
    }
    # Tenths are divided while they are read; what is left is °C or °F.
    if TENTHS in (options.unit, rows.columns.unit):
        unit, choice = CELSIUS, Choice("unit", "tenths of °C", "as you say" if options.unit else BY_HEADING)
    else:
        unit, choice = decide_unit_of(list(every.values()), rows.columns, options, notes.name)
    choices = [*([how] if how else []), choice]
    days = []
    left_out, shown = log.beyond, log.first_beyond
    for day, whole in every.items():
        found = by_day[day]
        hours = found.inner.hours
        if unit == CELSIUS:
            left_out += found.wide_readings
            if found.wide_readings and not shown:
                shown = f"{found.wide.high if found.wide.high > _INNER[1] else found.wide.low:g} on {day}"
            whole = LineDay(found.line, day, found.inner.low, found.inner.high)
        else:
            hours |= found.wide.hours
        if hours.bit_count() < ENOUGH_HOURS:
            why = f"has readings in {hours.bit_count()} of 24 hours, wanted {ENOUGH_HOURS}"
            refused.append(Refused(found.line, day, why))
        else:
            days.append(whole)
    if left_out:
        choices.append(Choice("readings left out", f"{left_out:,}", f"no weather, such as {shown}"))
    return days, unit, refused, choices
