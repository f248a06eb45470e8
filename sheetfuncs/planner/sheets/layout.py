"""The small declarations a sheet is made of: columns, tables, settings, and what may be typed in a cell."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from typing import Any, Mapping, Sequence

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation


class Role(Enum):
    """Who fills a cell, and with what."""

    ENTRY = "you type"
    ANSWER = "answers"
    WORKING = "working: looked up for the answers, not to be typed over"
    TEXT = "what it rests on"


@dataclass(frozen=True)
class Rule:
    """What may be typed in a cell; anything else is refused with ``wanted``."""

    type: str
    first: str
    second: str | None = None
    wanted: str = ""

    def validation(self) -> DataValidation:
        """Return the rule as the workbook's own validation, still without cells."""
        made = DataValidation(
            type=self.type,
            operator=None if self.type == "list" else "between" if self.second else "greaterThanOrEqual",
            formula1=self.first,
            formula2=self.second,
            allow_blank=True,
            showErrorMessage=True,
            errorTitle="Please look again",
            error=f"Wanted: {self.wanted}",
        )
        return made


def one_of(*words: str) -> Rule:
    """Return the rule for one word out of a short list."""
    return Rule("list", '"' + ",".join(words) + '"', wanted="one of " + ", ".join(words))


def listed_in(cells: str, wanted: str) -> Rule:
    """Return the rule for a word that stands in a range of the workbook."""
    return Rule("list", cells, wanted=wanted)


def number_between(least: float, most: float, wanted: str) -> Rule:
    """Return the rule for a number."""
    return Rule("decimal", f"{least:g}", f"{most:g}", wanted)


def whole_between(least: int, most: int, wanted: str) -> Rule:
    """Return the rule for a whole number."""
    return Rule("whole", str(least), str(most), wanted)


#: 1 January 1850 is no spreadsheet date: records in sheets start in 1900.
A_DATE = Rule("date", "61", "109575", "a date of the years 1900 to 2199")
YES_NO = one_of("yes", "no")


@dataclass(frozen=True)
class Column:
    """One column of a table.

    formula : for answers; ``{key}`` stands for another column's cell in the same row, ``{above_key}`` for the cell
    above it.
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


def quoted(sheet: str) -> str:
    """Return a sheet's name as formulas spell it."""
    return f"'{sheet}'" if " " in sheet else sheet


@dataclass(frozen=True)
class Table:
    """A table on a sheet: one row of headings, then ``rows`` rows that are ready to be filled.

    first_column : number of the sheet's column in which it begins. beside : a table in the same rows, whose cells its
    formulas may name as well.
    """

    sheet: str
    heading_row: int
    rows: int
    columns: tuple[Column, ...]
    first_column: int = 1
    beside: Table | None = None

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

    def cells(self, first: str, last: str = "", sheet: bool = True) -> str:
        """Return the absolute range of one column, or of several side by side."""
        start, end = self.letter(first), self.letter(last or first)
        address = f"${start}${self.first_row}:${end}${self.last_row}"
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

    name : the defined name of the cell in use. default : a formula without its ``=``.
    """

    name: str
    label: str
    default: str
    note: str
    rule: Rule | None = None
    number_format: str = "General"
    typed: Any = None
    formula: str = 'IF({typed}="",{default},{typed})'


Values = Mapping[str, Any]
Lines = Sequence[Values]
