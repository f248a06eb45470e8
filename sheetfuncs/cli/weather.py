"""Weather into a workbook: read files, show what was understood, and add their days to the sheet *Weather*."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace as replaced
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..cells.dates import DATE_ORDERS
from ..cells.errors import CHECK
from ..functions.arguments import count_text
from ..weather import (
    Choice,
    HalfFileError,
    Options,
    TwoReadingsError,
    WeatherFile,
    WeatherFileError,
    join,
    read_weather_file,
)
from ..weather.model import UNITS
from .archive import from_archive, source_wanted
from .show import BACKUP, bytes_read, naming_the_copy, say

if TYPE_CHECKING:
    from ..weather.into_book import BookWeather
    from ..weather.merging import Change, Merge
    from ..xlsx.files import Backup
    from ..xlsx.values import Value

_FILE = click.Path(path_type=Path)
_UNIT = click.Choice(UNITS, case_sensitive=False)
#: So many lines of one kind are shown; the rest is counted.
_SHOWN = 3
_CHANGES_SHOWN = 10
#: With fewer known days nothing can be said of the place.
_ENOUGH_KNOWN = 10


@click.command("add-weather")
@click.argument("book", type=_FILE)
@click.argument("files", type=_FILE, nargs=-1, metavar="[FILE…]")
@click.option("--station", metavar="ID", help="Fetch this station; with a FILE: the one to take out of it.")
@click.option("--near", metavar="LAT,LON", help="Fetch the station that helps most at a place.")
@click.option("--height", type=float, metavar="METRES", help="Of the place: stations as high as it are preferred.")
@click.option("--grid", is_flag=True, help="With --near: values of a grid, where no station is near.")
@click.option("--past", metavar="ID", help="Fetch an older station's days as well, for the time before.")
@click.option("--adjust", is_flag=True, help="With --past: take the two stations' mean difference off.")
@click.option("--unit", type=_UNIT, metavar="C|F|tenths", help="What the files are in; tenths: of °C.")
@click.option("--date-order", type=click.Choice(DATE_ORDERS), help="How the numbers of a date follow each other.")
@click.option("--columns", metavar="ROLES", help="Such as date=1,low=Tmin,high=3, or date=1,temperature=2 for a log.")
@click.option("--sheet", metavar="NAME", help="The one to take out of a workbook of several.")
@click.option("--time-zone", metavar="ZONE", help="Times are UTC, and the station's clock that of ZONE: Europe/Vienna.")
@click.option("--replace", is_flag=True, help="Where a known day differs, take the file's values.")
@click.option("--skip", is_flag=True, help="Leave lines out that cannot be read, and add the rest.")
@BACKUP
@click.option("--dry-run", is_flag=True, help="Only say what would be done.")
def add_weather(
    book: Path, files: tuple[Path, ...], station: str | None, near: str | None, height: float | None, grid: bool,
    past: str | None, adjust: bool, unit: str | None, date_order: str | None, columns: str | None, sheet: str | None,
    time_zone: str | None, replace: bool, skip: bool, backup: Backup, dry_run: bool,
) -> None:  # fmt: skip
    """Add days of weather to a workbook: from files, or from NOAA's open archive of stations.

    A FILE is a text or a workbook with one day a row or with readings by the hour, or one of the archive's own files;
    texts may be packed with gzip. Lows and highs in two files are given together. Without a FILE the days are fetched:
    from --station, from the best one --near a place, or, when the workbook remembers its station, what is new there
    since the last time. Days that are in the workbook stay as they are unless you say --replace; nothing but the sheet
    Weather is changed.
    """
    from ..weather import into_book

    weather = into_book.open_weather(book)
    cells: dict[tuple[int, int], Value] = {}
    if adjust and not past:
        raise click.UsageError("--adjust goes with --past.")
    if files:
        if near or grid or past or adjust:
            raise click.UsageError("--near, --grid, --past and --adjust fetch from the archive: leave the FILE out.")
        options = Options(unit, date_order, columns, station, sheet, time_zone)
        found_files = _read_all(files, options, _known_of(weather))
    else:
        source = source_wanted(station, near, height, grid, into_book.remembered_source(weather))
        last = max((row.day for row in weather.rows if row.day), default=None)
        fetched, origin = from_archive(source, near, last, past, adjust)
        found_files = iter([fetched])
        cells.update(into_book.origin_cells(weather, origin))
    facts = len(cells)
    for found in found_files:
        for line in describe(found):
            say(line)
        _refuse_broken(found, skip)
        one = into_book.merge_into(weather, found.days, found.unit, replace)
        weather, more = into_book.with_merge(weather, one)
        cells.update(more)
        for line in describe_merge(one, found, weather):
            say(line)
    if dry_run:
        click.echo(f"Dry run: {book} is as it was.")
    elif len(cells) == facts and files:
        click.echo(f"{book} has all of this already and is as it was.")
    else:
        if _someone_answers() and not click.confirm(f"Write this into {book}?", default=True):
            raise click.Abort
        with naming_the_copy(book, backup=backup):
            into_book.write_weather(weather, cells, backup)
        click.echo(f"Written into {book}. Then: sheetfuncs recalc {book}")


# -- reading, and asking where the file leaves it open ---------------------------------------------------------


def _known_of(weather: BookWeather) -> dict[str, str]:
    """Return what a workbook that holds days already says about a file of a few days more."""
    from ..weather.into_book import remembered_source

    if not weather.rows:
        return {}
    station = remembered_source(weather).removeprefix("station ")
    return {"unit": weather.unit, **({"station": station} if station else {})}


def _read_all(files: Sequence[Path], options: Options, known: Mapping[str, str]) -> Iterator[WeatherFile]:
    """Read files one by one; one of lows alone and one of highs alone are joined."""
    halves: list[HalfFileError] = []
    for path in files:
        try:
            yield _read(path, options, known)
        except HalfFileError as half:
            other = next((one for one in halves if one.only != half.only), None)
            if other is None:
                halves.append(half)
                continue
            halves.remove(other)
            yield join(other, half, options)
    if halves:
        raise halves[0]


def _read(path: Path, options: Options, known: Mapping[str, str]) -> WeatherFile:
    """Read a file; what it does not say itself comes from the workbook, or from the user."""
    answers: list[str] = []
    while True:
        try:
            with bytes_read(f"Reading {path.name}") as progress:
                found = read_weather_file(path, options, progress)
            if answers:
                say(f"Next time without a question: {' '.join(answers)}")
            return found
        except TwoReadingsError as question:
            if question.option in known and not getattr(options, question.option):
                answer = known[question.option]
                options = replaced(options, **{question.option: answer})
                say(f"{path.name} does not say its {question.option}: {answer}, as in the workbook")
                continue
            if not _someone_answers() or getattr(options, question.option):
                raise
            say(str(question).removeprefix(CHECK), err=True)
            kind = click.Choice(question.answers, case_sensitive=False) if question.answers else None
            option = f"--{question.option.replace('_', '-')}"
            answer = click.prompt(option, type=kind, err=True)
            options = replaced(options, **{question.option: answer})
            answers.append(f"{option} {shlex.quote(answer)}")


def _someone_answers() -> bool:
    """Return whether there is someone who can answer."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def _refuse_broken(found: WeatherFile, skip: bool) -> None:
    broken = found.unreadable
    if broken and not skip:
        first, lines = broken[0], count_text(len(broken), "line")
        raise WeatherFileError(
            f"{found.name} has {lines} that cannot be read (line {first.line} {first.reason});"
            " nothing was written. Correct the file, or leave them out with --skip"
        )


# -- what was understood, and what comes of it -----------------------------------------------------------------


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
