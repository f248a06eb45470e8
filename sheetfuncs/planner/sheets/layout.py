"""What a sheet is declared by: its page, tables, columns, settings, and what may be typed in a cell.

A sheet of the workbook is one :class:`Page`. What builds, carries, prints and counts goes over the pages, so that a
new sheet is described in its own module alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property
from typing import TYPE_CHECKING, Any

from openpyxl.utils import get_column_letter

from .rules import Rule

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

    from .contents import Contents


class Role(Enum):
    """Who fills a cell, and with what."""

    ENTRY = "you type"
    ANSWER = "answers"
    WORKING = "working: looked up for the answers, not to be typed over"
    TEXT = "what it rests on"


@dataclass(frozen=True)
class Column:
    """One column of a table.

    formula : for answers; ``{key}`` stands for another column's cell in the same row, ``{above_key}`` for the cell
    above it. formerly : the heading in an earlier edition. of_season : a day that moves on with the season.
    array : one formula fills the whole column.
    """

    key: str
    heading: str
    width: float
    role: Role
    number_format: str = "General"
    formula: str = ""
    rule: Rule | None = None
    align: str = "left"
    wrap: bool = False
    shrink: bool = False
    formerly: str = ""
    of_season: bool = False
    array: bool = False


def entry(
    key: str, heading: str, width: float, rule: Rule | None, number_format: str = "General", align: str = "center",
    formerly: str = "", of_season: bool = False, wrap: bool = False,
) -> Column:  # fmt: skip
    """Return a column in which one types; a text that is too long is written smaller, or wrapped."""
    shrink = align == "left" and not wrap
    return Column(key, heading, width, Role.ENTRY, number_format, "", rule, align, wrap, shrink, formerly, of_season)


def answer(
    key: str, heading: str, width: float, number_format: str, formula: str, align: str = "center", wrap: bool = False
) -> Column:
    """Return a column of answers; what is too long is written smaller, or wrapped."""
    return Column(key, heading, width, Role.ANSWER, number_format, formula, None, align, wrap, shrink=not wrap)


def words(key: str, heading: str, width: float, formula: str) -> Column:
    """Return a column of answers in words."""
    return answer(key, heading, width, "General", formula, "left")


def working(key: str, heading: str, formula: str, number_format: str = "General", array: bool = False) -> Column:
    """Return a column of what is looked up for the answers, out of sight."""
    # To the left: what is too long for a hidden cell would show in the blank ones before it.
    return Column(key, heading, 10, Role.WORKING, number_format, formula, array=array)


def quoted(sheet: str) -> str:
    """Return a sheet's name as formulas spell it."""
    return f"'{sheet}'" if " " in sheet else sheet


@dataclass(frozen=True)
class Table:
    """A table on a sheet: one row of headings, then ``rows`` rows that are ready to be filled.

    first_column : number of the sheet's column in which it begins. beside : a table in the same rows, whose cells its
    formulas may name as well. heading_name : name of the cell above its first row, from which rows are counted.
    names : columns by the names other sheets know them by. named_by : the columns that name a row; with them what is
    typed is carried into next year's book. checked : the first and the last column that may say ``Check:``.
    filled : the lines it holds of a workbook's contents. formerly : the sheet's name in an earlier edition.
    from_top : its names begin in the sheet's first row, so that functions number lines as the sheet does.
    filter_to : the last column that can be filtered. Programs take the buttons' room from the cells' texts, so that
    the headings are shown in the row above, too, where no button narrows them.
    """

    sheet: str
    heading_row: int
    rows: int
    columns: tuple[Column, ...]
    first_column: int = 1
    beside: Table | None = None
    heading_name: str = ""
    names: Mapping[str, str] = field(default_factory=dict)
    named_by: tuple[str, ...] = ()
    checked: tuple[str, str] | None = None
    filled: Callable[[Contents], Lines] | None = None
    formerly: str = ""
    row_height: float = 0
    from_top: bool = False
    filter_to: str = ""

    @property
    def shown_row(self) -> int:
        """The row in which the headings are read."""
        return self.heading_row - 1 if self.filter_to else self.heading_row

    @property
    def first_row(self) -> int:
        """The first row below the headings."""
        return self.heading_row + 1

    @property
    def last_row(self) -> int:
        """The last row that is ready."""
        return self.heading_row + self.rows

    @cached_property
    def letters(self) -> dict[str, str]:
        """The letter of each column by its key."""
        numbers = range(self.first_column, self.first_column + len(self.columns))
        return {column.key: get_column_letter(number) for column, number in zip(self.columns, numbers)}

    def number(self, key: str) -> int:
        """Return the number of a column on its sheet."""
        return list(self.letters).index(key) + self.first_column

    def letter(self, key: str) -> str:
        """Return the letter of a column."""
        return self.letters[key]

    def cells(self, first: str, last: str = "", sheet: bool = True, from_top: bool = False) -> str:
        """Return the absolute range of one column, or of several side by side; from the sheet's first row if so."""
        start, end = self.letter(first), self.letter(last or first)
        address = f"${start}${1 if from_top else self.first_row}:${end}${self.last_row}"
        return f"{quoted(self.sheet)}!{address}" if sheet else address

    def formula(self, column: Column, row: int) -> str:
        """Return the formula of a column in one row."""
        return "=" + column.formula.format_map(_Cells(self, row))


class _Cells(dict[str, str]):
    """The cells that a formula of one row can name: its row's, those ``above_``, and those of the table beside."""

    def __init__(self, table: Table, row: int) -> None:
        super().__init__()
        self._table, self._row = table, row

    def __missing__(self, key: str) -> str:
        letters, above = self._table.letters, key[len("above_") :] if key.startswith("above_") else ""
        if key in letters:
            return f"${letters[key]}{self._row}"
        if above in letters:
            return f"${letters[above]}{self._row - 1}"
        if self._table.beside is None:
            raise KeyError(key)
        return f"${self._table.beside.letters[key]}{self._row}"


@dataclass(frozen=True)
class Setting:
    """One line of settings: what the user types, and what is in use (the default where nothing is typed).

    name : the defined name of the cell in use. default : a formula without its ``=``. formula : of what is in use,
    where it is more than the default or what fits the rule.
    """

    name: str
    label: str
    default: str
    note: str
    rule: Rule | None = None
    number_format: str = "General"
    formula: str = ""
    of_season: bool = True

    def in_use(self, cell: str) -> str:
        """Return the formula of what is in use, for the cell in which one types."""
        # The formula may hold the default more than once, and the default may hold the typed cell.
        typed = self.rule.checked("{typed}", self.label.partition(",")[0]) if self.rule else "{typed}"
        formula = self.formula or f'IF({{typed}}="",{{default}},{typed})'
        return formula.replace("{default}", self.default).replace("{typed}", cell)


@dataclass(frozen=True)
class Settings:
    """Settings under a title, one a row: the columns of what is typed, what is in use, and the note.

    letters_a_line : how many letters of a note fit a line. folded : their rows are out of sight until one unfolds them.
    """

    row: int
    title: str
    lines: tuple[Setting, ...]
    typed: str = "B"
    used: str = "C"
    note: str = "D"
    note_end: str = "E"
    letters_a_line: int = 100
    folded: bool = False

    def row_of(self, name: str) -> int:
        """Return the row of a setting."""
        return self.row + 1 + [line.name for line in self.lines].index(name)

    @property
    def cells(self) -> str:
        """The cells of what is in use, without their sheet."""
        return f"${self.used}${self.row + 1}:${self.used}${self.row + len(self.lines)}"


@dataclass(frozen=True)
class Paper:
    """How a sheet prints: the last row, the row of headings, and on one page but where it has a scale.

    scale : in hundredths, instead of a fit: programs that fit pages pass over the breaks between them.
    breaks : the rows after which a page ends.
    """

    last_row: int
    heading_row: int | None = None
    landscape: bool = True
    scale: int | None = None
    breaks: tuple[int, ...] = ()


@dataclass(frozen=True)
class Answers:
    """Answers one a row: a label in column A, the formula, its format, a note beside it, and its name if it has one.

    column, last : of the formula; cells up to the last one are one.
    """

    row: int
    lines: Sequence[Sequence[str]]
    column: str = "B"
    last: str = ""


@dataclass(frozen=True)
class Page:
    """One sheet of the workbook.

    step : what Start says of it. last_column : where its page ends. checked : cells outside tables and settings that
    may say ``Check:``. notes : lines in column A by their row. lead : the bold line below the top. sections : titles by
    their row, with a line under them. more : writes what is none of these.
    """

    name: str
    title: str
    purpose: str
    step: str
    last_column: str
    paper: Paper
    settings: tuple[Settings, ...] = ()
    tables: tuple[Table, ...] = ()
    widths: Mapping[str, float] = field(default_factory=dict)
    notes: Mapping[int, str] = field(default_factory=dict)
    checked: tuple[str, ...] = ()
    freeze: str = "A4"
    lead: str = ""
    sections: Mapping[int, str] = field(default_factory=dict)
    answers: tuple[Answers, ...] = ()
    more: Callable[[Worksheet, Contents], None] | None = None

    def checks(self) -> list[str]:
        """Return the ranges of the sheet whose lines may say ``Check:``."""
        tables = [table.cells(*table.checked) for table in self.tables if table.checked]
        others = [*(settings.cells for settings in self.settings), *self.checked]
        return tables + [f"{quoted(self.name)}!{cells}" for cells in others]


Values = Mapping[str, Any]
Lines = Sequence[Values]
