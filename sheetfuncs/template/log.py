"""The sheet *Log*: one line a tree and year, from which the heat needs of the kinds are learned."""

from __future__ import annotations

from openpyxl import Workbook

from . import kinds, look, positions
from .contents import Contents
from .layout import A_DATE, Column, Role, Table, listed_in, number_between, whole_between
from .writing import define, write_table

NAME = "Log"
ROWS = 200

_DATED = {"rule": A_DATE, "align": "center"}


def _by_kind(number: int) -> str:
    """Return the formula of the first ripe date where the line is of that kind at the position it learns from."""
    here = f"AND({{kind}}=INDEX(Kind_names,{number}),{{position}}=INDEX(Kind_learned_at,{number}),{{first_ripe}}<>\"\")"
    return f'IF({{kind}}="","",IF({here},{{first_ripe}},""))'


TABLE = Table(
    sheet=NAME,
    heading_row=6,
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
        *(Column(f"kind_{number}", f"Ripe, kind {number}", 9, Role.WORKING, look.DATE_SORTABLE, align="center",
                 formula=_by_kind(number)) for number in range(1, kinds.ROWS + 1)),
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
    write_table(sheet, TABLE, contents.log)
    look.mark_checks(sheet, TABLE.cells("heat", "days", sheet=False))
    define(workbook, "Log_cut_dates", TABLE.cells("cut_on"))
    define(workbook, "Log_seen_dates", TABLE.cells("seen_on"))
    define(workbook, "Log_ripe_by_kind", TABLE.cells("kind_1", f"kind_{kinds.ROWS}"))
    sheet.freeze_panes = f"B{TABLE.first_row}"
    sheet.auto_filter.ref = f"A{TABLE.heading_row}:{last}{TABLE.last_row}"
    look.set_up_print(sheet, contents.banner, f"A1:{last}{TABLE.last_row}", TABLE.heading_row)
