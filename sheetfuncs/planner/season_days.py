"""The days of a season that a workbook made from the template answers with, in a grower's words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from ..cells.dates import short
from ..functions.arguments import chance_text
from ..xlsx import WorkbookFileError
from .calendar_file import Entry
from .made_book import Found, MadeBook
from .sheets import rounds, start, trees, winter
from .sheets.layout import Table

SAP, ESTIMATES = start.CAUTIONS[0], start.CAUTIONS[-1]
VISIT, CUT, PICKING, SHELTER, WRAP, OUTSIDE = "visit", "last cut date", "picking", "shelter", "wrapping", "out again"
_PLURALS = {
    VISIT: "visits", CUT: "last cut dates", PICKING: "starts of picking", SHELTER: "days to shelter by",
    WRAP: "days to wrap by", OUTSIDE: "days to go out from",
}  # fmt: skip


@dataclass(frozen=True)
class SeasonDays:
    """What goes into a calendar.

    said_on : the day on which the dates were reckoned. without : a line for what has no date, and why.
    """

    entries: tuple[Entry, ...]
    title: str
    said_on: date
    invented: bool
    without: tuple[str, ...]

    @property
    def counts(self) -> dict[str, int]:
        """How many entries there are of each kind, in words."""
        found: dict[str, int] = {}
        for entry in self.entries:
            found[entry.kind] = found.get(entry.kind, 0) + 1
        return {kind if count == 1 else _PLURALS[kind]: count for kind, count in found.items()}


@dataclass(frozen=True)
class _Asked:
    """What all entries of a workbook share."""

    season: int
    chance: str
    banner: str

    def text(self, *lines: str) -> str:
        """Return an entry's text: what it says, then that it is an estimate, then whether it is invented."""
        return "\n".join([*(line for line in lines if line), ESTIMATES, *([self.banner] if self.banner else [])])


def days_of(path: Path) -> SeasonDays:
    """Return the days that a recalculated workbook answers with.

    Raises :class:`WorkbookFileError` where it was not made from the template, or where no season is typed.
    """
    book = MadeBook(path, answers=True)
    if book.find(trees.table(1)) is None:
        raise WorkbookFileError(f"{path.name} has no sheet Trees, wanted a workbook made by: sheetfuncs new")
    season = book.named_value("Season_year")
    if not isinstance(season, (int, float)):
        raise WorkbookFileError(f"{path.name} has no season, type its year on the sheet Place")
    season = int(season)
    asked = _Asked(season, _share(book.named_value("Chance_wanted")), book.banner)
    entries = tuple(sorted(_told_apart(_entries(book, asked)), key=lambda entry: (entry.day, entry.kind, entry.tag)))
    # Where no today is typed, the season's first day: the same file comes out each time.
    said_on = _day(book.named_value("Day_today")) or date(season, 1, 1)
    return SeasonDays(entries, f"Fig trees {season}", said_on, bool(book.banner), tuple(_without(book)))


def _told_apart(entries: Iterable[Entry]) -> Iterator[Entry]:
    """Go over entries, the second and later ones of a tag that stands in several rows under names of their own."""
    times: dict[str, int] = {}
    for entry in entries:
        times[entry.identifier] = times.get(entry.identifier, 0) + 1
        again = times[entry.identifier]
        yield entry if again == 1 else replace(entry, tag=f"{entry.tag} row {again}")


def _entries(book: MadeBook, asked: _Asked) -> Iterator[Entry]:
    found = book.find(rounds.table(1))
    yield from _last_cut_dates(book, asked) if found is None else _visits(book, found, asked)
    yield from _pickings(book, asked)
    yield from _winter(book, asked)


def _visits(book: MadeBook, found: Found, asked: _Asked) -> Iterator[Entry]:
    """Go over the visits: one entry a visit, whatever day it moves to."""
    visits: dict[tuple[int, date], list[dict[str, Any]]] = {}
    for row in _rows(found, rounds.table(1), "tag"):
        day, number = _day(row["day"]), row["number"]
        if day is not None and isinstance(number, (int, float)):
            visits.setdefault((int(number), day), []).append(row)
    for (number, day), listed in sorted(visits.items(), key=lambda item: item[0]):
        lines = [
            f"{row['tag']}: {row['what']}" + (f", by {short(latest)} at the latest" if latest else "")
            for row in listed
            for latest in (_day(row["latest"]),)
        ]
        trees_word = "1 fig tree" if len(listed) == 1 else f"{len(listed)} fig trees"
        chance = f"Cut by its last date, a tree's first figs ripen in at least {asked.chance} of the seasons."
        text = asked.text(*lines, chance if asked.chance else "", SAP)
        yield Entry(VISIT, str(number), asked.season, day, f"Visit {number}: cut {trees_word}", text)


def _last_cut_dates(book: MadeBook, asked: _Asked) -> Iterator[Entry]:
    for row in _trees(book):
        day = _day(row["latest"])
        if day is not None and row["cut_on"] is None:
            chance = (
                f"Until then the first figs ripen in at least {asked.chance} of the seasons." if asked.chance else ""
            )
            yield Entry(
                CUT, row["tag"], asked.season, day, f"Last day to cut {row['tag']}",
                asked.text(_about(row), _said(row["advice"]), chance, SAP),
            )  # fmt: skip


def _pickings(book: MadeBook, asked: _Asked) -> Iterator[Entry]:
    for row in _trees(book):
        day = _day(row["first_ripe"])
        if day is None or _is_late(row):
            continue
        last, chance = _day(row["last_ripe"]), row["chance"]
        cut = _day(row["reckoned"])
        yield Entry(
            PICKING, row["tag"], asked.season, day, f"First figs of {row['tag']}",
            asked.text(
                _about(row),
                "Reached in half of the seasons" + (f"; the last figs on {short(last)}." if last else "."),
                f"Chance of first figs before the season's end: {chance_text(chance)}." if _share(chance) else "",
                f"Reckoned with {'the cut' if row['cut_on'] is not None else 'a cut'} on {short(cut)}." if cut else "",
            ),
        )  # fmt: skip


def _winter(book: MadeBook, asked: _Asked) -> Iterator[Entry]:
    found = book.find(winter.TABLE)
    if found is None:
        return
    chance = _share(book.named_value("Winter_chance"))
    lows = (
        (SHELTER, "shelter", "Containers under shelter by today", "earlier", ("containers",), "Shelter_limit"),
        (WRAP, "wrap", "Trees in the ground wrapped by today", "earlier", ("ground",), "Wrap_limit"),
        (OUTSIDE, "outside", "Out again, unwrapped, from today", "later", ("containers", "ground"), "Outside_limit"),
    )
    unit = _said(book.named_value("Unit")) or "C"
    for row in _rows(found, winter.TABLE, "position"):
        for kind, key, title, when, counted, limit in lows:
            day = _day(row[key])
            many = sum(int(row[count]) for count in counted if isinstance(row[count], (int, float)))
            if day is None or not many:
                continue
            low = book.named_value(limit)
            degrees = f" at or below {low:g} °{unit}" if isinstance(low, (int, float)) else " at the limit"
            yield Entry(
                kind, str(row["position"]), asked.season, day, f"{title}: {row['position']}",
                asked.text(
                    f"{many} tree{'' if many == 1 else 's'} here.",
                    f"Chance of {'an' if when == 'earlier' else 'a'} {when} low{degrees}: {chance}." if chance else "",
                ),
            )  # fmt: skip


def _without(book: MadeBook) -> Iterator[str]:
    """Go over lines that tell of what has no date."""
    rows = list(_trees(book))
    asking = sum(_said(row["advice"]).startswith("Check:") for row in rows)
    if asking:
        yield f"{asking} of {len(rows)} trees say Check: on Trees and have no dates."
    late = sum(_is_late(row) for row in rows)
    if late:
        yield f"{late} of {len(rows)} trees are past their last cut date, uncut: no start of picking."
    unripe = sum(_day(row["first_ripe"]) is None and not _is_late(row) for row in rows) - asking
    if unripe > 0:
        yield f"{unripe} of {len(rows)} trees have no first figs in half of the seasons: no start of picking."
    if book.find(winter.TABLE) is None:
        yield f"{book.path.name} has no sheet Winter: no days to go in and out."


# -- rows ------------------------------------------------------------------------------------------------------


def _rows(found: Found, table: Table, name: str) -> Iterator[dict[str, Any]]:
    """Go over the rows of a table up to the first one without a name; a column that is not there is blank."""
    row = found.heading_row + 1
    while found.value(row, name) is not None:
        yield {column.key: found.value(row, column.key) for column in table.columns}
        row += 1


def _trees(book: MadeBook) -> Iterator[dict[str, Any]]:
    table = trees.table(1)
    found = book.find(table)
    if found is None:
        return
    for row in book.ready_rows(found, table):
        if found.value(row, "tag") is not None:
            values: Mapping[str, Any] = {column.key: found.value(row, column.key) for column in table.columns}
            yield {**values, "tag": str(values["tag"]).strip()}


def _is_late(row: Mapping[str, Any]) -> bool:
    """Return whether a tree is not cut, and a cut now would come after its last date."""
    spare = row["spare"]
    return row["cut_on"] is None and isinstance(spare, (int, float)) and spare < 0


def _about(row: Mapping[str, Any]) -> str:
    return ", ".join(str(row[key]) for key in ("kind", "footing", "position") if row[key] is not None)


def _day(value: Any) -> date | None:
    return value.date() if isinstance(value, datetime) else value if isinstance(value, date) else None


def _share(value: Any) -> str:
    return f"{value:.0%}" if isinstance(value, (int, float)) and not isinstance(value, bool) else ""


def _said(value: Any) -> str:
    return value if isinstance(value, str) else ""
