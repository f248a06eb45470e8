"""Which column of a table holds what: by its headings, by what stands in it, or by what the user says."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Callable, Mapping, Sequence

from ..cells.dates import DATE_ORDERS
from . import headings
from .errors import TwoReadingsError, WeatherFileError
from .marks import Placed, marks_of
from .model import Choice
from .numbers import is_number, is_number_or_missing, read_number
from .stamps import read_clock, read_date_text, split_stamp
from .texts import printable

Fields = Sequence[str]

#: A column is of one kind when at least this share of the sample is (the rest may be broken).
_MOST = 0.9
_HOW_TO_SAY = "wanted --columns date=…,low=…,high=… with numbers or headings (for a log date=…,temperature=…)"


@dataclass(frozen=True)
class Columns:
    """The indexes of the columns that are read, counted from 0.

    width : how many columns a row has. parts : year, month, day where they stand apart, or year and day of the year.
    low, high : one of them is ``None`` where the file holds the other alone. low_marks, high_marks : columns in which
    the service doubts them. data_from : index of the first row of data in the sample. unit : that headings or values
    name. utc : whether a heading says UTC. separator : what stands between date and time in every row, "" where that
    varies. is_log : whether rows are readings, several a day. names : of the columns, how : they were found.
    may_be_tenths : whether the layout is one of a service that prints tenths of °C.
    """

    width: int
    date: int | None = None
    parts: tuple[int, ...] = ()
    time: int | None = None
    low: int | None = None
    high: int | None = None
    temperature: int | None = None
    low_marks: tuple[Placed, ...] = ()
    high_marks: tuple[Placed, ...] = ()
    station: int | None = None
    data_from: int = 0
    unit: str = ""
    utc: bool = False
    separator: str = ""
    is_log: bool = False
    names: tuple[str, ...] = ()
    how: str = ""
    may_be_tenths: bool = False

    @property
    def only(self) -> str:
        """ "low" or "high" where the file holds it alone, otherwise ""."""
        if self.temperature is not None or (self.low is None) == (self.high is None):
            return ""
        return "low" if self.high is None else "high"

    def choice(self) -> Choice:
        """Return how the columns were taken, in the user's words."""
        indexes = [
            ("date", self.parts if self.date is None else (self.date,)),
            ("time", () if self.time is None else (self.time,)),
            *((name, () if index is None else (index,)) for name, index in (
                ("low", self.low), ("high", self.high), ("temperature", self.temperature), ("station", self.station))),
        ]  # fmt: skip
        shown = (
            f"{what} = " + ", ".join(f"{index + 1}" + self._name(index) for index in found)
            for what, found in indexes
            if found
        )
        return Choice("columns", "; ".join(shown), self.how)

    def _name(self, index: int) -> str:
        name = printable(self.names[index], 24) if index < len(self.names) else ""
        return f' "{name}"' if name else ""


def is_date(text: str) -> bool:
    """Return whether a text holds a date."""
    return read_date_text(split_stamp(text)[0]) is not None


def _of_same_dates(indexes: Sequence[int], data: Sequence[Fields]) -> Sequence[int]:
    """Return, of columns that hold the same dates, the one that can be read in one way only; otherwise all."""
    certain = [index for index in indexes if _column(data, index, _is_certain)]
    if len(certain) != 1:
        return indexes
    same = all(_days_of(row[certain[0]]) <= _days_of(row[index]) for row in data for index in indexes)
    return certain if same else indexes


def _is_certain(text: str) -> bool:
    found = read_date_text(split_stamp(text)[0])
    return found is not None and not found.family


def _days_of(text: str) -> set[date]:
    """Return the days that a text may mean."""
    found = read_date_text(split_stamp(text)[0])
    return {day for order in DATE_ORDERS if (day := found.day(order))} if found else set()


def _has_time(text: str) -> bool:
    return split_stamp(text)[1] != ""


def _is_clock(text: str) -> bool:
    return ":" in text and read_clock(text) is not None


def _share(data: Sequence[Fields], column: int, test: Callable[[str], bool]) -> float:
    return sum(1 for row in data if test(row[column])) / len(data)


def _column(data: Sequence[Fields], column: int, test: Callable[[str], bool], most: float = _MOST) -> bool:
    return _share(data, column, test) >= most


def by_headings(names: Fields, data: Sequence[Fields], width: int, name: str) -> Columns:
    """Return the columns that headings name; raises :class:`TwoReadingsError` where they leave it open."""
    roles = [headings.roles_of(heading) for heading in names[:width]] + [frozenset()] * max(0, width - len(names))

    def having(role: str) -> list[int]:
        return [index for index, found in enumerate(roles) if role in found]

    dates = [index for index in sorted({*having("date"), *having("time")}) if _column(data, index, is_date, 0.5)]
    date_index: int | None = None
    parts: tuple[int, ...] = ()
    time: int | None = None
    if dates:
        named = [index for index in dates if "date" in roles[index]]
        date_index = _the_one(_of_same_dates(named or dates, data), "date", names, data, name)
        if not _column(data, date_index, _has_time, 0.5):
            times = [index for index in {*having("time"), *having("hour")} if index != date_index]
            times = [index for index in times if _column(data, index, _is_any_clock, 0.5)]
            time = _the_one(times, "time", names, data, name) if times else None
    else:
        parts = _parts(having, names, data, name)
        hours = [index for index in {*having("hour"), *having("time")} if _column(data, index, _is_any_clock, 0.5)]
        time = _the_one(sorted(hours), "hour", names, data, name) if hours else None
    taken = {date_index, time, *parts}

    def temperature(role: str) -> int | None:
        indexes = [index for index in having(role) if index not in taken]
        indexes = [index for index in indexes if _share(data, index, is_number_or_missing) > 0.5]
        indexes = [index for index in indexes if any(is_number(row[index]) for row in data)] or indexes
        return _the_one(indexes, role, names, data, name) if indexes else None

    low, high, single = temperature("low"), temperature("high"), None
    several = is_log(data, date_index, parts, time)
    if low is None or high is None or (several and having("temperature")):
        single = temperature("temperature")
    if single is not None:
        low = high = None
    half = (low is None) != (high is None)
    if single is None and ((half and several) or low is high is None):
        raise TwoReadingsError(f"{name} has no column of temperatures that can be read, {_HOW_TO_SAY}", "columns")
    stations = having("station")
    return Columns(
        width, date_index, parts, time, low, high, single,
        low_marks=marks_of(names, low),
        high_marks=marks_of(names, high),
        station=stations[0] if stations else None,
        utc=any(headings.names_utc(names[index]) for index in (date_index, time) if index is not None),
        may_be_tenths=bool(stations),
    )  # fmt: skip


def _parts(having: Callable[[str], list[int]], names: Fields, data: Sequence[Fields], name: str) -> tuple[int, ...]:
    """Return the columns of year, month and day, or of year and day of the year."""
    for wanted in (("year", "month", "day"), ("year", "day of year")):
        found = [[index for index in having(part) if _column(data, index, _is_whole, 0.5)] for part in wanted]
        if all(found):
            return tuple(_the_one(indexes, part, names, data, name) for indexes, part in zip(found, wanted))
    raise TwoReadingsError(f"{name} has no column of dates that can be read, {_HOW_TO_SAY}", "columns")


def _is_any_clock(text: str) -> bool:
    return read_clock(text) is not None


def _is_whole(text: str) -> bool:
    return text.strip().removesuffix(".0").isdigit()


def is_log(data: Sequence[Fields], date_index: int | None, parts: tuple[int, ...], time: int | None) -> bool:
    """Return whether rows are readings at times of day, several a day."""
    if date_index is None:
        return time is not None
    if time is None and not _column(data, date_index, _has_time, 0.5):
        return False
    days = [split_stamp(row[date_index])[0] for row in data]
    return len(set(days)) < len(days)


def _the_one(indexes: Sequence[int], role: str, names: Fields, data: Sequence[Fields], name: str) -> int:
    """Return the one column of several that could have a role; raises :class:`TwoReadingsError`."""
    if len(indexes) > 1 and role in ("low", "high"):
        closer = [index for index in indexes if headings.words_of(names[index]) & headings.TEMPERATURE]
        indexes = closer or indexes
    if len(indexes) == 1:
        return indexes[0]
    same = all(all(row[index] == row[indexes[0]] for index in indexes) for row in data)
    if same:
        return indexes[0]
    shown = " or ".join(f'{index + 1} "{printable(names[index], 24)}"' for index in indexes)
    raise TwoReadingsError(f"{name}: {role} could be column {shown}, {_HOW_TO_SAY}", "columns")


def by_contents(data: Sequence[Fields], width: int, name: str) -> Columns:
    """Return the columns of a table without headings; raises :class:`TwoReadingsError` where values leave it open."""
    dates = [column for column in range(width) if _column(data, column, is_date)]
    if not dates:
        raise TwoReadingsError(f"{name} has no column of dates that can be read, {_HOW_TO_SAY}", "columns")
    if len(dates) > 1:
        shown = ", ".join(str(column + 1) for column in dates)
        raise TwoReadingsError(f"{name} has dates in the columns {shown}, {_HOW_TO_SAY}", "columns")
    day = dates[0]
    clocks = [column for column in range(width) if column != day and _column(data, column, _is_clock)]
    numbers = [
        column
        for column in range(width)
        if column not in (day, *clocks)
        and _column(data, column, is_number_or_missing)
        and any(is_number(row[column]) for row in data)
    ]
    time = clocks[0] if clocks and not _column(data, day, _has_time) else None
    if len(numbers) == 1 and (time is not None or _column(data, day, _has_time)):
        return Columns(width, day, time=time, temperature=numbers[0])
    if len(numbers) == 2:
        pairs = [_pair(row, numbers) for row in data]
        known = [pair for pair in pairs if pair is not None]
        for low, high in ((0, 1), (1, 0)):
            if known and all(pair[low] <= pair[high] for pair in known) and any(a != b for a, b in known):
                return Columns(width, day, time=time, low=numbers[low], high=numbers[high])
    first = ", ".join(f"{column + 1}: {printable(data[0][column], 12) or 'blank'}" for column in range(min(width, 9)))
    raise TwoReadingsError(
        f"{name} has no headings that are known here: which column is the low, which the high? Its first row is"
        f" {first}. {_HOW_TO_SAY.capitalize()}",
        "columns",
    )


def _pair(row: Fields, columns: Sequence[int]) -> tuple[float, float] | None:
    try:
        first, second = (read_number(row[column]) for column in columns)
    except ValueError:
        return None
    return None if first != first or second != second else (first, second)


_ROLES = ("date", "time", "low", "high", "temperature", "station", "year", "month", "day", "hour")


def roles_wanted(text: str) -> dict[str, str]:
    """Return what the user says of the columns: role to number or heading; raises :class:`WeatherFileError`."""
    wrong = WeatherFileError(f'columns is "{printable(text)}", {_HOW_TO_SAY}')
    roles = {}
    for item in text.split(","):
        role, _, wanted = (part.strip() for part in item.partition("="))
        if role.lower() not in _ROLES or not wanted:
            raise wrong
        roles[role.lower()] = wanted
    if not ("date" in roles or {"year", "month", "day"} <= set(roles)):
        raise wrong
    if not ("temperature" in roles or {"low", "high"} <= set(roles)):
        raise wrong
    return roles


def as_wanted(roles: Mapping[str, str], names: Fields, width: int, name: str) -> Columns:
    """Return the columns as the user names them."""
    indexes = {role: _column_wanted(wanted, names, width, name) for role, wanted in roles.items()}
    dates = indexes.get("date")
    return Columns(
        width,
        dates,
        () if dates is not None else (indexes["year"], indexes["month"], indexes["day"]),
        time=indexes.get("time", indexes.get("hour")),
        low=None if "temperature" in indexes else indexes["low"],
        high=None if "temperature" in indexes else indexes["high"],
        temperature=indexes.get("temperature"),
        station=indexes.get("station"),
    )


def _column_wanted(wanted: str, names: Fields, width: int, name: str) -> int:
    plain = [heading.strip().lower() for heading in names]
    if plain.count(wanted.lower()) == 1:
        return plain.index(wanted.lower())
    if wanted.isdigit() and 1 <= int(wanted) <= width:
        return int(wanted) - 1
    raise WeatherFileError(f'{name} has {width} columns and none "{printable(wanted)}", {_HOW_TO_SAY}')
