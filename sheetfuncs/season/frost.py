"""First and last freeze by chance, from a record or from a grower's estimate."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist, mean, stdev
from typing import Sequence, Tuple

from .errors import Unanswerable
from .intervals import straight_line
from .kept import Kept
from .overlay import first_freeze

RULES = ("normal", "ranks")

#: Spread of the first freeze around one typed date [days] (judgement; station records show 7–17).
TYPED_SPREAD = 12.0

_STANDARD = NormalDist()
_LIMITS_KEPT = 64

#: A normal distribution of the day number: mean, standard deviation [days], and the share of years with a freeze.
Law = Tuple[float, float, float]


@dataclass(frozen=True)
class FreezeDates:
    """The freezes of many years as day numbers; ``None`` for a year without one.

    One list serves first freezes, another last ones: years are usable for one and not for the other. Those of a
    position (:func:`freezes_at_position`) have a ``moved`` law, and the ``station`` that it may not pass, ``warmer`` or
    colder as it is.
    """

    numbers: tuple[int | None, ...]
    moved: Law | None = None
    station: FreezeDates | None = None
    warmer: bool = False

    def with_freeze(self) -> tuple[int, ...]:
        """Return the day numbers of the years that had a freeze."""
        return tuple(number for number in self.numbers if number is not None)

    @cached_property
    def law(self) -> Law:
        """Mean m and sample standard deviation s of the day number, and the share p0 of years with a freeze.

        Raises :class:`Unanswerable` where fewer than two years had a freeze, unless none had (p0 = 0).
        """
        if self.moved is not None:
            return self.moved
        if not self.numbers:
            raise Unanswerable("weather holds no year whose freezes are fully known")
        found = self.with_freeze()
        if not found:
            return 0.0, 0.0, 0.0
        if len(found) < 2:
            raise Unanswerable(f"weather has a freeze in 1 year of {len(self.numbers)}, too few for a chance")
        return mean(found), stdev(found), len(found) / len(self.numbers)

    def quantile(self, chance: float, way: int) -> float:
        """Return the day on the near side of which a freeze comes with a chance; infinity where there is no such day.

        way : 1 for first freezes; −1 for last ones, whose days are counted backwards.
        """
        centre, spread, share = self.law
        own = math.inf if chance >= share else way * centre + spread * z(chance / share)
        if self.station is None:
            return own
        return (max if self.warmer else min)(own, self.station.quantile(chance, way))

    def chance_by(self, number: float) -> float:
        """Return the chance that the first freeze comes on or before a day: p0·Φ((d + ½ − m)/s)."""
        centre, spread, share = self.law
        own = share * below(number + 0.5, centre, spread)
        if self.station is None:
            return own
        return (min if self.warmer else max)(own, self.station.chance_by(number))


class FreezeYear:
    """One freeze year of a station: its lows by day, from the end from which its freeze is looked for.

    lows : NaN where not known. start : the day number of the first of them. way : 1 where days are looked through
    forwards, for the first freeze, −1 where backwards, for the last one. lowest : infinity where no low is known.
    """

    def __init__(self, lows: Sequence[float], start: int, way: int) -> None:
        self.lows = lows
        self.lowest = min((low for low in lows if low == low), default=math.inf)
        self._start, self._way = start, way
        self._found = Kept(_LIMITS_KEPT)

    def freeze(self, limit: float) -> int | None:
        """Return the day number of the first known low at or under a limit."""
        return self._by(limit)[0]

    def known(self, limit: float) -> bool:
        """Return whether all lows are known up to the first freeze, or all of the year's where it has none."""
        return self._by(limit)[1]

    def _by(self, limit: float) -> tuple[int | None, bool]:
        def make() -> tuple[int | None, bool]:
            index = first_freeze(self.lows, 0, limit)
            number = None if index is None else self._start + self._way * index
            return number, all(low == low for low in self.lows[:index])

        return self._found.made(limit, make)


def freezes_of_years(years: Sequence[FreezeYear], limit: float) -> FreezeDates:
    """Return the freezes of a station's years that are known well enough."""
    return FreezeDates(tuple(year.freeze(limit) for year in years if year.known(limit)))


def freezes_at_position(years: Sequence[FreezeYear], limit: float, gain: float) -> FreezeDates:
    """Return the freezes at a position whose nights are all warmer than the station's by a gain, above or below 0 [°].

    In no year does a warmer position have an earlier first freeze, so it may not have one at any chance. The official
    rule does not keep that: a mild year that loses its freeze leaves mean and spread, and normal distributions of
    unequal spread cross. So all gains share one spread, and the mean of the same years (derived):

    m : mean date at this gain of the years with a freeze at the station; one that has lost it stays on its coldest
    day, the last that had one. s : standard deviation of the station's dates. p0 : share of years with a freeze here.

    m rises and p0 falls with the gain, so each date m + s·z(p/p0) moves one way; at a gain of 0 it is the official
    one.
    Where fewer than half of the station's years have a freeze, m and s are those of the years that have one at the
    gain nearest to 0 at which half have, and no date passes the station's own.
    """
    years = [year for year in years if year.known(limit)]
    station = freezes_of_years(years, limit)
    numbers = tuple(_at_position(year, limit - gain) for year in years)
    frozen = len(station.with_freeze())
    half = -(-len(years) // 2)
    fixed = limit if frozen >= half else sorted(year.lowest for year in years)[half - 1]
    steady = [year for year in years if year.lowest <= fixed]
    if len(steady) < 2:
        return FreezeDates(numbers)
    moved = [_or_coldest(year, limit - gain) for year in steady]
    share = sum(number is not None for number in numbers) / len(numbers)
    law = mean(moved), stdev([_or_coldest(year, fixed) for year in steady]), share
    return FreezeDates(numbers, law, station if frozen != 1 else None, gain > 0)


def _at_position(year: FreezeYear, limit: float) -> int | None:
    """Return a year's freeze; with lows missing, a year without one counts as having it on its coldest day."""
    found = year.freeze(limit)
    return found if found is not None or all(low == low for low in year.lows) else year.freeze(year.lowest)


def _or_coldest(year: FreezeYear, limit: float) -> int:
    """Return a year's freeze, or its coldest day."""
    return year.freeze(max(limit, year.lowest))  # type: ignore[return-value]


def freeze_number(dates: FreezeDates, chance: float, rule: str = "normal", way: int = 1) -> float | None:
    """Return the day number before which the first freeze comes with a chance; ``None`` where there is no such day.

    way : −1 for the day number after which the last freeze comes with a chance.
    normal : m + s·z(p/p0) over the years with a freeze, p0 their share; no day where p ≥ p0; for last freezes
    m + s·z(1 − p/p0). This gives back the printed dates of NOAA's 1971–2000 freeze tables (Climatography of the US
    No. 20-1).
    ranks : Hazen's plotting positions (i − ½)/n over all years, those without a freeze last; for last freezes first.
    """
    if rule == "ranks":
        number = hazen_quantile([math.inf if n is None else way * n for n in dates.numbers], chance)
    else:
        number = dates.quantile(chance, way)  # as z(1 − q) = −z(q), which is exact for the smallest q too
    return None if number is None or math.isinf(number) else way * number


def hazen_quantile(values: Sequence[float], chance: float) -> float | None:
    """Return the quantile of values that may be infinite, by Hazen's positions (i − ½)/n; ``None`` if infinite."""
    ordered = sorted(values)
    if not ordered:
        raise Unanswerable("weather holds no year whose freezes are fully known")
    position = min(max(chance * len(ordered) + 0.5, 1.0), float(len(ordered)))
    lower = int(position + 1e-9)
    share = position - lower
    low = ordered[lower - 1]
    if share < 1e-9:
        return None if math.isinf(low) else low
    high = ordered[lower]
    return None if math.isinf(high) else low + (high - low) * share


def z(chance: float) -> float:
    """Return the standard normal quantile of a chance strictly between 0 and 1."""
    return _STANDARD.inv_cdf(chance)


def below(value: float, centre: float, spread: float) -> float:
    """Return the normal chance of lying below a value; a spread of 0 makes it a step."""
    if spread == 0:
        return 1.0 if value > centre else 0.0
    return _STANDARD.cdf((value - centre) / spread)


@dataclass(frozen=True)
class FrostEstimate:
    """A first freeze as a grower typed it: a normal distribution of its day number in a common year [days]."""

    centre: float
    spread: float

    def number(self, chance: float, known_through: float = -math.inf) -> float:
        """Return the day number with a chance of an earlier freeze.

        known_through : a day number up to which no freeze came; the rest of the distribution is what counts then.
        """
        passed = below(known_through + 0.5, self.centre, self.spread) if known_through > -math.inf else 0.0
        chance = passed + chance * (1 - passed)
        # Past the far tail nothing is left of the distribution: the freeze is due now.
        if self.spread == 0 or not 0 < chance < 1 - 1e-12:
            return max(self.centre, known_through + 1)
        return max(self.centre + self.spread * z(chance), known_through + 1)

    def chance_by(self, number: float) -> float:
        """Return the chance that the first freeze comes on or before a day number."""
        return below(number + 0.5, self.centre, self.spread)


def estimate_of(rows: Sequence[tuple[float, float]]) -> FrostEstimate:
    """Return the estimate through rows of (chance of an earlier freeze, day number).

    One row: its date at its chance, with a spread of 12 days (judgement). More rows: the straight line of day number
    on z(chance), by least squares. Raises :class:`Unanswerable` where the dates do not rise with the chances.
    """
    if len(rows) == 1:
        chance, number = rows[0]
        return FrostEstimate(number - TYPED_SPREAD * z(chance), TYPED_SPREAD)
    ordered = sorted(rows)
    for (earlier_chance, earlier), (later_chance, later) in zip(ordered, ordered[1:]):
        if later_chance == earlier_chance:
            raise Unanswerable(f"frost estimates have chance {later_chance:g} twice, wanted each chance once")
        if later < earlier:
            raise Unanswerable(
                f"frost estimates: the date at chance {later_chance:g} lies before the one at {earlier_chance:g}"
            )
    middle, centre, slope = straight_line([(z(chance), number) for chance, number in ordered])
    return FrostEstimate(centre - slope * middle, slope)
