"""Arguments of every kind for every function, and what an answer must be like whatever they were."""

from __future__ import annotations

import math
import unicodedata
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from hypothesis import strategies as st

from sheetfuncs.cells.climates import CLIMATES
from sheetfuncs.cells.errors import CellFault, InputError
from sheetfuncs.cells.kinds import CLIMATE, CLIMATES_BY_LINE, Kind
from sheetfuncs.functions import all_functions, climates
from sheetfuncs.functions.declare import Function, Parameter
from sheetfuncs.functions.examples import VALLEY_NORMALS, valley_days

FUNCTIONS = {function.name: function for function in all_functions()}

EDGE_DATES = (
    date.min, date(1, 12, 31), date(1582, 10, 15), date(1899, 12, 30), date(1900, 1, 1), date(1900, 2, 28),
    date(1900, 3, 1), date(1904, 1, 1), date(2000, 2, 29), date(2016, 1, 1), date(2024, 2, 29), date(2025, 12, 31),
    date(2150, 12, 31), date(9998, 12, 31), date(9999, 1, 1), date(9999, 12, 30), date.max,
    datetime.min, datetime.max, datetime(2026, 7, 1, 23, 59, 59, 999999),
)  # fmt: skip
EDGE_NUMBERS = (
    0, 1, -1, 0.0, -0.0, 0.5, 0.8, 1.0, 80, 1e-300, 5e-324, 1e-9, 1e9, 1e15, 1e16, 1e308, -1e308, math.inf, -math.inf,
    math.nan, 2**31, 2**53 + 1, 2**63, 10**400, -(10**5000), 59, 60, 61, 1904.0, 2017, 2017.5, 2026, 2200, 2201.0,
    46204, 46204.999999, 2_958_464, 2_958_465, 2_958_465.9, 2_958_466, 1150, 1300.0, 99_999, 100_000, 400, 401, 150,
    -150, 151,
)  # fmt: skip
#: Texts that went wrong somewhere in the world.
EDGE_TEXTS = (
    "", " ", "\t\r\n", "\x00", "\x1b[2J", "\ud800", "ab\udfffcd", "\u202eevil", "\u200b", "\ufeff", "é" * 10_000,
    "=1+1", "=cmd|' /C calc'!A0", '=WEBSERVICE("http://127.0.0.1/")', "+1", "-1", "@SUM(A1)", "'=1", "#N/A", "#REF!",
    "Check: the cell before", "Check:", "Check: " + "very " * 400 + "long", "Check: two\nlines", "check: small",
    "10 seasons 2016–2025 · 00000000", "·", "· · ·", "12 monthly normals · zzzzzzzz", "off", "OFF", "C", "°f", "K",
    "sine", "double sine", "clipped average", "horizontal", "vertical", "intermediate", "normal", "ranks", "north",
    "south", "yes", "NO", "x", "✓", "²", "٣", "１２", "1e999", "nan", "inf", "-inf", "0x10", "1_000", "1,5", "−4",
    "80%", "%", "-%", "1e400%", "9" * 5000, "1" * 10_000, "2026-07-01", "2026-7-1", "2026-02-30", "0000-00-00",
    "9999-12-31", "2026-07-01T25:00", "1 July 2026", "July 1st, 2026", "01/02/2026", "31.12.2026", "2026W27",
    "10 0 0 0",
    "99:99", "12 am 2026", "1e5 May", "Feb 29 2023", "1.1.1.1.1", "2026-07-01 +99:99", "now", "今日", "२०२६-०७-०१",
    "a" * 40 + "1",
    "1 2 3 4 5 6 7", "()1", "1; DROP TABLE", "${jndi:ldap://x}", "{{7*7}}", "%s%s%n", "../../etc/passwd",
)  # fmt: skip
FAULTS = tuple(
    CellFault(text)
    for text in ("#N/A", "#VALUE!", "#REF!", "#DIV/0!", "#NUM!", "#NAME?", "#NULL!", "#SPILL!", "", "x" * 10_000)
)


@lru_cache(maxsize=1)
def climate_texts() -> tuple[str, ...]:
    """Return the cells of climates of every form: recorded, moved, typed, cut short, southern, normals, °F."""
    made = FUNCTIONS["climate_of"].in_cell
    valley = made([[list(row) for row in valley_days()]])
    normals = [list(row) for row in VALLEY_NORMALS]
    south = [[(month + 5) % 12 + 1, low, high] for month, low, high in VALLEY_NORMALS]
    fahrenheit = [[month, low * 1.8 + 32, high * 1.8 + 32] for month, low, high in VALLEY_NORMALS]
    frosty = FUNCTIONS["climate_with_frost"].in_cell
    return (
        valley,
        FUNCTIONS["climate_at"].in_cell([valley, 8, 8]),
        FUNCTIONS["climate_at"].in_cell([valley, -30, -30]),
        frosty([valley, date(2026, 10, 10)]),
        FUNCTIONS["climate_until"].in_cell([valley, date(2022, 7, 1)]),
        made([[list(row) for row in valley_days()], "C", 8, "off", 0, "off"]),
        made([normals]),
        frosty([made([normals]), date(2026, 10, 10)]),
        frosty([made([south]), date(2026, 5, 10)]),
        frosty([made([fahrenheit, "F"]), date(2026, 10, 10)]),
    )  # fmt: skip


def again_on_the_shelf() -> None:
    """Make the climates again that a long run has pushed off the shelf."""
    try:
        for text in climate_texts():
            CLIMATES.get(text)
    except InputError:
        climate_texts.cache_clear()
        climate_texts()


singles = st.one_of(
    st.none(),
    st.booleans(),
    st.sampled_from(EDGE_NUMBERS),
    st.floats(),
    st.integers(-(10**20), 10**20),
    st.sampled_from(EDGE_TEXTS),
    st.text(max_size=40),
    st.text("0123456789-/.: TZjunmyaprJAN+,", max_size=24),
    st.text(st.characters(categories=("Cs", "Cc", "Lo", "Nd", "No")), max_size=12),
    st.sampled_from(EDGE_DATES),
    st.dates(),
    st.datetimes(),
    st.sampled_from(FAULTS),
)
#: What a careful user would give for each kind of argument.
_FITTING = {
    "date": st.dates(date(2015, 1, 1), date(2027, 12, 31)),
    "season": st.integers(2014, 2030),
    "heat units": st.floats(1, 3000),
    "chance": st.floats(0.001, 1),
    "share": st.floats(0, 1),
    "days": st.integers(0, 400),
    "count": st.floats(0, 200),
    "temperature": st.floats(-60, 130),
    "temperature or off": st.floats(-60, 130),
    "temperature change": st.floats(-40, 40),
    "grams": st.floats(0, 1000),
    "kilograms": st.floats(0, 100),
    "minutes": st.floats(1, 200),
    "seasons": st.integers(3, 12),
    "yes or no": st.sampled_from(["yes", "no", "", True]),
}  # fmt: skip


def _fitting(kind: Kind) -> st.SearchStrategy[Any]:
    if kind in (CLIMATE, CLIMATES_BY_LINE):
        return st.sampled_from(climate_texts())
    name = kind.name.replace("column of ", "").replace("dates, blanks allowed", "date")
    single = _FITTING.get(name, singles)
    if kind is climates.WEATHER:
        return weather
    if kind is climates.ESTIMATES:
        pairs = st.tuples(st.floats(0.01, 0.99), st.dates(date(2026, 8, 1), date(2027, 3, 1))).map(list)
        return st.one_of(_FITTING["date"], st.lists(pairs, min_size=1, max_size=4))
    if kind.many:
        mixed = st.one_of(single, single, single, singles)
        return st.lists(mixed.map(lambda cell: [cell]), max_size=12)
    return single


@st.composite
def _weather_rows(draw: st.DrawFn) -> list[list[Any]]:
    """Draw a record of several years with some of its rows spoilt, or twelve rows of normals."""
    if draw(st.booleans()):
        rows = [list(row) for row in VALLEY_NORMALS]
    else:
        first = draw(st.integers(0, 1500))
        rows = [list(row) for row in valley_days()[first : first + draw(st.integers(0, 1500))]]
    for _ in range(draw(st.integers(0, 4))):
        if rows:
            row, column = draw(st.integers(0, len(rows) - 1)), draw(st.integers(0, 2))
            if column < len(rows[row]):
                rows[row][column] = draw(singles)
            else:
                rows[row] = draw(st.lists(singles, max_size=5))
    return rows


weather = _weather_rows()
_ragged = st.lists(st.lists(singles, max_size=4), max_size=5)
_column = st.lists(singles.map(lambda cell: [cell]), max_size=8)
_row = st.lists(singles, max_size=8).map(lambda cells: [cells])
_flat = st.lists(singles, max_size=8)
_tall = st.tuples(singles, st.sampled_from([2, 300, 2000])).map(lambda drawn: [[drawn[0]]] * drawn[1])
ranges = st.one_of(_ragged, _column, _row, _flat, _tall, _ragged.map(tuple))


def argument(parameter: Parameter) -> st.SearchStrategy[Any]:
    """Return a strategy for one argument: mostly fitting, else anything that a cell or a range can hold."""
    fitting = _fitting(parameter.kind)
    return st.one_of(fitting, fitting, fitting, singles, ranges, st.lists(fitting.map(lambda one: [one]), max_size=5))


@lru_cache(maxsize=None)
def arguments(name: str) -> st.SearchStrategy[list[Any]]:
    """Return a strategy for the arguments of a function's call, now and then too few or too many."""
    whole = [argument(parameter) for parameter in FUNCTIONS[name].parameters]
    all_of_them = st.tuples(*whole).map(list)
    return st.one_of(
        all_of_them,
        all_of_them,
        all_of_them,
        st.tuples(all_of_them, st.integers(0, len(whole))).map(lambda drawn: drawn[0][: drawn[1]]),
        st.tuples(*whole, singles).map(list),
    )


# -- what an answer must be like -------------------------------------------------------------------------------


def complaints(function: Function, answer: Any) -> list[str]:
    """Return what is wrong with the answer of a cell, whatever it was given."""
    if not isinstance(answer, list):
        return _of_one(function, answer, 0)
    if not all(isinstance(row, list) and row for row in answer):
        return ["rows without a cell"]
    found = ["rows of several lengths"] if len(set(map(len, answer))) > 1 else []
    if not answer:  # a column without a line
        return [] if function.shape == "column" else ["no rows"]
    width = len(answer[0])
    if width not in (1, max(len(function.headings), 1)):
        found.append(f"{width} columns")
    cells = ((column, cell) for row in answer for column, cell in enumerate(row))
    return found + [line for column, cell in cells for line in _of_one(function, cell, column)]


def _of_one(function: Function, cell: Any, column: int) -> list[str]:
    if cell is None:
        return []
    if isinstance(cell, str) and cell.startswith("Check:"):
        return _of_line(cell)
    kind = function.result
    if kind.name == "date":
        return [] if type(cell) is date else [f"{cell!r} is no date"]
    if kind.name.endswith("dates and numbers") and type(cell) is date:
        return []
    if (kind.name, column) == ("texts, dates and numbers", 0) or cell == "tip alone":
        return [] if isinstance(cell, str) and cell.isprintable() and 0 < len(cell) < 1000 else [f"{cell!r} as a text"]
    if kind.name == "climate":
        return [] if isinstance(cell, str) and CLIMATES.get(cell) and len(cell) < 60 else [f"{cell!r} is no climate"]
    if kind.name == "text":
        return [] if isinstance(cell, str) and cell.isprintable() and 0 < len(cell) < 1000 else [f"{cell!r} as a text"]
    if isinstance(cell, bool) or not isinstance(cell, (int, float)) or not math.isfinite(cell):
        return [f"{cell!r} is no number"]
    try:
        kind.read(cell, function.name, date(1899, 12, 30))
    except InputError as wrong:
        return [f"not of its own kind: {wrong}"]
    return []


def _of_line(line: str) -> list[str]:
    found = []
    if len(line) >= 100:
        found.append(f"{len(line)} letters in {line!r}")
    if not line.isprintable() and any(
        unicodedata.category(letter) in ("Cc", "Cs") or letter in "\u2028\u2029\u202e" for letter in line
    ):
        found.append(f"letters that do not show in {line!r}")
    if line.count("Check:") > 1:
        found.append(f"Check: twice in {line!r}")
    return found
