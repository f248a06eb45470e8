"""``sheetfuncs calendar`` and ``sheetfuncs print``: a season's days for a calendar program, and pages to print."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from ..cells.errors import CHECK, FileError
from .show import say, waiting

_BOOK = click.Path(path_type=Path)


@click.command()
@click.argument("book", type=_BOOK)
@click.option("-o", "--out", type=_BOOK, required=True, metavar="FILE", help="The calendar file, such as season.ics.")
def calendar(book: Path, out: Path) -> None:
    """Write a season's days into a calendar file (.ics): visits, picking, in for winter and out again.

    A calendar program that reads the file again brings the same entries up to date. The dates are estimates; the
    workbook stays as it is.
    """
    from ..planner.calendar_file import calendar_bytes, called_off, entries_in
    from ..planner.made_book import MadeBook
    from ..planner.season_days import days_of
    from ..xlsx.files import check_target, write_file

    if out.suffix.lower() != ".ics":
        raise FileError(f"{out.name}: the file name must end in .ics")
    check_target(out, out)
    before = out.read_bytes() if out.exists() else None
    known = {} if before is None else entries_in(before, out.name)
    with _current(book) as current:
        season = days_of(MadeBook(current, answers=True))
    content = calendar_bytes(season.entries, season.title, season.stamped_on, season.invented, known)
    gone = called_off(season.entries, known)
    for line in season.without:
        say(line)
    if not season.entries and not gone:
        raise FileError(f"{book.name} has no dates to export yet, wanted weather, and trees without a Check")
    if content == before:
        say(f"{out} has all of this already.")
        return
    write_file(book, out, content)
    counted = ", ".join(f"{count} {kind}" for kind, count in season.counts.items())
    off = f"; {gone} called off" if gone else ""
    say(f"{out}: {counted or 'no entries'}{off}. Estimates, not a promise: export again when you recalculate.")


@click.command("print")
@click.argument("book", type=_BOOK)
@click.option("-o", "--out", type=_BOOK, required=True, metavar="DIR", help="The folder for the pages.")
def print_pages(book: Path, out: Path) -> None:
    """Print the sheets Rounds and Season as PDF, through LibreOffice.

    The workbook stays as it is.
    """
    from ..planner.pages import office_or_line, print_sheets

    office = office_or_line()
    if not book.is_file():
        raise FileError(f"{book} is not there, wanted a workbook")
    if out.exists() and not out.is_dir():
        raise FileError(f"{out} is no folder, wanted one for the pages")
    with _current(book) as current, waiting("Printing"):
        pages = print_sheets(current, out, book.stem, office)
    for page in pages:
        say(f"{page} is ready to print.")


@click.command()
@click.argument("book", type=_BOOK)
@click.option("-o", "--out", type=_BOOK, metavar="FILE.pdf", help="Print it as a page, through LibreOffice.")
def week(book: Path, out: Path | None) -> None:
    """Say what is to be done in the coming seven days: who, what, by when, minutes, and what to beware of.

    The week begins on the workbook's today. The workbook stays as it is.
    """
    from ..planner.pages import office_or_line, print_books
    from ..planner.week import week_of, week_page
    from .trees import print_week

    if out is not None and out.suffix.lower() != ".pdf":
        raise FileError(f"{out.name}: the file name must end in .pdf")
    office = office_or_line() if out is not None else None
    with _current(book) as current:
        found = week_of(current)
    if out is None or office is None:
        print_week(found)
        return
    content = io.BytesIO()
    week_page(found).save(content)
    with waiting("Printing"):
        [page] = print_books({out.stem: content.getvalue()}, out.parent, ".xlsx", office)
    say(f"{page} is ready to print.")


@contextmanager
def _current(book: Path) -> Iterator[Path]:
    """Give a copy of a workbook with the answers to what is typed in it now."""
    from ..recalc import recalculate
    from ..xlsx import WorkbookFileError
    from ..xlsx.inputs import open_book

    raw = open_book(book).book.package.raw
    with tempfile.TemporaryDirectory(prefix="sheetfuncs-") as folder:
        copy = Path(folder) / book.name
        copy.write_bytes(raw)
        try:
            with waiting(f"Recalculating {book.name}"):
                recalculate(copy)
        except WorkbookFileError as error:
            # A workbook may hold what only an office program can work out; that program's answers are in it.
            say(f"Mind: taking the answers as stored. {str(error).removeprefix(CHECK)}", err=True)
        yield copy
