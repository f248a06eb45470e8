"""Which column of a table holds what: by its headings, by its values, or by what the user says.

Each way gives the indexes of the columns, counted from 0, by role: ``date`` or its parts, ``time``, ``low`` and
``high`` or one of them alone, or ``temperature``, and ``station``.
"""

from __future__ import annotations

from datetime import date
from typing import Callable, Dict, Mapping, NamedTuple, Sequence

from ..cells.dates import DATE_ORDERS
from . import headings
from .errors import TwoReadingsError, WeatherFileError
from .numbers import is_number, is_number_or_missing, read_number
from .stamps import read_clock, read_date_text, split_stamp
from .texts import printable

Fields = Sequence[str]
Roles = Dict[str, int]

#: A date in parts: one of these.
PARTS = (("year", "month", "day"), ("year", "day of year"))
#: A column is of one kind when at least this share of the sample is (the rest may be broken); half is enough where its
#: heading says so.
_MOST, _HALF = 0.9, 0.5
_HOW_TO_SAY = "wanted --columns with numbers or headings, such as date=1,low=3,high=4 (for a log date=1,temperature=2)"


class Table(NamedTuple):
    """The first rows of a table, all of one width; ``names`` are its headings, ``file`` is the name of its file."""

    names: Fields
    data: Sequence[Fields]
    file: str

    @property
    def width(self) -> int:
        """How many columns it has."""
        return len(self.data[0])

    def holds(self, column: int, test: Callable[[str], bool], most: float = _MOST) -> bool:
        """Return whether so great a share of a column passes a test."""
        return sum(test(row[column]) for row in self.data) >= most * len(self.data)

    def has_numbers(self, column: int, most: float = _MOST) -> bool:
        """Return whether a column holds numbers, some of which may be missing."""
        return self.holds(column, is_number_or_missing, most) and any(is_number(row[column]) for row in self.data)

    def question(self, text: str) -> TwoReadingsError:
        """Return the question which column is meant."""
        return TwoReadingsError(f"{self.file}{text}, {_HOW_TO_SAY}", "columns")


def is_date(text: str) -> bool:
    """Return whether a text holds a date."""
    return read_date_text(split_stamp(text)[0]) is not None


def _has_time(text: str) -> bool:
    return split_stamp(text)[1] != ""


def _is_clock(text: str) -> bool:
    return read_clock(text) is not None


def is_log(at: Roles, data: Sequence[Fields]) -> bool:
    """Return whether rows are readings at times of day, several a day."""
    if "date" not in at:
        return "time" in at
    days = [split_stamp(row[at["date"]])[0] for row in data]
    has_time = "time" in at or sum(_has_time(row[at["date"]]) for row in data) >= _HALF * len(data)
    return has_time and len(set(days)) < len(days)


# -- by headings -----------------------------------------------------------------------------------------------


def by_headings(table: Table) -> Roles:
    """Return the columns that headings name; raises :class:`TwoReadingsError` where they leave it open."""
    roles = [headings.roles_of(heading) for heading in table.names[: table.width]]

    def having(test: Callable[[str], bool], *wanted: str) -> list[int]:
        columns = [index for index, found in enumerate(roles) if not found.isdisjoint(wanted)]
        return [index for index in columns if table.holds(index, test, _HALF)]

    at: Roles = {}
    if dates := having(is_date, "date", "time"):
        named = [index for index in dates if "date" in roles[index]]
        at["date"] = _the_one(_of_same_dates(named or dates, table), "date", table)
    else:
        found = ({part: having(_is_whole, part) for part in parts} for parts in PARTS)
        parts = next((columns for columns in found if all(columns.values())), None)
        if parts is None:
            raise table.question(" has no column of dates that can be read")
        at = {part: _the_one(columns, part, table) for part, columns in parts.items()}
    if "date" not in at or not table.holds(at["date"], _has_time, _HALF):
        times = [index for index in having(_is_clock, "time", "hour") if index not in at.values()]
        at.update({"time": _the_one(times, "time", table)} if times else {})

    def temperature(role: str) -> Roles:
        columns = [index for index in having(is_number_or_missing, role) if index not in at.values()]
        columns = [index for index in columns if table.has_numbers(index, _HALF)] or columns
        return {role: _the_one(columns, role, table)} if columns else {}

    several = is_log(at, table.data)
    values = {**temperature("low"), **temperature("high")}
    if len(values) < 2 or several:
        values = temperature("temperature") or values
    if not values or (several and values.keys() in ({"low"}, {"high"})):
        raise table.question(" has no column of temperatures that can be read")
    station = next((index for index, found in enumerate(roles) if "station" in found), None)
    return {**at, **values, **({} if station is None else {"station": station})}


def _is_whole(text: str) -> bool:
    return text.strip().removesuffix(".0").isdigit()


def _of_same_dates(columns: Sequence[int], table: Table) -> Sequence[int]:
    """Return, of columns that hold the same dates, the one that can be read in one way only; otherwise all."""
    certain = [index for index in columns if table.holds(index, lambda text: len(_days_of(text)) == 1)]
    if len(columns) < 2 or len(certain) != 1:
        return columns
    same = all(_days_of(row[certain[0]]) <= _days_of(row[index]) for row in table.data for index in columns)
    return certain if same else columns


def _days_of(text: str) -> set[date]:
    """Return the days that a text may mean."""
    found = read_date_text(split_stamp(text)[0])
    return {day for order in DATE_ORDERS if (day := found.day(order))} if found else set()


def _the_one(columns: Sequence[int], role: str, table: Table) -> int:
    """Return the one column of several that could have a role; raises :class:`TwoReadingsError`."""
    if len(columns) > 1 and role in ("low", "high"):
        columns = [index for index in columns if headings.names_temperature(table.names[index])] or columns
    if all(row[index] == row[columns[0]] for row in table.data for index in columns[1:]):
        return columns[0]
    shown = " or ".join(f'{index + 1} "{printable(table.names[index], 24)}"' for index in columns)
    raise table.question(f": {role} could be column {shown}")


# -- by their values ------------------------------------------------------------------------------------------


def by_contents(table: Table) -> Roles:
    """Return the columns of a table without headings; raises :class:`TwoReadingsError` where values leave it open."""
    dates, *more = [column for column in range(table.width) if table.holds(column, is_date)] or [None]
    if dates is None:
        raise table.question(" has no column of dates that can be read")
    if more:
        raise table.question(f" has dates in the columns {', '.join(str(column + 1) for column in (dates, *more))}")
    at = {"date": dates}
    others = [column for column in range(table.width) if column != dates]
    has_time = table.holds(dates, _has_time)
    clocks = [column for column in others if table.holds(column, lambda text: ":" in text and _is_clock(text))]
    if clocks and not has_time:
        at["time"] = clocks[0]
    numbers = [column for column in others if table.has_numbers(column)]
    if len(numbers) == 1 and (has_time or clocks):
        return {**at, "temperature": numbers[0]}
    if len(numbers) == 2:
        texts = [[row[column] for column in numbers] for row in table.data]
        pairs = [tuple(map(read_number, pair)) for pair in texts if all(map(is_number, pair))]
        for low, high in ((0, 1), (1, 0)):
            if any(pair[low] < pair[high] for pair in pairs) and all(pair[low] <= pair[high] for pair in pairs):
                return {**at, "low": numbers[low], "high": numbers[high]}
    first = (f"{index}: {printable(field, 12) or 'blank'}" for index, field in enumerate(table.data[0][:9], start=1))
    raise table.question(
        " has no headings that are known: which column is the low, which the high?"
        f" Its first row of data is {', '.join(first)}"
    )


# -- by what the user says -------------------------------------------------------------------------------------


_ROLES = ("date", "time", "low", "high", "temperature", "station", "year", "month", "day", "hour")


def roles_wanted(text: str) -> dict[str, str]:
    """Return what the user says of the columns: role to number or heading; raises :class:`WeatherFileError`."""
    pairs = [[part.strip() for part in item.split("=", 1)] for item in text.split(",")]
    roles = {pair[0].lower(): pair[-1] for pair in pairs}
    is_clear = all(len(pair) == 2 and pair[1] for pair in pairs) and roles.keys() <= set(_ROLES)
    is_dated = "date" in roles or {"year", "month", "day"} <= roles.keys()
    if not (is_clear and is_dated and ("temperature" in roles or {"low", "high"} <= roles.keys())):
        raise WeatherFileError(f'columns is "{printable(text)}", {_HOW_TO_SAY}')
    return roles


def as_wanted(roles: Mapping[str, str], table: Table) -> Roles:
    """Return the columns as the user names them; raises :class:`WeatherFileError` where there is no such column."""
    names = [heading.lower() for heading in table.names]
    at = {}
    for role, wanted in roles.items():
        if names.count(wanted.lower()) == 1:
            at[role] = names.index(wanted.lower())
        elif wanted.isdecimal() and 1 <= int(wanted) <= table.width:
            at[role] = int(wanted) - 1
        else:
            raise WeatherFileError(
                f'{table.file} has {table.width} columns and none "{printable(wanted)}", {_HOW_TO_SAY}'
            )
    if "hour" in at:
        at["time"] = at.pop("hour")
    return {role: at[role] for role in at if "temperature" not in at or role not in ("low", "high")}
