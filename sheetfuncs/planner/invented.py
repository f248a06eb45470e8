"""An invented holding in an invented valley, with invented weather: for trying out, not a real one.

Nothing here was measured. The numbers of the weather were chosen so that an inland valley near 43° N comes out
that could be true: a July of 22 to 23 °C, a first freeze in the second half of October, summers with dry days and
cool nights, and years that differ. What is typed into the workbook stands in ``invented.json``.
"""

from __future__ import annotations

import json
import math
import random
import re
from datetime import date, timedelta
from pathlib import Path
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


def _with_days(value: Any) -> Any:
    """Return what the file holds, texts such as 2026-06-22 as dates."""
    if isinstance(value, dict):
        return {key: _with_days(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_with_days(one) for one in value]
    return date.fromisoformat(value) if isinstance(value, str) and _DAY.match(value) else value


_DAY = re.compile(r"\d{4}-\d\d-\d\d$")
_HELD = _with_days(json.loads(Path(__file__).with_name("invented.json").read_text(encoding="utf-8")))
#: In the file a line of column names leads each of them. The log's three summers are ripe on days that the invented
#: weather allows, for kinds a little quicker than the table's.
TREES, HARD_CUTS, LOG = (
    [dict(zip(_HELD[name][0], row)) for row in _HELD[name][1:]] for name in ("trees", "hard_cuts", "log")
)


def demo_contents() -> Contents:
    """Return what the demonstration workbook is filled with."""
    held = {**_HELD, "trees": TREES, "hard_cuts": HARD_CUTS, "log": LOG}
    return Contents(banner=BANNER, weather=demo_weather(), **held)
