"""The lower part of *What would help*: after a hard cut, whether and when the new shoots' figs ripen."""

from __future__ import annotations

from . import look, positions
from .layout import Column, Setting, Settings, Table, answer, entry, words, working
from .rules import A_DATE, default, number_between

#: The sheet that it is part of, and the row of its title there.
SHEET, ROW = "What would help", 36

NEW_FLUSH = Settings(ROW, "A later flush: shoots cut back hard", (
    Setting("Flush_need", "Heat from the cut to the first new fig",
            default("later_flush_window", "heat_need"),
            "1,955 °C·day for a cut in August to 2,200 for one in July, the whole new flush (Souza et al. 2009, Rev. "
            "Bras. Frutic. 31(2)).", number_between(1, 40000, "heat units such as 2100"), "#,##0"),
    Setting("Flush_spread", "Heat from the first to the last of these figs",
            default("later_flush_window", "picking_heat"), "250 °C·day: judgement, five figs at 3.7 days a node.",
            number_between(0, 20000, "heat units from 0 up, such as 250"), "#,##0"),
    Setting("Flush_chance", "Chance you want of a second crop, at least", default("later_flush_window", "chance"),
            "Ripe dates are those reached with this chance.",
            number_between(0.01, 1, "a share such as 50% or 0.5"), look.SHARE),
), note_end="I", letters_a_line=95)  # fmt: skip

_NEED = 'IF({need}<>"",{need},Flush_need)'
_WINDOW = f"LATER_FLUSH_WINDOW({{climate}},{{cut_on}},{_NEED},Flush_spread,Flush_chance)"
#: How the function's line begins where the season is too short: an answer, and nothing to be put right.
_TOO_SHORT = "Check: season too short"


def _if_cut(formula: str) -> str:
    return f'IF(OR({{position}}="",{{cut_on}}="",{{climate}}=""),"",{formula})'


def _ripe(key: str, heading: str, number: int) -> Column:
    formula = _if_cut(f'IFERROR(0+INDEX({_WINDOW},1,{number}),"")')
    return answer(key, heading, 12, look.DATE_SHORT, formula)


TABLE = Table(
    sheet=SHEET,
    heading_row=ROW + len(NEW_FLUSH.lines) + 3,
    rows=20,
    named_by=("what", "position"),
    checked=("says", "says"),
    filled=lambda contents: contents.hard_cuts,
    formerly="Later flush",
    columns=(
        entry("what", "Tree, row or block", 46, None, look.TEXT, "left"),
        entry("position", "Position", 16, positions.CHOICE, look.TEXT, "left"),
        entry("cut_on", "Hard cut on", 14, A_DATE, look.DATE_SHORT, of_season=True),
        entry("need", "Heat need, your own", 12, number_between(1, 40000, "heat units above 0, such as 2100"), "#,##0"),
        _ripe("first", "First figs ripe", 1),
        _ripe("middle", "Half of them", 2),
        _ripe("last", "Last figs ripe", 3),
        answer("chance", "Chance of first figs", 12, look.CHANCE,
            _if_cut(f'IF(LEFT({{climate}},6)="Check:","",RIPEN_CHANCE({{climate}},{{cut_on}},{_NEED},0))')),
        words("says", "What it says", 40, _if_cut(
            'IF(LEFT({climate},6)="Check:",{climate},IF(ISNUMBER({first}),IF(ISNUMBER({last}),"A second crop ripens.",'
            '"It begins to ripen, the last figs do not."),'
            f'IF(LEFT(INDEX({_WINDOW},1,1),{len(_TOO_SHORT)})="{_TOO_SHORT}",'
            f'"The season is too short for it.",INDEX({_WINDOW},1,1))))')),
        working("climate", "Climate",
            'IF({position}="","",IF(COUNTIF(Position_names,{position})=0,"Check: position is not on the sheet '
            'Positions",INDEX(Position_climates,MATCH({position},Position_names,0))))'),
    ),
)  # fmt: skip
