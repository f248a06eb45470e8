"""Dates and times of day as texts, and the order of day and month found from all dates of a file."""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache
from typing import NamedTuple, Sequence

from ..cells.dates import DATE_ORDERS, WrittenDate, from_serial, written_date
from .errors import TwoReadingsError, WeatherFileError
from .model import Choice
from .texts import in_letters, printable

_YEARS = range(1800, 2201)
#: A whole number in this range, where a date is wanted, is a spreadsheet's day number: the years 1927 to 2173.
_SERIALS = range(10_000, 100_000)

#: No date with its time is longer [letters].
LONGEST_STAMP = 80

_STAMP = re.compile(r"(.*?)(?:[T, ]\s*|\s+(?:at|um|à) )(\d{1,2}[:h.]\d{2}(?!\d).*)$")
_COMPACT_STAMP = re.compile(r"(\d{8})[T :]?(\d{2}|\d{4}|\d{6})$")
_CLOCK = re.compile(
    r"(?P<hour>\d{1,2})[:h.](?P<minute>\d{2})(?:[:.]\d{2}(?:[.,]\d+)?)?\s*(?P<half>[ap])?\.?(?:m\.?)?\s*"
    r"(?P<zone>Z|UTC|GMT)?(?P<offset>[+-]\d{2}(?::?\d{2})?)?$",
    re.IGNORECASE,
)
#: 5 is five o'clock, 530 and 0530 are half past.
_COMPACT_CLOCK = re.compile(r"(?P<hour>\d{1,2})(?P<minute>\d{2})?(?:\d{2})?(?:\.0)?$")


def read_date_text(text: str) -> WrittenDate | None:
    """Return a date as it is written, ``None`` where a text holds none."""
    text = in_letters(text).strip()
    if len(text) > LONGEST_STAMP:
        return None
    number = text.removesuffix(".0")
    if len(number) == 5 and number.isdecimal() and int(number) in _SERIALS:
        day = from_serial(int(number))
        return WrittenDate((day.year, day.month, day.day))
    found = written_date(text)
    return found if found and any(day.year in _YEARS for day in map(found.day, DATE_ORDERS) if day) else None


# -- times of day ----------------------------------------------------------------------------------------------


class Clock(NamedTuple):
    """A time of day; ``offset`` is the distance from UTC where it is written [minutes], otherwise ``None``.

    Hour 24 is the midnight that ends the day.
    """

    hour: int
    minute: int = 0
    offset: int | None = None


def split_stamp(text: str) -> tuple[str, str]:
    """Return the date and the time of day of a text; the time is "" where there is none."""
    text = text.strip()
    if text[4:8:3] == "--" and (len(text) == 10 or (text[10:11] in (" ", "T") and text[13:14] == ":")):
        return text[:10], text[11:]  # most are such, and the patterns take twice as long
    match = None if len(text) > LONGEST_STAMP else _COMPACT_STAMP.match(text) or _STAMP.match(text)
    if match is None:
        return text, ""
    return match[1].rstrip(" ,"), match[2]


@lru_cache(maxsize=4096)
def read_clock(text: str) -> Clock | None:
    """Return a time of day, ``None`` where a text holds none."""
    text = text.strip()
    if len(text) > LONGEST_STAMP:
        return None
    match = _CLOCK.match(text) or _COMPACT_CLOCK.match(text)
    if match is None:
        return None
    hour, minute = int(match["hour"]), int(match["minute"] or 0)
    half, zone, digits = (match.groupdict().get(name) for name in ("half", "zone", "offset"))
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half.lower() == "p" else 0)
    offset = 0 if zone else None
    if digits:
        hours, minutes = int(digits[1:3]), int(digits[3:].lstrip(":") or 0)
        offset = (-1 if digits[0] == "-" else 1) * (60 * hours + minutes)
    is_time = (hour < 24 and minute < 60) or (hour, minute) == (24, 0)
    return Clock(hour, minute, offset) if is_time else None


# -- the order of day and month --------------------------------------------------------------------------------

_NAMES = {"day-month": "day/month/year", "month-day": "month/day/year", "year-first": "year/month/day"}


class Dates:
    """The dates of a file as they are written; how their numbers follow each other is found from all of them.

    written : by their texts, in the order of the lines. lines : in which each text stands first.
    """

    def __init__(self, name: str, wanted: str | None = None) -> None:
        """Start with none. name : of the file. wanted : the order of day and month that the user names."""
        self.written: dict[str, WrittenDate] = {}
        self.lines: dict[str, int] = {}
        self._name, self._wanted = name, wanted
        self._orders = {"": ""}

    def take_in(self, text: str, line: int) -> bool:
        """Take in a date; return whether the text is one."""
        found = read_date_text(text)
        if found is not None:
            self.written[text] = found
            self.lines.setdefault(text, line)
        return found is not None

    def day(self, text: str) -> date | None:
        """Return the day of a text that was taken in, ``None`` where there is no such day in the order found."""
        found = self.written[text]
        return found.day(self._orders[found.family])

    def decide(self) -> Choice:
        """Find the order of the numbers and return how it was found.

        Raises :class:`WeatherFileError` where the file mixes two orders, :class:`TwoReadingsError` where nothing
        decides.
        """
        choice = Choice("dates", "year, month and day in no doubt", "as they are written")
        for family in sorted({found.family for found in self.written.values()} - {""}):
            texts = [text for text, found in self.written.items() if found.family == family]
            self._orders[family], why = self._order_of(texts, family)
            years = ", years of two digits" if family == "2" else ""
            choice = Choice("dates", _NAMES[self._orders[family]] + years, why)
        return choice

    def _order_of(self, texts: Sequence[str], family: str) -> tuple[str, str]:
        possible = [order for order in DATE_ORDERS if family == "2" or order != "year-first"]
        if self._wanted in possible:
            return self._wanted, "as you say"
        against = {}
        for order in possible:
            text = next((text for text in texts if self.written[text].day(order) is None), None)
            if text is not None:
                against[order] = f"line {self.lines[text]} has {printable(text)}"
        left = [order for order in possible if order not in against]
        if len(left) > 1 and "year-first" in left:
            # Line by line they show where the year stands, but not days from months: the first days of twelve months
            # and the first twelve days of a month are written alike.
            year_first = {order == "year-first" for order in left if self._follow(texts, order)}
            if len(year_first) == 1:
                left = [order for order in left if (order == "year-first") in year_first]
                if len(left) == 1:
                    return left[0], "line follows line day by day"
        if len(left) == 1:
            return left[0], next(iter(against.values()))
        if not left:
            reasons = (f"{why}, which is not {_NAMES[order]}" for order, why in against.items())
            raise WeatherFileError(f"{self._name} mixes dates in different orders ({', '.join(reasons)}), wanted one")
        raise TwoReadingsError(
            f"{self._name} has dates such as {printable(texts[0])} (line {self.lines[texts[0]]}) and none that decides"
            f" between {' and '.join(_NAMES[order] for order in left)}, wanted --date-order {' or '.join(left)}",
            "date_order",
            left,
        )

    def _follow(self, texts: Sequence[str], order: str) -> bool:
        """Return whether under an order most dates are one day after, or before, the date above."""
        days = [self.written[text].day(order) for text in texts]
        steps = [abs((after - before).days) == 1 for before, after in zip(days, days[1:]) if before and after]
        return sum(steps) > len(steps) / 2
