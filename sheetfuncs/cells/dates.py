"""Dates in cells and files: spreadsheet serials, date objects and texts, in and out."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime, timedelta
from typing import NamedTuple

from .errors import wrong

#: Day 0 of the spreadsheet calendar; serials count from here (exact from 1 March 1900 on).
EPOCH_1900 = date(1899, 12, 30)
#: Day 0 of a workbook that was set to the 1904 calendar.
EPOCH_1904 = date(1904, 1, 1)

WANTED = "a date such as 2026-07-01"
#: Dates beyond these are mistakes, and would leave no room for the days before and after them.
FIRST_DATE, LAST_DATE = date(1700, 1, 1), date(2399, 12, 31)
_LAST_SERIAL = (LAST_DATE - EPOCH_1900).days
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]\d\d:\d\d(?::\d\d(?:\.\d+)?)?)?$")
_YEAR_FIRST = re.compile(r"(\d{4})\s*([-/. ]|年)\s*(\d{1,2})\s*(?:\2|月)\s*(\d{1,2})\s*[日.]?$")
_COMPACT = re.compile(r"(\d{4})(\d\d)(\d\d)$")
_YEAR_LAST = re.compile(r"(\d{1,2})\s*([-/. ])\s*(\d{1,2})\s*\2\s*(\d{4}|\d{2})\.?$")
_WORD_OR_NUMBER = re.compile(r"\d+|[^\W\d_]{3,}")
_LONGEST_NAMED = 40
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
#: How months start, without accents, in German, French, Spanish, Italian, Portuguese and Dutch.
_OTHER_MONTHS = {
    "ene": 1, "gen": 1, "fev": 2, "mrz": 3, "maa": 3, "mrt": 3, "avr": 4, "abr": 4, "mai": 5, "mag": 5, "mei": 5,
    "juin": 6, "giu": 6, "juil": 7, "lug": 7, "aou": 8, "ago": 8, "set": 9, "okt": 10, "ott": 10, "out": 10,
    "dez": 12, "dic": 12,
}  # fmt: skip
#: How the numbers of a date follow each other.
DATE_ORDERS = ("day-month", "month-day", "year-first")
# Two defaults that share no part: what differs between them was not typed.
_DEFAULTS = (datetime(2000, 1, 1), datetime(2004, 2, 2))


def to_serial(day: date, epoch: date = EPOCH_1900) -> float:
    """Return the spreadsheet serial of a date."""
    return float((day - epoch).days)


def from_serial(serial: float, epoch: date = EPOCH_1900) -> date:
    """Return the date of a spreadsheet serial; a time of day is dropped."""
    return epoch + timedelta(days=int(serial // 1))


def short(day: date) -> str:
    """Return a day as a line shows it, in any locale: ``4 Jul``."""
    return f"{day.day} {_MONTHS[day.month - 1]}"


def read_date(cell: object, label: str = "date", epoch: date = EPOCH_1900) -> date:
    """Read one cell as a date.

    A number between 1800 and 2200 is taken for a year typed by mistake and refused; so is a text whose day
    and month can be read in two ways, and a date outside of the years 1700 to 2399.
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


class WrittenDate(NamedTuple):
    """A date as it is written: ``numbers`` are year, month, day, or in an order that is not known yet.

    family : "" where the order is known, otherwise the number of the year's digits, "4" or "2".
    """

    numbers: tuple[int, int, int]
    family: str = ""

    def day(self, order: str = "") -> date | None:
        """Return the day under one of :data:`DATE_ORDERS`, ``None`` where there is no such day."""
        first, second, third = self.numbers
        if not self.family or (order == "year-first" and self.family == "2"):
            parts = (first, second, third)
        elif order == "year-first":
            return None
        else:
            parts = (third, second, first) if order == "day-month" else (third, first, second)
        try:
            return date(_full_year(parts[0]), *parts[1:])
        except ValueError:
            return None


def _full_year(year: int) -> int:
    """Return a year in full; two digits stand for the latest year that is not in the future."""
    return year if year > 99 else year + (2000 if year + 2000 <= date.today().year else 1900)


def written_date(text: str) -> WrittenDate | None:
    """Return a date in one of the usual forms as it is written, ``None`` where a text is none.

    Months may be named in any of seven languages.

    >>> written_date("4. Juli 2026"), written_date("7/4/2026")
    (WrittenDate(numbers=(2026, 7, 4), family=''), WrittenDate(numbers=(7, 4, 2026), family='4'))
    """
    match = _YEAR_FIRST.match(text) or _COMPACT.match(text)
    if match:
        year, month, day = (int(part) for part in match.groups() if part.isdigit())
        written = WrittenDate((year, month, day))
    else:
        match = _YEAR_LAST.match(text)
        if match:
            written = WrittenDate((int(match[1]), int(match[3]), int(match[4])), str(len(match[4])))
        else:
            parts = _WORD_OR_NUMBER.findall(text) if len(text) <= _LONGEST_NAMED else []
            months = {month for month in map(_month, parts) if month}
            numbers = [part for part in parts if part.isdigit()]
            if len(months) != 1 or len(numbers) != 2:
                return None
            day_text, year_text = sorted(numbers, key=len) if len(max(numbers, key=len)) == 4 else numbers
            if len(year_text) not in (2, 4):
                return None
            written = WrittenDate((_full_year(int(year_text)), months.pop(), int(day_text)))
    return written if any(map(written.day, DATE_ORDERS)) else None


def _month(word: str) -> int:
    """Return the number of a month by its name, 0 where a word is none."""
    plain = "".join(sign for sign in unicodedata.normalize("NFKD", word.lower()) if not unicodedata.combining(sign))
    for start in (plain[:4], plain[:3]):
        if start.title() in _MONTHS:
            return _MONTHS.index(start.title()) + 1
        if start in _OTHER_MONTHS:
            return _OTHER_MONTHS[start]
    return 0


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
    written = written_date(text)
    if written is not None:
        days = {day for day in map(written.day, ("day-month", "month-day")) if day is not None}
        if len(days) == 1:
            return days.pop()
        raise wrong(label, text, f"{WANTED} (day, month and year in no doubt)")
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
