"""From the days as they are written to a :class:`WeatherFile`: dates, unit, what is no weather, gaps."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import compress
from math import nan
from operator import attrgetter, eq
from typing import Iterable, NamedTuple, Sequence

from ..season.errors import Unanswerable
from ..season.record import Readings, clean_record
from .choosing import Columns
from .collecting import Unread
from .daily import RawDay
from .errors import WeatherFileError
from .logs import ENOUGH_HOURS, DayReadings, Log
from .model import Asked, Choice, Day, Gap, Refused, WeatherFile
from .stamps import DateText, decide_order
from .steps import steps
from .units import BY_HEADING, CELSIUS, TENTHS, decide_unit, temperatures_of

#: So many days in a row with the same low, or the same high, are no weather: an instrument that stands still, or a
#: number that means "missing" (20: as in GHCN-Daily's streak check, from memory).
LONGEST_STREAK = 20
#: So many days in a row whose low and high are one and the same number (judgement: not even fog keeps it so).
LONGEST_FLAT = 3


class LineDay(NamedTuple):
    """One day with the line it comes from [°, in the file's unit]."""

    line: int
    day: date
    low: float
    high: float


class Half(NamedTuple):
    """A file of lows, or of highs, alone: each day has its value for both."""

    name: str
    days: list[LineDay]
    refused: list[Refused]
    columns: Columns
    choices: list[Choice]
    station: str
    lines: int


def date_days(
    days: Sequence[RawDay], written: dict[str, DateText], unread: Unread, asked: Asked, name: str
) -> tuple[list[LineDay], list[Refused], list[Choice]]:
    """Return the days of a table with one day a row, what was refused, and how the dates were told."""
    dated = sorted(
        [*((day.line, day.text) for day in days), *((line, text) for line, text, *_ in unread.lines if text)]
    )
    orders, how = decide_order(dated, written, asked.date_order, name)
    refused: list[Refused] = []
    found = []
    for line, text, low, high in days:
        day = _day_of(text, written, orders)
        if day is None:
            refused.append(_no_day(line, text))
        else:
            found.append(LineDay(line, day, low, high))
    refused += unread.refused(lambda text: _day_of(text, written, orders))
    return found, refused, [how] if how else []


def in_degrees(
    found: Sequence[LineDay], columns: Columns, asked: Asked, name: str
) -> tuple[list[LineDay], str, Choice]:
    """Return days in °C or °F, which of them, and how it was told."""
    unit, choice = _unit(found, columns, asked, name)
    if unit == TENTHS:
        return [LineDay(line, day, low / 10, high / 10) for line, day, low, high in found], CELSIUS, choice
    return list(found), unit, choice


def join_halves(lows: Half, highs: Half) -> tuple[list[LineDay], list[Refused]]:
    """Return the days that a file of lows and a file of highs have together, and what was refused."""
    refused = [item._replace(reason=f"{item.reason} ({half.name})") for half in (lows, highs) for item in half.refused]
    by_day = []
    for half in (lows, highs):
        once, twice = _once(half.days)
        refused += [item._replace(reason=f"{item.reason} ({half.name})") for item in twice]
        by_day.append({day.day: day for day in once})
    low_of, high_of = by_day
    known = {item.day for item in refused}
    for name, one, other in (("high", low_of, high_of), ("low", high_of, low_of)):
        first, last = min(other, default=date.max), max(other, default=date.min)
        refused += [
            Refused(day.line, day.day, f"has no {name}")
            for day in one.values()
            if day.day not in other and first <= day.day <= last and day.day not in known
        ]
    both = sorted(low_of.keys() & high_of.keys())
    return [LineDay(low_of[day].line, day, low_of[day].low, high_of[day].high) for day in both], refused


def finish_log(
    log: Log, unread: Unread, columns: Columns, asked: Asked, name: str
) -> tuple[list[LineDay], str, list[Refused], list[Choice]]:
    """Return the days of a log, their unit, what was refused and what was told."""
    dated = sorted((day.line, text) for text, day in [*log.days.items(), *log.midnights.items()])
    orders, how = decide_order(dated, log.written, asked.date_order, name)
    refused: list[Refused] = []
    by_day: dict[date, DayReadings] = {}
    for readings, later in ((log.days, 0), (log.midnights, 1)):
        for text, of_day in readings.items():
            day = _day_of(text, log.written, orders)
            if day is None:
                refused.append(_no_day(of_day.line, text))
                continue
            by_day.setdefault(day + timedelta(days=later), DayReadings(of_day.line)).add(of_day)
    refused += unread.refused(lambda text: _day_of(text, log.written, orders))
    wide = {
        day: LineDay(found.line, day, min(found.low, found.wide_low), max(found.high, found.wide_high))
        for day, found in by_day.items()
    }
    # Tenths are divided while they are read; what is left is °C or °F.
    if TENTHS in (asked.unit, columns.unit):
        unit, choice = CELSIUS, Choice("unit", "tenths of °C", "as asked" if asked.unit else BY_HEADING)
    else:
        unit, choice = _unit(list(wide.values()), columns, asked, name)
    choices = [*([how] if how else []), choice]
    in_celsius = unit == CELSIUS
    days = []
    for day, found in sorted(by_day.items()):
        hours = bin(found.hours if in_celsius else found.hours | found.wide_hours).count("1")
        if hours < ENOUGH_HOURS:
            refused.append(Refused(found.line, day, f"has readings in {hours} of 24 hours, wanted {ENOUGH_HOURS}"))
        elif in_celsius:
            days.append(LineDay(found.line, day, found.low, found.high))
        else:
            days.append(wide[day])
    left_out = log.beyond + (sum(found.wide for found in by_day.values()) if in_celsius else 0)
    if left_out:
        shown = log.first_beyond or next(
            f"{found.wide_high if found.wide_high > 60 else found.wide_low:g} on {day}"
            for day, found in sorted(by_day.items())
            if found.wide
        )
        choices.append(Choice("readings left out", f"{left_out:,}", f"no weather, such as {shown}"))
    return days, unit, refused, choices


def _day_of(text: str, written: dict[str, DateText], orders: dict[str, str]) -> date | None:
    found = written[text]
    return found.day(orders.get(found.family, ""))


def _no_day(line: int, text: str) -> Refused:
    return Refused(line, None, f'"{text}" is no day in this order of day and month', True)


def _unit(days: Sequence[LineDay], columns: Columns, asked: Asked, name: str) -> tuple[str, Choice]:
    if not days:
        raise WeatherFileError(f"{name} holds no day with a low and a high")
    highs = [max(day.low, day.high) for day in days]
    whole = all(day.low.is_integer() and day.high.is_integer() for day in days)
    found = temperatures_of(highs, [day.day.month for day in days], whole)
    return decide_unit(found, columns.unit, asked.unit, columns.may_be_tenths, name)


def weather_file(
    name: str,
    form: str,
    station: str,
    unit: str,
    days: Iterable[LineDay],
    refused: Iterable[Refused],
    choices: Iterable[Choice],
    lines: int,
    today: date,
) -> WeatherFile:
    """Return the weather of a file; days that are no weather are refused, as a record refuses them.

    today : no day after it is a measured one.
    Raises :class:`WeatherFileError` where nothing is left, or where lows and highs are mixed up.
    """
    days = list(days)
    if not days:
        reasons = "; ".join(
            f"line {item.line} {item.reason}" for item in sorted(refused, key=lambda item: item.line)[:2]
        )
        raise WeatherFileError(f"{name} holds no day with a low and a high" + (f" ({reasons})" if reasons else ""))
    days, future = _past(days, today)
    once, twice = _once(days)
    flat = _standing_still(once)
    used = [day for day in once if day.day not in flat]
    try:
        record = clean_record(_readings(used), unit)
    except Unanswerable as error:
        if not used:
            reasons = [*flat.values(), *twice, *future]
            raise WeatherFileError(
                f"{name} holds no day that can be used: line {reasons[0].line} {reasons[0].reason}"
            ) from None
        raise WeatherFileError(f"{name}: {error}") from error
    no_weather = {item.day: Refused(item.row, item.day, item.reason) for item in record.refused}
    kept = tuple(Day(day.day, day.low, day.high) for day in used if day.day not in no_weather)
    if not kept:
        reason = next(iter(no_weather.values())).reason
        raise WeatherFileError(f"{name} holds no day that can be weather in °{unit}: {used[0].day} {reason}")
    all_refused = sorted([*refused, *future, *twice, *flat.values(), *no_weather.values()], key=lambda item: item.line)
    doubtful = tuple(Day(day.day, day.low, day.high) for day in used if day.day in no_weather)
    choices = (*choices, *steps(kept, unit))
    return WeatherFile(name, form, station, unit, kept, doubtful, _gaps(kept), tuple(all_refused), choices, lines)


def _readings(days: Sequence[LineDay]) -> Readings:
    lines, dates, lows, highs = zip(*days) if days else ((), (), (), ())
    return Readings(lines, [day.toordinal() for day in dates], lows, highs)


def _past(days: Sequence[LineDay], today: date) -> tuple[list[LineDay], list[Refused]]:
    """Return the days that can have been measured; where it is today, it may be tomorrow elsewhere."""
    last = today + timedelta(days=1)
    future = [Refused(day.line, day.day, f"lies after today, {today}") for day in days if day.day > last]
    return [day for day in days if day.day <= last], future


def _once(days: Sequence[LineDay]) -> tuple[list[LineDay], list[Refused]]:
    """Return each day once, in order; one that stands there with different values is refused every time."""
    if len({day.day for day in days}) == len(days):
        return sorted(days, key=attrgetter("day")), []
    by_day: dict[date, list[LineDay]] = {}
    for day in days:
        by_day.setdefault(day.day, []).append(day)
    once, refused = [], []
    for day, found in sorted(by_day.items()):
        if len({(item.low, item.high) for item in found}) == 1:
            once.append(found[0])
        else:
            lines = " and ".join(str(item.line) for item in found[:3])
            refused += [Refused(found[0].line, day, f"stands there with different values (lines {lines})", True)]
    return once, refused


def _standing_still(days: Sequence[LineDay]) -> dict[date, Refused]:
    """Return the days of an instrument that stands still, or of a number that means missing."""
    lows, highs = [day.low for day in days], [day.high for day in days]
    both = [low if low == high else nan for low, high in zip(lows, highs)]
    refused: dict[date, Refused] = {}
    for what, longest, values in (
        ("low and high stand", LONGEST_FLAT, both),
        ("the low stands", LONGEST_STREAK, lows),
        ("the high stands", LONGEST_STREAK, highs),
    ):
        for first, end in _runs(days, values):
            if end - first >= longest:
                reason = (
                    f"{what} at {values[first]:g} for {end - first} days: missing, or an instrument that stands still"
                )
                for day in days[first:end]:
                    refused.setdefault(day.day, Refused(day.line, day.day, reason))
    return refused


def _runs(days: Sequence[LineDay], values: Sequence[float]) -> list[list[int]]:
    """Return the runs of two days or more, each the day after the last, with one value: [first, the one after]."""
    runs: list[list[int]] = []
    for place in compress(range(1, len(values)), map(eq, values, values[1:])):
        if (days[place].day - days[place - 1].day).days != 1:
            continue
        if runs and runs[-1][1] == place:
            runs[-1][1] += 1
        else:
            runs.append([place - 1, place + 1])
    return runs


def _gaps(days: Sequence[Day]) -> tuple[Gap, ...]:
    one = timedelta(days=1)
    return tuple(
        Gap(before.day + one, after.day - one) for before, after in zip(days, days[1:]) if after.day - before.day > one
    )
