"""From the days as they are written to a :class:`WeatherFile`: dates, unit, what is no weather, gaps."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import compress
from math import nan
from operator import attrgetter, eq
from typing import Iterable, NamedTuple, Sequence

from ..cells.dates import WrittenDate
from ..season.errors import Unanswerable
from ..season.record import Readings, clean_record
from ..season.steps import STEP_MEANS, steps_of
from .collecting import Notes, RawDay
from .columns import Columns
from .errors import WeatherFileError
from .model import Choice, Day, Gap, Options, Refused, WeatherFile
from .stamps import decide_order
from .units import CELSIUS, TENTHS, decide_unit, temperatures_of

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
    days: Sequence[RawDay], notes: Notes, options: Options
) -> tuple[list[LineDay], list[Refused], list[Choice]]:
    """Return the days of a table with one day a row, what was refused, and how the dates are read."""
    dated = sorted([*((day.line, day.text) for day in days), *((line, text) for line, text, *_ in notes.lines if text)])
    orders, how = decide_order(dated, notes.written, options.date_order, notes.name)
    found = [LineDay(line, day_of(text, notes.written, orders), low, high) for line, text, low, high in days]
    refused = [no_day(day.line, text) for (_, text, *_), day in zip(days, found) if day.day is None]
    refused += notes.refused(lambda text: day_of(text, notes.written, orders))
    return [day for day in found if day.day is not None], refused, [how] if how else []


def in_degrees(
    found: Sequence[LineDay], columns: Columns, options: Options, name: str
) -> tuple[list[LineDay], str, Choice]:
    """Return days in °C or °F, which of them, and how it was found."""
    unit, choice = decide_unit_of(found, columns, options, name)
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


def day_of(text: str, written: dict[str, WrittenDate], orders: dict[str, str]) -> date | None:
    """Return the day of a date as it is written, ``None`` where there is no such day in its order."""
    found = written[text]
    return found.day(orders.get(found.family, ""))


def no_day(line: int, text: str) -> Refused:
    """Return why a date gives no day."""
    return Refused(line, None, f'"{text}" is no day in this order of day and month', True)


def decide_unit_of(days: Sequence[LineDay], columns: Columns, options: Options, name: str) -> tuple[str, Choice]:
    """Return the unit of a table's days, and how it was found."""
    if not days:
        raise WeatherFileError(f"{name} holds no day with a low and a high")
    highs = [max(day.low, day.high) for day in days]
    whole = all(day.low.is_integer() and day.high.is_integer() for day in days)
    found = temperatures_of(highs, [day.day.month for day in days], whole)
    return decide_unit(found, columns.unit, options.unit, "station" in columns.at, name)


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
    choices = (*choices, *(Choice("step", str(step), STEP_MEANS) for step in steps_of(record, unit)))
    line_of = {day.day: day.line for day in used}
    gaps, refused = _gaps(kept), tuple(all_refused)
    return WeatherFile(name, form, station, unit, kept, doubtful, gaps, refused, choices, lines, line_of)


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
    for index in compress(range(1, len(values)), map(eq, values, values[1:])):
        if (days[index].day - days[index - 1].day).days != 1:
            continue
        if runs and runs[-1][1] == index:
            runs[-1][1] += 1
        else:
            runs.append([index - 1, index + 1])
    return runs


def _gaps(days: Sequence[Day]) -> tuple[Gap, ...]:
    one = timedelta(days=1)
    return tuple(
        Gap(before.day + one, after.day - one) for before, after in zip(days, days[1:]) if after.day - before.day > one
    )
