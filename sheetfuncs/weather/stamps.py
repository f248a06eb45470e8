"""Dates and times of day as texts, and the order of day and month found from all dates of a file."""

from __future__ import annotations

import re
from contextlib import suppress
from datetime import date
from functools import lru_cache
from typing import Iterable, Mapping, NamedTuple

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
    r"(\d{1,2})[:h.](\d{2})(?:[:.](\d{2})(?:[.,]\d+)?)?\s*([ap])?\.?(?:m\.?)?\s*"
    r"(?:(Z|UTC|GMT)?([+-]\d{2}(?::?\d{2})?)?)$",
    re.IGNORECASE,
)
_COMPACT_CLOCK = re.compile(r"(\d{1,2})(\d{2})?(\d{2})?(?:\.0)?$")


def read_date_text(text: str) -> WrittenDate | None:
    """Return a date as it is written, ``None`` where a text holds none."""
    if len(text) == 10 and text[4] == text[7] == "-" and text[:4].isdigit() and int(text[:4]) in _YEARS:
        with suppress(ValueError):  # most are such
            day = date.fromisoformat(text)
            return WrittenDate((day.year, day.month, day.day))
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
    if len(text) == 10 and text[4] == text[7] == "-":  # most dates are such
        return text, ""
    if text[4:8:3] == "--" and text[10:11] in (" ", "T") and text[13:14] == ":":
        return text[:10], text[11:]
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
    match = _CLOCK.match(text)
    if match is None:
        match = _COMPACT_CLOCK.match(text)
        if match is None:
            return None
        # 5 is five o'clock, 530 and 0530 are half past.
        if match[2] is None:
            return _clock(int(match[1]), 0, None)
        return _clock(int(match[1]), int(match[2]), None)
    hour, minute, half = int(match[1]), int(match[2]), match[4]
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half.lower() == "p" else 0)
    offset = 0 if match[5] else None
    if match[6]:
        sign, digits = match[6][0], match[6][1:].replace(":", "").ljust(4, "0")
        offset = int(sign + "1") * (int(digits[:2]) * 60 + int(digits[2:]))
    return _clock(hour, minute, offset)


def _clock(hour: int, minute: int, offset: int | None) -> Clock | None:
    is_time = (hour < 24 and minute < 60) or (hour, minute) == (24, 0)
    return Clock(hour, minute, offset) if is_time else None


# -- the order of day and month --------------------------------------------------------------------------------

_TWO_DIGITS = ", years of two digits"
_NAMES = {"day-month": "day/month/year", "month-day": "month/day/year", "year-first": "year/month/day"}


def decide_order(
    dates: Iterable[tuple[int, str]], written: Mapping[str, WrittenDate], wanted: str | None, name: str
) -> tuple[dict[str, str], Choice | None]:
    """Return the order of the numbers for each family of dates, found from all dates of a file, and how it was found.

    dates : (line, text). written : the dates by their texts. wanted : the order that the user names.
    Raises :class:`WeatherFileError` where the file mixes two orders, :class:`TwoReadingsError` where nothing decides.
    """
    families: dict[str, list[tuple[int, str]]] = {}
    for line, text in dates:
        families.setdefault(written[text].family, []).append((line, text))
    orders, choice = {"": ""}, None
    for family in sorted(families):
        if family:
            orders[family], choice = _order_of(families[family], written, wanted, name)
    if choice is None and families:
        choice = Choice("dates", "year, month and day in no doubt", "as they are written")
    return orders, choice


def _order_of(
    dates: list[tuple[int, str]], written: Mapping[str, WrittenDate], wanted: str | None, name: str
) -> tuple[str, Choice]:
    family = written[dates[0][1]].family
    possible = [order for order in DATE_ORDERS if family == "2" or order != "year-first"]
    years = _TWO_DIGITS if family == "2" else ""
    if wanted in possible:
        return wanted, Choice("dates", _NAMES[wanted] + years, "as you say")
    against: dict[str, tuple[int, str]] = {}
    for line, text in dates:
        for order in possible:
            if order not in against and written[text].day(order) is None:
                against[order] = (line, text)
    left = [order for order in possible if order not in against]
    if len(left) > 1 and "year-first" in left:
        left, why = _by_steps(left, dates, written)
        if len(left) == 1:
            return left[0], Choice("dates", _NAMES[left[0]] + years, why)
    shown = {order: f"line {line} has {printable(text)}" for order, (line, text) in against.items()}
    if len(left) == 1:
        return left[0], Choice("dates", _NAMES[left[0]] + years, shown[next(iter(against))])
    if not left:
        raise WeatherFileError(
            f"{name} mixes dates in different orders ("
            + ", ".join(f"{shown[order]}, which is not {_NAMES[order]}" for order in possible)
            + "), wanted one order"
        )
    line, text = dates[0]
    raise TwoReadingsError(
        f"{name} has dates such as {printable(text)} (line {line}) and none that decides "
        + " or ".join(_NAMES[order] for order in left)
        + ", wanted --date-order "
        + " or ".join(left),
        "date_order",
        left,
    )


def _by_steps(
    orders: list[str], dates: list[tuple[int, str]], written: Mapping[str, WrittenDate]
) -> tuple[list[str], str]:
    """Return the orders that are left when the year is first or last: the one where line follows line day by day.

    It keeps a year at the start from one at the end apart, but not days from months: the first days of twelve months
    and the first twelve days of a month are written alike.
    """
    steps = {}
    for order in orders:
        days = [written[text].day(order) for _, text in dates]
        pairs = [abs((after - before).days) == 1 for before, after in zip(days, days[1:]) if before and after]
        steps[order] = sum(pairs) / len(pairs) if pairs else 0.0
    last = [order for order in orders if order != "year-first"]
    for one, other in ((["year-first"], last), (last, ["year-first"])):
        if max(steps[order] for order in one) >= 0.5 and max(steps[order] for order in other) < 0.1:
            return one, "line follows line day by day"
    return orders, ""
