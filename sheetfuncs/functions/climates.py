"""Making climates: from a record or from normals, at a position, with typed frosts, as known on a day."""

from __future__ import annotations

import math
import re
from datetime import date, datetime
from itertools import islice
from statistics import mean
from typing import Any, Sequence

from ..cells.dates import EPOCH_1900, FIRST_DATE, LAST_DATE, read_date, short
from ..cells.errors import InputError, wrong
from ..cells.kinds import (
    CHANCE,
    CLIMATE,
    DATE,
    TEMPERATURE,
    TEMPERATURE_CHANGE,
    TEXT,
    Cell,
    Kind,
    Rows,
    as_rows,
    choice,
    is_blank,
    is_finite,
    whole,
)
from ..season.calendar import HEMISPHERES
from ..season.climate import Climate
from ..season.daily import DailyClimate, climate_of_record
from ..season.days import Rules
from ..season.frost import estimate_of
from ..season.monthly import climate_of_normals
from ..season.record import CELSIUS, FAHRENHEIT, Readings, clean_record
from ..season.trend import STANDARD_SEASONS, Slope, season_heats, trend
from .arguments import ANY_CLIMATE, CUTOFF, METHOD
from .declare import Argument, InCelsius, worksheet_function

THEME = "Climate"
_MONTH = re.compile(r"\s*[0-9]{1,2}\s*$")


def _read_weather(cells: object, label: str, epoch: date) -> tuple[str, Any]:
    """Read rows of date, low, high, or 12 rows of month, low, high, below a heading or without one.

    Returns ``("normals", (lows, highs))`` or ``("days", readings)``.
    """
    rows = as_rows(cells)
    if not rows or len(rows[0]) < 3:
        raise InputError(f"{label} has fewer than 3 columns, wanted date, low, high")
    places = [place for place, row in enumerate(rows) if type(row[0]) is float or not _blank_row(row)]
    if places and _is_heading(rows[places[0]]):
        del places[0]
    if not places:
        raise InputError(f"{label} is blank, wanted rows of date, low, high")
    numbers, rows = [place + 1 for place in places], [rows[place] for place in places]
    months = _months(numbers, rows)
    if months is not None:
        return "normals", months
    return "days", _readings(numbers, rows, label, epoch)


def _blank_row(row: Sequence[Cell]) -> bool:
    return all(cell is None or is_blank(cell) for cell in row[:3])


def _is_heading(row: Sequence[Cell]) -> bool:
    """Return whether a row holds words only, none of which has a digit."""
    words = [cell for cell in row[:3] if not is_blank(cell)]
    return all(isinstance(word, str) and not any(sign.isdigit() for sign in word) for word in words)


def _months(numbers: Sequence[int], rows: Rows) -> tuple[list[float], list[float]] | None:
    if _month(rows[0][0]) is None:
        return None
    firsts = [_month(row[0]) for row in rows]
    if None in firsts:
        return None
    if sorted(firsts) != list(range(1, 13)):  # type: ignore[type-var]
        raise InputError(f"weather has {len(firsts)} rows of months, wanted the 12 months once each")
    ordered = sorted(zip(numbers, rows), key=lambda item: _month(item[1][0]) or 0)
    values = [
        [TEMPERATURE.read(row[column], f"weather row {number}, {name}", EPOCH_1900) for number, row in ordered]
        for column, name in ((1, "low"), (2, "high"))
    ]
    return values[0], values[1]


def _month(cell: Cell) -> int | None:
    """Return the number of a month, ``None`` where the cell holds none."""
    if isinstance(cell, str) and _MONTH.match(cell):
        cell = int(cell)
    return int(cell) if type(cell) in (int, float) and cell in range(1, 13) else None  # type: ignore[arg-type]


def _readings(numbers: Sequence[int], rows: Rows, label: str, epoch: date) -> Readings:
    """Read rows of date, low, high: whole columns where nothing is odd, otherwise row by row."""
    days, lows, highs = islice(zip(*rows), 3)
    usual = _usual_days(days, epoch), _usual_temperatures(lows), _usual_temperatures(highs)
    if None not in usual:
        return Readings(numbers, *usual)  # type: ignore[arg-type]
    return Readings.of_rows(_reading(number, row, label, epoch) for number, row in zip(numbers, rows))


def _usual_days(cells: Sequence[Cell], epoch: date) -> list[int] | None:
    """Return dates as ordinals where all are numbers or all are dates, and none is in doubt."""
    kinds = set(map(type, cells))
    if kinds == {float} and not math.isnan(sum(cells)) and min(cells) > 2200 and max(cells) < 180_000:  # type: ignore
        first = epoch.toordinal()
        return [first + int(cell) for cell in cells]  # type: ignore[arg-type]
    if kinds == {date} and min(cells) >= FIRST_DATE and max(cells) <= LAST_DATE:  # type: ignore[type-var]
        return list(map(date.toordinal, cells))  # type: ignore[arg-type]
    return None


def _usual_temperatures(cells: Sequence[Cell]) -> Sequence[float] | None:
    """Return temperatures where every cell is a number or blank."""
    if set(map(type, cells)) != {float}:
        cells = [math.nan if cell is None or cell == "" else cell for cell in cells]
    return cells if set(map(type, cells)) == {float} else None  # type: ignore[return-value]


def _reading(place: int, row: Sequence[Cell], label: str, epoch: date) -> tuple[int, int, float, float]:
    day, low, high = row[:3]
    if is_blank(day):
        raise InputError(f"{label} row {place} has no date, wanted date, low, high")
    if isinstance(day, datetime):
        day = day.date()
    ordinal = read_date(day, f"{label} row {place}, date", epoch).toordinal()
    return (
        place,
        ordinal,
        _temperature(low, f"{label} row {place}, low"),
        _temperature(high, f"{label} row {place}, high"),
    )


def _temperature(cell: Cell, label: str) -> float:
    """Read a temperature of a record; blank is missing, and what no place has is left to the record to refuse."""
    if is_blank(cell):
        return math.nan
    if isinstance(cell, str):
        try:
            cell = float(cell.strip().replace("−", "-"))
        except ValueError:
            raise wrong(label, cell, "a temperature") from None
    if not is_finite(cell):
        raise wrong(label, cell, "a temperature")
    return float(cell)  # type: ignore[arg-type]


def _read_estimates(cells: object, label: str, epoch: date) -> tuple[tuple[float, date], ...]:
    """Read one date, or rows of chance and date."""
    rows = [list(row) for row in as_rows(cells) if not all(is_blank(cell) for cell in row)]
    estimates: list[tuple[float, date]] = []
    for place, row in enumerate(rows, start=1):
        if len(row) == 1:
            if len(rows) > 1:
                raise InputError(f"{label} has {len(rows)} dates in one column, wanted one, or chance and date")
            return ((0.5, read_date(row[0], label, epoch)),)
        where = f"{label}, line {place}"
        if place == 1 and _is_heading(row):
            continue
        chance, day = row[0], row[1]
        if is_blank(chance) and len(rows) == 1:
            chance = 0.5
        if is_blank(chance) or is_blank(day):
            raise InputError(f"{where} has no {'chance' if is_blank(chance) else 'date'}, wanted chance and date")
        share = _CHANCE.read(chance, f"{where}, chance", epoch)
        estimates.append((share, read_date(day, f"{where}, date", epoch)))
    return tuple(estimates)


def _read_inner_chance(cell: object, label: str, epoch: date) -> float:
    value = CHANCE.read(cell, label, epoch)
    if value >= 1:
        raise wrong(label, cell, "a share between 0 and 1, such as 0.1 or 10%")
    return value


_CHANCE = Kind("chance between 0 and 1", _read_inner_chance, zero_is_no_value=True)


def _read_unit(cell: object, label: str, epoch: date) -> str:
    word = cell.strip().upper().lstrip("°").strip() if isinstance(cell, str) else ""
    if word in (CELSIUS, FAHRENHEIT):
        return word
    raise wrong(label, cell, "C or F")


def _read_limit(cell: object, label: str, epoch: date) -> float:
    """Read a temperature, or "off" as infinity."""
    if isinstance(cell, str) and cell.strip().lower() == "off":
        return math.inf
    return TEMPERATURE.read(cell, label, epoch)


WEATHER = Kind("rows of date, low, high", _read_weather, many=True)
ESTIMATES = Kind("one date, or rows of chance and date", _read_estimates, many=True)
UNIT = Kind("unit", _read_unit, zero_is_no_value=True)
LIMIT = Kind("temperature or off", _read_limit)
LAST_SEASONS = whole("seasons", "a whole number from 3 up, such as 30", 3, 300, zero_is_no_value=True)


@worksheet_function(
    theme=THEME,
    result=CLIMATE,
    weather=Argument(WEATHER, "rows of date, low, high of one or many years, or 12 rows of month, low, high"),
    unit=Argument(UNIT, "unit of the temperatures: C or F"),
    base=Argument(TEMPERATURE, "lower base: no heat counts below it [°]"),
    ceiling=Argument(LIMIT, 'upper limit of the heat that counts [°]; "off" for none'),
    frost_at=Argument(TEMPERATURE, "a low at or under it is a freeze [°]"),
    stall_at=Argument(LIMIT, 'a week whose mean is below it ends the season [°]; 0 or "off" switches it off'),
    method=METHOD,
    cutoff=CUTOFF,
    hemisphere=Argument(choice("hemisphere", *HEMISPHERES), "north or south; blank: told by the warmer months"),
    last_seasons=Argument(LAST_SEASONS, "rest on so many of the last complete seasons only; blank: on all"),
)
def climate_of(
    weather: tuple[str, Any],
    unit: str = CELSIUS,
    base: float = InCelsius(8),
    ceiling: float = InCelsius(36),
    frost_at: float = InCelsius(0),
    stall_at: float = InCelsius(12),
    method: str = "sine",
    cutoff: str = "horizontal",
    hemisphere: str | None = None,
    last_seasons: int | None = None,
) -> Climate:
    """Climate of a place, from a daily record or from 12 monthly normals.

    Rows that cannot be weather are not used, and named by CLIMATE_NOTE; up to 3 missing days in a row are filled by
    a straight line; a season with more days missing between spring and the end of autumn is left out. The cell shows
    a short text that changes with anything that went in.

    Source of base and ceiling: Souza et al. 2009, Rev. Bras. Frutic. 31(2). The stall at 12 °C is a judgement: figs
    whose nights stayed at 13 °C did not ripen (Yahata & Nogata 2000, J. Japan. Soc. Hort. Sci. 69(2)).

    Examples
    --------
    >>> climate_of(valley_days())
    10 seasons 2016–2025 · ...
    """
    base, frost_at = (_own_unit(value, unit) for value in (base, frost_at))
    top: float | None = _own_unit(ceiling, unit)
    if top is not None and math.isinf(top):
        top = None
    if top is not None and base >= top:
        raise wrong("base", base, f"a temperature below the ceiling, {top:g}")
    stall: float | None = None
    if not math.isinf(stall_at) and stall_at != 0:
        stall = _own_unit(stall_at, unit)
    rules = Rules(unit, base, top, frost_at, stall, method, cutoff)
    form, values = weather
    if form == "normals":
        return climate_of_normals(values[0], values[1], rules, hemisphere)
    climate = climate_of_record(clean_record(values, unit), rules, hemisphere)
    return climate if last_seasons is None else climate.last_seasons(last_seasons)


def _own_unit(value: float, unit: str) -> float:
    return value.in_unit(unit) if isinstance(value, InCelsius) else value


@worksheet_function(
    theme=THEME,
    result=CLIMATE,
    climate=Argument(CLIMATE, "cell of the open place's climate"),
    warmer_high=Argument(TEMPERATURE_CHANGE, "what the position adds to the day's high [°]"),
    warmer_low=Argument(TEMPERATURE_CHANGE, "what the position adds to the night's low [°]"),
)
def climate_at(climate: Climate, warmer_high: float = 0.0, warmer_low: float = 0.0) -> Climate:
    """Climate of a position: a wall, a cover, a tunnel, a hollow.

    Highs and lows shift by the amounts given. A typed frost estimate moves by the days that the mean low needs to fall
    by the gain.

    Examples
    --------
    >>> wall = climate_at(valley, 1.5, 1)
    >>> latest_prune_date(wall, 2026, 1300) > latest_prune_date(valley, 2026, 1300)
    True
    """
    return climate.at(warmer_high, warmer_low)


@worksheet_function(
    theme=THEME,
    result=CLIMATE,
    climate=ANY_CLIMATE,
    estimates=Argument(ESTIMATES, "one date of the first freeze, or rows of chance of an earlier freeze and date"),
)
def climate_with_frost(climate: Climate, estimates: Sequence[tuple[float, date]]) -> Climate:
    """Climate with the first freeze as you estimate it, in place of the record's.

    One date is taken to be as likely too early as too late, with a spread of 12 days (judgement; station records show
    7 to 17). Rows of chance and date get a normal distribution fitted through them. The dates hold by month and day
    for every season.

    Examples
    --------
    >>> latest_prune_date(climate_with_frost(valley, "2026-10-10"), 2026, 1150, 0.5)
    datetime.date(2026, 6, 30)
    >>> latest_prune_date(climate_with_frost(valley, "2026-09-20"), 2026, 1150, 0.5)
    datetime.date(2026, 6, 22)
    """
    if not estimates:
        raise InputError("frost estimates are blank, wanted one date, or rows of chance and date")
    for _, day in estimates:
        if not climate.is_cold_half(day):
            raise wrong("frost estimates", day, "a first freeze in autumn or winter")
    return climate.with_frost(estimate_of([(chance, climate.autumn_number(day)) for chance, day in estimates]))


@worksheet_function(
    theme=THEME,
    result=CLIMATE,
    climate=ANY_CLIMATE,
    day=Argument(DATE, "the morning on which one looks"),
)
def climate_until(climate: Climate, day: date) -> Climate:
    """Climate as it was known on the morning of a day: days before it only.

    For looking back honestly: no later day is used, and no later season. (A row that is refused because the day after
    shows its error stays refused.)

    Examples
    --------
    >>> climate_until(valley, "2022-07-01")
    6 seasons 2016–2021 · ...
    """
    return climate.until(day)


@worksheet_function(theme=THEME, result=TEXT, climate=ANY_CLIMATE)
def climate_note(climate: Climate) -> str:
    """What one must know of a climate, in one line: seasons, span, days filled, what was left out and why.

    Examples
    --------
    >>> climate_note(valley)
    '10 seasons 2016–2025; 3,653 days from 2016-01-01 to 2025-12-31'
    """
    return "; ".join(_notes(climate))


def _notes(climate: Climate) -> list[str]:
    if not isinstance(climate, DailyClimate):
        notes = [
            "12 monthly normals: one middle season, no weather of single years",
            "rough, chances come from the frost dates alone; a daily record adds how much seasons differ",
        ]
        if climate.estimate is None:
            notes.append("type frost estimates before asking for dates")
        return notes
    days, record = climate.days, climate.days.record
    complete = days.complete
    notes = [
        _count(len(complete), "season") + (f" {complete[0]}–{complete[-1]}" if complete else "")
    ]
    if record.days_known:
        last = date.fromordinal(record.end - 1)
        notes.append(f"{record.days_known:,} days from {date.fromordinal(record.first)} to {last}")
    if len(complete) < FEW_SEASONS:
        notes.append(f"fewer than {FEW_SEASONS} seasons, chances are rough")
    if record.days_filled:
        notes.append(_count(record.days_filled, "day") + " filled")
    if record.repeated:
        notes.append(_count(record.repeated, "row") + " said twice")
    left_out = climate.left_out()
    if left_out:
        shown = ", ".join(
            f"{season} ({_count(missing, 'day')} missing from {short(day)})"
            for season, day, missing in left_out[:3]
        )
        more = f" and {len(left_out) - 3} more" if len(left_out) > 3 else ""
        notes.append(_count(len(left_out), "season") + f" left out: {shown}{more}")
    if record.refused:
        shown = ", ".join(f"row {refused.row} ({refused.day}: {refused.reason})" for refused in record.refused[:3])
        more = f" and {len(record.refused) - 3} more" if len(record.refused) > 3 else ""
        notes.append(_count(len(record.refused), "row") + f" not used: {shown}{more}")
    if climate.estimate is not None:
        notes.append("first freeze as typed")
    if len(complete) > FEW_SEASONS:
        notes += _trend_notes(climate)
    return notes


def _trend_notes(climate: DailyClimate) -> list[str]:
    """Return how the record has changed, and what its last 30 seasons alone would change."""
    found = trend(climate)
    freeze, heat = _slope(found.first_freeze, 1), _slope(found.heat, 0)
    notes = [f"trend in 10 years (95 %): first freeze {freeze} days, heat {heat} °{climate.unit}·day"]
    if len(climate.days.complete) > STANDARD_SEASONS:
        both = climate, climate.last_seasons(STANDARD_SEASONS)
        freezes = [one.freezes(True).with_freeze() for one in both]
        later = f"first freeze {mean(freezes[1]) - mean(freezes[0]):+.0f} days, " if all(freezes) else ""
        heats = [mean(heat for _, heat in season_heats(one)) for one in both]
        notes.append(f"last {STANDARD_SEASONS} seasons alone: {later}heat {heats[1] - heats[0]:+,.0f}")
    return notes


def _slope(slope: Slope | None, digits: int) -> str:
    if slope is None:
        return "unknown"
    return f"{slope.per_decade:+,.{digits}f} ({slope.low:+,.{digits}f} to {slope.high:+,.{digits}f})"


def _count(number: int, thing: str) -> str:
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


#: With fewer complete seasons the note says that chances are rough (judgement).
FEW_SEASONS = 10
