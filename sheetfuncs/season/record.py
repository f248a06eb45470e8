"""A station's daily record: what is used of it, what is refused, and what is filled."""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass, replace
from datetime import date
from itertools import compress, repeat
from operator import add, eq, gt, lt, or_
from typing import Iterable, NamedTuple, Sequence

from .doubts import check_dates, check_unit, spikes_of, zeros_for_gaps
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


class Readings(NamedTuple):
    """A station's rows, column by column and in any order.

    rows : their numbers. days : ordinals. lows, highs : NaN where one is missing [°]. within : what the numbers count
    in, as it follows them in a sentence; "" for a file's own.
    """

    rows: Sequence[int]
    days: Sequence[int]
    lows: Sequence[float]
    highs: Sequence[float]
    within: str = ""

    @classmethod
    def of_rows(cls, rows: Iterable[tuple[int, int, float, float]], within: str = "") -> Readings:
        """Return rows of (number, day, low, high) by column."""
        numbers, days, lows, highs = tuple(zip(*rows)) or ((), (), (), ())
        return cls(numbers, days, lows, highs, within)


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
    repeated : how many rows repeat another one. within : what rows are counted in, see :class:`Readings`.
    """

    first: int
    lows: array[float]
    highs: array[float]
    refused: tuple[Refused, ...] = ()
    filled_lows: tuple[int, ...] = ()
    filled_highs: tuple[int, ...] = ()
    repeated: int = 0
    within: str = ""

    @property
    def end(self) -> int:
        """Ordinal of the day after the last one."""
        return self.first + len(self.lows)

    @property
    def days_known(self) -> int:
        """How many days hold a low and a high."""
        sums = list(map(add, self.lows, self.highs))  # NaN where either is missing
        return sum(map(eq, sums, sums))

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
        return replace(
            self, lows=lows, highs=highs, refused=refused, filled_lows=filled_lows, filled_highs=filled_highs
        )

    def _known(self, values: array[float], filled: tuple[int, ...]) -> tuple[array[float], tuple[int, ...]]:
        """Return values without those filled at their end, and which of the others were filled."""
        indices = {ordinal - self.first for ordinal in filled}
        last = len(values) - 1
        while last in indices:
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


# A long record is gone through by column: ``map`` of an operator finds quickly what is odd.


def clean_record(readings: Readings, unit: str) -> Record:
    """Return the record of a station's rows.

    Rows with low above high, with temperatures outside −60…60 °C, or that differ by more than 30 °C from the day
    before and the day after are refused; up to 3 missing lows (or highs) in a row are filled by a straight line. A day
    of which one value is missing keeps the other: a freeze counts though the high was not written down.
    Raises :class:`Unanswerable` where a day stands twice with different values, where most lows lie above their highs
    (columns swapped), where the record as a whole is spoiled (:mod:`.doubts`), or where nothing is left.
    """
    readings, repeated = _each_day_once(_not_blank(readings))
    rows, days = readings.rows, readings.days
    if not days:
        raise Unanswerable("weather holds no temperature, wanted rows of date, low, high")
    swapped = sum(map(gt, readings.lows, readings.highs))
    if 2 * swapped > len(days):
        raise Unanswerable(f"weather has low above high on {swapped} of {len(days)} days, columns swapped?")
    first, last = min(days), max(days)
    if last - first > LONGEST_SPAN * 366:
        raise Unanswerable(
            f"weather runs from {date.fromordinal(first)} (row {rows[days.index(first)]}) to {date.fromordinal(last)} "
            f"(row {rows[days.index(last)]}{readings.within}): mistyped?"
        )
    check_dates(rows, days, readings.highs, readings.within)
    row_of = dict(zip(days, range(len(days))))
    calendar = [row_of.get(day) for day in range(first, last + 1)]
    # -0.0, which some files hold, is 0.0
    lows, highs = (
        [math.nan if index is None else column[index] + 0.0 for index in calendar]
        for column in (readings.lows, readings.highs)
    )
    check_unit(first, highs, unit)
    refused = _refuse(lows, highs, unit)
    for index in refused:
        lows[index] = highs[index] = math.nan
    filled_lows, filled_highs = _fill(lows), _fill(highs)
    for index in filled_lows:
        lows[index] = min(lows[index], highs[index])
    for index in filled_highs:
        highs[index] = max(highs[index], lows[index])
    return Record(
        first,
        array("d", lows),
        array("d", highs),
        tuple(
            Refused(rows[calendar[index]], date.fromordinal(first + index), reason)  # type: ignore[index]
            for index, reason in sorted(refused.items())
        ),
        tuple(first + index for index in filled_lows),
        tuple(first + index for index in filled_highs),
        repeated,
        readings.within,
    )


def _not_blank(readings: Readings) -> Readings:
    """Return the rows that hold a low or a high."""
    known = list(map(or_, map(eq, readings.lows, readings.lows), map(eq, readings.highs, readings.highs)))
    if all(known):
        return readings
    rows, days = tuple(compress(readings.rows, known)), tuple(compress(readings.days, known))
    lows, highs = tuple(compress(readings.lows, known)), tuple(compress(readings.highs, known))
    return Readings(rows, days, lows, highs, readings.within)


def _each_day_once(readings: Readings) -> tuple[Readings, int]:
    """Return the rows without those that repeat another one, and how many these are."""
    if len(set(readings.days)) == len(readings.days):
        return readings, 0
    by_day: dict[int, tuple[int, int, float, float]] = {}
    for row, day, low, high in zip(*readings[:4]):
        before = by_day.setdefault(day, (row, day, low, high))
        if not all(map(_same, before[2:], (low, high))):
            raise Unanswerable(
                f"weather has {date.fromordinal(day)} twice with different values"
                f" (rows {before[0]} and {row}{readings.within})"
            )
    return Readings.of_rows(by_day.values(), readings.within), len(readings.days) - len(by_day)


def _same(one: float, other: float) -> bool:
    return one == other or (one != one and other != other)


def _refuse(lows: Sequence[float], highs: Sequence[float], unit: str) -> dict[int, str]:
    """Return the indices of the days that are not used, each with its reason."""
    indices = range(len(lows))
    refused = {
        index: f"low {lows[index]:g} above high {highs[index]:g}" for index in compress(indices, map(gt, lows, highs))
    }
    least, most = (repeat(to_unit(limit, unit)) for limit in POSSIBLE)
    for values in lows, highs:
        for index in compress(indices, map(or_, map(lt, values, least), map(gt, values, most))):
            refused.setdefault(index, f"low {lows[index]:g}, high {highs[index]:g} °{unit} is no weather")
    for index, reason in zeros_for_gaps(lows, highs, unit).items():
        refused.setdefault(index, reason)
    spikes: dict[int, str] = {}
    for values in lows, highs:
        for index in spikes_of(values, SPIKE if unit == CELSIUS else SPIKE * 1.8):
            earlier, value, later = values[index - 1 : index + 2]
            spikes[index] = f"{value:g} °{unit} between {earlier:g} and {later:g}"
    for index, reason in sorted(spikes.items()):
        if not {index - 1, index, index + 1} & refused.keys():
            refused[index] = reason
    return refused


def _fill(values: list[float]) -> list[int]:
    """Fill runs of up to 3 missing values that lie between two known ones by a straight line; return their indices."""
    filled: list[int] = []
    known = [index for index, value in enumerate(values) if value == value]
    for before, after in zip(known, known[1:]):
        if 1 < after - before <= LONGEST_FILLED_GAP + 1:
            rise = values[after] - values[before]
            for index in range(before + 1, after):
                values[index] = values[before] + rise * (index - before) / (after - before)
                filled.append(index)
    return filled


def to_unit(celsius: float, unit: str) -> float:
    """Return a temperature in °C in a unit, "C" or "F"."""
    return celsius if unit == CELSIUS else celsius * 1.8 + 32
