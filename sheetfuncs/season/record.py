"""A station's daily record: what is used of it, what is refused, and what is filled."""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass, replace
from datetime import date
from typing import Iterable, Sequence, Tuple

from .errors import Unanswerable

CELSIUS, FAHRENHEIT = "C", "F"

#: The longest run of missing days that is filled by a straight line.
LONGEST_FILLED_GAP = 3
#: Temperatures outside are no weather [°C]: the records of the open air lie between (judgement, rounded).
POSSIBLE = (-60.0, 60.0)
#: A low or high this far from both neighbouring days, the same way, is an error of the station [°C] (judgement).
SPIKE = 30.0
#: A record longer than this holds a mistyped date [years].
LONGEST_SPAN = 300

#: ``(row, day as ordinal, low, high)``
Reading = Tuple[int, int, float, float]


@dataclass(frozen=True)
class Refused:
    """A row that is not used, and why."""

    row: int
    day: date
    reason: str


@dataclass(frozen=True)
class Record:
    """Daily lows and highs without a hole in the calendar; a missing day holds NaN.

    first : ordinal of the first day. lows, highs : one value a day [°, in the record's unit].
    filled_lows, filled_highs : ordinals of the days whose low (high) was filled by a straight line.
    repeated : rows that said again what another row said.
    """

    first: int
    lows: array
    highs: array
    refused: tuple[Refused, ...] = ()
    filled_lows: tuple[int, ...] = ()
    filled_highs: tuple[int, ...] = ()
    repeated: int = 0

    @property
    def end(self) -> int:
        """Ordinal of the day after the last one."""
        return self.first + len(self.lows)

    @property
    def days_known(self) -> int:
        """How many days hold a low and a high."""
        return sum(1 for low, high in zip(self.lows, self.highs) if low == low and high == high)

    @property
    def days_filled(self) -> int:
        """On how many days something was filled."""
        return len({*self.filled_lows, *self.filled_highs})

    def until(self, day: date) -> Record:
        """Return the record as it was known on the morning of a day: the days before it.

        Values that were filled with the help of the day itself or a later one were not known then.
        """
        kept = min(max(0, day.toordinal() - self.first), len(self.lows))
        lows, filled_lows = self._known(self.lows[:kept], self.filled_lows)
        highs, filled_highs = self._known(self.highs[:kept], self.filled_highs)
        refused = tuple(refused for refused in self.refused if refused.day < day)
        return Record(self.first, lows, highs, refused, filled_lows, filled_highs, self.repeated)

    def _known(self, values: array, filled: tuple[int, ...]) -> tuple[array, tuple[int, ...]]:
        """Return values without those filled at their end, and which of the others were filled."""
        places = {ordinal - self.first for ordinal in filled}
        last = len(values) - 1
        while last in places:
            values[last] = math.nan
            last -= 1
        return values, tuple(ordinal for ordinal in filled if ordinal - self.first <= last)

    def since(self, day: date) -> Record:
        """Return the record from a day on."""
        first = max(day.toordinal(), self.first)
        skipped = first - self.first
        return replace(
            self,
            first=first,
            lows=self.lows[skipped:],
            highs=self.highs[skipped:],
            refused=tuple(refused for refused in self.refused if refused.day >= day),
            filled_lows=tuple(ordinal for ordinal in self.filled_lows if ordinal >= first),
            filled_highs=tuple(ordinal for ordinal in self.filled_highs if ordinal >= first),
        )

    def warmer(self, warmer_high: float, warmer_low: float) -> Record:
        """Return the record with its highs and lows shifted; a high never falls below its low."""
        lows = array("d", (low + warmer_low for low in self.lows))
        highs = array("d", (max(high + warmer_high, low) for high, low in zip(self.highs, lows)))
        return replace(self, lows=lows, highs=highs)


def clean_record(readings: Iterable[Reading], unit: str) -> Record:
    """Return the record of a station's rows, in any order.

    readings : (row, day as ordinal, low, high) with NaN for a missing temperature [°, in ``unit``].
    Rows with low above high, with temperatures outside −60…60 °C, or that differ by more than 30 °C from the day
    before and the day after are refused; up to 3 missing lows (or highs) in a row are filled by a straight line. A day
    of which one value is missing keeps the other: a freeze counts though the high was not written down.
    Raises :class:`Unanswerable` where a day stands twice with different values, where most lows lie above their highs
    (columns swapped), or where nothing is left.
    """
    by_day, rows, repeated = _by_day(readings)
    if not by_day:
        raise Unanswerable("weather holds no temperature, wanted rows of date, low, high")
    swapped = sum(1 for low, high in by_day.values() if low > high)
    if 2 * swapped > len(by_day):
        raise Unanswerable(f"weather has low above high on {swapped} of {len(by_day)} days, columns swapped?")
    first, last = min(by_day), max(by_day)
    if last - first > LONGEST_SPAN * 366:
        raise Unanswerable(
            f"weather runs from {date.fromordinal(first)} (row {rows[first]}) to {date.fromordinal(last)} "
            f"(row {rows[last]}): a mistyped date?"
        )
    refused = _refuse(by_day, unit)
    nothing = (math.nan, math.nan)
    days = [nothing if day in refused else by_day.get(day, nothing) for day in range(first, last + 1)]
    lows, filled_lows = _fill([low for low, _ in days])
    highs, filled_highs = _fill([high for _, high in days])
    for place in filled_lows:
        lows[place] = min(lows[place], highs[place])
    for place in filled_highs:
        highs[place] = max(highs[place], lows[place])
    return Record(
        first,
        array("d", lows),
        array("d", highs),
        tuple(Refused(rows[day], date.fromordinal(day), reason) for day, reason in sorted(refused.items())),
        tuple(first + place for place in filled_lows),
        tuple(first + place for place in filled_highs),
        repeated,
    )


def _by_day(readings: Iterable[Reading]) -> tuple[dict[int, tuple[float, float]], dict[int, int], int]:
    by_day: dict[int, tuple[float, float]] = {}
    rows: dict[int, int] = {}
    repeated = 0
    for row, day, low, high in readings:
        if low != low and high != high:
            continue
        if day in by_day:
            if not all(map(_same, by_day[day], (low, high))):
                raise Unanswerable(
                    f"weather has {date.fromordinal(day)} twice with different values (rows {rows[day]} and {row})"
                )
            repeated += 1
            continue
        by_day[day] = (low + 0.0, high + 0.0)  # -0.0, which some files hold, is 0.0
        rows[day] = row
    return by_day, rows, repeated


def _same(one: float, other: float) -> bool:
    return one == other or (one != one and other != other)


def _refuse(by_day: dict[int, tuple[float, float]], unit: str) -> dict[int, str]:
    """Return the days that are not used, each with its reason."""
    least, most = (to_unit(limit, unit) for limit in POSSIBLE)
    spike = SPIKE if unit == CELSIUS else SPIKE * 1.8
    refused = {}
    for day, (low, high) in by_day.items():
        if low > high:
            refused[day] = f"low {low:g} above high {high:g}"
        elif min(low, high) < least or max(low, high) > most or low > most or high < least:
            refused[day] = f"low {low:g}, high {high:g} °{unit} is no weather"
    for day, values in by_day.items():
        before, after = by_day.get(day - 1), by_day.get(day + 1)
        if day in refused or before is None or after is None or day - 1 in refused or day + 1 in refused:
            continue
        for value, earlier, later in zip(values, before, after):
            if min(value - earlier, value - later) > spike or max(value - earlier, value - later) < -spike:
                refused[day] = f"{value:g} °{unit} between {earlier:g} and {later:g}"
    return refused


def _fill(values: Sequence[float]) -> tuple[list[float], list[int]]:
    """Fill runs of up to 3 missing values that lie between two known ones by a straight line; tell their places."""
    filled = list(values)
    places: list[int] = []
    known: int | None = None
    for place, value in enumerate(values):
        if value != value:
            continue
        if known is not None and 1 < place - known <= LONGEST_FILLED_GAP + 1:
            for step in range(1, place - known):
                filled[known + step] = values[known] + (value - values[known]) * step / (place - known)
                places.append(known + step)
        known = place
    return filled, places


def to_unit(celsius: float, unit: str) -> float:
    """Return a temperature in °C in a unit, "C" or "F"."""
    return celsius if unit == CELSIUS else celsius * 1.8 + 32
