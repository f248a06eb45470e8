"""What a weather file says, and what a user can say about it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Callable, Mapping, NamedTuple

#: Called with how many bytes of the file are read, and how many there are.
Progress = Callable[[int, int], None]

#: What the temperatures of a file are in: °C, °F, or tenths of °C as some services print them.
UNITS = ("C", "F", "tenths")


@dataclass(frozen=True)
class Options:
    """What the user says about a file; ``None`` is left to the file itself.

    unit : one of :data:`UNITS`. date_order : one of ``DATE_ORDERS``. station : the one to take.
    columns : ``date=1,low=Tmin,high=Tmax``, by number or heading; for a log ``date=1,temperature=2``.
    sheet : of a workbook. time_zone : the file's times are UTC, and the station's clock is that of this zone.
    """

    unit: str | None = None
    date_order: str | None = None
    columns: str | None = None
    station: str | None = None
    sheet: str | None = None
    time_zone: str | None = None


class Day(NamedTuple):
    """One day of weather [°]."""

    day: date
    low: float
    high: float


class Choice(NamedTuple):
    """One thing about a file that had to be decided: what it was taken for, and why."""

    what: str
    reading: str
    why: str


class Refused(NamedTuple):
    """A line that gave no day, and why.

    unreadable : the line itself is broken; otherwise it is read, but holds nothing that can be used.
    """

    line: int
    day: date | None
    reason: str
    unreadable: bool = False


class Gap(NamedTuple):
    """Days in a row that are missing, first and last."""

    first: date
    last: date

    @property
    def days(self) -> int:
        """How many days are missing."""
        return (self.last - self.first).days + 1


@dataclass(frozen=True)
class WeatherFile:
    """A file as it was understood.

    name : of the file. form : what kind of file it is. station : its name or number, "" where the file has none.
    unit : "C" or "F". days : in the order of the calendar. doubtful : days that are read but can be no weather; they
    stand among the refused, too. gaps : missing days between the first and the last.
    refused : in the order of the lines. choices : what had to be decided. lines : how many the file has.
    line_of : a day's line, of the days and the doubtful ones.
    """

    name: str
    form: str
    station: str
    unit: str
    days: tuple[Day, ...]
    doubtful: tuple[Day, ...] = ()
    gaps: tuple[Gap, ...] = ()
    refused: tuple[Refused, ...] = ()
    choices: tuple[Choice, ...] = ()
    lines: int = 0
    line_of: Mapping[date, int] = field(default_factory=dict)

    @property
    def unreadable(self) -> tuple[Refused, ...]:
        """The lines that are broken."""
        return tuple(refused for refused in self.refused if refused.unreadable)
