"""The sheet *Later flush*: after a hard cut, whether and when the new shoots' figs ripen."""

from __future__ import annotations

from openpyxl import Workbook

from . import look, positions
from .contents import Contents
from .layout import A_DATE, Column, Role, Setting, Table, listed_in, number_between
from .writing import Block, define, write_settings, write_table

NAME = "Later flush"
_BLOCK = Block(typed="C", used="D", note="E", note_end="I", letters_a_line=95)

SETTINGS = (
    Setting("Flush_need", "Heat from the cut to the first fig of the new shoots", '2100*IF(Unit="F",1.8,1)',
            "1,955 °C·day for a cut in August to 2,200 for one in July, the whole new flush (Souza et al. 2009, Rev. "
            "Bras. Frutic. 31(2)).", number_between(1, 40000, "heat units such as 2100"), "#,##0"),
    Setting("Flush_spread", "Heat from the first to the last of these figs", '250*IF(Unit="F",1.8,1)',
            "250 °C·day: judgement, five figs at 3.7 days a node.",
            number_between(0, 20000, "heat units from 0 up, such as 250"), "#,##0"),
    Setting("Flush_chance", "Chance you want of a second crop, at least", "0.5",
            "Ripe dates are those reached in this share of the seasons.",
            number_between(0.01, 1, "a share such as 50% or 0.5"), look.SHARE),
)  # fmt: skip

_WINDOW = "LATER_FLUSH_WINDOW({climate},{cut_on},IF({need}<>\"\",{need},Flush_need),Flush_spread,Flush_chance)"


#: How the function's line begins where the season is too short: an answer, and nothing to be put right.
_TOO_SHORT = "Check: season too short"


def _if_asked(formula: str) -> str:
    return f'IF(OR({{position}}="",{{cut_on}}=""),"",{formula})'


def _ripe(number: int) -> str:
    return _if_asked(f'IFERROR(0+INDEX({_WINDOW},1,{number}),"")')


TABLE = Table(
    sheet=NAME,
    heading_row=11,
    rows=20,
    columns=(
        Column("what", "Tree, row or block", 24, Role.ENTRY, look.TEXT),
        Column("position", "Position", 18, Role.ENTRY, look.TEXT,
               rule=listed_in(positions.TABLE.cells("name"), "a position from the sheet Positions")),
        Column("cut_on", "Hard cut on", 12, Role.ENTRY, look.DATE_SHORT, rule=A_DATE, align="center"),
        Column("need", "Heat need, your own", 11, Role.ENTRY, "#,##0", align="center",
               rule=number_between(1, 40000, "heat units above 0, such as 2100")),
        Column("first", "First figs ripe", 11, Role.ANSWER, look.DATE_SHORT, align="center", formula=_ripe(1)),
        Column("middle", "Half of them", 11, Role.ANSWER, look.DATE_SHORT, align="center", formula=_ripe(2)),
        Column("last", "Last figs ripe", 11, Role.ANSWER, look.DATE_SHORT, align="center", formula=_ripe(3)),
        Column("chance", "Chance of first figs", 10, Role.ANSWER, look.SHARE, align="center", formula=_if_asked(
            'IF(LEFT({climate},6)="Check:","",RIPEN_CHANCE({climate},{cut_on},IF({need}<>"",{need},Flush_need),0))')),
        Column("says", "What it says", 62, Role.ANSWER, shrink=True, formula=_if_asked(
            'IF(LEFT({climate},6)="Check:",{climate},IF(ISNUMBER({first}),IF(ISNUMBER({last}),"A second crop ripens.",'
            '"It begins to ripen, the last figs do not."),'
            f'IF(LEFT(INDEX({_WINDOW},1,1),{len(_TOO_SHORT)})="{_TOO_SHORT}",'
            f'"Too short a season"&MID(INDEX({_WINDOW},1,1),{len(_TOO_SHORT)}+1,99),INDEX({_WINDOW},1,1))))')),
        Column("climate", "Climate", 22, Role.WORKING, formula=_if_asked(
            'IF(COUNTIF(Position_names,{position})=0,"Check: position is not on the sheet Positions",'
            "INDEX(Position_climates,MATCH({position},Position_names,0)))")),
    ),
)  # fmt: skip


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    last = TABLE.letter("says")
    look.write_top(
        sheet, "Later flush",
        "For long seasons, or under cover: shoots are cut back hard, and the figs of the new ones ripen, if time is "
        "enough.", contents.banner, last,
    )  # fmt: skip
    write_settings(workbook, sheet, 5, "The new flush", SETTINGS, contents, _BLOCK)
    write_table(sheet, TABLE, contents.hard_cuts)
    look.mark_checks(sheet, TABLE.cells("says", sheet=False))
    define(workbook, "Flush_says", TABLE.cells("says"))
    sheet.freeze_panes = f"B{TABLE.first_row}"
    look.set_up_print(sheet, contents.banner, f"A1:{last}{TABLE.last_row}", TABLE.heading_row)
