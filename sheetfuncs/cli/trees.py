"""Tables for the terminal: the trees of a workbook, and the work of a week. 80 columns suffice; no word is broken."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..cells.dates import short
from ..functions.arguments import chance_text
from ..planner.sheets import trees
from ..xlsx import read_sheet
from ..xlsx.inputs import open_book
from ..xlsx.references import column_letters, read_cell_name
from ..xlsx.sheet import scan
from .show import print_table, say, width

if TYPE_CHECKING:
    from ..planner.week import Week

#: Columns of the sheet in 80 letters, by their keys there, and those that a wide terminal shows as well.
NARROW = ("tag", "kind", "position", "latest", "chance", "advice")
WIDE = ("tag", "kind", "grown_in", "position", "latest", "first_ripe", "last_ripe", "chance", "share", "advice")
WIDE_FROM = 132
HEADING_ROWS = 40
#: More rows of trees than this are left to the sheet.
MOST_ROWS = 60
#: How wide a column is at most [letters]; the last takes what is left.
WIDTHS = {"tag": 10, "kind": 12, "position": 14, "latest": 8, "first_ripe": 9, "last_ripe": 9, "chance": 6, "share": 9}
HEADINGS = {"latest": "Last cut", "chance": "Chance"}


def print_trees(book: Path) -> None:
    """Print the trees of a workbook made from the template: what is typed and what is answered; of others nothing."""
    cells = read_sheet(book, trees.NAME)
    row, letters = _headings(cells)
    rows = []
    first = row + 1
    while "tag" in letters and cells.get(f"{letters['tag']}{row + 1}") not in (None, ""):
        row += 1
        rows.append({key: cells.get(f"{letters[key]}{row}") if key in letters else None for key in WIDE})
    if not rows:
        return
    keys = WIDE if width() >= WIDE_FROM else NARROW
    headings = {column.key: column.heading for column in trees.table(1).columns}
    headings.update(HEADINGS if keys == NARROW else {})
    shown = ([_word(key, line[key]) for key in keys] for line in rows[:MOST_ROWS])
    print_table([headings[key] for key in keys], shown, [WIDTHS.get(key) for key in keys])
    if len(rows) > MOST_ROWS:
        say(f"… and {len(rows) - MOST_ROWS:,} trees more, on the sheet {trees.NAME}.")
    for name in _typed_over(book, letters, range(first, row + 1)):
        found = f": {_word('', cells[name])}" if name in cells else ""
        say(f"{trees.NAME}!{name} has lost its formula{found}. Copy the cell of another row over it.")


def _typed_over(book: Path, letters: Mapping[str, str], rows: range) -> list[str]:
    """Return the cells of answers to listed trees that hold no formula any more."""
    content = open_book(book).book
    part = next(sheet.part for sheet in content.sheets if sheet.name == trees.NAME)
    scanned = scan(content.package.read(part), trees.NAME, part, book.name)
    formulas = {(cell.row, cell.column) for cell in scanned.formulas}
    answers = [letters[column.key] for column in trees.table(1).columns if column.formula and column.key in letters]
    names = (f"{letter}{row}" for row in rows for letter in answers)
    return [name for name in names if read_cell_name(name) not in formulas]


def _headings(cells: Mapping[str, Any]) -> tuple[int, dict[str, str]]:
    """Return the row of the headings, and the letters of the columns by key; the row is the last that has the most."""
    keys = {column.heading: column.key for column in trees.table(1).columns}
    keys.update({column.formerly: column.key for column in trees.table(1).columns if column.formerly})
    rows: dict[int, dict[str, str]] = {}
    for name, value in cells.items():
        row, column = read_cell_name(name)
        if isinstance(value, str) and value in keys and row <= HEADING_ROWS:
            rows.setdefault(row, {}).setdefault(keys[value], column_letters(column))
    return max(rows.items(), key=lambda item: (len(item[1]), item[0]), default=(0, {}))


def print_week(week: Week) -> None:
    """Print the work of a week, and what to beware of."""
    from ..planner.week import CAUTIONS, HEADINGS

    for line in (week.title, week.banner, week.summary):
        if line:
            say(line)
    if week.tasks:
        print_table(HEADINGS, (task.words for task in week.tasks), [6, 16, None, 6, 7])
    for line in (*week.notes, "", *CAUTIONS):
        say(line, wrap=True)


def _word(key: str, value: Any) -> str:
    if value is None:
        return ""
    if key == "chance" and isinstance(value, (int, float)):
        return chance_text(value)
    if key == "share" and isinstance(value, (int, float)):
        return f"{value:.0%}"
    if isinstance(value, date):
        return short(value)
    return str(value)
