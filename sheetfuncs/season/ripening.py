"""From a cut to ripe figs: the last date that pays, its chance, the ripening window and the share of the crop."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import NamedTuple

from .chances import expected_share, ripe_by, share_with_chance
from .climate import Climate
from .frost import hazen_quantile
from .traces import counted, millionths

#: Standard deviation of a heat need as a share of it, for a kind whose ripening class is known (judgement: half the
#: step between neighbouring classes; for one whose class is not known, 12 %, a whole step). No published one over years
#: was found for figs: one variety pruned in April and in December 2018 took 2,215 and 2,361 °C·day, a standard
#: deviation of 4.5 % (derived; Federal University of Piauí, abstract read); grapes of one variety differ widely between
#: places (McIntyre et al. 1987, Am. J. Enol. Vitic. 38:128–132, abstract read).
NEED_SPREAD = 0.06
#: A date that is reached with this chance is the one to expect.
HALF = 0.5


class Outlook(NamedTuple):
    """What a tree may expect of one season.

    need : mean heat from visible fig to first ripe fig [heat units]; need_spread : its standard deviation as a share of
    it. chance : with which figs must ripen. lag_days : from cut to visible figs [days]. Answers are for figs that are
    seen first on a day.
    """

    climate: Climate
    season: int
    need: float
    chance: float = 0.8
    lag_days: int = 10
    need_spread: float = NEED_SPREAD

    @classmethod
    def of_cut(
        cls, climate: Climate, cut: date, need: float, lag_days: int, need_spread: float = NEED_SPREAD
    ) -> tuple[Outlook, date]:
        """Return what is to be expected in the season of a cut, and the day on which its figs are seen."""
        outlook = cls(climate, climate.season_of(cut), need, lag_days=lag_days, need_spread=need_spread)
        return outlook, outlook.figs_of(cut)

    def figs_of(self, cut: date) -> date:
        """Return the day on which the figs of a cut are seen."""
        return cut + timedelta(days=self.lag_days)

    # -- the last date ------------------------------------------------------------------------------------

    def last_cut(self) -> date | None:
        """Return the last date on which a cut ripens figs with the chance wanted; ``None`` if there is none.

        A date before shoots can have leaves is no date to cut on.
        """
        days = self.climate.season_days(self.season)
        # A cut after the growing year belongs to the next season.
        cut = min(self.last_start() - self.lag_days, days.year_end - 1)
        return days.day(cut) if cut >= self.climate.first_leaf(self.season) else None

    def last_start(self) -> int:
        """Return the number of the last day for figs to be seen with the chance wanted; −1 where there is none."""
        return self.climate.curve(self.season, self.need, self.need_spread).last_start(self.chance)

    def is_last_of_all(self, cut: date) -> bool:
        """Return whether a last date is the last day of the season's year: nothing ends the season before."""
        days = self.climate.season_days(self.season)
        return days.index(cut) == days.year_end - 1

    def last_fig(self) -> date | None:
        """Return the last day on which a fig may show and still ripen with the chance wanted."""
        return self._replace(lag_days=0).last_cut()

    # -- what ripens --------------------------------------------------------------------------------------

    def chance_of(self, seen: date) -> float:
        """Return the chance that the first figs ripen before the season's end."""
        return self.climate.curve(self.season, self.need, self.need_spread).chance(self._start(seen))

    def count_of(self, seen: date) -> tuple[int, int]:
        """Return in how many traces, of how many, they ripen before the end, at the need as it stands."""

        def make() -> tuple[int, int]:
            left = self._left(seen)
            return sum(units >= millionths(self.need) for units in left), len(left)

        return self.climate.keep(("count", self.season, seen, self.need), make)

    def window(
        self, seen: date, picking_heat: float, chance: float = HALF
    ) -> tuple[date | None, date | None, date | None]:
        """Return the first, middle and last ripe date, each reached before the season's end with a chance.

        They are the days on which the heat is at the need and half and all of ``picking_heat`` on; ``None`` if never.
        """

        def make() -> tuple[date | None, ...]:
            traces, start = self.climate.traces(self.season), self._start(seen)
            needs = [millionths(self.need + picking_heat * part) for part in (0, 0.5, 1)]
            days = [ripe_by(traces, start, need, self._deviation(), chance) for need in needs]
            return tuple(None if day is None else traces.days.day(day) for day in days)

        key = "window", self.season, seen, self.need, self.need_spread, picking_heat, chance
        return self.climate.keep(key, make)  # type: ignore[return-value]

    def ripe_from(self, seen: date) -> date | None:
        """Return the day from which figs are ripe; ``None`` where the season ends before."""
        return self.window(seen, 0)[0]

    def ripe_without_an_end(self, seen: date) -> date | None:
        """Return the day on which they would be ripe if nothing ended the season; ``None`` for never."""
        return heat_reached(self.climate, seen, self.need, HALF)

    def share_of(self, seen: date, picking_heat: float) -> float:
        """Return the expected share of the crop that ripens before the season's end.

        It ripens evenly while the heat goes from the need to ``picking_heat`` more.
        """
        width = millionths(picking_heat)
        if width == 0:
            return self.chance_of(seen)

        def make() -> float:
            return expected_share(self._left(seen), millionths(self.need), width, self._deviation())

        return self.climate.keep(("share", self.season, seen, self.need, self.need_spread, picking_heat), make)

    def share_at_least(self, seen: date, picking_heat: float, chance: float) -> float:
        """Return the share of the crop that ripens at least, with a chance, in one season more."""
        need, width = millionths(self.need), millionths(picking_heat)
        return share_with_chance(self._left(seen), need, width, self._deviation(), chance)

    def end(self) -> date | None:
        """Return the day on which the season ends; ``None`` where nothing ends it in half of the seasons."""
        return end_of_season(self.climate, self.season, HALF)

    def _start(self, seen: date) -> int:
        days = self.climate.season_days(self.season)
        index = days.index(seen)
        # Figs of another season ripen in none of this one's days.
        return index if 0 <= index <= days.count else days.count

    def _left(self, seen: date) -> list[int]:
        return self.climate.traces(self.season).heat_left(self._start(seen))

    def _deviation(self) -> float:
        return self.climate.deviation(self.season, self.need, self.need_spread)


def heat_reached(climate: Climate, start: date, heat_units: float, chance: float) -> date | None:
    """Return the date by which a heat has come with a chance, whatever ends the season; ``None`` if in fewer traces."""
    traces = climate.traces(climate.season_of(start))
    day = traces.days_of_heat(traces.days.index(start), millionths(heat_units))[counted(chance, len(traces)) - 1]
    return traces.days.day(day) if day < traces.days.count else None


def end_of_season(climate: Climate, season: int, chance: float) -> date | None:
    """Return the date with a chance of an earlier end of the season; ``None`` where it does not end that often."""
    traces = climate.traces(season)
    ends = [math.inf if end == traces.days.count else end for end in traces.ends]
    number = hazen_quantile(ends, chance)
    return None if number is None else traces.days.day(int((number + 0.5) // 1))
