"""Stations of the public archive: those near a place, and the one that a workbook's weather comes from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import click

from ..weather import WeatherFile, WeatherFileError, read_weather_file
from ..weather.archive import source as archive
from ..weather.archive.fetching import Fetched, forget
from ..weather.archive.source import Source
from ..weather.archive.stations import distance
from .show import bytes_read, say

if TYPE_CHECKING:
    from ..weather.archive.stations import Candidate, Station

_SHOWN = 8
_SAME_NAME_SHOWN = 12


@click.command(context_settings={"ignore_unknown_options": True})  # -83.7 is a longitude, no option
@click.argument("where", nargs=-1, required=True, metavar="LATITUDE LONGITUDE | NAME")
@click.option("--height", type=float, metavar="METRES", help="Of your garden: stations as high as it come first.")
@click.option("--most", type=click.IntRange(1, 200), default=_SHOWN, show_default=True, help="How many to list.")
def stations(where: tuple[str, ...], height: float | None, most: int) -> None:
    """List the weather stations near a place whose records help, the best first.

    Give a latitude and a longitude in degrees (42.3 -83.7; south and west are negative), or words of a
    station's name. The list is NOAA's open GHCN-Daily; it is fetched once a month.
    """
    text = " ".join(where)
    if any(sign.isalpha() for sign in text):
        found = _by_name(text)
        if found is None:
            return
        point, height = (found.latitude, found.longitude), found.height if height is None else height
    else:
        point = archive.read_point(text)
    candidates = _near(*point, height)
    click.echo(f"{'station':<12} {'km':>5} {'height':>7} {'years':<11} {'name'}")
    for one in candidates[:most]:
        metres = "?" if one.station.height is None else f"{one.station.height:.0f} m"
        click.echo(
            f"{one.station.identifier:<12} {one.km:>5.0f} {metres:>7} {f'{one.first}–{one.last}':<11}"
            f" {one.station.name[:37]}\n{'':<13}{one.why()}"
        )
    click.echo(
        f"\nNext: sheetfuncs add-weather BOOK --station {candidates[0].station.identifier}\n"
        "Best is one as high as your garden, then near, with 15 years or more, that still\n"
        "reports. Holes in its record show when it is added."
    )


def _by_name(text: str) -> Station | None:
    """Return the one station of a name; where there are several they are listed instead."""
    with bytes_read("Fetching the list of stations") as progress:
        found = archive.stations_named(text, progress)
    if not found:
        raise WeatherFileError(f'no station has "{text[:40]}" in its name, wanted a place such as 42.3 -83.7')
    if len(found) == 1:
        return found[0]
    click.echo(f"{len(found)} stations have such a name:")
    for one in found[:_SAME_NAME_SHOWN]:
        say(f"  {one.identifier}  {one.latitude:8.3f} {one.longitude:9.3f}  {one.name[:40]}")
    click.echo("Next: sheetfuncs stations LATITUDE LONGITUDE")
    return None


def _near(latitude: float, longitude: float, height: float | None) -> list[Candidate]:
    with bytes_read("Fetching the list of stations") as progress:
        candidates = archive.stations_near(latitude, longitude, height, date.today(), progress)
    if not candidates:
        raise WeatherFileError(
            "no station with lows and highs within 150 km; values of a grid: sheetfuncs add-weather BOOK --grid --near"
            f" {latitude:g},{longitude:g}"
        )
    return candidates


# -- from the archive into a workbook --------------------------------------------------------------------------


def source_wanted(station: str | None, near: str | None, height: float | None, grid: bool, known: str) -> Source:
    """Return where a workbook's weather is to come from, and say why; ``known`` : what it remembers."""
    if station:
        return Source(station.upper())
    if near and grid:
        return Source(point=archive.read_point(near))
    if near:
        best = _near(*archive.read_point(near), height)[0]
        words = f"{best.station.name}, {best.km:.0f} km away, {best.first}–{best.last}: {best.why()}"
        say(f"Station {best.station.identifier} {words}")
        return Source(best.station.identifier)
    if grid:
        raise WeatherFileError("--grid wants a place, too: --near LATITUDE,LONGITUDE")
    if not known:
        raise WeatherFileError(
            "the workbook does not know its station yet, wanted a FILE, --station ID or --near LATITUDE,LONGITUDE;"
            " sheetfuncs stations lists them"
        )
    say(f"From {known}, as the sheet Weather says.")
    return archive.source_of(known)


def from_archive(
    source: Source, near: str | None, last_known: date | None, past: str | None, adjust: bool
) -> tuple[WeatherFile, tuple[str, str, str, str, date]]:
    """Fetch and read what a source has; with ``past``, an older station's days before its own.

    Return the days, and for the sheet: source, station, where it is, licence, day of the last fetch.
    """
    found, fetched = _read(source, last_known)
    name, where = _words(source, near)
    if fetched.why_old:
        say(f"The archive {fetched.why_old}; these are its days as of {fetched.at.date()}.")
    if source.point is not None:
        say(archive.GRID_CAUTION)
    if past:
        older, _ = _read(Source(past.upper()), None)
        by_month = archive.differences(found.days, older.days)
        for line in _difference_lines(by_month, source.station, past.upper(), adjust):
            say(line)
        days = archive.with_past(found.days, older.days, by_month if adjust else None)
        found = replace(found, name=f"{past.upper()} and {found.name}", days=days)
        name += f"; older days from {past.upper()}" + (", differences taken off" if adjust else "")
    return found, (str(source), name, where, source.licence, fetched.at.date())


def _read(source: Source, last_known: date | None) -> tuple[WeatherFile, Fetched]:
    with bytes_read(f"Fetching {source}") as progress:
        fetched = archive.fetch_source(source, last_known, date.today(), progress)
    try:
        with bytes_read(f"Reading {source}") as progress:
            return read_weather_file(fetched.path, progress=progress), fetched
    except WeatherFileError:
        forget(fetched)
        raise


def _words(source: Source, near: str | None) -> tuple[str, str]:
    """Return a source's name and where it lies, in words for the sheet."""
    if source.point is not None:
        return "values of a grid, means over some 50 km", f"{source.point[0]:g}°, {source.point[1]:g}°"
    try:
        known = archive.station_called(source.station)
    except WeatherFileError:  # the list is not to be had now; the record is
        known = None
    if known is None:
        return source.station, ""
    where = [f"{known.latitude:g}°, {known.longitude:g}°"]
    if known.height is not None:
        where.append(f"{known.height:.0f} m high")
    if near:
        where.append(f"{distance(*archive.read_point(near), known.latitude, known.longitude):.0f} km away")
    return known.name, ", ".join(where)


def _difference_lines(by_month: Sequence[archive.MonthDifference], near: str, past: str, adjust: bool) -> Iterator[str]:
    yield f"{near} less {past}, mean of the days that both have [°C]:"
    yield "  month  days    low   high"
    for one in by_month:
        yield f"  {one.month:>5} {one.days:>5} {one.low:>+6.1f} {one.high:>+6.1f}"
    if adjust:
        yield f"The older days are those of {past} with these differences taken off."
    else:
        yield f"The older days are those of {past} as they are; --adjust takes the differences off."
