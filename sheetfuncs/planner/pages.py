"""Sheets of a workbook as PDF, each in a file of its own, printed by a LibreOffice."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from xml.etree import ElementTree

from ..cells.errors import FileError, InputError
from ..hosts.calc.programs import CalcProblem, Office, find_office
from ..xlsx.errors import WorkbookFileError
from ..xlsx.files import read_file
from ..xlsx.package import Package
from ..xlsx.references import quoted_sheet
from ..xlsx.workbook import Book
from .made_book import MadeBook
from .season_days import rows_of
from .sheets import rounds, season, trees

SHEETS = (rounds.NAME, season.NAME)
#: The last line of a page, a comment to those who read it: what bears it may be printed over.
_MARK = b"%printed by sheetfuncs\n"
_PRINT_NAMES = ("_xlnm.Print_Area", "_xlnm.Print_Titles")
#: The end of a print range; rows to repeat have no letters.
_RANGE_END = re.compile(r"(:\$[A-Z]{1,3}\$)(\d+)")
#: A cell that every office has (older ones have 1,024 columns) and that nobody fills.
_EMPTY = "$AMJ$1048576"


def office_or_line() -> Office:
    """Return the LibreOffice of this machine; raises :class:`InputError` where there is none."""
    try:
        return find_office()
    except CalcProblem:
        raise InputError("no LibreOffice was found, and it does the printing: install it first") from None


def print_sheets(book: Path, folder: Path, stem: str, office: Office, sheets: Sequence[str] = SHEETS) -> list[Path]:
    """Print sheets of a workbook into a folder, which is made where it is not there.

    stem : how the files' names begin. Returns their paths.
    Raises :class:`InputError` where a sheet is not there or the office does not print; then no file is written.
    """
    raw = read_file(book)
    made = MadeBook(book, answers=True)
    ends = {rounds.NAME: _end_of_rounds(made), season.NAME: _end_of_season(made)}
    copies = {sheet: with_only(raw, sheet, book.name, ends.get(sheet)) for sheet in sheets}
    named = {f"{stem}-{sheet.lower().replace(' ', '-')}": copy for sheet, copy in copies.items()}
    return print_books(named, folder, book.suffix, office)


def print_books(books: Mapping[str, bytes], folder: Path, ending: str, office: Office) -> list[Path]:
    """Print workbooks into a folder, which is made where it is not there, each as NAME.pdf.

    ending : of a workbook's file. Returns the paths. Raises as :func:`print_sheets`.
    """
    with tempfile.TemporaryDirectory(prefix="sheetfuncs-") as work:
        printed = _printed(books, Path(work), ending, office)
        try:
            folder.mkdir(parents=True, exist_ok=True)
            _refuse_others(folder / page.name for page in printed)
            # All of them beside the old ones first: a full disk leaves what was there.
            with tempfile.TemporaryDirectory(prefix=".sheetfuncs-", dir=folder) as beside:
                for page in printed:
                    (Path(beside) / page.name).write_bytes(page.read_bytes() + _MARK)
                for page in printed:
                    os.replace(Path(beside) / page.name, folder / page.name)
        except OSError as error:
            raise FileError(f"{folder} cannot be written: {error.strerror or error}") from None
    return [folder / page.name for page in printed]


def _refuse_others(pages: Iterable[Path]) -> None:
    """Raise :class:`InputError` where something else than an earlier page would be written over."""
    for page in pages:
        if os.path.lexists(page) and (page.is_symlink() or not page.is_file() or not _is_ours(page)):
            raise FileError(f"{page.name} is there already and was not printed here, wanted another folder")


def _is_ours(page: Path) -> bool:
    with page.open("rb") as file:
        file.seek(max(page.stat().st_size - len(_MARK), 0))
        return file.read() == _MARK


def _printed(contents: Mapping[str, bytes], work: Path, ending: str, office: Office) -> list[Path]:
    """Return the pages of workbooks, printed in one run of the office."""
    books, pages = [], []
    for name, content in contents.items():
        book = work / f"{name}{ending}"
        book.write_bytes(content)
        books.append(str(book))
        pages.append(work / "pages" / f"{name}.pdf")
    # A profile of its own: an office that is open would take the work over, or refuse it.
    profile = f"-env:UserInstallation={(work / 'profile').as_uri()}"
    arguments = [profile, "--headless", "--norestore", "--convert-to", "pdf", "--outdir", str(work / "pages"), *books]
    done = office.run(office.soffice, arguments)
    if not all(page.is_file() for page in pages):
        output = " ".join(f"{done.stderr} {done.stdout}".split())
        raise InputError(f"LibreOffice printed nothing: {output[-60:] or 'no reason given'}")
    return pages


def _end_of_rounds(book: MadeBook) -> int | None:
    """Return the last row of the rounds that is filled: rows that are only ready are no pages to print."""
    found = book.find(rounds.table(1))
    return None if found is None else found.heading_row + 1 + sum(1 for _ in rows_of(book, rounds.table(1), "tag"))


def _end_of_season(book: MadeBook) -> int | None:
    """Return the last row of the pictures that show a tree."""
    found, table = book.find(season.TABLE), trees.table(1)
    listed = book.find(table)
    if found is None or listed is None:
        return None
    rows = [row for row in book.ready_rows(listed, table) if listed.value(row, "tag") is not None]
    lines = max(rows, default=listed.heading_row) - listed.heading_row
    return season.last_row(season.pictures(lines)) + found.heading_row - season.HEADING_ROW


def with_only(raw: bytes, sheet: str, name: str, last_row: int | None = None) -> bytes:
    """Return a workbook of which one sheet is printed: the print range of the others is an empty cell.

    last_row : where the sheet's own print range ends, if it would go on beyond that.
    Hiding them is not enough, since an office prints hidden sheets into a PDF too; taking them away would take away
    what the one sheet is drawn from. Raises :class:`WorkbookFileError` where the sheet is not there.
    """
    package = Package(raw, name)
    book = Book(package)
    names = [one.name for one in book.sheets]
    if sheet not in names:
        raise WorkbookFileError(f"{name} has no sheet {sheet}, wanted a workbook made by: sheetfuncs new")
    root = ElementTree.fromstring(package.read(book.part))
    # It names prefixes, which are written otherwise here.
    root.attrib = {key: value for key, value in root.attrib.items() if not key.endswith("}Ignorable")}
    space = root.tag.rpartition("}")[0] + "}"
    defined = root.find(f"{space}definedNames")
    if defined is None:
        defined = ElementTree.Element(f"{space}definedNames")
        root.insert([child.tag for child in root].index(f"{space}sheets") + 1, defined)
    for item in list(defined):
        if item.get("name") in _PRINT_NAMES:
            if item.get("localSheetId") != str(names.index(sheet)):
                defined.remove(item)
            elif last_row is not None:
                item.text = _RANGE_END.sub(lambda end: f"{end[1]}{min(int(end[2]), last_row)}", item.text or "")
    for number, other in enumerate(names):
        if other != sheet:
            hidden = {"name": _PRINT_NAMES[0], "localSheetId": str(number)}
            ElementTree.SubElement(defined, f"{space}definedName", hidden).text = f"{quoted_sheet(other)}!{_EMPTY}"
    return package.with_parts({book.part: ElementTree.tostring(root)})
