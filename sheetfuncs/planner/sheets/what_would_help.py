"""The sheet *What would help*: what would give a tree, or a variety at a position, a later last date; a later flush."""

from __future__ import annotations

from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from . import flush, look, positions, varieties
from .contents import Contents
from .layout import Column, Page, Paper, Role, Setting, Settings, Table, answer, working
from .place import in_words
from .rules import A_DATE, listed_in
from .writing import define

NAME = flush.SHEET
ROWS = 20


def _of_tree(name: str, otherwise: str) -> str:
    """Return the formula of a tree's entry, for a tree that is chosen and listed."""
    found = f"INDEX({name},MATCH(Help_tree,Tree_tags,0))"
    missing = 'OR(Help_tree="",COUNTIF(Tree_tags,Help_tree)=0)'
    return f'IF({missing},{otherwise},IF({found}="",{otherwise},{found}))'


CASE = Settings(5, "Which case", (
    Setting("Help_tree", "Tree", 'INDEX(Tree_tags,1)&""', "Blank: the first one on Trees.",
            listed_in("Tree_tags", "a tag from the sheet Trees"), of_season=False),
    Setting("Help_kind", "Variety", _of_tree("Tree_kinds", 'INDEX(Kind_names,1)&""'),
            "Blank: the tree's. Type one to see what to plant.", varieties.CHOICE),
    Setting("Help_position", "Position", _of_tree("Tree_positions", 'INDEX(Position_names,1)&""'),
            "Blank: the tree's. Type one to see where.", positions.CHOICE),
    Setting("Help_cut", "Cut on", _of_tree("Tree_assumed_cuts", "Day_today"),
            "Blank: the tree's cut, or assumed cut.", A_DATE, look.DATE_LONG),
), note_end="I", letters_a_line=95)  # fmt: skip

_THERE = "INDEX(Position_climates,MATCH(Help_position,Position_names,0))"
_RESTS = {
    "Help_climate": f'IF(OR(Climate_in_use="",COUNTIF(Position_names,Help_position)=0),"",{_THERE})',
    "Help_need": varieties.of_kind("Help_kind", "Kind_needs", "Help_position"),
    "Help_uncertainty": varieties.of_kind("Help_kind", "Kind_uncertainties", "Help_position", "Pair_uncertainties"),
    "Help_lag": varieties.of_kind("Help_kind", "Kind_lags"),
    "Help_heat": varieties.of_kind("Help_kind", "Kind_picking_heats"),
}  # fmt: skip
#: A column of the later flush's own working, out of sight.
_HIDDEN = flush.TABLE.letter("climate")
_READY = (
    'AND(LEFT(Help_climate,6)<>"Check:",Help_climate<>"",ISNUMBER(Help_need),ISNUMBER(Help_cut),'
    'ISNUMBER(Chance_wanted))'
)
_MEASURES = (
    "WHAT_WOULD_HELP(Help_climate,Help_cut,Help_need,Chance_wanted,Help_lag,Help_uncertainty,Help_heat,"
    f"Position_names,Position_climates,Kind_names,Kind_needs,{ROWS})"
)
_LAST = "LATEST_PRUNE_DATE(Help_climate,Season_year,Help_need,Chance_wanted,Help_lag,Help_uncertainty)"
_CHANCE = "RIPEN_CHANCE(Help_climate,Help_cut,Help_need,Help_lag,Help_uncertainty)"
_LEAD = (
    f'=IF({_READY},Help_kind&" at "&Help_position&": "&IF(ISNUMBER({_LAST}),"last cut date "&{in_words(_LAST)},'
    f'"no cut ripens figs")&" with the chance you want; a cut on "&{in_words("Help_cut")}&" ripens figs with "'
    f'&ROUND(100*N({_CHANCE}),0)&" %.","Fill Place, Weather, Varieties and Positions first.")'
)
_KEYS = ("measure", "latest", "chance", "share", "gained")
#: The answer itself, out of sight: a program without the functions works it out on opening, and shows errors.
WORKING = Table(
    sheet=NAME,
    heading_row=12,
    rows=ROWS,
    first_column=11,
    columns=tuple(working(f"all_{key}", key, "") for key in _KEYS),
)


def _answer(key: str, heading: str, width: float, number_format: str = look.PLAIN, align: str = "center") -> Column:
    formula = f'IFERROR(IF({{all_{key}}}="","",{{all_{key}}}),"")'
    return answer(key, heading, width, number_format, formula, align)


TABLE = Table(
    sheet=NAME,
    heading_row=WORKING.heading_row,
    rows=ROWS,
    beside=WORKING,
    checked=("measure", "measure"),
    columns=(
        _answer("measure", "Measure", 46, align="left"),
        _answer("latest", "Last cut date then", 16, look.DATE_SHORT),
        _answer("chance", "Chance of first figs", 14, look.CHANCE),
        _answer("share", "Share of the crop", 12, look.CHANCE),
        _answer("gained", "Days gained", 12, "+0;-0;0"),
    ),
)


def page(rows: int) -> Page:
    """Return the sheet."""
    return Page(
        name=NAME,
        title="What would help",
        purpose="For one tree, or for a variety that you think of planting: what would move its last date, the most "
        "days first; below, a later flush after a hard cut.",
        step="For a tree that is too late, or one you think of planting: what would help, and where. A later flush.",
        last_column="I",
        paper=Paper(flush.TABLE.last_row, landscape=False),
        settings=(CASE, flush.NEW_FLUSH),
        tables=(TABLE, WORKING, flush.TABLE),
        notes={TABLE.last_row + 1: "Chance and share are those of a cut on the day above. A cover's and a tunnel's "
                                   "warmth stand on Positions; an early start by ten days is a judgement."},
        lead=_LEAD,
        more=_write_more,
    )  # fmt: skip


def _write_more(sheet: Worksheet, contents: Contents) -> None:
    for row, (name, formula) in enumerate(_RESTS.items(), start=CASE.row + 1):
        look.dress(sheet[f"{_HIDDEN}{row}"], Role.WORKING)
        sheet[f"{_HIDDEN}{row}"].value = f"={formula}"
        define(sheet, name, f"${_HIDDEN}${row}")
    cells = WORKING.cells("all_measure", "all_gained", sheet=False).replace("$", "")
    sheet[cells.partition(":")[0]].value = ArrayFormula(cells, f'=IF({_READY},{_MEASURES},"")')
