"""An invented holding in an invented valley, with invented weather: for trying out, not a real one.

Nothing here was measured. The numbers of the weather were chosen so that an inland valley near 43° N comes out
that could be true: a July of 22 to 23 °C, a first freeze in the second half of October, summers with dry days and
cool nights, and years that differ.
"""

from __future__ import annotations

import math
import random
from datetime import date, timedelta
from typing import Any, Iterator

from .sheets.contents import Contents, Day

BANNER = "INVENTED: an invented holding in an invented valley, with invented weather. For trying out only."
SEED = 43
LATITUDE = 43.0
FIRST_SEASON, SEASON = 2003, 2026
#: The record ends here: the station's file was fetched on the day after.
LAST_DAY = date(2026, 6, 21)
TODAY = date(2026, 6, 22)
#: Days that the invented station did not report: a short gap that is filled, and one that costs its season.
SILENT = ((date(2008, 6, 3), 2), (date(2011, 9, 5), 9))

_YEAR = 365.25
_WARMEST_DAY = 204  # 23 July, a month after the sun
_CLEAREST_DAY = 240  # 28 August: late summer has the driest air and the coolest nights for its days
_DAMPEST_HALF_RANGE, _DRIEST_HALF_RANGE = 4.6, 7.8


def _wander(source: random.Random, memory: float, spread: float, now: float) -> Iterator[float]:
    """Go over numbers that wander about 0 and remember some of the day before."""
    while True:
        now = memory * now + source.gauss(0, spread * math.sqrt(1 - memory * memory))
        yield now


def invent_weather(seed: int, seasons: int, latitude: float, first_year: int = FIRST_SEASON) -> tuple[Day, ...]:
    """Return invented daily weather, the same for the same arguments.

    seed : any whole number. seasons : calendar years of days. latitude : degrees, below 0 in the south; a higher
    one is colder and differs more between winter and summer. first_year : of the first day, 1 January.
    Returns (date, low [°C], high [°C]) a day, rounded to tenths.
    """
    source = random.Random(seed)
    distance = abs(latitude)
    mean, swing = 27.0 - 0.352 * distance, 0.262 * distance
    kinds = ((0.72, 2.9), (0.98, 1.2), (0.55, 0.27))
    fronts, spells, clear = (_wander(source, *kind, source.gauss(0, kind[1])) for kind in kinds)
    return tuple(
        _day(day, mean, swing, latitude, next(fronts) + next(spells), next(clear))
        for day in _days(date(first_year, 1, 1), date(first_year + seasons, 1, 1))
    )


def _days(first: date, end: date) -> Iterator[date]:
    return (first + timedelta(days=number) for number in range((end - first).days))


def _day(day: date, mean: float, swing: float, latitude: float, odd: float, clear: float) -> Day:
    """Return one day. odd : degrees off the usual. clear : share by which the day's range is off the usual."""
    turned = day.timetuple().tm_yday - (0.5 * _YEAR if latitude < 0 else 0.0)
    summer = math.cos(2 * math.pi * (turned - _WARMEST_DAY) / _YEAR)
    dry = math.cos(2 * math.pi * (turned - _CLEAREST_DAY) / _YEAR)
    middle = mean + swing * summer + odd * (1 - 0.25 * summer)
    between = _DAMPEST_HALF_RANGE + (_DRIEST_HALF_RANGE - _DAMPEST_HALF_RANGE) * (dry + 1) / 2
    half_range = between * min(1.6, max(0.3, 1 + clear))
    return day, round(middle - half_range, 1), round(middle + half_range, 1)


def demo_weather() -> tuple[Day, ...]:
    """Return the record of the invented station, up to the last day it reported."""
    silent = {first + timedelta(days=number) for first, days in SILENT for number in range(days)}
    record = invent_weather(SEED, SEASON - FIRST_SEASON + 1, LATITUDE)
    return tuple(row for row in record if row[0] <= LAST_DAY and row[0] not in silent)


def _tree(
    tag: str, kind: str, position: str, shoots: int, leaves: int | None, buds: str | None, cut: date | None = None,
    seen: date | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Return one line of *Trees*; tags that start with P stand for containers, with G for the ground."""
    return {
        "tag": tag, "kind": kind, "grown_in": "container" if tag.startswith("P") else "ground", "position": position,
        "shoots": shoots, "leaves": leaves, "counted_on": None if leaves is None else _COUNTED, "buds": buds,
        "figs": _FIGS.get(tag), "minutes": 25 if shoots >= 12 else None, "cut_on": cut, "seen_on": seen,
    }  # fmt: skip


#: Figs counted on a shoot of some trees; the others take the usual.
_FIGS = {"P-01": 9, "P-03": 8, "P-05": 12, "P-09": 7, "P-15": 11, "G-01": 12, "G-04": 10, "G-08": 9}


_COUNTED = date(2026, 6, 20)
_LOGGED = "early, own log"

TREES = (
    _tree("P-01", "early", "south wall", 5, 9, "yes", date(2026, 6, 17)),
    _tree("P-02", "early", "south wall", 4, 8, "yes", date(2026, 6, 17)),
    _tree("P-03", "middle", "south wall", 4, 8, "yes", date(2026, 6, 17)),
    _tree("P-04", "middle", "unheated tunnel", 6, 10, "yes", date(2026, 6, 17)),
    _tree("P-05", "late", "unheated tunnel", 5, 10, "yes", date(2026, 6, 16), date(2026, 6, 22)),
    _tree("P-06", "late", "unheated tunnel", 5, 9, "yes"),
    _tree("P-07", "late", "south wall", 4, 7, "yes"),
    _tree("P-08", "late", "open", 4, 6, "no"),
    _tree("P-09", "middle", "open", 5, 7, "yes", date(2026, 6, 20)),
    _tree("P-10", "middle", "open", 3, 6, "no"),
    _tree("P-11", "middle", "floating cover", 4, 7, "yes"),
    _tree("P-12", "early", "open", 6, 8, "yes"),
    _tree("P-13", "early", "open", 5, 6, "no"),
    _tree("P-14", "early", "floating cover", 5, 7, "yes"),
    _tree("P-15", _LOGGED, "open", 7, 8, "yes"),
    _tree("P-16", _LOGGED, "open", 3, 4, "yes"),
    _tree("P-17", "early", "unheated tunnel", 6, 9, "yes"),
    _tree("P-18", _LOGGED, "unheated tunnel", 4, 5, "no"),
    _tree("G-01", "early", "south wall", 14, 9, "yes"),
    _tree("G-02", "early", "south wall", 11, 8, "yes"),
    _tree("G-03", _LOGGED, "south wall", 16, 9, "yes"),
    _tree("G-04", "middle", "south wall", 12, 7, "yes"),
    _tree("G-05", "middle", "south wall", 9, None, None),
    _tree("G-06", "late", "south wall", 10, 6, "no"),
    _tree("G-07", "early", "open", 12, 7, "yes"),
    _tree("G-08", _LOGGED, "open", 13, 7, "yes"),
    _tree("G-09", _LOGGED, "open", 8, None, None),
    _tree("G-10", "early", "floating cover", 9, 7, "yes"),
    _tree("G-11", "early", "hollow", 10, 5, "no"),
    _tree("G-12", _LOGGED, "hollow", 8, 6, "yes"),
)


_LOG_COLUMNS = (
    "tag", "year", "kind", "position", "cut_on", "seen_on", "first_ripe", "last_ripe", "kilograms", "note",
)  # fmt: skip


def _logged(
    tag: str, kind: str, position: str, year: int, cut: str, seen: str, first: str, last: str, kg: float | None,
    note: str = "",
) -> dict[str, Any]:
    """Return one line of *Log*; days are given as month-day, blank for none."""

    def day(text: str) -> date | None:
        return date.fromisoformat(f"{year}-{text}") if text else None

    values = (tag, year, kind, position, day(cut), day(seen), day(first), day(last), kg, note or None)
    return dict(zip(_LOG_COLUMNS, values))


#: Three invented summers: ripe on days that the invented weather allows, for kinds a little quicker than the table's.
LOG = (
    _logged("G-08", _LOGGED, "open", 2023, "06-17", "06-27", "09-10", "10-06", 4.4),
    _logged("G-09", _LOGGED, "open", 2023, "06-21", "06-30", "09-11", "10-09", 3.8),
    _logged("G-07", "early", "open", 2023, "06-13", "06-24", "09-11", "10-12", 4.5),
    _logged("P-12", "early", "open", 2023, "06-16", "06-27", "09-15", "10-09", 2.2),
    _logged("P-03", "middle", "south wall", 2023, "06-12", "06-22", "09-08", "09-28", 1.4),
    _logged("G-04", "middle", "south wall", 2023, "06-19", "", "09-11", "10-05", 3.1, "figs seen: not written down"),
    _logged("G-08", _LOGGED, "open", 2024, "06-09", "06-20", "09-06", "10-02", 4.0),
    _logged("P-15", _LOGGED, "open", 2024, "06-13", "06-21", "09-07", "10-03", 2.2),
    _logged("G-07", "early", "open", 2024, "06-16", "06-25", "09-12", "10-08", 4.0),
    _logged("P-12", "early", "open", 2024, "06-15", "06-23", "09-15", "10-14", 2.1),
    _logged("P-03", "middle", "south wall", 2024, "06-18", "06-29", "09-24", "10-21", 1.0, "moved in July, set back"),
    _logged("G-04", "middle", "south wall", 2024, "06-15", "06-23", "09-14", "10-07", 3.4),
    _logged("P-04", "middle", "unheated tunnel", 2024, "06-13", "06-23", "09-08", "09-27", 2.3),
    _logged("P-08", "late", "open", 2024, "06-20", "07-01", "", "", None, "none ripe before the frost"),
    _logged("G-08", _LOGGED, "open", 2025, "06-16", "06-29", "09-11", "09-29", 4.3),
    _logged("G-09", _LOGGED, "open", 2025, "06-19", "06-29", "09-12", "09-28", 3.0),
    _logged("P-15", _LOGGED, "open", 2025, "06-14", "06-25", "09-05", "09-23", 2.4),
    _logged("G-07", "early", "open", 2025, "06-08", "06-19", "09-07", "09-25", 4.6),
    _logged("P-12", "early", "open", 2025, "06-18", "06-27", "09-07", "09-23", 2.0),
    _logged("P-03", "middle", "south wall", 2025, "06-08", "", "09-03", "09-20", 1.5),
    _logged("G-04", "middle", "south wall", 2025, "06-08", "06-19", "08-30", "09-13", 3.6),
    _logged("P-04", "middle", "unheated tunnel", 2025, "06-09", "", "08-31", "09-14", 2.4, "a cool tunnel, door open"),
)

HARD_CUTS = (
    {"what": "P-04 to P-06, early May", "position": "unheated tunnel", "cut_on": date(2026, 5, 1)},
    {"what": "The same a month later", "position": "unheated tunnel", "cut_on": date(2026, 6, 1)},
    {"what": "Row on the south wall", "position": "south wall", "cut_on": date(2026, 5, 1)},
    {"what": "Block in the open", "position": "open", "cut_on": date(2026, 5, 1)},
)


def demo_contents() -> Contents:
    """Return what the demonstration workbook is filled with."""
    return Contents(
        banner=BANNER,
        settings={
            "Season_year": SEASON,
            "Day_today": TODAY,
            "Chance_wanted": 0.7,
            "Ground_from": date(2026, 6, 29),
            "Minutes_a_tree": 15,
            "Minutes_a_day": 240,
            "Season_position": "south wall",
            "Compare_with": date(2025, 6, 1),
            "Help_tree": "P-08",
        },
        weather=demo_weather(),
        positions={
            "south wall": {"own_high": 1.5, "own_low": 2.0},
            "unheated tunnel": {"own_high": 3.5},
            "hollow": {"own_low": -1.5},
        },
        kinds={"middle": {"use": "position"}, _LOGGED: {"own_need": 1040}},
        trees=TREES,
        hard_cuts=HARD_CUTS,
        log=LOG,
        spread=("G-01", "G-02", "G-03"),
    )
