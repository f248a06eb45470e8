"""The sheet *Later flush*: after a hard cut, whether and when the new shoots' figs ripen."""

from __future__ import annotations

from . import look, positions
from .layout import A_DATE, Column, Page, Paper, Role, Setting, Settings, Table, default, listed_in, number_between

NAME = "Later flush"

NEW_FLUSH = Settings(5, "The new flush", (
    Setting("Flush_need", "Heat from the cut to the first fig of the new shoots",
            default("later_flush_window", "heat_need"),
            "1,955 °C·day for a cut in August to 2,200 for one in July, the whole new flush (Souza et al. 2009, Rev. "
            "Bras. Frutic. 31(2)).", number_between(1, 40000, "heat units such as 2100"), "#,##0"),
    Setting("Flush_spread", "Heat from the first to the last of these figs",
            default("later_flush_window", "picking_heat"), "250 °C·day: judgement, five figs at 3.7 days a node.",
            number_between(0, 20000, "heat units from 0 up, such as 250"), "#,##0"),
    Setting("Flush_chance", "Chance you want of a second crop, at least", default("later_flush_window", "chance"),
            "Ripe dates are those reached with this chance.",
            number_between(0.01, 1, "a share such as 50% or 0.5"), look.SHARE),
), typed="C", used="D", note="E", note_end="I", letters_a_line=95)  # fmt: skip

_NEED = 'IF({need}<>"",{need},Flush_need)'
_WINDOW = f"LATER_FLUSH_WINDOW({{climate}},{{cut_on}},{_NEED},Flush_spread,Flush_chance)"
#: How the function's line begins where the season is too short: an answer, and nothing to be put right.
_TOO_SHORT = "Check: season too short"


def _if_cut(formula: str) -> str:
    return f'IF(OR({{position}}="",{{cut_on}}=""),"",{formula})'


def _ripe(key: str, heading: str, number: int) -> Column:
    formula = _if_cut(f'IFERROR(0+INDEX({_WINDOW},1,{number}),"")')
    return Column(key, heading, 11, Role.ANSWER, look.DATE_SHORT, align="center", formula=formula)


TABLE = Table(
    sheet=NAME,
    heading_row=11,
    rows=20,
    named_by=("what", "position"),
    checked=("says", "says"),
    filled=lambda contents: contents.hard_cuts,
    names={"Flush_says": "says"},
    columns=(
        Column("what", "Tree, row or block", 24, Role.ENTRY, look.TEXT),
        Column("position", "Position", 18, Role.ENTRY, look.TEXT,
               rule=listed_in(positions.TABLE.cells("name"), "a position from the sheet Positions")),
        Column("cut_on", "Hard cut on", 12, Role.ENTRY, look.DATE_SHORT, rule=A_DATE, align="center", of_season=True),
        Column("need", "Heat need, your own", 11, Role.ENTRY, "#,##0", align="center",
               rule=number_between(1, 40000, "heat units above 0, such as 2100")),
        _ripe("first", "First figs ripe", 1),
        _ripe("middle", "Half of them", 2),
        _ripe("last", "Last figs ripe", 3),
        Column("chance", "Chance of first figs", 10, Role.ANSWER, look.CHANCE, align="center", formula=_if_cut(
            f'IF(LEFT({{climate}},6)="Check:","",RIPEN_CHANCE({{climate}},{{cut_on}},{_NEED},0))')),
        Column("says", "What it says", 62, Role.ANSWER, shrink=True, formula=_if_cut(
            'IF(LEFT({climate},6)="Check:",{climate},IF(ISNUMBER({first}),IF(ISNUMBER({last}),"A second crop ripens.",'
            '"It begins to ripen, the last figs do not."),'
            f'IF(LEFT(INDEX({_WINDOW},1,1),{len(_TOO_SHORT)})="{_TOO_SHORT}",'
            f'"Too short a season"&MID(INDEX({_WINDOW},1,1),{len(_TOO_SHORT)}+1,99),INDEX({_WINDOW},1,1))))')),
        Column("climate", "Climate", 22, Role.WORKING, formula=_if_cut(
            'IF(COUNTIF(Position_names,{position})=0,"Check: position is not on the sheet Positions",'
            "INDEX(Position_climates,MATCH({position},Position_names,0)))")),
    ),
)  # fmt: skip


def page(rows: int) -> Page:
    """Return the sheet."""
    return Page(
        name=NAME,
        title="Later flush",
        purpose="For long seasons, or under cover: shoots are cut back hard, and the figs of the new ones ripen, if "
        "time is enough.",
        step="In a long season or under cover: would the shoots of a hard cut ripen figs?",
        last_column=TABLE.letter("says"),
        paper=Paper(TABLE.last_row, TABLE.heading_row, one_page=True),
        settings=(NEW_FLUSH,),
        tables=(TABLE,),
        freeze=f"B{TABLE.first_row}",
    )
