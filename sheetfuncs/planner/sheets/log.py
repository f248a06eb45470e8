"""The sheet *Log*: one line a tree and year, from which the heat needs of the kinds are learned."""

from __future__ import annotations

from openpyxl import Workbook

from . import kinds, look, positions
from .contents import Contents
from .layout import A_DATE, Column, Role, Table, listed_in, number_between, whole_between
from .writing import define, write_table

NAME = "Log"
#: Twenty-five years of forty trees. An empty line costs next to nothing, in the file and when it is recalculated.
ROWS = 1000
#: Lines that are only ready are no pages to print.
_PRINTED = 200

_DATED = {"rule": A_DATE, "align": "center"}


HEADING_ROW = 6
#: Numbers each kind at a position at its first line with a ripe fig, in the order of the log.
_PAIR = (
    'IF(OR({{kind}}="",{{position}}="",NOT(ISNUMBER({{first_ripe}}))),"",'
    "IF(COUNTIFS($C${row}:{{above_kind}},{{kind}},$D${row}:{{above_position}},{{position}},"
    '$G${row}:{{above_first_ripe}},">0")=0,MAX(0,${pair}${row}:{{above_pair}})+1,""))'
).format(row=HEADING_ROW, pair="O")


TABLE = Table(
    sheet=NAME,
    heading_row=HEADING_ROW,
    rows=ROWS,
    columns=(
        Column("tag", "Tag", 9, Role.ENTRY, look.TEXT),
        Column("year", "Year", 7, Role.ENTRY, look.WHOLE, rule=whole_between(1900, 2150, "a year such as 2026"),
               align="center"),
        Column("kind", "Kind", 15, Role.ENTRY, look.TEXT,
               rule=listed_in(kinds.TABLE.cells("name"), "a kind from the sheet Kinds")),
        Column("position", "Position", 16, Role.ENTRY, look.TEXT,
               rule=listed_in(positions.TABLE.cells("name"), "a position from the sheet Positions")),
        Column("cut_on", "Cut on", 13, Role.ENTRY, look.DATE_LONG, **_DATED),
        Column("seen_on", "Figs seen on", 13, Role.ENTRY, look.DATE_LONG, **_DATED),
        Column("first_ripe", "First fig ripe", 13, Role.ENTRY, look.DATE_LONG, **_DATED),
        Column("last_ripe", "Last fig ripe", 13, Role.ENTRY, look.DATE_LONG, **_DATED),
        Column("kilograms", "Picked [kg]", 9, Role.ENTRY, look.TENTHS, align="center",
               rule=number_between(0, 10000, "kilograms such as 4.5")),
        Column("note", "Note", 34, Role.ENTRY, look.TEXT),
        Column("heat", "Heat it took", 10, Role.ANSWER, "#,##0", align="center", shrink=True, formula=(
            'IF(OR({climate}="",NOT(ISNUMBER({first_ripe})),AND({cut_on}="",{seen_on}="")),"",'
            'IF(LEFT({climate},6)="Check:","",HEAT_UNITS_BETWEEN({climate},IF({seen_on}<>"",{seen_on},{cut_on}+{lag}),'
            "{first_ripe})))")),
        Column("days", "Days from cut to ripe", 9, Role.ANSWER, look.WHOLE, align="center", formula=(
            'IF(AND(ISNUMBER({cut_on}),ISNUMBER({first_ripe})),{first_ripe}-{cut_on},"")')),
        Column("climate", "Climate", 20, Role.WORKING, formula=(
            'IF({position}="","",IF(COUNTIF(Position_names,{position})=0,'
            '"Check: position is not on the sheet Positions",'
            "INDEX(Position_climates,MATCH({position},Position_names,0))))")),
        Column("lag", "Days to figs", 8, Role.WORKING, align="center", formula=(
            'IF({kind}="","",IF(COUNTIF(Kind_names,{kind})=0,10,INDEX(Kind_lags,MATCH({kind},Kind_names,0))))')),
        Column("pair", "Kind at position", 9, Role.WORKING, align="center", formula=_PAIR),
    ),
)  # fmt: skip


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    last = TABLE.letter("days")
    look.write_top(
        sheet, "Log", "One line a tree and year; add lines, never overwrite one. Lines with a first ripe fig teach the "
        "kind's heat need on Kinds.", contents.banner, last,
    )  # fmt: skip
    count = TABLE.cells("first_ripe", sheet=False)
    look.write_text(sheet, "A4", f'="Lines with a first ripe fig: "&COUNT({count})', look.BOLD_FONT)
    beyond = f"$A${TABLE.first_row + _PRINTED}:$A${TABLE.last_row}"
    look.write_text(
        sheet, "E4", f'=IF(COUNTA({beyond})=0,"","The first {_PRINTED} lines print; widen the print range for more.")',
        look.NOTE_FONT,
    )  # fmt: skip
    write_table(sheet, TABLE, contents.log)
    look.mark_checks(sheet, TABLE.cells("heat", "days", sheet=False))
    define(workbook, "Log_cut_dates", TABLE.cells("cut_on"))
    define(workbook, "Log_seen_dates", TABLE.cells("seen_on"))
    define(workbook, "Log_ripe_dates", TABLE.cells("first_ripe"))
    define(workbook, "Log_kinds", TABLE.cells("kind"))
    define(workbook, "Log_positions", TABLE.cells("position"))
    define(workbook, "Log_climates", TABLE.cells("climate"))
    define(workbook, "Log_pairs", TABLE.cells("pair"))
    sheet.freeze_panes = f"B{TABLE.first_row}"
    sheet.auto_filter.ref = f"A{TABLE.heading_row}:{last}{TABLE.last_row}"
    look.set_up_print(sheet, contents.banner, f"A1:{last}{TABLE.heading_row + _PRINTED}", TABLE.heading_row)
