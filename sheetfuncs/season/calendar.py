"""Seasons as stretches of days: what belongs to a season in each hemisphere.

A season is named by the year in which its autumn falls. In the north its growing year is the calendar year; in the
south it runs from July to June. Its days go on into the winter after it, up to the end of its *freeze year*
(north: 1 August to 31 July; south: 1 February to 31 January), so that a first freeze after New Year has a day.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

NORTH, SOUTH = "north", "south"
HEMISPHERES = (NORTH, SOUTH)


def is_leap(year: int) -> bool:
    """Return whether a year has a 29 February."""
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


@dataclass(frozen=True)
class SeasonDays:
    """The days of one season, numbered from 0.

    first : the first day. count : how many days. year_end : index of the day after the growing year.
    freeze_start : index of the freeze year's first day. midwinter : index of the day that halves it: later warmth is
    the next spring's. growing : index of the growing part's first day and of the day after its last.
    """

    season: int
    first: date
    count: int
    year_end: int
    freeze_start: int
    midwinter: int
    growing: tuple[int, int]

    def index(self, day: date) -> int:
        """Return the number of a day; it may lie outside the season."""
        return day.toordinal() - self.first.toordinal()

    def day(self, index: int) -> date:
        """Return the day with a number."""
        return date.fromordinal(self.first.toordinal() + index)


@lru_cache(maxsize=1024)
def season_days(season: int, hemisphere: str) -> SeasonDays:
    """Return the days of a season."""
    if hemisphere == NORTH:
        first, year_end = date(season, 1, 1), date(season + 1, 1, 1)
        freeze, midwinter, end = date(season, 8, 1), date(season + 1, 2, 1), date(season + 1, 8, 1)
        growing = date(season, 4, 1), date(season, 12, 1)
    else:
        first, year_end = date(season - 1, 7, 1), date(season, 7, 1)
        freeze, midwinter, end = date(season, 2, 1), date(season, 8, 1), date(season + 1, 2, 1)
        growing = date(season - 1, 10, 1), date(season, 6, 1)

    def index(day: date) -> int:
        return (day - first).days

    growing_part = index(growing[0]), index(growing[1])
    return SeasonDays(season, first, index(end), index(year_end), index(freeze), index(midwinter), growing_part)


def season_of(day: date, hemisphere: str) -> int:
    """Return the season in whose growing year a day lies."""
    return day.year + (1 if hemisphere == SOUTH and day.month >= 7 else 0)


def spring_year(season: int, hemisphere: str) -> int:
    """Return the calendar year in which a season's spring falls."""
    return season if hemisphere == NORTH else season - 1


def day_number(day: date, year: int) -> int:
    """Return a day counted from 31 December before a year (1 January = 1; leap days counted)."""
    return day.toordinal() - date(year, 1, 1).toordinal() + 1


def day_of_number(number: float, year: int) -> date:
    """Return the day of a (mean) day number, as month and day of a common year, put into a year.

    The number is rounded to a day, halves up; numbers below 1 or above 365 fall into the year before or after.
    """
    whole = int((number + 0.5) // 1)
    turns, rest = divmod(whole - 1, 365)
    common = date(2001, 1, 1) + timedelta(days=rest)
    return common.replace(year=year + turns)


def common_number(day: date) -> int:
    """Return the day number of a month and day in a common year; 29 February counts as 1 March."""
    if (day.month, day.day) == (2, 29):
        return 60
    return day_number(day.replace(year=2001), 2001)
