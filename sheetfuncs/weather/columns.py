"""Which column of a table holds what: by its headings, by what the user says, or by what stands in it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import Callable, Mapping, Sequence

from . import headings
from .errors import TwoReadingsError, WeatherFileError
from .model import Choice
from .numbers import is_number, is_number_or_missing, read_number, read_with_unit
from .stamps import read_clock, read_date_text, split_stamp
from .texts import in_letters, printable

Fields = Sequence[str]

#: How far down a table's headings may stand [rows of the sample].
_LAST_HEADING = 80
#: A column is of one kind when at least this share of the sample is (the rest may be broken).
_MOST = 0.9
_HOW_TO_SAY = "wanted --columns date=…,low=…,high=… with numbers or headings (for a log date=…,temperature=…)"


@dataclass(frozen=True)
class Columns:
    """The places of the columns that are read, counted from 0.

    width : how many columns a row has. parts : year, month, day where they stand apart. data_from : place of the
    first row of data in the sample. unit : that headings or values name. utc : whether a heading says UTC.
    separator : what stands between date and time in every row, "" where that varies. date_alone : whether the column
    of the date holds nothing else. is_log : whether rows are readings, several a day. names : of the columns, how :
    they were told. may_be_tenths : whether the layout is one of a service that prints tenths of °C.
    """

    width: int
    date: int | None = None
    parts: tuple[int, ...] = ()
    time: int | None = None
    low: int | None = None
    high: int | None = None
    temperature: int | None = None
    low_flags: int | None = None
    high_flags: int | None = None
    station: int | None = None
    data_from: int = 0
    unit: str = ""
    utc: bool = False
    separator: str = ""
    date_alone: bool = False
    is_log: bool = False
    names: tuple[str, ...] = ()
    how: str = ""
    may_be_tenths: bool = False

    def choice(self) -> Choice:
        """Return how the columns were taken, in the user's words."""
        places = [
            ("date", self.parts if self.date is None else (self.date,)),
            ("time", () if self.time is None else (self.time,)),
            *((name, () if place is None else (place,)) for name, place in (
                ("low", self.low), ("high", self.high), ("temperature", self.temperature), ("station", self.station))),
        ]  # fmt: skip
        shown = (
            f"{what} = " + ", ".join(f"{place + 1}" + self._name(place) for place in found)
            for what, found in places
            if found
        )
        return Choice("columns", "; ".join(shown), self.how)

    def _name(self, place: int) -> str:
        name = printable(self.names[place], 24) if place < len(self.names) else ""
        return f' "{name}"' if name else ""


# -- how a line is cut into fields -----------------------------------------------------------------------------


def delimiters_in(lines: Sequence[str]) -> list[str]:
    """Return what could stand between the columns of a text, likeliest first: a tab, ; | or , and "" for blanks."""
    lines = [line for line in lines if line.strip()]
    found = []
    for delimiter in ("\t", ";", "|", ","):
        counts = Counter(line.count(delimiter) for line in lines)
        most, often = max(counts.items(), key=lambda item: (item[0] > 0, item[1]))
        if most and often >= 0.5 * len(lines):
            found.append(delimiter)
    return [*found, ""]


# -- which column is which -------------------------------------------------------------------------------------


def find_columns(sample: Sequence[Fields], asked: str | None, name: str) -> Columns:
    """Return the columns of a table, told from its first rows.

    sample : the rows at the start, blank ones as empty lists. asked : as the user names them. name : of the file.
    Raises :class:`TwoReadingsError` where they cannot be told, :class:`WeatherFileError` where there is no table.
    """
    roles = _asked_roles(asked) if asked else {}
    heading = _heading_with(sample, roles) if roles else _find_heading(sample)
    start = _first_data(sample, heading)
    if start is None:
        raise WeatherFileError(f"{name} holds no rows with a date and temperatures, wanted rows of date, low, high")
    data = [row for row in sample[start:] if any(field.strip() for field in row)]
    width = Counter(map(len, data)).most_common(1)[0][0]
    data = [row for row in data if len(row) == width]
    above = [row for row in sample[:start] if any(field.strip() for field in row)]
    names = _heading_above(above, width) if heading is None else sample[heading]
    names = tuple(in_letters(field).strip().lstrip("#").strip() for field in names)
    if roles:
        found, how = _as_asked(roles, names, width, name), "as asked"
    elif heading is not None:
        found, how = _by_headings(names, data, width, name), "by their headings"
    else:
        found, how = _by_contents(data, width, name), "by what stands in them"
    units = [row for row in above if len(row) >= min(width, 2)]
    return replace(
        found,
        names=names,
        data_from=start,
        how=how,
        unit=_unit_of(found, units, data),
        is_log=found.low is None or _is_log(data, found.date, found.parts, found.time),
        separator=_separator(found, data),
        date_alone=found.date is not None
        and found.time is not None
        and all(read_date_text(row[found.date]) is not None for row in data),
    )


def _separator(columns: Columns, data: Sequence[Fields]) -> str:
    """Return what stands between date and time of day in every row, "" where a row must be looked at more closely."""
    if columns.date is None or columns.time is not None:
        return ""
    for separator in ("T", " "):
        cut = [row[columns.date].partition(separator) for row in data]
        if all(read_date_text(day) is not None and read_clock(clock) is not None for day, _, clock in cut):
            return separator
    return ""


def _find_heading(sample: Sequence[Fields]) -> int | None:
    """Return the place of the row whose words name a date and temperatures."""
    for place, row in enumerate(sample[:_LAST_HEADING]):
        fields = [in_letters(field) for field in row]
        if any(is_number(field) for field in fields):
            continue
        roles = [headings.roles_of(field) for field in fields]
        dated = any(found & {"date", "time"} for found in roles) or all(
            any(part in found for found in roles) for part in ("year", "month", "day")
        )
        both = any("low" in found for found in roles) and any("high" in found for found in roles)
        if dated and (both or any("temperature" in found for found in roles)) and len(fields) > 1:
            return place
    return None


def _first_data(sample: Sequence[Fields], heading: int | None) -> int | None:
    """Return the place of the first row of data: one with a date, or, below headings, with numbers."""
    for place, row in enumerate(sample):
        if heading is not None and place <= heading:
            continue
        dates = [field for field in row if _is_date(field)]
        numbers = [field for field in row if is_number_or_missing(field) and field.strip()]
        if (heading is not None and len(numbers) > 1) or (dates and len(numbers) > 0 and _is_usual(len(row), sample)):
            return place
    return None


def _is_usual(width: int, sample: Sequence[Fields]) -> bool:
    widths = Counter(len(row) for row in sample if any(field.strip() for field in row))
    return width == widths.most_common(1)[0][0] or widths[width] > 1


def _heading_above(above: Sequence[Fields], width: int) -> Fields:
    """Return the row right above the data where it could be their headings."""
    if above and len(above[-1]) == width and not any(is_number(field) for field in above[-1]):
        return above[-1]
    return ()


def _is_date(text: str) -> bool:
    return read_date_text(split_stamp(text)[0]) is not None


def _has_time(text: str) -> bool:
    return split_stamp(text)[1] != ""


def _is_clock(text: str) -> bool:
    return ":" in text and read_clock(text) is not None


def _share(data: Sequence[Fields], column: int, test: Callable[[str], bool]) -> float:
    return sum(1 for row in data if test(row[column])) / len(data)


def _column(data: Sequence[Fields], column: int, test: Callable[[str], bool], most: float = _MOST) -> bool:
    return _share(data, column, test) >= most


def _by_headings(names: Fields, data: Sequence[Fields], width: int, name: str) -> Columns:
    roles = [headings.roles_of(heading) for heading in names[:width]] + [frozenset()] * max(0, width - len(names))

    def having(role: str) -> list[int]:
        return [place for place, found in enumerate(roles) if role in found]

    dates = [place for place in sorted({*having("date"), *having("time")}) if _column(data, place, _is_date, 0.5)]
    date_place: int | None = None
    parts: tuple[int, ...] = ()
    time: int | None = None
    if dates:
        named = [place for place in dates if "date" in roles[place]]
        date_place = _the_one(named or dates, "date", names, data, name)
        if not _column(data, date_place, _has_time, 0.5):
            times = [place for place in {*having("time"), *having("hour")} if place != date_place]
            times = [place for place in times if _column(data, place, _is_any_clock, 0.5)]
            time = _the_one(times, "time", names, data, name) if times else None
    else:
        found = [
            [place for place in having(part) if _column(data, place, _is_whole, 0.5)]
            for part in ("year", "month", "day")
        ]
        if all(found):
            parts = tuple(
                _the_one(places, part, names, data, name) for places, part in zip(found, ("year", "month", "day"))
            )
            hours = [place for place in {*having("hour"), *having("time")} if _column(data, place, _is_any_clock, 0.5)]
            time = _the_one(sorted(hours), "hour", names, data, name) if hours else None
        else:
            raise TwoReadingsError(f"{name} has no column of dates that can be read, {_HOW_TO_SAY}", "columns")
    taken = {date_place, time, *parts}

    def temperature(role: str) -> int | None:
        places = [place for place in having(role) if place not in taken]
        places = [place for place in places if _share(data, place, is_number_or_missing) > 0.5]
        places = [place for place in places if any(is_number(row[place]) for row in data)] or places
        return _the_one(places, role, names, data, name) if places else None

    low, high, single = temperature("low"), temperature("high"), None
    if low is None or high is None:
        low = high = None
    is_log = _is_log(data, date_place, parts, time)
    if low is None or (is_log and having("temperature")):
        single = temperature("temperature")
    if single is not None:
        low = high = None
    if low is None and single is None:
        raise TwoReadingsError(f"{name} has no column of temperatures that can be read, {_HOW_TO_SAY}", "columns")
    stations = having("station")
    plain = [printable(heading).lower() for heading in names]
    return Columns(
        width, date_place, parts, time, low, high, single,
        low_flags=_flags_of(plain, low),
        high_flags=_flags_of(plain, high),
        station=stations[0] if stations else None,
        utc=any(headings.names_utc(names[place]) for place in (date_place, time) if place is not None),
        may_be_tenths=bool(stations),
    )  # fmt: skip


def _flags_of(names: Sequence[str], column: int | None) -> int | None:
    """Return the column with the flags of another one, as NOAA's files have it."""
    wanted = "" if column is None else names[column] + "_attributes"
    return names.index(wanted) if wanted in names else None


def _is_any_clock(text: str) -> bool:
    return read_clock(text) is not None


def _is_whole(text: str) -> bool:
    return text.strip().removesuffix(".0").isdigit()


def _is_log(data: Sequence[Fields], date_place: int | None, parts: tuple[int, ...], time: int | None) -> bool:
    """Return whether rows are readings at times of day, several a day."""
    if date_place is None:
        return time is not None
    if time is None and not _column(data, date_place, _has_time, 0.5):
        return False
    days = [split_stamp(row[date_place])[0] for row in data]
    return len(set(days)) < len(days)


def _the_one(places: Sequence[int], role: str, names: Fields, data: Sequence[Fields], name: str) -> int:
    """Return the one column of several that could have a role; raises :class:`TwoReadingsError`."""
    if len(places) > 1 and role in ("low", "high"):
        closer = [place for place in places if headings.words_of(names[place]) & headings.TEMPERATURE]
        places = closer or places
    if len(places) == 1:
        return places[0]
    same = all(all(row[place] == row[places[0]] for place in places) for row in data)
    if same:
        return places[0]
    shown = " or ".join(f'{place + 1} "{printable(names[place], 24)}"' for place in places)
    raise TwoReadingsError(f"{name}: {role} could be column {shown}, {_HOW_TO_SAY}", "columns")


def _by_contents(data: Sequence[Fields], width: int, name: str) -> Columns:
    dates = [column for column in range(width) if _column(data, column, _is_date)]
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
    shown = ", ".join(str(column + 1) for column in numbers) or "none"
    raise TwoReadingsError(
        f"{name} has no headings that are known here and numbers in column {shown}: which is the low, which the high?"
        f" {_HOW_TO_SAY}",
        "columns",
    )


def _pair(row: Fields, columns: Sequence[int]) -> tuple[float, float] | None:
    try:
        first, second = (read_number(row[column]) for column in columns)
    except ValueError:
        return None
    return None if first != first or second != second else (first, second)


_ASKED = ("date", "time", "low", "high", "temperature", "station", "year", "month", "day", "hour")


def _asked_roles(asked: str) -> dict[str, str]:
    """Return what the user says of the columns: role to number or heading; raises :class:`WeatherFileError`."""
    wrong = WeatherFileError(f'columns is "{printable(asked)}", {_HOW_TO_SAY}')
    roles = {}
    for item in asked.split(","):
        role, _, wanted = (part.strip() for part in item.partition("="))
        if role.lower() not in _ASKED or not wanted:
            raise wrong
        roles[role.lower()] = wanted
    if not ("date" in roles or {"year", "month", "day"} <= set(roles)):
        raise wrong
    if not ("temperature" in roles or {"low", "high"} <= set(roles)):
        raise wrong
    return roles


def _heading_with(sample: Sequence[Fields], roles: Mapping[str, str]) -> int | None:
    """Return the place of the row that has all the headings which the user names, ``None`` where none are named."""
    wanted = {heading.lower() for heading in roles.values() if not heading.isdigit()}
    for place, row in enumerate(sample[:_LAST_HEADING] if wanted else ()):
        if wanted <= {in_letters(field).strip().lstrip("#").strip().lower() for field in row}:
            return place
    return None


def _as_asked(roles: Mapping[str, str], names: Fields, width: int, name: str) -> Columns:
    places = {role: _asked_place(wanted, names, width, name) for role, wanted in roles.items()}
    dates = places.get("date")
    return Columns(
        width,
        dates,
        () if dates is not None else (places["year"], places["month"], places["day"]),
        time=places.get("time", places.get("hour")),
        low=None if "temperature" in places else places["low"],
        high=None if "temperature" in places else places["high"],
        temperature=places.get("temperature"),
        station=places.get("station"),
    )


def _asked_place(wanted: str, names: Fields, width: int, name: str) -> int:
    plain = [heading.strip().lower() for heading in names]
    if plain.count(wanted.lower()) == 1:
        return plain.index(wanted.lower())
    if wanted.isdigit() and 1 <= int(wanted) <= width:
        return int(wanted) - 1
    raise WeatherFileError(f'{name} has {width} columns and none "{printable(wanted)}", {_HOW_TO_SAY}')


def _unit_of(columns: Columns, above: Sequence[Fields], data: Sequence[Fields]) -> str:
    """Return the unit that the headings or the values of the temperatures name."""
    places = [place for place in (columns.low, columns.high, columns.temperature) if place is not None]
    found = {headings.unit_of(in_letters(row[place]).strip()) for row in above for place in places if place < len(row)}
    for row in data[:50]:
        for place in places:
            try:
                found.add(read_with_unit(row[place])[1])
            except ValueError:
                continue
    found.discard("")
    return found.pop() if len(found) == 1 else ""
