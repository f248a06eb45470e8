"""The sheet *Trees* as a short table on the terminal."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from ..cells.dates import short
from ..cells.errors import printable
from ..functions.arguments import chance_text
from ..planner.sheets import trees
from ..xlsx import read_values

#: Columns of the sheet that fit a terminal, by their keys there.
SHOWN = ("tag", "kind", "footing", "position", "latest", "first_ripe", "last_ripe", "chance", "share", "advice")
#: How wide the columns of words may be; those of dates and shares fit 9 letters.
WIDTHS = {"kind": 14, "position": 15, "advice": 52}


def print_trees(book: Path) -> None:
    """Print the trees of a workbook: what is typed and what is answered."""
    cells = read_values(book)[trees.NAME]
    layout = trees.table(1)
    headings = {column.key: column.heading for column in layout.columns}
    table = Table(box=box.SIMPLE, pad_edge=False, show_edge=False)
    for key in SHOWN:
        right = key in ("chance", "share")
        table.add_column(
            headings[key], justify="right" if right else "left", max_width=WIDTHS.get(key, 9), overflow="fold"
        )
    row = layout.first_row
    while (tag := cells.get(f"{layout.letter('tag')}{row}")) not in (None, ""):
        words = (_word(key, cells.get(f"{layout.letter(key)}{row}")) for key in SHOWN[1:])
        table.add_row(*(Text(printable(word)) for word in (str(tag), *words)))
        row += 1
    Console(width=None if Console().is_terminal else 150).print(table)


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
