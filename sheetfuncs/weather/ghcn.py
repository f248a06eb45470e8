"""GHCN-Daily, NOAA's open record of daily weather, in its layouts with one value a field.

Fixed width (``.dly``, readme.txt of GHCN-Daily, section III): station 1–11, year 12–15, month 16–17, element 18–21,
then for each of 31 days a value of 5 letters and three flags of one letter: measurement, quality, source. Comma
separated, by station or by year (readme-by_station.txt, readme-by_year.txt): station, date as YYYYMMDD, element, value,
the three flags, time of observation. Temperatures are tenths of °C, −9999 is missing, a letter as quality flag means
that the value failed a check. The layout with one day a row and a heading is a table like any other.
"""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from typing import Iterable, List, Optional, Tuple

from .collecting import LineDay, several_stations
from .errors import WeatherFileError
from .finishing import Found
from .marks import flag_reason
from .model import Choice, Refused
from .texts import printable
from .units import BY_LAYOUT, CELSIUS, NAMES, TENTHS

LOW, HIGH = "TMIN", "TMAX"
_NAMES = {LOW: "low", HIGH: "high"}
_MISSING = -9999

_FIXED = re.compile(r"[A-Z]{2}[A-Z0-9_\-]{9}\d{4}(?:0[1-9]|1[0-2])[A-Z0-9]{4}[ \-\d]{5}")
_SEPARATED = re.compile(r'"?[A-Z]{2}[A-Z0-9_\-]{9}"?,"?\d{8}"?,"?[A-Z0-9]{4}"?,\s*"?\s*-?\d+')
_HEADING = re.compile(r'"?(?:ID|STATION)"?,"?DATE"?,"?ELEMENT"?,', re.IGNORECASE)
_VALUE = re.compile(r" *-?[0-9]+\Z")
#: A whole line of the fixed layout ends with the value of day 31; its flags may be blank and cut away.
_WHOLE = 21 + 30 * 8 + 5

#: The values of a line as (day, value as written, quality flag), or (``None``, what is wrong with one of them, "").
_Values = List[Tuple[Optional[date], str, str]]


def is_fixed(line: str) -> bool:
    """Return whether a line is one of the fixed layout."""
    return bool(_FIXED.match(line))


def is_separated(line: str) -> bool:
    """Return whether a line is one of the comma-separated layout with one value a line."""
    return bool(_SEPARATED.match(line) or _HEADING.match(line))


@dataclass
class _Record:
    """The lows and highs of one station by day, in tenths of °C, each with its line; what was refused."""

    by_day: dict[date, dict[str, tuple[int, int]]] = field(default_factory=dict)
    refused: list[Refused] = field(default_factory=list)

    def put(self, line: int, day: date, element: str, text: str, flag: str) -> None:
        """Take in one value of a line as it is written."""
        if not _VALUE.match(text):
            self.refused.append(Refused(line, day, f'has "{printable(text, 28)}" where a value is wanted', True))
        elif flag.strip() and int(text) != _MISSING:
            self.refused.append(Refused(line, day, f"the {_NAMES[element]} {flag_reason(flag.strip())}"))
        elif int(text) != _MISSING:
            known = self.by_day.setdefault(day, {})
            first, before = known.setdefault(element, (line, int(text)))
            if before != int(text):
                reason = f"the {_NAMES[element]} is also in line {first}, with another value"
                self.refused.append(Refused(line, day, reason, True))
                known[element] = (first, _MISSING)

    def days(self) -> list[LineDay]:
        """Return the days that have both, in °C; the others are refused."""
        days, flagged = [], {refused.day for refused in self.refused}
        for day, known in sorted(self.by_day.items()):
            values = {element: value for element, (_, value) in known.items() if value != _MISSING}
            line = min(line for line, _ in known.values())
            if len(values) == 2:
                days.append(LineDay(line, day, values[LOW] / 10, values[HIGH] / 10))
            elif day not in flagged:
                self.refused.append(Refused(line, day, f"has no {_NAMES[HIGH if LOW in values else LOW]}"))
        return days


def read(lines: Iterable[str], wanted: str | None, name: str, in_months: bool) -> Found:
    """Return what a file in one of the layouts holds of one station.

    wanted : the station, if the user names it. in_months : the layout is the fixed one.
    Raises :class:`WeatherFileError` where nothing was found, and :class:`TwoReadingsError` where there are several
    stations and none is ``wanted``.
    """
    record, number, known = _Record(), 0, wanted or ""
    for number, line in enumerate(lines, start=1):
        # Files of a year hold all stations: most lines are passed over by their first letters.
        if not line.strip() or (wanted and not line.startswith((wanted, '"'))) or _HEADING.match(line):
            continue
        try:
            station, element, values = (_month if in_months else _single)(line)
        except ValueError as reason:
            record.refused.append(Refused(number, None, str(reason), True))
            continue
        if element not in _NAMES or (wanted and station != wanted):
            continue
        if known not in ("", station):
            raise several_stations(name, (known, station))
        known = station
        for day, text, flag in values:
            if day is None:
                record.refused.append(Refused(number, None, text, True))
            else:
                record.put(number, day, element, text, flag)
    if not record.by_day and not record.refused:
        of = f" of station {printable(wanted)}" if wanted else ""
        raise WeatherFileError(f"{name} holds no lows and highs{of} (elements TMIN and TMAX)")
    form = f"GHCN-Daily, {'fixed width' if in_months else 'one value a line'}"
    choices = [Choice("unit", NAMES[TENTHS], BY_LAYOUT)]
    return Found(name, form, known, record.days(), record.refused, choices, number, CELSIUS)


def _month(line: str) -> tuple[str, str, _Values]:
    """Return station, element and values of a line of the fixed layout; raises ``ValueError`` where it is none."""
    if not _FIXED.match(line):
        raise ValueError("is no line of a .dly file")
    year, month = int(line[11:15]), int(line[15:17])
    is_whole = len(line.rstrip()) >= _WHOLE
    values: _Values = []
    for number in range(1, 32):
        start = 13 + 8 * number
        # In a line that is cut off, only values that have all their flags are sure to be whole.
        if not is_whole and start + 8 > len(line):
            values.append((None, f"is cut off at day {number}", ""))
            break
        text = line[start : start + 5]
        try:
            values.append((date(year, month, number), text, line[start + 6 : start + 7]))
        except ValueError:
            if text.strip() not in ("-9999", ""):
                values.append((None, f"has a value for day {number} of month {month}", ""))
    return line[:11], line[17:21], values


def _single(line: str) -> tuple[str, str, _Values]:
    """Return station, element and the one value of a line of the comma-separated layout; raises ``ValueError``."""
    fields = [part.strip().strip('"').strip() for part in line.split(",")]
    if not 7 <= len(fields) <= 8:
        raise ValueError(f"has {len(fields)} columns, wanted 8" + "; cut off?" * (len(fields) < 7))
    station, text, element, value, _, flag, *_ = fields
    day = None
    if len(text) == 8:
        with suppress(ValueError):
            day = date(int(text[:4]), int(text[4:6]), int(text[6:8]))
    return station, element, [(day, value if day else f'has no date: "{printable(text, 28)}"', flag)]
