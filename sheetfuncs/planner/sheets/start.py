"""The sheet *Start*: is everything ready, what to fill in which order, how to read it, what to beware of."""

from __future__ import annotations

from collections.abc import Sequence

from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.worksheet import Worksheet

from ...functions.today import EDITION
from . import look, trees
from .layout import Answers, Page, Paper, Role, quoted
from .place import in_words
from .writing import FUNCTIONS_SAY, define, if_known, write_answers

NAME = "Start"
LAST_COLUMN = "C"

OLDER = "They are older than this workbook, and may not know its words: add them again after an update."
# NOW makes the cell work itself out when the book is opened, so that it shows a missing function at once.
_TRIED = "LATEST_PRUNE_DATE_BY_DAYS(DATE(2026,10,30),90+0*NOW())"
LOADED = (
    f'=IF(ISNUMBER({_TRIED}),IF(ISNUMBER(FUNCTIONS_EDITION({EDITION})),"Yes, they answer.","{OLDER}"),'
    f'"No: "&IFERROR(MID({_TRIED},8,99),'
    '"this program does not know them yet. What the sheets show is from the last time it did."))'
)

_KEYS = (
    ("Spreadsheet with the functions", "Ctrl+Alt+F9 in Excel, Ctrl+Shift+F9 in Calc: everything, once, after opening."),
    # Without its own Python an office has nothing of the extension that could say so.
    ("Installed, but no answer in Calc", "Start it from the desktop, not from a shell with a Python environment."),
    ("Without an office program", "sheetfuncs recalc BOOK.xlsx writes the answers into this very file."),
)

CAUTIONS = (
    "Fig sap on skin burns in sunlight: blisters within one or two days that take weeks to heal (NZ Med. J. 120(1259), "
    "2007; BMJ Case Reports, 2018). Wear gloves and long sleeves, wash sap off at once, keep out of the sun.",
    "Clean and disinfect the tools between trees.",
    "Ladders: firm ground, somebody near. Lift containers with help or a trolley.",
    "Ripening sprays are regulated: label and local rules decide; where they ask for a licensed applicator, call one.",
    "The dates are estimates from past seasons, not a promise. Local extension services and codes come first.",
)


def _advised(*words: str) -> str:
    return "+".join(f'COUNTIF(Tree_advice,"{word}*")' for word in words)


_NOW, _LATE, _WITHOUT = _advised(trees.SOON), _advised(*trees.LATE[:2]), _advised("Check:", "see ")
_GLANCE = (
    ("Trees listed", "COUNTA(Tree_tags)", look.PLAIN, ""),
    ("Cut", "COUNT(Tree_cut_dates)", look.PLAIN, "with a date under Cut on"),
    ("Cut now", _NOW, look.PLAIN, "the last date is a week away or less"),
    ("Late", _LATE, look.PLAIN, "the last date has gone by: a cut now is a bolder bet, or none"),
    ("Without buds", 'COUNTIF(Tree_advice,"No fig buds*")', look.PLAIN,
     "nothing to gain from a cut before buds are seen"),
    ("Not this year", _advised(trees.LATE[2]), look.PLAIN, "no cut ripens figs with the chance you want"),
    ("Without an answer", _WITHOUT, look.PLAIN, "the row says what is missing"),
    ("Visits to come", "COUNT(Visit_days)", look.PLAIN, "on Rounds"),
    ("Next visit", 'IF(COUNT(Visit_days)=0,"",MIN(Visit_days))', look.DATE_SHORT, "as late as its trees allow"),
    ("Expected to pick [kg]", "SUM(Tree_ripens)", look.TENTHS, "on Picking"),
)  # fmt: skip
_LEAD = (
    f'=IF(LEFT({FUNCTIONS_SAY},2)="No","What is below is old or missing. To have answers: sheetfuncs install calc; in '
    'Excel on Windows a .xlsm with macros; or sheetfuncs recalc BOOK.",'
    'IF(COUNTA(Tree_tags)=0,"Begin with the steps below: the weather, then the trees.",'
    f'IF({_NOW}>0,{_NOW}&IF({_NOW}=1," tree is"," trees are")&" to be cut this week. ",'
    f'IF({_WITHOUT}=COUNTA(Tree_tags),"","No tree has to be cut this week. "))'
    f'&IF({_LATE}>0,{_LATE}&IF({_LATE}=1," is"," are")&" late. ","")'
    f'&IF(COUNT(Visit_days)=0,"","Next visit: "&{in_words("MIN(Visit_days)")}&". ")'
    f'&IF({_WITHOUT}=0,"",{_WITHOUT}&" without an answer, see Trees.")))'
)
_LEGEND = (
    (Role.ENTRY, "you type", "coloured, with a frame: yours to fill"),
    (Role.ANSWER, "answer", "white: a formula, guarded; Unprotect needs no password"),
    ("late", "Late", "bold, framed, orange: the last date has gone by, or the season is too short for this tree"),
    ("soon", "Cut now", "blue: the last date is near"),
    ("check", "Check:", "bold, slanted, framed: something is missing or wrong; the line says what is wanted"),
)


def page(pages: Sequence[Page]) -> Page:
    """Return the sheet that leads through the other pages."""
    rows = 6 + len(pages) * 2 + len(_GLANCE) + len(_KEYS) + len(_LEGEND) + len(CAUTIONS) + 13
    return Page(
        name=NAME,
        title="When to tip each fig tree",
        purpose="The last date on which removing the shoot tips still pays, tree by tree, at the chance you want.",
        step="",
        last_column=LAST_COLUMN,
        paper=Paper(rows, landscape=False),
        widths={"A": 40, "B": 14, "C": 74},
        lead=_LEAD,
        more=lambda sheet, contents: _write_more(sheet, pages),
    )


def _write_more(sheet: Worksheet, pages: Sequence[Page]) -> None:
    row = 6
    define(sheet, FUNCTIONS_SAY, f"$B${row + 1}")
    for title, write in (
        ("Is everything ready?", _write_ready), ("The trees at a glance", _write_at_a_glance),
        ("What to fill, in this order", _write_steps), ("To recalculate", _write_keys),
        ("How to read the sheets", _write_legend), ("Cautions", _write_cautions),
    ):  # fmt: skip
        look.write_section(sheet, row, title, LAST_COLUMN)
        row = write(sheet, row + 1, pages) + 1
    for line in range(5, row):
        if sheet.row_dimensions[line].height is None:
            sheet.row_dimensions[line].height = look.ROW_HEIGHT


def _write_ready(sheet: Worksheet, row: int, pages: Sequence[Page]) -> int:
    look.write_text(sheet, f"A{row}", "Are the functions loaded?")
    look.write_text(sheet, f"B{row}", LOADED, look.BOLD_FONT, indent=1)
    look.mark(sheet, f"B{row}:C{row}", f'LEFT($B${row},3)<>"Yes"', "silent")
    checks = [
        (f"Lines that say Check: on {page.name}",
         "=" + "+".join(f'COUNTIF({cells},"Check:*")' for cells in page.checks()), look.PLAIN, "")
        for page in pages if page.checks()
    ]  # fmt: skip
    weather = ("Weather up to", '=IF(COUNT(Weather_dates)=0,"",MAX(Weather_dates))', look.DATE_LONG,
               "for later days past seasons stand in: add this season's as they come")  # fmt: skip
    write_answers(sheet, Answers(row + 1, [weather, *checks]))
    look.mark(sheet, f"B{row + 2}:B{row + 1 + len(checks)}", f"$B{row + 2}>0", "late")
    return row + 2 + len(checks)


def _write_at_a_glance(sheet: Worksheet, row: int, pages: Sequence[Page]) -> int:
    write_answers(sheet, Answers(row, [(label, if_known(count), *rest) for label, count, *rest in _GLANCE]))
    return row + len(_GLANCE)


def _write_steps(sheet: Worksheet, row: int, pages: Sequence[Page]) -> int:
    for line, page in enumerate(pages, start=row):
        look.write_text(sheet, f"A{line}", f"{line - row + 1}  {page.name}", look.LINK_FONT)
        sheet[f"A{line}"].hyperlink = Hyperlink(
            ref=f"A{line}", location=f"{quoted(page.name)}!A1", display=page.name
        )  # fmt: skip
        look.write_text(sheet, f"B{line}", page.step, indent=1)
    return row + len(pages)


def _write_keys(sheet: Worksheet, row: int, pages: Sequence[Page]) -> int:
    for line, (label, what) in enumerate(_KEYS, start=row):
        look.write_text(sheet, f"A{line}", label)
        look.write_text(sheet, f"B{line}", what, indent=1)
    return row + len(_KEYS)


def _write_legend(sheet: Worksheet, row: int, pages: Sequence[Page]) -> int:
    for line, (role, word, what) in enumerate(_LEGEND, start=row):
        cell = sheet[f"A{line}"]
        look.dress(cell, role if isinstance(role, Role) else Role.ANSWER, align="center")
        if isinstance(role, str):
            look.dress_as_marked(cell, role)
        cell.value = word
        look.write_text(sheet, f"B{line}", what, indent=1)
    return row + len(_LEGEND)


def _write_cautions(sheet: Worksheet, row: int, pages: Sequence[Page]) -> int:
    for line, text in enumerate(CAUTIONS, start=row):
        sheet.merge_cells(f"A{line}:C{line}")
        look.write_text(sheet, f"A{line}", text, wrap=True)
        sheet.row_dimensions[line].height = 28 if len(text) > 120 else look.ROW_HEIGHT
    return row + len(CAUTIONS)
