"""First and last freeze by chance, from a record or from a grower's estimate."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist, mean, stdev
from typing import Sequence

from .errors import Unanswerable

RULES = ("normal", "ranks")

#: Spread of the first freeze around one typed date [days] (judgement; station records show 7–17).
TYPED_SPREAD = 12.0

_STANDARD = NormalDist()


@dataclass(frozen=True)
class FreezeDates:
    """The freezes of many years as day numbers; ``None`` for a year without one.

    One list serves first freezes, another last ones: years are usable for one and not for the other.
    """

    numbers: tuple[int | None, ...]

    def with_freeze(self) -> tuple[int, ...]:
        """Return the day numbers of the years that had a freeze."""
        return tuple(number for number in self.numbers if number is not None)

    @cached_property
    def spread(self) -> tuple[float, float, float]:
        """Mean m and sample standard deviation s of the day number, and the share p0 of years with a freeze.

        Raises :class:`Unanswerable` where fewer than two years had a freeze, unless none had (p0 = 0).
        """
        if not self.numbers:
            raise Unanswerable("weather holds no year whose freezes are fully known")
        found = self.with_freeze()
        if not found:
            return 0.0, 0.0, 0.0
        if len(found) < 2:
            raise Unanswerable(f"weather has a freeze in 1 year of {len(self.numbers)}, too few for a chance")
        return mean(found), stdev(found), len(found) / len(self.numbers)


def first_freeze_number(dates: FreezeDates, chance: float, rule: str = "normal") -> float | None:
    """Return the day number before which the first freeze comes with a chance; ``None`` where there is no such day.

    normal : m + s·z(p/p0) over the years with a freeze, p0 their share; no day where p ≥ p0. This gives back the
    printed dates of NOAA's 1971–2000 freeze tables (Climatography of the US No. 20-1).
    ranks : Hazen's plotting positions (i − ½)/n over all years, those without a freeze last.
    """
    if rule == "ranks":
        return hazen_quantile([math.inf if n is None else n for n in dates.numbers], chance)
    centre, spread, share = dates.spread
    if chance >= share:
        return None
    return centre + spread * z(chance / share)


def last_freeze_number(dates: FreezeDates, chance: float, rule: str = "normal") -> float | None:
    """Return the day number after which the last freeze comes with a chance; ``None`` where there is no such day.

    normal : m + s·z(1 − p/p0). ranks : as for the first freeze, years without a freeze first.
    """
    if rule == "ranks":
        number = hazen_quantile([math.inf if n is None else -n for n in dates.numbers], chance)
        return None if number is None else -number
    centre, spread, share = dates.spread
    if chance >= share:
        return None
    return centre - spread * z(chance / share)  # as z(1 − q) = −z(q), which is exact for the smallest q too


def chance_of_freeze_by(dates: FreezeDates, number: float) -> float:
    """Return the chance that the first freeze comes on or before a day: p0·Φ((d + ½ − m)/s)."""
    centre, spread, share = dates.spread
    return share * below(number + 0.5, centre, spread)


def hazen_quantile(values: Sequence[float], chance: float) -> float | None:
    """Return the quantile of values that may be infinite, by Hazen's positions (i − ½)/n; ``None`` if infinite."""
    ordered = sorted(values)
    if not ordered:
        raise Unanswerable("weather holds no year whose freezes are fully known")
    place = min(max(chance * len(ordered) + 0.5, 1.0), float(len(ordered)))
    lower = int(place + 1e-9)
    share = place - lower
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
    scores = [z(chance) for chance, _ in ordered]
    numbers = [number for _, number in ordered]
    middle, centre = mean(scores), mean(numbers)
    slope = sum((score - middle) * (number - centre) for score, number in zip(scores, numbers)) / sum(
        (score - middle) ** 2 for score in scores
    )
    return FrostEstimate(centre - slope * middle, slope)
