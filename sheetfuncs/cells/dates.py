"""Dates in cells: spreadsheet serials, date objects and typed texts, in and out."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta

from .errors import wrong

#: Day 0 of the spreadsheet calendar; serials count from here (exact from 1 March 1900 on).
EPOCH_1900 = date(1899, 12, 30)
#: Day 0 of a workbook that was set to the 1904 calendar.
EPOCH_1904 = date(1904, 1, 1)

WANTED = "a date such as 2026-07-01"
#: Dates beyond these are mistakes, and would leave no room to reckon with days before and after them.
FIRST_DATE, LAST_DATE = date(1700, 1, 1), date(2399, 12, 31)
_LAST_SERIAL = (LAST_DATE - EPOCH_1900).days
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]\d\d:\d\d(?::\d\d(?:\.\d+)?)?)?$")
# Two defaults that share no part: what differs between them was not typed.
_DEFAULTS = (datetime(2000, 1, 1), datetime(2004, 2, 2))


def to_serial(day: date, epoch: date = EPOCH_1900) -> float:
    """Return the spreadsheet serial of a date."""
    return float((day - epoch).days)


def from_serial(serial: float, epoch: date = EPOCH_1900) -> date:
    """Return the date of a spreadsheet serial; a time of day is dropped."""
    return epoch + timedelta(days=int(serial // 1))


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def short(day: date) -> str:
    """Return a day as a line shows it, in any locale: ``4 Jul``."""
    return f"{day.day} {_MONTHS[day.month - 1]}"


def read_date(cell: object, label: str = "date", epoch: date = EPOCH_1900) -> date:
    """Read one cell as a date.

    A number between 1800 and 2200 is taken for a year typed by mistake and refused; so is a text whose day
    and month could be told apart in two ways, and a date outside of the years 1700 to 2399.
    Raises :class:`InputError`.

    >>> read_date("2026-07-01"), read_date(46204.0), read_date("1 July 2026")
    (datetime.date(2026, 7, 1), datetime.date(2026, 7, 1), datetime.date(2026, 7, 1))
    """
    if isinstance(cell, date):
        return _within_reach(cell.date() if isinstance(cell, datetime) else cell, label)
    if isinstance(cell, (int, float)) and not isinstance(cell, bool):
        if not 1 <= cell <= _LAST_SERIAL:  # NaN and infinities fail here too
            raise wrong(label, cell, WANTED)
        if 1800 <= cell <= 2200:
            raise wrong(label, cell, f"{WANTED}, not a year")
        return _within_reach(from_serial(cell, epoch), label)
    if isinstance(cell, str):
        return _within_reach(_date_of_text(cell.strip(), label), label)
    raise wrong(label, cell, WANTED)


def _within_reach(day: date, label: str) -> date:
    if not FIRST_DATE <= day <= LAST_DATE:
        raise wrong(label, day, f"a date from {FIRST_DATE.year} to {LAST_DATE.year}")
    return day


def _date_of_text(text: str, label: str) -> date:
    iso = _ISO.match(text)
    if iso:
        try:
            return date(*(int(part) for part in iso.groups()))
        except ValueError:
            raise wrong(label, text, WANTED) from None
    if len(text) > 40 or not any(letter.isdigit() for letter in text):
        raise wrong(label, text, WANTED)
    # Only now: few cells need it, and it is slow to load.
    from dateutil import parser

    try:
        readings = {
            parser.parse(text, dayfirst=dayfirst, default=default).date()
            for dayfirst in (False, True)
            for default in _DEFAULTS
        }
    except (ValueError, OverflowError, TypeError):
        raise wrong(label, text, WANTED) from None
    if len(readings) > 1:
        raise wrong(label, text, f"{WANTED} (day, month and year in no doubt)")
    day: date = readings.pop()
    return day
