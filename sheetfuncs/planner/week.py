"""The work of the coming seven days, from a recalculated workbook: who, what, by when, how long; as lines or a page."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font

from ..cells.dates import short
from ..functions.arguments import count_text
from ..xlsx import WorkbookFileError
from .made_book import MadeBook
from .season_days import PICKING, VISIT, day_of, days_of, has_no_buds, rows_of, tree_rows
from .sheets import rounds, start

DAYS = 7
HEADINGS = ("On", "Who", "What", "By", "Minutes")
#: Advice that is for the day on which it is given.
_FOR_TODAY = re.compile(
    r"(Late|Cut now|Count|Look|Take off|Bring|Unwrap|Wrap|Pick|Check|see )|.*(: take off|: look again, )"
)
#: How wide the columns are on a page [letters].
_WIDTHS = (9, 16, 46, 9, 9)


@dataclass(frozen=True)
class Task:
    """One thing to do: on a day, to a tree or at a position, at the latest by a day, in so many minutes."""

    day: date
    who: str
    what: str
    by: date | None = None
    minutes: float | None = None

    @property
    def words(self) -> tuple[str, str, str, str, str]:
        """The task as a line of a table."""
        minutes = "" if self.minutes is None else f"{self.minutes:g}"
        return short(self.day), self.who, self.what, short(self.by) if self.by else "", minutes


@dataclass(frozen=True)
class Week:
    """The tasks of seven days.

    notes : what trees say that have no task, each advice once. banner : the mark of an invented workbook.
    """

    first: date
    tasks: tuple[Task, ...]
    notes: tuple[str, ...]
    banner: str

    @property
    def title(self) -> str:
        """The days in words."""
        return f"Fig trees, {short(self.first)} to {short(self.first + timedelta(DAYS - 1))} {self.first.year}"

    @property
    def summary(self) -> str:
        """How much there is to do."""
        if not self.tasks:
            return "No day is set this week, but see to:" if self.notes else "Nothing has to be done this week."
        minutes = sum(task.minutes or 0 for task in self.tasks)
        counted = f"{count_text(len(self.tasks), 'thing')} to do"
        return f"{counted}, about {minutes:g} minutes." if minutes else f"{counted}."


CAUTIONS = start.CAUTIONS


def week_of(path: Path) -> Week:
    """Return the week that begins on a workbook's today; raises :class:`WorkbookFileError` where it has none."""
    book = MadeBook(path, answers=True)
    season = days_of(book)
    first = day_of(book.named_value("Day_today"))
    if first is None:
        raise WorkbookFileError(f"{path.name} has no day to look from, type one on the sheet Place, at Today")
    last = first + timedelta(DAYS - 1)
    tasks = list(_visits(book, first, last))
    tasks += [
        Task(entry.day, entry.tag, entry.title.partition(":")[0] if entry.kind != PICKING else "first figs, about now")
        for entry in season.entries
        if entry.kind != VISIT and first <= entry.day <= last
    ]
    notes = _advice(tree_rows(book), {task.who for task in tasks}, first)
    return Week(first, tuple(sorted(tasks, key=lambda task: (task.day, task.who))), notes, book.banner)


def _advice(rows: Iterable[dict[str, Any]], busy: set[str], first: date) -> tuple[str, ...]:
    """Return what trees without a task say that is for these days, each advice once, with the trees that say it."""
    days = [short(first + timedelta(number)) for number in range(DAYS)]
    waits = re.compile(rf".*\b(again on|until) ({'|'.join(days)})\b")
    found: dict[str, list[str]] = {}
    for row in rows:
        advice = str(row["advice"] or "")
        if row["tag"] not in busy and (_FOR_TODAY.match(advice) or waits.match(advice)):
            found.setdefault(advice, []).append(row["tag"])
    return tuple(f"{', '.join(tags)}: {advice}" for advice, tags in found.items())


def _visits(book: MadeBook, first: date, last: date) -> list[Task]:
    listed = {row["tag"]: row for row in tree_rows(book)}
    usual = book.named_value("Minutes_a_tree")
    tasks = []
    for row in rows_of(book, rounds.table(1), "tag"):
        tag, day = str(row["tag"]).strip(), day_of(row["day"])
        tree = listed.get(tag)
        is_open = tree is None or (tree["cut_on"] is None and not has_no_buds(tree))
        if day is None or not first <= day <= last or not is_open:
            continue
        node = row["node"]
        what = str(row["what"]) + (f", above node {node:g}" if isinstance(node, (int, float)) else "")
        minutes = tree["minutes"] if tree and tree["minutes"] is not None else usual
        is_number = isinstance(minutes, (int, float)) and not isinstance(minutes, bool)
        tasks.append(Task(day, tag, what, day_of(row["latest"]), minutes if is_number else None))
    return tasks


def week_page(week: Week) -> Workbook:
    """Return a workbook with the week on one sheet, for an office to print."""
    workbook = Workbook()
    sheet = workbook.active
    sheet.title = "Week"
    for letter, width in zip("ABCDE", _WIDTHS):
        sheet.column_dimensions[letter].width = width
    sheet.append([week.title])
    sheet["A1"].font = Font(size=16, bold=True)
    _lines(sheet, [week.banner] if week.banner else [])
    _lines(sheet, [week.summary])
    sheet.append(HEADINGS)
    for cell in sheet[sheet.max_row]:
        cell.font = Font(bold=True)
    for task in week.tasks:
        sheet.append(task.words)
        for cell in sheet[sheet.max_row]:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
    _lines(sheet, [*week.notes, "", "Cautions", *CAUTIONS])
    sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    return workbook


def _lines(sheet, lines) -> None:  # type: ignore[no-untyped-def]
    """Write lines of text over the whole width, each as high as it needs."""
    for line in lines:
        row = sheet.max_row + 1
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=len(HEADINGS))
        cell = sheet.cell(row, 1, line)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.row_dimensions[row].height = 15 * (1 + len(line) // (sum(_WIDTHS) - 4))
