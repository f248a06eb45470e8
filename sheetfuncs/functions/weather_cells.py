"""How the cells of a climate are read: rows of weather, frost estimates, a unit, a limit that may be off."""

from __future__ import annotations

import math
import re
from datetime import date
from itertools import islice
from typing import Any, Sequence

from ..cells.dates import EPOCH_1900, FIRST_DATE, LAST_DATE, read_date
from ..cells.errors import InputError, wrong
from ..cells.kinds import READING, TEMPERATURE, Cell, FileRows, Kind, Rows, as_rows, is_blank, number, whole
from ..season.record import CELSIUS, FAHRENHEIT, Readings

_MONTH = re.compile(r"\s*[0-9]{1,2}\s*$")
#: Where a range stands in its sheet is not known.
WITHIN = " of the range"


def _read_weather(cells: object, label: str, epoch: date) -> tuple[str, Any]:
    """Read rows of date, low, high, or 12 rows of month, low, high, below a heading or without one.

    Returns ``("normals", (lows, highs))`` or ``("days", readings)``.
    """
    rows = as_rows(cells)
    if not rows or len(rows[0]) < 3:
        raise InputError(f"{label} has fewer than 3 columns, wanted date, low, high")
    rows, first = _in_order(rows, label)
    used = [
        index for index, row in enumerate(rows) if index >= first and (type(row[0]) is float or not _blank_row(row))
    ]
    if not used:
        raise InputError(f"{label} is blank, wanted rows of date, low, high")
    lines, within = (cells.lines, "") if isinstance(cells, FileRows) else (range(1, len(rows) + 1), WITHIN)
    numbers, rows = [lines[index] for index in used], [rows[index] for index in used]
    months = _months(numbers, rows, within)
    if months is not None:
        return "normals", months
    return "days", _readings(numbers, rows, label, epoch, within)


#: What headings call the columns, in English; other words leave three columns in their order.
_COLUMNS = (
    frozenset(["date", "day", "month", "number"]),
    frozenset(["low", "lows", "min", "mins", "minimum", "tmin", "tn"]),
    frozenset(["high", "highs", "max", "maxs", "maximum", "tmax", "tx"]),
)


#: A heading may have so many rows above it, such as a sheet's title.
_ROWS_ABOVE = 20


def _in_order(rows: Rows, label: str) -> tuple[Rows, int]:
    """Return rows with their columns as date, low, high, and the index of the first one below the headings.

    Columns with headings are taken by name. Raises :class:`InputError` where more than three hold numbers but no names.
    """
    for index, row in enumerate(rows[:_ROWS_ABOVE]):
        if str(row[0])[:1].isdigit():  # a day
            break
        words = [frozenset(re.findall("[a-z]+", str(cell).lower())) for cell in row]
        named = [[column for column, found in enumerate(words) if found & wanted] for wanted in _COLUMNS]
        order = [columns[0] for columns in named if len(columns) == 1]
        if len(set(order)) == len(_COLUMNS):
            return (rows if order == [0, 1, 2] else [[row[column] for column in order] for row in rows]), index + 1
    used = {column for row in rows[:400] for column in range(3, len(row)) if isinstance(row[column], (int, float))}
    if used:
        raise InputError(f"{label} has {max(used) + 1} columns, wanted date, low, high or headings that name them")
    filled = (index for index, row in enumerate(rows) if not all(map(is_blank, row)))
    first = next(filled, 0)
    return rows, first + _is_heading(rows[first])


def _blank_row(row: Sequence[Cell]) -> bool:
    return all(map(is_blank, row[:3]))


def _is_heading(row: Sequence[Cell]) -> bool:
    """Return whether a row holds words only, none of which has a digit."""
    words = [cell for cell in row[:3] if not is_blank(cell)]
    return all(isinstance(word, str) and not any(sign.isdigit() for sign in word) for word in words)


def _months(numbers: Sequence[int], rows: Rows, within: str) -> tuple[list[float], list[float]] | None:
    if _month(rows[0][0]) is None:
        return None
    firsts = [_month(row[0]) for row in rows]
    if None in firsts:
        return None
    if sorted(firsts) != list(range(1, 13)):  # type: ignore[type-var]
        raise InputError(f"weather has {len(firsts)} rows of months, wanted the 12 months once each")
    ordered = sorted(zip(numbers, rows), key=lambda item: _month(item[1][0]) or 0)
    lows, highs = (
        [TEMPERATURE.read(row[column], f"weather row {number}{within}, {name}", EPOCH_1900) for number, row in ordered]
        for column, name in ((1, "low"), (2, "high"))
    )
    return lows, highs


def _month(cell: Cell) -> int | None:
    """Return the number of a month, ``None`` where the cell holds none."""
    if isinstance(cell, str) and _MONTH.match(cell):
        cell = int(cell)
    return int(cell) if type(cell) in (int, float) and cell in range(1, 13) else None  # type: ignore[arg-type]


def _readings(numbers: Sequence[int], rows: Rows, label: str, epoch: date, within: str) -> Readings:
    """Read rows of date, low, high: whole columns where nothing is odd, otherwise row by row."""
    days, lows, highs = islice(zip(*rows), 3)
    usual = _usual_days(days, epoch), _usual_temperatures(lows), _usual_temperatures(highs)
    if None not in usual:
        return Readings(numbers, *usual, within)  # type: ignore[arg-type]
    where = label + " row {}" + within
    return Readings.of_rows((_reading(number, row, where, epoch) for number, row in zip(numbers, rows)), within)


def _usual_days(cells: Sequence[Cell], epoch: date) -> list[int] | None:
    """Return dates as ordinals where all are numbers or all are dates, and none is in doubt."""
    values: Sequence[Any] = cells
    kinds = set(map(type, values))
    if kinds == {float} and not math.isnan(sum(values)) and min(values) > 2200 and max(values) < 180_000:
        first = epoch.toordinal()
        return [first + int(value) for value in values]
    if kinds == {date} and min(values) >= FIRST_DATE and max(values) <= LAST_DATE:
        return list(map(date.toordinal, values))
    return None


def _usual_temperatures(cells: Sequence[Cell]) -> Sequence[float] | None:
    """Return temperatures where every cell is a number or blank."""
    if set(map(type, cells)) != {float}:
        cells = [math.nan if cell is None or cell == "" else cell for cell in cells]
    return cells if set(map(type, cells)) == {float} else None  # type: ignore[return-value]


def _reading(number: int, row: Sequence[Cell], where: str, epoch: date) -> tuple[int, int, float, float]:
    day, low, high = row[:3]
    where = where.format(number)
    if is_blank(day):
        raise InputError(f"{where} has no date, wanted date, low, high")
    ordinal = read_date(day, f"{where}, date", epoch).toordinal()
    return number, ordinal, _temperature(low, f"{where}, low"), _temperature(high, f"{where}, high")


def _temperature(cell: Cell, label: str) -> float:
    """Read a temperature of a record; blank is missing, and what no weather is, is left to the record to refuse."""
    return math.nan if is_blank(cell) else READING.read(cell, label, EPOCH_1900)


def _read_estimates(cells: object, label: str, epoch: date) -> tuple[tuple[float, date], ...]:
    """Read one date, or rows of chance and date."""
    rows = [list(row) for row in as_rows(cells) if not all(is_blank(cell) for cell in row)]
    estimates: list[tuple[float, date]] = []
    for line, row in enumerate(rows, start=1):
        if len(row) == 1:
            if len(rows) > 1:
                raise InputError(f"{label} has {len(rows)} dates in one column, wanted one, or chance and date")
            return ((0.5, read_date(row[0], label, epoch)),)
        where = f"{label}, line {line}"
        if line == 1 and _is_heading(row):
            continue
        chance, day = row[0], row[1]
        if is_blank(chance) and len(rows) == 1:
            chance = 0.5
        if is_blank(chance) or is_blank(day):
            raise InputError(f"{where} has no {'chance' if is_blank(chance) else 'date'}, wanted chance and date")
        share = _CHANCE.read(chance, f"{where}, chance", epoch)
        estimates.append((share, read_date(day, f"{where}, date", epoch)))
    return tuple(estimates)


#: A freeze that is certain has no date.
_CHANCE = number("chance", "a share between 0 and 1, such as 0.1 or 10%", 1e-12, 1 - 1e-12, percent=True)


def _read_unit(cell: object, label: str, epoch: date) -> str:
    word = cell.strip().upper().lstrip("°").strip() if isinstance(cell, str) else ""
    if word in (CELSIUS, FAHRENHEIT):
        return word
    raise wrong(label, cell, "C or F")


def _read_limit(cell: object, label: str, epoch: date) -> float:
    """Read a temperature, or "off" as infinity."""
    if isinstance(cell, str) and cell.strip().lower() == "off":
        return math.inf
    limit: float = TEMPERATURE.read(cell, label, epoch)
    return limit


WEATHER = Kind("rows of date, low, high", _read_weather, many=True)
ESTIMATES = Kind("one date, or rows of chance and date", _read_estimates, many=True)
UNIT = Kind("unit", _read_unit, zero_is_no_value=True)
LIMIT = Kind("temperature or off", _read_limit)
LAST_SEASONS = whole("seasons", "a whole number from 3 up, such as 30", 3, 300, zero_is_no_value=True)
