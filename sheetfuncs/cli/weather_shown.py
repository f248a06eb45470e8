"""What was understood of a weather file, and what adding its days to a workbook comes to, in lines for a grower."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..functions.arguments import count_text
from ..weather import Choice, WeatherFile

if TYPE_CHECKING:
    from ..weather.into_book import BookWeather
    from ..weather.merging import Change, Merge

#: So many lines of one kind are shown; the rest is counted.
_SHOWN = 3
_CHANGES_SHOWN = 10
#: With fewer known days nothing can be said of the place.
_ENOUGH_KNOWN = 10


def describe(found: WeatherFile) -> list[str]:
    """Return what a file was understood to be, in a few lines that a grower can read."""
    first, last = found.days[0].day, found.days[-1].day
    station = f", station {found.station}" if found.station else ""
    lines = [
        f"{found.name}: {found.form}{station}",
        f"  days     {len(found.days):,} from {first} to {last}, {_extremes(found)}",
        *(_choice(choice) for choice in found.choices),
    ]
    if found.gaps:
        longest = max(found.gaps, key=lambda gap: gap.days)
        missing = sum(gap.days for gap in found.gaps)
        lines.append(
            f"  missing  {count_text(missing, 'day')} in {count_text(len(found.gaps), 'gap')}, the longest from"
            f" {longest.first} to {longest.last}"
        )
    if found.refused:
        lines.append(f"  refused  {count_text(len(found.refused), 'line')} or days:")
        for refused in found.refused[:_SHOWN]:
            day = f" ({refused.day})" if refused.day else ""
            lines.append(f"           line {refused.line:,}{day} {refused.reason}")
        if len(found.refused) > _SHOWN:
            lines.append(f"           and {len(found.refused) - _SHOWN:,} more")
    return lines


def _extremes(found: WeatherFile) -> str:
    coldest = min(found.days, key=lambda day: day.low)
    warmest = max(found.days, key=lambda day: day.high)
    return f"{coldest.low:g} °{found.unit} on {coldest.day} to {warmest.high:g} °{found.unit} on {warmest.day}"


def _choice(choice: Choice) -> str:
    return f"  {choice.what:<8} {choice.reading} ({choice.why})"


def describe_merge(merged: Merge, found: WeatherFile, weather: BookWeather) -> list[str]:
    """Return what adding a file's days comes to."""
    parts = [f"{count_text(len(merged.added), 'day')} new"]
    for what, text in (
        (merged.kept, "known and the same"),
        (merged.completed, "known and now complete"),
        (merged.replaced, "replaced"),
        (merged.differing, "known and different, left as they are"),
    ):
        if what:
            parts.append(f"{len(what):,} {text}")
    turned = f", turned from °{found.unit} into the workbook's °{weather.unit}" if found.unit != weather.unit else ""
    lines = ["  " + "; ".join(parts) + turned]
    if merged.left_out:
        last = merged.left_out[-1].day
        lines.append(f"  left out {count_text(len(merged.left_out), 'day')} up to {last}: the sheet holds no more days")
    known = len(merged.kept) + len(merged.replaced) + len(merged.differing)
    if known >= _ENOUGH_KNOWN and 2 * len(merged.kept) < known:
        lines.append("    Mind: most of the days that are known differ. Is this the same place, and the same unit?")
    for changes, text in ((merged.replaced, "was"), (merged.differing, "is")):
        lines += _changes(changes, text)
    for invalid in merged.invalid[:_SHOWN]:
        where = f"row {invalid.row}" if invalid.row else f"{invalid.day}"
        lines.append(f"    {where}: {invalid.reason}; left alone")
    if len(merged.invalid) > _SHOWN:
        lines.append(f"    and {len(merged.invalid) - _SHOWN:,} more left alone")
    return lines


def _changes(changes: Sequence[Change], text: str) -> list[str]:
    # What is replaced is shown in full: it is nowhere else afterwards.
    shown = changes if text == "was" else changes[:_CHANGES_SHOWN]
    lines = [
        f"    row {change.row}, {change.day}: {text} {_pair(change.low, change.high)}, the file has"
        f" {_pair(change.new_low, change.new_high)}"
        for change in shown
    ]
    if len(changes) > len(shown):
        lines.append(f"    and {len(changes) - len(shown):,} more that differ; --replace takes the file's values")
    elif changes and text == "is":
        lines.append("    --replace takes the file's values")
    return lines


def _pair(low: float | None, high: float | None) -> str:
    return " to ".join("blank" if value is None else f"{value:g}" for value in (low, high))
