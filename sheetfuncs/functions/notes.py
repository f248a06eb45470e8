"""What one must know of a climate, in words."""

from __future__ import annotations

from datetime import date
from statistics import mean
from typing import Sequence

from ..cells.dates import short
from ..season.climate import Climate
from ..season.daily import DailyClimate
from ..season.steps import STEP_MEANS, steps_of
from ..season.trend import STANDARD_SEASONS, Slope, season_heats, trend
from .arguments import count_text

#: With fewer complete seasons the note says that chances are rough (judgement).
FEW_SEASONS = 10


def notes_of(climate: Climate) -> list[str]:
    """Return what one must know of a climate, in short notes."""
    if not isinstance(climate, DailyClimate):
        notes = [
            "12 monthly normals: no weather of single years, seasons differ as much as on nine open records",
            "rough; a daily record shows how much they differ here",
        ]
        if climate.estimate is None:
            notes.append("type frost estimates before asking for dates")
        return notes
    days, record = climate.days, climate.days.record
    complete = days.complete
    notes = [count_text(len(complete), "season") + (f" {complete[0]}–{complete[-1]}" if complete else "")]
    if record.days_known:
        last = date.fromordinal(record.end - 1)
        notes.append(f"{record.days_known:,} days from {date.fromordinal(record.first)} to {last}")
    if len(complete) < FEW_SEASONS:
        notes.append(f"fewer than {FEW_SEASONS} seasons, chances are rough")
    if record.days_filled:
        notes.append(count_text(record.days_filled, "day") + " filled")
    if record.repeated:
        notes.append(count_text(record.repeated, "row") + " given twice")
    left_out = [
        f"{season} ({count_text(missing, 'day')} missing from {short(day)})"
        for season, day, missing in climate.left_out()
    ]
    if left_out:
        notes.append(count_text(len(left_out), "season") + f" left out: {_first_three(left_out)}")
    refused = [f"row {row.row}{record.within} ({row.day}: {row.reason})" for row in record.refused]
    if refused:
        notes.append(count_text(len(refused), "row") + f" not used: {_first_three(refused)}")
    notes += [f"{step}: {STEP_MEANS}" for step in steps_of(record, climate.unit)]
    if climate.estimate is not None:
        notes.append("first freeze as typed")
    if len(complete) > FEW_SEASONS:
        notes += _trend_notes(climate)
    return notes


def _first_three(things: Sequence[str]) -> str:
    return ", ".join(things[:3]) + (f" and {len(things) - 3} more" if len(things) > 3 else "")


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
