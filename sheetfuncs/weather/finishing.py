"""From the days as they are written to a :class:`WeatherFile`: the unit, what is no weather, gaps."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import groupby
from typing import Callable, Iterable, NamedTuple, Sequence

from ..season.errors import Unanswerable
from ..season.record import Readings, clean_record
from ..season.steps import STEP_MEANS, steps_of
from .collecting import LineDay
from .columns import Columns
from .errors import WeatherFileError
from .model import Choice, Day, Gap, Options, Refused, WeatherFile
from .texts import printable
from .units import CELSIUS, TENTHS, decide_unit, temperatures_of

#: So many days in a row with the same low, or the same high, are no weather: an instrument that stands still, or a
#: number that means "missing" (20: as in GHCN-Daily's streak check, from memory).
LONGEST_STREAK = 20
#: So many days in a row whose low and high are one and the same number (judgement: not even fog keeps it so).
LONGEST_FLAT = 3
_STANDING: tuple[tuple[str, int, Callable[[LineDay], float | None]], ...] = (
    ("low and high stand", LONGEST_FLAT, lambda day: day.low if day.low == day.high else None),
    ("the low stands", LONGEST_STREAK, lambda day: day.low),
    ("the high stands", LONGEST_STREAK, lambda day: day.high),
)
_ONE_DAY = timedelta(days=1)


class Found(NamedTuple):
    """What a file holds: all that :class:`WeatherFile` says, before it is looked at as weather.

    columns : of a table whose unit is still to be found; otherwise ``unit`` is that of the days. A file of lows, or of
    highs, alone has its values for both.
    """

    name: str
    form: str
    station: str
    days: Sequence[LineDay]
    refused: list[Refused]
    choices: list[Choice]
    lines: int
    unit: str = ""
    columns: Columns | None = None


def join_halves(lows: Found, highs: Found) -> Found:
    """Return what a file of lows and a file of highs have together; raises :class:`WeatherFileError` for two places."""
    name = f"{lows.name} and {highs.name}"
    if lows.station and highs.station and lows.station != highs.station:
        shown = " and ".join(map(printable, (lows.station, highs.station)))
        raise WeatherFileError(f"{name} are of two stations, {shown}, wanted two files of one")
    refused, by_day = [], []
    for half in (lows, highs):
        once, twice = _once(half.days)
        refused += [item._replace(reason=f"{item.reason} ({half.name})") for item in (*half.refused, *twice)]
        by_day.append({day.day: day for day in once})
    low_of, high_of = by_day
    known = {item.day for item in refused}
    for missing, one, other in (("high", low_of, high_of), ("low", high_of, low_of)):
        first, last = min(other, default=date.max), max(other, default=date.min)
        refused += [
            Refused(day.line, day.day, f"has no {missing}")
            for day in one.values()
            if day.day not in other and first <= day.day <= last and day.day not in known
        ]
    both = sorted(low_of.keys() & high_of.keys())
    if not both:
        raise WeatherFileError(f"{name} have no day in common")
    days = [LineDay(low_of[day].line, day, low_of[day].low, high_of[day].high) for day in both]
    named = {half.columns.unit for half in (lows, highs) if half.columns} - {""}
    columns = highs.columns and replace(highs.columns, unit=named.pop() if len(named) == 1 else "")
    choices = [*(half.columns.choice() for half in (lows, highs) if half.columns), highs.choices[-1]]
    lines, station = lows.lines + highs.lines, highs.station or lows.station
    return Found(name, "lows and highs in two files", station, days, refused, choices, lines, columns=columns)


def unit_of(days: Sequence[LineDay], columns: Columns, options: Options, name: str) -> tuple[str, Choice]:
    """Return the unit of a table's days, and how it was found."""
    highs = [max(day.low, day.high) for day in days]
    whole = all(day.low.is_integer() and day.high.is_integer() for day in days)
    found = temperatures_of(highs, [day.day.month for day in days], whole)
    return decide_unit(found, columns.unit, options.unit, "station" in columns.at, name)


def weather_file(found: Found, options: Options, today: date) -> WeatherFile:
    """Return the weather of a file; days that are no weather are refused, as a record refuses them.

    today : no day after it is a measured one.
    Raises :class:`WeatherFileError` where nothing is left, or where lows and highs are mixed up.
    """
    unit, days, refused, choices = found.unit, found.days, list(found.refused), list(found.choices)
    if days and found.columns:
        unit, choice = unit_of(days, found.columns, options, found.name)
        choices.append(choice)
        if unit == TENTHS:
            unit, days = CELSIUS, [LineDay(line, day, low / 10, high / 10) for line, day, low, high in days]
    for sort_out in (lambda days: _until(days, today), _once, _not_standing_still):
        days, more = sort_out(days)
        refused += more
    try:
        record = clean_record(_readings(days), unit) if days else None
    except Unanswerable as error:
        raise WeatherFileError(f"{found.name}: {error}") from error
    no_weather = {item.day: Refused(item.row, item.day, item.reason) for item in (record.refused if record else ())}
    refused = sorted([*refused, *no_weather.values()], key=lambda item: item.line)
    kept, doubtful = (
        tuple(Day(*day[1:]) for day in days if (day.day in no_weather) is is_refused) for is_refused in (False, True)
    )
    if record is None or not kept:
        reasons = "; ".join(f"line {item.line} {item.reason}" for item in refused[:2])
        raise WeatherFileError(
            f"{found.name} holds no day with a low and a high that can be used" + (f": {reasons}" if reasons else "")
        )
    choices += [Choice("step", str(step), STEP_MEANS) for step in steps_of(record, unit)]
    return WeatherFile(
        found.name, found.form, printable(found.station), unit, kept, doubtful, _gaps(kept), tuple(refused),
        tuple(choices), found.lines, {day.day: day.line for day in days},
    )  # fmt: skip


def _readings(days: Sequence[LineDay]) -> Readings:
    lines, dates, lows, highs = zip(*days)
    return Readings(lines, [day.toordinal() for day in dates], lows, highs)


def _until(days: Sequence[LineDay], today: date) -> tuple[list[LineDay], list[Refused]]:
    """Return the days that can have been measured; where it is today, it may be tomorrow elsewhere."""
    future = [Refused(day.line, day.day, f"lies after today, {today}") for day in days if day.day > today + _ONE_DAY]
    return [day for day in days if day.day <= today + _ONE_DAY], future


def _once(days: Sequence[LineDay]) -> tuple[list[LineDay], list[Refused]]:
    """Return each day once, in order; one with different values is refused every time."""
    by_day: dict[date, list[LineDay]] = {}
    for day in days:
        by_day.setdefault(day.day, []).append(day)
    once, refused = [], []
    for day, found in sorted(by_day.items()):
        if len({(item.low, item.high) for item in found}) == 1:
            once.append(found[0])
        else:
            lines = " and ".join(str(item.line) for item in found[:3])
            reason = f"is given more than once with different values (lines {lines})"
            refused.append(Refused(found[0].line, day, reason, True))
    return once, refused


def _not_standing_still(days: Sequence[LineDay]) -> tuple[list[LineDay], list[Refused]]:
    """Return the days without those of an instrument that stands still, or of a number that means missing."""
    refused: dict[date, Refused] = {}
    for what, longest, value_of in _STANDING:
        # Days that follow each other have the same distance from their index.
        runs = groupby(enumerate(days), lambda item, value_of=value_of: (
            value_of(item[1]), item[1].day.toordinal() - item[0]))  # fmt: skip
        for (value, _), items in runs:
            run = [day for _, day in items] if value is not None else []
            if len(run) >= longest:
                reason = f"{what} at {value:g} for {len(run)} days: missing, or an instrument that stands still"
                for day in run:
                    refused.setdefault(day.day, Refused(day.line, day.day, reason))
    return [day for day in days if day.day not in refused], list(refused.values())


def _gaps(days: Iterable[Day]) -> tuple[Gap, ...]:
    dates = [day.day for day in days]
    return tuple(
        Gap(before + _ONE_DAY, after - _ONE_DAY) for before, after in zip(dates, dates[1:]) if after - before > _ONE_DAY
    )
