"""The sheet *Start*: is everything in place, what to fill in which order, how to read it, what to beware of."""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.worksheet import Worksheet

from . import flush, kinds, log, look, looking_back, picking, place, positions, rounds, season, trees, weather, winter
from .contents import Contents
from .layout import Role, quoted

NAME = "Start"
LAST_COLUMN = "C"

# NOW makes the cell work itself out when the book is opened, so that it tells of a missing function at once.
LOADED = (
    "=IF(ISNUMBER(LATEST_PRUNE_DATE_BY_DAYS(DATE(2026,10,30),90+0*NOW())),"
    '"Yes, they answer.",'
    '"No: this program does not know them yet. What the sheets show is from the last time it did.")'
)

_STEPS = (
    (place.NAME, "Type the season, the unit, the chance you want, and the first frost dates if you know better ones."),
    (weather.NAME, "Paste the station's daily lows and highs, or the twelve monthly means; add days as they come."),
    (positions.NAME, "Say how much warmer or colder your walls, covers, tunnels and hollows are."),
    (kinds.NAME, "Check the heat needs; type your own, take the log's, add kinds of your own."),
    (trees.NAME, "List the trees, one a row. Through summer: leaves, buds, the cut. Change Today on Place each week."),
    (rounds.NAME, "Print who is cut on which visit, and tick off; then type the cuts on Trees."),
    (season.NAME, "See how far the season has come, what moved, and each tree from cut to picking."),
    (picking.NAME, "See the kilograms week by week, and what is likely to be lost."),
    (flush.NAME, "In a long season or under cover: would the shoots of a hard cut ripen figs?"),
    (winter.NAME, "Dates for shelter, wrapping, coming out, and cuttings."),
    (log.NAME, "Write one line a tree and year when its figs are ripe: next year's heat needs come from it."),
    (looking_back.NAME, "See what past seasons would have been told, what came, and whether the chances held."),
)

_FORMATS = {"Next visit": look.DATE_SHORT, "Expected to pick [kg]": look.TENTHS}

_KEYS = (
    ("Spreadsheet with the functions", "Ctrl+Alt+F9 in Excel, Ctrl+Shift+F9 in Calc: everything, once, after opening."),
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


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet; the sheets it counts must have been named in the workbook by the end."""
    sheet = workbook.create_sheet(NAME, 0)
    for letter, width in (("A", 32), ("B", 14), ("C", 74)):
        sheet.column_dimensions[letter].width = width
    look.write_top(
        sheet,
        "When to tip each fig tree",
        "The last date on which removing the shoot tips still pays, tree by tree, at the chance you want.",
        contents.banner,
        LAST_COLUMN,
    )
    row = _write_in_place(sheet, 5)
    row = _write_at_a_glance(sheet, row + 1)
    row = _write_steps(sheet, row + 1)
    row = _write_keys(sheet, row + 1)
    row = _write_legend(sheet, row + 1)
    row = _write_cautions(sheet, row + 1)
    for line in range(5, row):
        if sheet.row_dimensions[line].height is None:
            sheet.row_dimensions[line].height = look.ROW_HEIGHT
    sheet.freeze_panes = "A4"
    look.set_up_print(sheet, contents.banner, f"A1:{LAST_COLUMN}{row - 1}", landscape=False)


def _answer(sheet: Worksheet, address: str, formula: str, number_format: str = look.PLAIN) -> None:
    look.dress(sheet[address], Role.ANSWER, number_format, "center")
    sheet[address].value = formula


def _write_in_place(sheet: Worksheet, row: int) -> int:
    look.write_section(sheet, row, "Is everything in place?", LAST_COLUMN)
    look.write_text(sheet, f"A{row + 1}", "Are the functions loaded?")
    look.write_text(sheet, f"B{row + 1}", LOADED, look.BOLD_FONT, indent=1)
    look.mark(sheet, f"B{row + 1}:C{row + 1}", f'LEFT($B${row + 1},2)="No"', "late")
    checks = (
        (place.NAME, f'COUNTIF({place.CHECKED},"Check:*")'),
        (positions.NAME, f'COUNTIF({positions.TABLE.cells("climate", "end")},"Check:*")'),
        (kinds.NAME, f'COUNTIF({kinds.TABLE.cells("need_in_use", "latest")},"Check:*")'),
        (trees.NAME, 'COUNTIF(Tree_advice,"Check:*")'),
        (rounds.NAME, 'COUNTIF(Tree_visits,"Check:*")'),
    )
    row += 2
    for name, count in checks:
        look.write_text(sheet, f"A{row}", f"Lines that say Check: on {name}")
        _answer(sheet, f"B{row}", f"={count}")
        look.mark(sheet, f"B{row}", f"$B${row}>0", "late")
        row += 1
    return row


def _write_at_a_glance(sheet: Worksheet, row: int) -> int:
    look.write_section(sheet, row, "The trees at a glance", LAST_COLUMN)
    lines = (
        ("Trees listed", "=COUNTA(Tree_tags)", ""),
        ("Cut", "=COUNT(Tree_cut_dates)", "with a date under Cut on"),
        ("Cut now", '=COUNTIF(Tree_advice,"Cut now*")', "the last date is a week away or less"),
        ("Late", '=COUNTIF(Tree_advice,"Late*")+COUNTIF(Tree_advice,"Too late*")',
         "the last date has gone by: a cut now is a bolder bet, or none"),
        ("Without buds", '=COUNTIF(Tree_advice,"No fig buds*")', "nothing to gain from a cut before buds are seen"),
        ("Not this year", '=COUNTIF(Tree_advice,"Not this*")', "the last date lies before the tree may be cut"),
        ("Visits to come", "=COUNT(Visit_days)", "on Rounds"),
        ("Next visit", '=IF(COUNT(Visit_days)=0,"",MIN(Visit_days))', "as late as its trees allow"),
        ("Expected to pick [kg]", "=SUM(Tree_ripens)", "on Picking"),
    )
    for offset, (label, formula, note) in enumerate(lines, start=1):
        look.write_text(sheet, f"A{row + offset}", label)
        _answer(sheet, f"B{row + offset}", formula, _FORMATS.get(label, look.PLAIN))
        look.write_text(sheet, f"C{row + offset}", note, look.NOTE_FONT, indent=1)
    return row + len(lines) + 1


def _write_steps(sheet: Worksheet, row: int) -> int:
    look.write_section(sheet, row, "What to fill, in this order", LAST_COLUMN)
    for number, (name, what) in enumerate(_STEPS, start=1):
        line = row + number
        look.write_text(sheet, f"A{line}", f"{number}  {name}", look.LINK_FONT)
        sheet[f"A{line}"].hyperlink = Hyperlink(ref=f"A{line}", location=f"{quoted(name)}!A1", display=name)
        look.write_text(sheet, f"B{line}", what, indent=1)
    return row + len(_STEPS) + 1


def _write_keys(sheet: Worksheet, row: int) -> int:
    look.write_section(sheet, row, "To recalculate", LAST_COLUMN)
    for offset, (label, what) in enumerate(_KEYS, start=1):
        look.write_text(sheet, f"A{row + offset}", label)
        look.write_text(sheet, f"B{row + offset}", what, indent=1)
    return row + len(_KEYS) + 1


def _write_legend(sheet: Worksheet, row: int) -> int:
    look.write_section(sheet, row, "How to read the sheets", LAST_COLUMN)
    lines = (
        (Role.ENTRY, "you type", "coloured, with a frame: yours to fill"),
        (Role.ANSWER, "answer", "white: a formula, guarded; Unprotect needs no password"),
        (Role.WORKING, "working", "grey, small: looked up for the answers"),
        ("late", "Late", "bold, framed, orange: the last date has gone by, or the season is too short for this tree"),
        ("soon", "Cut now", "blue: the last date is near"),
        ("check", "Check:", "bold, slanted, framed: something is missing or wrong; the line says what is wanted"),
    )
    for offset, (role, word, what) in enumerate(lines, start=1):
        cell = sheet[f"A{row + offset}"]
        look.dress(cell, role if isinstance(role, Role) else Role.ANSWER, align="center")
        if isinstance(role, str):
            look.dress_as_marked(cell, role)
        cell.value = word
        look.write_text(sheet, f"B{row + offset}", what, indent=1)
    return row + len(lines) + 1


def _write_cautions(sheet: Worksheet, row: int) -> int:
    look.write_section(sheet, row, "Cautions", LAST_COLUMN)
    for offset, line in enumerate(CAUTIONS, start=1):
        sheet.merge_cells(f"A{row + offset}:C{row + offset}")
        look.write_text(sheet, f"A{row + offset}", line, wrap=True)
        sheet.row_dimensions[row + offset].height = look.ROW_HEIGHT if len(line) < 115 else 31
    return row + len(CAUTIONS) + 1
