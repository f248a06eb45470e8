"""The rows of a table: out of a text, cut at its delimiter, or out of a sheet of a workbook file."""

from __future__ import annotations

import csv
import datetime
import io
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain, islice, repeat
from pathlib import Path
from typing import Any, Callable, Iterable, Iterator, List, Sequence, Tuple

from ..xlsx.errors import WorkbookFileError
from ..xlsx.files import read_file
from ..xlsx.package import Package
from ..xlsx.xml_parts import LONGEST_PROLOG, may_hold_entities
from .columns import Columns, delimiters_in, find_columns
from .errors import TwoReadingsError, WeatherFileError
from .model import Choice, Options, Progress
from .numbers import is_number
from .texts import WANTED, Lines, open_file, printable

#: How many rows at the start show the columns.
SAMPLE = 400
#: A sheet has no more rows; no table of weather has more columns.
MOST_ROWS, MOST_COLUMNS = 1_048_576, 2_000

Row = Tuple[int, List[str]]


@dataclass(frozen=True)
class Rows:
    """A table's rows from its first row of data on, as (line, fields), and its columns.

    kind : of file, in words. is_cut : called with the last row, whether it seems to end in the middle of a number.
    """

    rows: Iterable[Row]
    columns: Columns
    kind: str
    choices: tuple[Choice, ...] = ()
    is_cut: Callable[[Sequence[str]], bool] = lambda fields: False


# -- text ------------------------------------------------------------------------------------------------------


def rows_of_text(lines: Lines, sample: Sequence[str], rest: Iterable[str], options: Options) -> Rows:
    """Return the rows of a text; the first lines, the sample, show the columns."""
    name = lines.name
    refusal: WeatherFileError | None = None
    for delimiter in delimiters_in(sample):
        cut = [_cut(line, delimiter) for line in sample]
        try:
            columns = find_columns(cut, options.columns, name)
        except WeatherFileError as error:
            # The likeliest delimiter has the word, unless it found no table at all and another one did.
            if refusal is None or (not isinstance(refusal, TwoReadingsError) and isinstance(error, TwoReadingsError)):
                refusal = error
            continue
        kind = {"\t": "tabs", ";": "semicolons", "|": "bars", ",": "commas", "": "blanks"}[delimiter]
        data = chain(cut[columns.data_from :], map(_cut, rest, repeat(delimiter)))
        decimals = {_decimals(row[-1]) for row in cut[columns.data_from : -1] if row and is_number(row[-1])}
        usual = decimals.pop() if len(decimals) == 1 and columns.width - 1 in columns.at.values() else 0

        def is_cut(fields: Sequence[str], usual: int = usual) -> bool:
            return not lines.ends_whole and is_number(fields[-1]) and _decimals(fields[-1]) < usual

        return Rows(enumerate(data, start=columns.data_from + 1), columns, f"text with {kind}", is_cut=is_cut)
    assert refusal is not None
    raise refusal


def _decimals(text: str) -> int:
    """Return how many digits stand behind the point or comma of a number."""
    return len(text.strip().replace(",", ".").partition(".")[2])


def _cut(line: str, delimiter: str) -> list[str]:
    if '"' not in line or not delimiter:
        return line.split(delimiter or None)
    # Each line by itself: a quotation mark that is never closed must not swallow the lines after it.
    try:
        return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
    except (csv.Error, StopIteration):
        return [line]


# -- workbook files --------------------------------------------------------------------------------------------


def is_workbook(path: Path) -> bool:
    """Return whether a file is an archive, as workbook files are."""
    with open_file(path) as raw:
        return raw.read(4) == b"PK\3\4"


def rows_of_workbook(path: Path, options: Options, progress: Progress | None) -> Rows:
    """Return the rows of the one sheet of a workbook file that holds weather.

    Raises :class:`TwoReadingsError` where several could be meant, :class:`WeatherFileError` where none is.
    """
    # Only now: texts need none of it, and it is slow to load.
    import openpyxl

    with _in_one_line(path.name), warnings.catch_warnings():
        raw = read_file(path)
        _check(Package(raw, path.name))
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(io.BytesIO(raw), read_only=True, data_only=True)
    names = [sheet.title for sheet in book.worksheets]
    if options.sheet is not None and options.sheet not in names:
        raise WeatherFileError(
            f'{path.name} has no sheet "{printable(options.sheet)}", wanted one of {", ".join(names)}'
        )
    found: list[tuple[str, Columns]] = []
    refusal: WeatherFileError | None = None
    for name in names if options.sheet is None else [options.sheet]:
        sample = [fields for _, fields in islice(_sheet_rows(book[name], path.name), SAMPLE)]
        width = max(map(len, sample), default=0)
        try:
            columns = find_columns([_of_width(fields, width) for fields in sample], options.columns, path.name)
            found.append((name, columns))
        except WeatherFileError as error:
            if refusal is None or isinstance(error, TwoReadingsError):
                refusal = error
    if not found:
        raise refusal or WeatherFileError(f"{path.name} holds no sheet, {WANTED}")
    if len(found) > 1:
        shown = [name for name, _ in found]
        sheets = ", ".join(map(printable, shown))
        raise TwoReadingsError(
            f"{path.name} has weather on the sheets {sheets}, wanted --sheet with one of them", "sheet", shown
        )
    name, columns = found[0]
    why = "as you say" if options.sheet else "the only one with weather"
    choices = (Choice("sheet", printable(name), why),) if len(names) > 1 else ()
    rows = _sheet_rows(book[name], path.name, progress)
    # Notes to the right of a table belong to the sheet, not to the table.
    data = ((number, _of_width(fields, columns.width)) for number, fields in rows if number > columns.data_from)
    return Rows(data, columns, "workbook", choices)


def _check(package: Package) -> None:
    """Raise for an archive that is no workbook, or one with XML that could fill the memory."""
    if "[Content_Types].xml" not in package:
        raise WorkbookFileError(f"{package.name} is an archive, wanted the file that is in it")
    for part in package.names:
        if part.endswith((".xml", ".rels")) and may_hold_entities(package.read(part, LONGEST_PROLOG)):
            raise WorkbookFileError(f"{package.name} holds XML entities, which no workbook needs, {WANTED}")


def _of_width(fields: list[str], width: int) -> list[str]:
    return fields[:width] + [""] * (width - len(fields))


def _sheet_rows(sheet: Any, name: str, progress: Progress | None = None) -> Iterator[Row]:
    """Go over a sheet's rows as texts, without the blank cells at their ends."""
    total = sheet.max_row or 0
    with _in_one_line(name):
        sheet.reset_dimensions()  # what a file says of its own size may be wrong
        for number, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
            if number > MOST_ROWS or len(cells) > MOST_COLUMNS:
                raise WeatherFileError(f"{name} is larger than a sheet can be, {WANTED}")
            fields = [_as_text(cell) for cell in cells]
            while fields and not fields[-1]:
                fields.pop()
            yield number, fields
            if progress is not None and number % 2000 == 0:
                progress(number, max(total, number))


def _as_text(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime.datetime):
        # A spreadsheet's time of day is a fraction and may fall just short of the minute.
        return str((cell + datetime.timedelta(milliseconds=500)).replace(microsecond=0))
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell)


@contextmanager
def _in_one_line(name: str) -> Iterator[None]:
    try:
        yield
    except WeatherFileError:
        raise
    except WorkbookFileError as error:
        raise WeatherFileError(str(error)) from error
    except Exception as error:  # a stranger's file fails in many ways
        raise WeatherFileError(f"{name} is a broken workbook ({error}), {WANTED}") from error
