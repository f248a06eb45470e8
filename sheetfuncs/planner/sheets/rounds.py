"""The sheet *Rounds*: who is cut on which visit; a list to print and tick off."""

from __future__ import annotations

from openpyxl import Workbook

from . import look
from .contents import Contents
from .layout import Column, Role, Setting, Table, number_between
from .writing import Block, define, write_lines, write_settings, write_table

NAME = "Rounds"
HEADING_NAME = "Round_heading"
VISITS_READY = 40
_BLOCK = Block(typed="D", used="E", note="F", note_end="P", letters_a_line=130)

SETTINGS = (
    Setting("Minutes_a_tree", "Minutes to cut a tree", '""',
            "Needed with minutes a day; a tree's own stand on Trees. Cleaning the tools between trees counts.",
            number_between(0.1, 1440, "minutes such as 20")),
    Setting("Minutes_a_day", "Minutes you have on one day", '""',
            "Blank: no limit. With one, a tree may get no day; Trees says which day would be how many minutes over.",
            number_between(0.1, 1440, "minutes such as 240")),
)  # fmt: skip
_COUNTS_ROW = 9
HEADING_ROW = 14


def _of_tree(name: str) -> str:
    return f'IF({{line}}="","",INDEX({name},{{line}}))'


def _text_of_tree(name: str) -> str:
    return f'IF({{line}}="","",INDEX({name},{{line}})&"")'


def working(rows: int) -> Table:
    """Return what is looked up for the list, to the right of what is printed."""
    return Table(sheet=NAME, heading_row=HEADING_ROW, rows=rows, first_column=18, columns=(
        Column("line", "Line on Trees", 12, Role.WORKING, align="center", formula=(
            f'IF(ROW()-ROW({HEADING_NAME})>COUNT(Tree_visit_keys),"",'
            f"MATCH(SMALL(Tree_visit_keys,ROW()-ROW({HEADING_NAME})),Tree_visit_keys,0))")),
        Column("ready", "From", 12, Role.WORKING, look.DATE_SHORT, align="center", formula=_of_tree("Tree_round_from")),
    ))  # fmt: skip


def table(rows: int) -> Table:
    """Return the list: one row a tree still to be cut, in the order of the visits."""
    short, answer = look.DATE_SHORT, Role.ANSWER
    return Table(sheet=NAME, heading_row=HEADING_ROW, rows=rows, beside=working(rows), columns=(
        Column("number", "Visit", 6, answer, look.WHOLE, align="center", formula=(
            'IF({line}="","",MATCH({day},Visit_days,0))')),
        Column("day", "On", 9, answer, short, align="center", formula=_of_tree("Tree_visits")),
        Column("tag", "Tag", 10, answer, formula=_text_of_tree("Tree_tags")),
        Column("kind", "Kind", 15, answer, formula=_text_of_tree("Tree_kinds")),
        Column("position", "Position", 17, answer, formula=_text_of_tree("Tree_positions")),
        Column("shoots", "Shoots", 7, answer, align="center", formula=_text_of_tree("Tree_shoots")),
        Column("what", "What", 27, answer, formula=(
            'IF({line}="","",IF(INDEX(Tree_buds,{line})="yes","cut","look for fig buds; then cut"))')),
        Column("node", "Above node", 7, answer, look.WHOLE, align="center", formula=_of_tree("Tree_nodes")),
        Column("latest", "Last cut date", 9, answer, short, align="center", formula=_of_tree("Tree_last_dates")),
        Column("done", "Done", 8, answer),
    ))  # fmt: skip


def visits(rows: int) -> Table:
    """Return the visits beside the list: one row a day."""
    short, answer = look.DATE_SHORT, Role.ANSWER
    days, ready = table(rows).cells("day", sheet=False), working(rows).cells("ready", sheet=False)
    before = "IF(ISNUMBER({above_day}),{above_day},0)"
    return Table(sheet=NAME, heading_row=HEADING_ROW, rows=min(rows, VISITS_READY), first_column=12, columns=(
        Column("number", "Visit", 8, answer, look.WHOLE, align="center", formula=(
            f'IF({{day}}="","",ROW()-ROW({HEADING_NAME}))')),
        Column("day", "On", 9, answer, short, align="center", formula=(
            f'IF({{above_day}}="","",IF(COUNTIF(Tree_visits,">"&{before})=0,"",'
            f'SMALL(Tree_visits,COUNTIF(Tree_visits,"<="&{before})+1)))')),
        Column("earliest", "or any day from", 9, answer, short, align="center", formula=(
            f'IF({{day}}="","",INDEX({ready},MATCH({{day}},{days},0)+{{trees}}-1))')),
        Column("trees", "Trees", 7, answer, look.WHOLE, align="center", formula=(
            'IF({day}="","",COUNTIF(Tree_visits,{day}))')),
        Column("minutes", "Minutes", 9, answer, look.WHOLE, align="center", formula=(
            'IF({day}="","",IF(SUMIF(Tree_visits,{day},Tree_minutes)=0,"",SUMIF(Tree_visits,{day},Tree_minutes)))')),
    ))  # fmt: skip


_COUNTS = (
    ("Trees in the rounds", "=COUNT(Tree_visits)", look.WHOLE, "not cut yet, and not late"),
    ("Visits", "=COUNT(Visit_days)", look.WHOLE, "each is held as late as its trees allow, so that buds have time"),
    ("Trees no day has room for", '=COUNTIF(Tree_visits,"Check:*")', look.WHOLE,
     "Round on, on Trees, says by how many minutes"),
)  # fmt: skip


def write(workbook: Workbook, contents: Contents, rows: int) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    trees, days = table(rows), visits(rows)
    last = days.letter("minutes")
    look.write_top(
        sheet, "Rounds",
        "The fewest visits that reach each tree between ready and last date: print, and tick off. Shoots longer than "
        "the node are cut above it, of shorter ones the tip alone.",
        contents.banner, last,
    )  # fmt: skip
    write_settings(workbook, sheet, 5, "Time", SETTINGS, contents, _BLOCK)
    look.write_section(sheet, _COUNTS_ROW - 1, "Rounds to come", last)
    write_lines(sheet, _COUNTS_ROW, _COUNTS, "E")
    look.mark(sheet, f"E{_COUNTS_ROW + 2}", f"$E${_COUNTS_ROW + 2}>0", "late")
    for part in (trees, days, working(rows)):
        write_table(sheet, part)
    define(workbook, HEADING_NAME, f"{NAME}!$A${HEADING_ROW}")
    define(workbook, "Visit_days", days.cells("day"))
    sheet.column_dimensions["K"].width = sheet.column_dimensions["Q"].width = 3
    first = trees.first_row
    begins = f'AND($A{first}<>"",$A{first}<>$A{first - 1})'
    look.mark(sheet, trees.cells("number", "done", sheet=False), begins, "part")
    sheet.freeze_panes = f"A{trees.first_row}"
    look.set_up_print(sheet, contents.banner, f"A1:{last}{trees.last_row}", HEADING_ROW)
