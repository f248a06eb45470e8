"""Reading a weather file, whatever its form."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import chain, islice
from pathlib import Path

from ..cells.kinds import FileRows
from . import ghcn
from .collecting import Notes, collect_days
from .errors import TwoReadingsError, WeatherFileError
from .finishing import Half, date_days, in_degrees, join_halves, weather_file
from .logs import collect_log, finish_log
from .model import Choice, Options, Progress, WeatherFile
from .numbers import is_number, read_number
from .rows import SAMPLE, Rows, is_workbook, rows_of_text, rows_of_workbook
from .texts import Lines, printable
from .units import BY_LAYOUT, NAMES, SAID_BY_FILE, in_unit

#: A file of months has hardly more lines than there are months.
_MONTHS_AT_MOST = 30


def read_weather_file(
    path: Path | str, options: Options | None = None, progress: Progress | None = None, today: date | None = None
) -> WeatherFile:
    """Return the days of a weather file.

    path : a text, packed with gzip or not, or a workbook. options : what the user says of it.
    progress : called as it goes.
    today : days after it were not measured and are refused; by default the clock's.
    Raises :class:`WeatherFileError` in one line where it cannot be read; :class:`.errors.TwoReadingsError`, one
    of them, where it can be read in two ways and nothing in it decides which is right.
    """
    path, options, today = Path(path), options or Options(), today or date.today()
    if is_workbook(path):
        return _from_table(rows_of_workbook(path, options, progress), options, path.name, today)
    lines = Lines(path, progress)
    every = iter(lines)
    start = list(islice(every, SAMPLE))
    first = next((line for line in start if line.strip()), "")
    if not first:
        raise WeatherFileError(f"weather file {path.name} is blank, wanted rows of date, low, high")
    in_months = ghcn.is_fixed(first)
    if not (in_months or ghcn.is_separated(first)):
        return _from_table(rows_of_text(lines, start, every, options), options, path.name, today)
    record = ghcn.read_record(chain(start, every), options.station, path.name, in_months)
    form = f"GHCN-Daily, {'fixed width' if in_months else 'one value a line'}"
    days, choices, station = record.days(), [Choice("unit", NAMES["tenths"], BY_LAYOUT)], printable(record.station)
    return weather_file(path.name, form, station, "C", days, record.refused, choices, record.lines, today)


def _from_table(rows: Rows, options: Options, name: str, today: date) -> WeatherFile:
    columns, notes = rows.columns, Notes(name)
    if columns.is_log:
        log = collect_log(rows, options, notes)
        days, unit, refused, choices = finish_log(log, notes, rows, options)
        form = f"log of {log.readings:,} readings ({rows.kind})"
    else:
        dated, refused, choices = date_days(collect_days(rows, options, notes), notes, options)
        if columns.only:
            half = Half(name, dated, refused, columns, choices, notes.station, notes.last_line)
            raise HalfFileError(columns.only, half)
        days, unit, choice = in_degrees(dated, columns, options, name)
        choices.append(choice)
        is_ghcn = any("_attributes" in placed.mark.heading for _, placed in columns.marks)
        form = f"{'GHCN-Daily, one day a line' if is_ghcn else 'table with one day a row'} ({rows.kind})"
    choices = [*rows.choices, columns.choice(), *choices]
    station = printable(notes.station)
    return weather_file(name, form, station, unit, days, refused, choices, notes.last_line, today)


class HalfFileError(WeatherFileError):
    """A file of lows, or of highs, alone. only : which; half : what it holds."""

    def __init__(self, only: str, half: Half) -> None:
        other = "low" if only == "high" else "high"
        super().__init__(f"{half.name} holds {only}s alone, wanted the file with the {other}s beside it")
        self.only, self.half = only, half


def join(one: HalfFileError, other: HalfFileError, options: Options, today: date | None = None) -> WeatherFile:
    """Return the days of a file of lows and a file of highs, in any order."""
    lows, highs = (one.half, other.half) if one.only == "low" else (other.half, one.half)
    name = f"{lows.name} and {highs.name}"
    if lows.station and highs.station and lows.station != highs.station:
        shown = " and ".join(map(printable, (lows.station, highs.station)))
        raise WeatherFileError(f"{name} are of two stations, {shown}, wanted two files of one")
    days, refused = join_halves(lows, highs)
    if not days:
        raise WeatherFileError(f"{name} have no day together")
    units = {half.columns.unit for half in (lows, highs)} - {""}
    columns = replace(highs.columns, unit=units.pop() if len(units) == 1 else "")
    days, unit, choice = in_degrees(days, columns, options, name)
    choices = [half.columns.choice() for half in (lows, highs)] + highs.choices + [choice]
    lines = lows.lines + highs.lines
    form, station = "lows and highs in two files", printable(highs.station or lows.station)
    return weather_file(name, form, station, unit, days, refused, choices, lines, today or date.today())


# -- for a climate ---------------------------------------------------------------------------------------------


def read_weather(path: Path | str, unit: str | None = None) -> FileRows:
    """Return the rows [date, low, high] of a weather file, or [month, low, high] of twelve monthly means.

    A climate made of them names a row by its line in the file.

    path : of a file that :func:`read_weather_file` reads. unit : of the rows, "C" or "F"; ``None`` is the file's own.
    A file that names its unit is turned into the one that is wanted; one that does not must be in it.
    Raises :class:`~sheetfuncs.cells.errors.InputError` in one line.
    """
    path = Path(path)
    months = _months(path)
    if months is not None:
        return months
    try:
        found = read_weather_file(path)
    except TwoReadingsError as question:
        if unit is None or question.option != "unit":
            raise
        found = read_weather_file(path, Options(unit=unit))
    for refused in found.unreadable:
        raise WeatherFileError(f"weather file {path.name}, line {refused.line} {refused.reason}")
    # A climate looks for what can be no weather itself, and names it in its note.
    days = sorted(found.days + found.doubtful)
    if unit is not None and unit != found.unit:
        taken = next(choice for choice in found.choices if choice.what == "unit")
        if taken.why not in SAID_BY_FILE:
            raise WeatherFileError(
                f"weather file {path.name} is in {taken.reading} ({taken.why}), wanted unit {found.unit}, not {unit}"
            )
        days = in_unit(days, found.unit, unit)
    return FileRows(map(list, days), [found.line_of[day.day] for day in days])


def _months(path: Path) -> FileRows | None:
    """Return the rows of a small text of twelve months, ``None`` where it is none."""
    if is_workbook(path):
        return None
    numbered = enumerate(islice(Lines(path), _MONTHS_AT_MOST), start=1)
    lines = [(number, line) for number, line in numbered if line.strip()]
    rows = [(number, fields) for number, line in lines if (fields := _three(line))]
    if len(rows) < len(lines) - 1 or sorted(int(month) for _, (month, *_) in rows) != list(range(1, 13)):
        return None
    found = [[int(month), read_number(low), read_number(high)] for _, (month, low, high) in rows]
    return FileRows(found, [number for number, _ in rows])


def _three(line: str) -> list[str] | None:
    for delimiter in ("\t", ";", ",", None):
        fields = [field.strip() for field in line.split(delimiter)]
        if len(fields) == 3 and fields[0].isdecimal() and is_number(fields[1]) and is_number(fields[2]):
            return fields
    return None
