"""The same place twice: as the package's climate and as the slow reference's."""

from __future__ import annotations

import random
from datetime import date, timedelta

import sheetfuncs

from .reference import day_by_day as slow


def both(rows, unit="C", until=None, estimates=None, south=None, warmer=(0.0, 0.0), **rules):
    """Return ``(climate, place)`` of one record under the same rules.

    warmer : what the position adds to highs and lows.
    """
    hemisphere = {None: None, True: "south", False: "north"}[south]
    climate = sheetfuncs.climate_of(rows, unit, hemisphere=hemisphere, **rules)
    if until is not None:
        climate = sheetfuncs.climate_until(climate, until)
        rows = slow.rows_until(rows, until)
    if warmer != (0.0, 0.0):
        climate = sheetfuncs.climate_at(climate, *warmer)
    place = slow.place_of(rows, unit, south=bool(south), warmer_high=warmer[0], warmer_low=warmer[1], **rules)
    if estimates is not None:
        climate = sheetfuncs.climate_with_frost(climate, estimates)
        place = slow.with_estimate(place, estimates)
    return climate, place


def with_gaps(rows, seed=1, share=0.01, longest=5):
    """Return the rows with runs of days taken out, some blank, some absent; winters lose most."""
    dice = random.Random(seed)
    kept, skip = [], 0
    for row in rows:
        if not skip and dice.random() < (share if row[0].month in (12, 1, 2, 3) else share / 4):
            skip = dice.randint(1, longest if row[0].month in (12, 1, 2, 3) else 3)
        if skip:
            skip -= 1
            if dice.random() < 0.5:
                kept.append((row[0], None, None))
            continue
        kept.append(row)
    return kept


def _slots():
    """Return the days of a common freeze year as month and day, from 1 August and from 1 February on."""
    north = [date(2001, 8, 1) + timedelta(days=step) for step in range(365)]
    south = [date(2001, 2, 1) + timedelta(days=step) for step in range(365)]
    return {
        (cold.month, cold.day): (cold.year - 2001, warm.month, warm.day, warm.year - 2001)
        for cold, warm in zip(north, south)
    }


_SLOTS = _slots()


def mirrored_day(day):
    """Return the southern day that lies as far from 1 February as a northern one lies from 1 August."""
    later, month, number, later_south = _SLOTS[(day.month, day.day)]
    return date(day.year - later + later_south, month, number)


def mirrored(rows):
    """Return a northern record moved half a year, so that its autumns become southern ones of the same years.

    Day for day without leap days: a northern 29 February is left out, a southern one made of its neighbours.
    """
    moved = {mirrored_day(day): pair for day, *pair in rows if (day.month, day.day) != (2, 29)}
    for year in sorted({day.year for day in moved}):
        before, after = moved.get(date(year, 2, 28)), moved.get(date(year, 3, 1))
        if year % 4 == 0 and before and after:
            moved[date(year, 2, 29)] = [(left + right) / 2 for left, right in zip(before, after)]
    return [(day, *moved[day]) for day in sorted(moved)]
