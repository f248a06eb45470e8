"""GHCN-Daily, NOAA's open record of daily weather, in its layouts with one value a field.

Fixed width (``.dly``, readme.txt of GHCN-Daily, section III): station 1–11, year 12–15, month 16–17, element 18–21,
then for each of 31 days a value of 5 letters and three flags of one letter: measurement, quality, source. Comma
separated, by station or by year (readme-by_station.txt, readme-by_year.txt): station, date as YYYYMMDD, element, value,
the three flags, time of observation. Temperatures are tenths of °C, −9999 is missing, a letter as quality flag means
that the value failed a check. The layout with one day a row and a heading is a table like any other.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from typing import Iterable, Iterator

from .errors import TwoReadingsError, WeatherFileError
from .model import Refused
from .texts import printable

LOW, HIGH = "TMIN", "TMAX"
_NAMES = {LOW: "low", HIGH: "high"}
MISSING = -9999

_FIXED = re.compile(r"[A-Z]{2}[A-Z0-9_\-]{9}\d{4}(?:0[1-9]|1[0-2])[A-Z0-9]{4}[ \-\d]{5}")
_SEPARATED = re.compile(r'"?[A-Z]{2}[A-Z0-9_\-]{9}"?,"?\d{8}"?,"?[A-Z0-9]{4}"?,\s*"?\s*-?\d+')
_HEADING = re.compile(r'"?(?:ID|STATION)"?,"?DATE"?,"?ELEMENT"?,', re.IGNORECASE)
_VALUE = re.compile(r" *-?[0-9]+\Z")
#: A whole line of the fixed layout ends with the value of day 31; its flags may be blank and cut away.
_WHOLE = 21 + 30 * 8 + 5

#: What failed, by quality flag (GHCN-Daily readme.txt; names from memory).
_CHECKS = {
    "D": "duplicate", "G": "gap", "I": "internal consistency", "K": "streak", "L": "length of a total",
    "M": "megaconsistency", "N": "naught", "O": "outlier of the climate", "R": "lagged range",
    "S": "spatial consistency", "T": "temporal consistency", "W": "too warm for snow", "X": "bounds",
    "Z": "later inquiry",
}  # fmt: skip


def flag_reason(flag: str) -> str:
    """Return what a quality flag says."""
    check = _CHECKS.get(flag)
    return f"failed NOAA's check ({flag}{': ' + check if check else ''})"


def is_fixed(line: str) -> bool:
    """Return whether a line is one of the fixed layout."""
    return bool(_FIXED.match(line))


def is_separated(line: str) -> bool:
    """Return whether a line is one of the comma-separated layout with one value a line."""
    return bool(_SEPARATED.match(line) or _HEADING.match(line))


@dataclass
class Values:
    """The lows and highs of one station by day, in tenths of °C, each with its line, and what was refused."""

    station: str
    by_day: dict[date, dict[str, tuple[int, int]]] = field(default_factory=dict)
    refused: list[Refused] = field(default_factory=list)

    def put(self, line: int, day: date, element: str, text: str, flag: str) -> None:
        """Take in one value as it is written."""
        if not _VALUE.match(text):
            self.refused.append(Refused(line, day, f'has "{printable(text, 28)}" where a value is wanted', True))
            return
        value = int(text)
        if value == MISSING:
            return
        if flag.strip():
            self.refused.append(Refused(line, day, f"the {_NAMES[element]} {flag_reason(flag.strip())}"))
            return
        known = self.by_day.setdefault(day, {})
        if element in known and known[element][1] != value:
            reason = f"the {_NAMES[element]} stands also in line {known[element][0]}, with another value"
            self.refused.append(Refused(line, day, reason, True))
            known[element] = (known[element][0], MISSING)
            return
        known.setdefault(element, (line, value))

    def days(self) -> Iterator[tuple[int, date, float, float]]:
        """Go over the days that have both, as (line, day, low, high) in °C; notes the others as refused."""
        flagged = {refused.day for refused in self.refused}
        for day, known in sorted(self.by_day.items()):
            values = {element: value for element, (_, value) in known.items() if value != MISSING}
            line = min(line for line, _ in known.values())
            if len(values) == 2:
                yield line, day, values[LOW] / 10, values[HIGH] / 10
            elif day not in flagged:
                lacking = _NAMES[LOW if LOW not in values else HIGH]
                self.refused.append(Refused(line, day, f"has no {lacking}"))


def read_fixed(lines: Iterable[str], asked: str | None, name: str) -> tuple[Values, int]:
    """Return the values of the fixed layout, and how many lines there are."""
    values, count = Values(asked or ""), 0
    for count, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        if not _FIXED.match(line):
            values.refused.append(Refused(count, None, "is no line of a .dly file", True))
            continue
        element = line[17:21]
        if element in _NAMES and _is_wanted(line[:11], values, asked, name):
            _put_month(values, count, line, element)
    return values, count


def _put_month(values: Values, number: int, line: str, element: str) -> None:
    year, month = int(line[11:15]), int(line[15:17])
    is_whole = len(line.rstrip()) >= _WHOLE
    for place in range(31):
        start = 21 + 8 * place
        # In a line that is cut off, only values that have all their flags are sure to be whole.
        if not is_whole and start + 8 > len(line):
            values.refused.append(Refused(number, None, f"is cut off at day {place + 1}", True))
            return
        text = line[start : start + 5]
        try:
            day = date(year, month, place + 1)
        except ValueError:
            if text.strip() not in ("-9999", ""):
                values.refused.append(Refused(number, None, f"has a value for day {place + 1} of month {month}", True))
            continue
        values.put(number, day, element, text, line[start + 6 : start + 7])


def read_separated(lines: Iterable[str], asked: str | None, name: str) -> tuple[Values, int]:
    """Return the values of the comma-separated layout, and how many lines there are."""
    values, count = Values(asked or ""), 0
    start = asked or ""
    for count, line in enumerate(lines, start=1):
        # Files of a year hold all stations: most lines are passed over by their first letters.
        if start and not line.startswith(start) and not line.startswith('"'):
            continue
        fields = [part.strip().strip('"').strip() for part in line.split(",")]
        if not line.strip() or (count == 1 and _HEADING.match(line)):
            continue
        if len(fields) < 7 or len(fields) > 8:
            reason = f"has {len(fields)} columns, wanted 8"
            values.refused.append(Refused(count, None, reason + ("; cut off?" if len(fields) < 7 else ""), True))
            continue
        if fields[2] not in _NAMES or not _is_wanted(fields[0], values, asked, name):
            continue
        day = _day(fields[1])
        if day is None:
            values.refused.append(Refused(count, None, f'has no date: "{printable(fields[1], 28)}"', True))
            continue
        values.put(count, day, fields[2], fields[3], fields[5])
    return values, count


def _day(text: str) -> date | None:
    try:
        return date(int(text[:4]), int(text[4:6]), int(text[6:])) if len(text) == 8 else None
    except ValueError:
        return None


def _is_wanted(station: str, values: Values, asked: str | None, name: str) -> bool:
    if asked:
        return station == asked
    if not values.station:
        values.station = station
    elif values.station != station:
        raise TwoReadingsError(
            f"{name} has more than one station ({printable(values.station)}, {printable(station)}…),"
            " wanted --station with one of them",
            "station",
        )
    return True


def check_station(values: Values, asked: str | None, name: str) -> None:
    """Raise :class:`WeatherFileError` where nothing was found."""
    if not values.by_day and not values.refused:
        of = f" of station {printable(asked)}" if asked else ""
        raise WeatherFileError(f"{name} holds no lows and highs{of} (elements TMIN and TMAX)")
