"""Reading a weather file, whatever its form."""

from __future__ import annotations

from datetime import date
from itertools import chain, islice
from pathlib import Path

from ..cells.kinds import FileRows
from . import ghcn
from .collecting import Notes, days_of_table
from .errors import TwoReadingsError, WeatherFileError
from .finishing import Found, join_halves, weather_file
from .logs import days_of_log
from .model import Options, Progress, WeatherFile
from .numbers import is_number, read_number
from .rows import SAMPLE, Rows, is_workbook, rows_of_text, rows_of_workbook
from .texts import Lines
from .units import NAMED_BY_FILE, in_unit

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
    return weather_file(ghcn.read(chain(start, every), options.station, path.name, in_months), options, today)


def _from_table(rows: Rows, options: Options, name: str, today: date) -> WeatherFile:
    columns, notes = rows.columns, Notes(name, options)
    choices = [*rows.choices, columns.choice()]
    if columns.is_log:
        days, unit, refused, more, count = days_of_log(rows, notes)
        form = f"log of {count:,} readings ({rows.kind})"
        refused, choices = [*notes.refused(), *refused], [*choices, *more]
        found = Found(name, form, notes.station, days, refused, choices, notes.last_line, unit)
    else:
        days, choice = days_of_table(rows, notes)
        is_ghcn = any("_attributes" in placed.mark.heading for _, placed in columns.marks)
        form = f"{'GHCN-Daily, one day a line' if is_ghcn else 'table with one day a row'} ({rows.kind})"
        choices.append(choice)
        found = Found(name, form, notes.station, days, notes.refused(), choices, notes.last_line, columns=columns)
        if columns.only:
            raise HalfFileError(columns.only, found)
    return weather_file(found, options, today)


class HalfFileError(WeatherFileError):
    """A file of lows, or of highs, alone. only : which; half : what it holds."""

    def __init__(self, only: str, half: Found) -> None:
        other = "low" if only == "high" else "high"
        super().__init__(f"{half.name} holds {only}s alone, wanted the file with the {other}s beside it")
        self.only, self.half = only, half


def join(one: HalfFileError, other: HalfFileError, options: Options, today: date | None = None) -> WeatherFile:
    """Return the days of a file of lows and a file of highs, in any order."""
    lows, highs = (one.half, other.half) if one.only == "low" else (other.half, one.half)
    return weather_file(join_halves(lows, highs), options, today or date.today())


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
            line = f"{question}, an option of: sheetfuncs add-weather"
            raise TwoReadingsError(line, question.option, question.answers) from None
        found = read_weather_file(path, Options(unit=unit))
    for refused in found.unreadable:
        raise WeatherFileError(f"weather file {path.name}, line {refused.line} {refused.reason}")
    # A climate looks for what can be no weather itself, and names it in its note.
    days = sorted(found.days + found.doubtful)
    if unit is not None and unit != found.unit:
        taken = next(choice for choice in found.choices if choice.what == "unit")
        if taken.why not in NAMED_BY_FILE:
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
