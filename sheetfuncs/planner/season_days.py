"""The days of a season that a workbook made from the template answers with, in a grower's words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from ..cells.dates import short
from ..functions.arguments import chance_text, count_text
from ..xlsx import WorkbookFileError
from .calendar_file import Entry
from .made_book import MadeBook
from .sheets import positions, rounds, start, trees
from .sheets.layout import Table

SAP, ESTIMATES = start.CAUTIONS[0], start.CAUTIONS[-1]
VISIT, PICKING, SHELTER, WRAP, OUTSIDE = "visit", "picking", "shelter", "wrapping", "out again"
_PLURALS = {
    VISIT: "visits", PICKING: "starts of picking", SHELTER: "days to shelter by", WRAP: "days to wrap by",
    OUTSIDE: "days to go out from",
}  # fmt: skip


@dataclass(frozen=True)
class SeasonDays:
    """What goes into a calendar.

    stamped_on : the day of the answers. without : a line for what has no date, and why.
    """

    entries: tuple[Entry, ...]
    title: str
    stamped_on: date
    invented: bool
    without: tuple[str, ...]

    @property
    def counts(self) -> dict[str, int]:
        """How many entries there are of each kind, in words."""
        counted = Counter(entry.kind for entry in self.entries).items()
        return {kind if count == 1 else _PLURALS[kind]: count for kind, count in counted}


@dataclass(frozen=True)
class _Shared:
    """What all entries of a workbook share."""

    season: int
    chance: str
    banner: str

    def text(self, *lines: str) -> str:
        """Return an entry's text: its lines, then that it is an estimate, then whether it is invented."""
        return "\n".join([*(line for line in lines if line), ESTIMATES, *([self.banner] if self.banner else [])])


def days_of(book: MadeBook) -> SeasonDays:
    """Return the days that a recalculated workbook, read with its answers, gives.

    Raises :class:`WorkbookFileError` where it was not made from the template, or where no season is typed.
    """
    if book.find(trees.table(1)) is None:
        raise WorkbookFileError(f"{book.path.name} has no sheet Trees, wanted a workbook made by: sheetfuncs new")
    season = book.named_value("Season_year")
    if not isinstance(season, (int, float)):
        raise WorkbookFileError(f"{book.path.name} has no season, type its year on the sheet Place")
    season = int(season)
    shared = _Shared(season, _share(book.named_value("Chance_wanted")), book.banner)
    found = [*_visits(book, shared), *_pickings(book, shared), *_winter(book, shared)]
    entries = tuple(sorted(found, key=lambda entry: (entry.day, entry.kind, entry.tag)))
    # Where no today is typed, the season's first day: the same file comes out each time.
    stamped_on = day_of(book.named_value("Day_today")) or date(season, 1, 1)
    return SeasonDays(entries, f"Fig trees {season}", stamped_on, bool(book.banner), tuple(_without(book)))


def _visits(book: MadeBook, shared: _Shared) -> Iterator[Entry]:
    """Go over the visits: one entry a visit, whatever day it moves to."""
    visits: dict[tuple[int, date], list[dict[str, Any]]] = {}
    without_buds = {row["tag"] for row in tree_rows(book) if has_no_buds(row)}
    for row in rows_of(book, rounds.table(1), "tag"):
        day, number = day_of(row["day"]), row["number"]
        if day is not None and isinstance(number, (int, float)) and str(row["tag"]).strip() not in without_buds:
            visits.setdefault((int(number), day), []).append(row)
    for (number, day), listed in sorted(visits.items(), key=lambda item: item[0]):
        lines = [
            f"{row['tag']}: {row['what']}" + (f", by {short(latest)} at the latest" if latest else "")
            for row in listed
            for latest in (day_of(row["latest"]),)
        ]
        chance = f"Cut by its last date, a tree's first figs ripen in at least {shared.chance} of the seasons."
        text = shared.text(*lines, chance if shared.chance else "", SAP)
        title = f"Visit {number}: cut {count_text(len(listed), 'fig tree')}"
        yield Entry(VISIT, str(number), shared.season, day, title, text)


def _pickings(book: MadeBook, shared: _Shared) -> Iterator[Entry]:
    for row in tree_rows(book):
        day = day_of(row["first_ripe"])
        if day is None or _is_late(row) or has_no_buds(row) or _says_check(row) or row["picking_from"] is not None:
            continue
        last, chance = day_of(row["last_ripe"]), row["chance"]
        cut = day_of(row["cut_on"]) or day_of(row["assumed_cut"])
        yield Entry(
            PICKING, row["tag"], shared.season, day, f"First figs of {row['tag']}",
            shared.text(
                _about(row),
                "Reached in half of the seasons" + (f"; the last figs on {short(last)}." if last else "."),
                f"Chance of first figs before the season's end: {chance_text(chance)}." if _share(chance) else "",
                f"{'It was cut' if row['cut_on'] is not None else 'If it is cut'} on {short(cut)}." if cut else "",
            ),
        )  # fmt: skip


def _winter(book: MadeBook, shared: _Shared) -> Iterator[Entry]:
    chance = _share(book.named_value("Winter_chance"))
    lows = (
        (SHELTER, "shelter", "Containers under shelter by today", "earlier", ("containers",), "Shelter_limit"),
        (WRAP, "wrap", "Trees in the ground wrapped by today", "earlier", ("ground",), "Wrap_limit"),
        (OUTSIDE, "outside", "Out again, unwrapped, from today", "later", ("containers", "ground"), "Outside_limit"),
    )
    unit = _text_of(book.named_value("Unit")) or "C"
    for row in rows_of(book, positions.TABLE, "name"):
        for kind, key, title, when, counted, limit in lows:
            day = day_of(row[key])
            many = sum(int(row[count]) for count in counted if isinstance(row[count], (int, float)))
            if day is None or not many:
                continue
            low = book.named_value(limit)
            degrees = f" at or below {low:g} °{unit}" if isinstance(low, (int, float)) else " at the limit"
            yield Entry(
                kind, str(row["name"]), shared.season, day, f"{title}: {row['name']}",
                shared.text(
                    f"{count_text(many, 'tree')} here.",
                    f"Chance of {'an' if when == 'earlier' else 'a'} {when} low{degrees}: {chance}." if chance else "",
                ),
            )  # fmt: skip


def _says_check(row: dict[str, Any]) -> bool:
    """Return whether a tree's advice says Check: what else its row says is in doubt."""
    return _text_of(row["advice"]).startswith("Check:")


def _without(book: MadeBook) -> Iterator[str]:
    """Go over lines that name what has no date."""
    listed = list(tree_rows(book))
    trees_in_all = count_text(len(listed), "tree")
    rows = [row for row in listed if not has_no_buds(row)]
    checks = sum(map(_says_check, rows))
    if checks:
        yield f"Say Check: on Trees, so no dates: {checks} of {trees_in_all}."
    if len(rows) < len(listed):
        yield f"Without fig buds, so nothing to cut or to pick: {len(listed) - len(rows)} of {trees_in_all}."
    late = sum(_is_late(row) for row in rows)
    if late:
        yield f"Past the last cut date, uncut, so no start of picking: {late} of {trees_in_all}."
    unripe = sum(day_of(row["first_ripe"]) is None and not _is_late(row) and not _says_check(row) for row in rows)
    if unripe:
        yield f"No first figs in half of the seasons, so no start of picking: {unripe} of {trees_in_all}."
    if book.find(rounds.table(1)) is None:
        yield f"{book.path.name} has no list on the sheet Rounds: no visits."
    found = book.find(positions.TABLE)
    if found is None or "shelter" not in found.columns:
        yield f"{book.path.name} has no winter on the sheet Positions: no days to go in and out."


# -- rows ------------------------------------------------------------------------------------------------------


def rows_of(book: MadeBook, table: Table, name: str) -> Iterator[dict[str, Any]]:
    """Go over the rows of a table up to the first one without a name; a column that is not there is blank."""
    found = book.find(table)
    row = 0 if found is None else found.heading_row + 1
    while found is not None and found.value(row, name) is not None:
        yield {column.key: found.value(row, column.key) for column in table.columns}
        row += 1


def tree_rows(book: MadeBook) -> Iterator[dict[str, Any]]:
    """Go over the trees that are listed, each as its values by column."""
    table = trees.table(1)
    found = book.find(table)
    if found is None:
        return
    for row in book.ready_rows(found, table):
        if found.value(row, "tag") is not None:
            values: Mapping[str, Any] = {column.key: found.value(row, column.key) for column in table.columns}
            yield {**values, "tag": str(values["tag"]).strip()}


def has_no_buds(row: Mapping[str, Any]) -> bool:
    """Return whether fig buds were looked for on a tree that is not cut, and none were seen."""
    return row["cut_on"] is None and _text_of(row["buds"]).strip().lower() == "no"


def _is_late(row: Mapping[str, Any]) -> bool:
    """Return whether a tree is not cut, and a cut now would come after its last date."""
    spare = row["spare"]
    return row["cut_on"] is None and isinstance(spare, (int, float)) and spare < 0


def _about(row: Mapping[str, Any]) -> str:
    return ", ".join(str(row[key]) for key in ("kind", "grown_in", "position") if row[key] is not None)


def day_of(value: Any) -> date | None:
    return value.date() if isinstance(value, datetime) else value if isinstance(value, date) else None


def _share(value: Any) -> str:
    return f"{value:.0%}" if isinstance(value, (int, float)) and not isinstance(value, bool) else ""


def _text_of(value: Any) -> str:
    return value if isinstance(value, str) else ""
