"""The sheet *Picking*: kilograms by week, expected and picked, and what is likely to be lost."""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

from . import charts, look, positions
from .contents import Contents
from .layout import Answers, Page, Paper, Setting, Settings, Table, answer, entry, words, working
from .rules import A_DATE, listed_in, number_between

NAME = "Picking"

THE_CROP = Settings(5, "The crop", (
    Setting("Figs_usual", "Figs on a shoot, where none are counted", "10",
            "Count them on Trees. 15 to 20 at most in a short season (several reports); 10: judgement.",
            number_between(0, 200, "figs such as 10")),
    Setting("Kept_share", "Share that is kept", "0.9",
            "What birds, wasps, splits and windfalls leave. 90 %: judgement, your own scales know better.",
            number_between(0, 1, "a share such as 90%"), look.SHARE),
), letters_a_line=85)  # fmt: skip

SUMS_ROW = 10
_SUMS = (
    ("Possible crop [kg]", "=SUM(Tree_crops)", look.TENTHS,
     "shoots × figs × grams × kept share, trees with shoots only"),
    ("To pick in the weeks below [kg]", "=SUM(Week_kilograms)", look.TENTHS,
     "each tree's crop × the share that ripens"),
    ("Lost [kg]", f"=B{SUMS_ROW}-B{SUMS_ROW + 1}", look.TENTHS,
     "not ripe before the season's end, or on trees that lack something"),
    ("Picked so far [kg]", "=SUM(Tree_picked)", look.TENTHS, "typed on Trees"),
    ("Trees without a crop", "=COUNTA(Tree_tags)-COUNT(Tree_crops)", look.WHOLE, "no shoots are typed on Trees"),
)  # fmt: skip

_LINE = "(ROW()-ROW(Week_heading))"
_MONDAY = f"MIN(Tree_pick_first)-MOD(MIN(Tree_pick_first)-2,7)+7*({_LINE}-1)"
#: Half a year of weeks from the first ripe fig.
TABLE = Table(
    sheet=NAME,
    heading_row=SUMS_ROW + 7,
    rows=26,
    heading_name="Week_heading",
    names={"Weeks": "week", "Week_kilograms": "kilograms"},
    columns=(
        answer("week", "Week from Monday", 38, look.DATE_LONG,
            f'IF(COUNT(Tree_pick_first)=0,"",IF({_MONDAY}>MAX(Tree_pick_last),"",{_MONDAY}))'),
        answer("kilograms", "To pick [kg]", 15, look.TENTHS,
            f'IF({{week}}="","",INDEX(PICKING_BY_WEEK(Tree_pick_first,Tree_pick_last,Tree_ripens,Weeks),{_LINE}))'),
        answer("so_far", "Together [kg]", 15, look.TENTHS,
            'IF({week}="","",IF(ISNUMBER({above_so_far}),{above_so_far},0)+{kilograms})'),
    ),
)  # fmt: skip


# -- the picking spread by the cuts -----------------------------------------------------------------------------

SPREADING = Settings(TABLE.last_row + 2, "Spread the picking", (
    Setting("Spread_position", "Position", 'IF(COUNT(Spread_lines)=0,"",INDEX(Tree_positions,MIN(Spread_lines)))&""',
            "The trees chosen must stand at one position. Blank: that of the first of them on Trees.",
            positions.CHOICE),
    Setting("Spread_from", "First day to cut", 'IF(COUNT(Spread_ready)=0,"",MAX(Spread_ready,Day_today))',
            "Blank: today, or the day from which all of them are ready.", A_DATE, look.DATE_LONG),
    Setting("Spread_to", "Last day to cut", 'IF(COUNT(Spread_last)=0,"",MIN(Spread_last))',
            "Blank: the earliest of their last cut dates.", A_DATE, look.DATE_LONG),
))  # fmt: skip
_SPREAD_LINE = "(ROW()-ROW(Spread_heading))"
_CLIMATE = "INDEX(Tree_climates,MATCH(Spread_position,Tree_positions,0))"
_CUTS = f"SPREAD_CUTS({_CLIMATE},Spread_needs,Spread_from,Spread_to,MAX(Spread_lags),MAX(Spread_uncertainties))"
_RIPE = f"RIPEN_WINDOW({_CLIMATE},{{cut}},{{need}},0,MAX(Spread_lags),0.5,MAX(Spread_uncertainties))"


def _of_chosen(formula: str) -> str:
    """Return a formula that stays blank where no tree is chosen that can be spread."""
    return f'IF(ISNUMBER({{need}}),{formula},"")'


SPREAD = Table(
    sheet=NAME,
    heading_row=SPREADING.row + len(SPREADING.lines) + 3,
    rows=20,
    heading_name="Spread_heading",
    named_by=("tag",),
    checked=("says", "says"),
    filled=lambda contents: [{"tag": tag} for tag in contents.spread],
    names={
        "Spread_lines": "line", "Spread_needs": "need", "Spread_lags": "lag", "Spread_ready": "ready",
        "Spread_last": "last", "Spread_uncertainties": "uncertainty",
    },
    columns=(
        entry("tag", "Tree", 38, listed_in("Tree_tags", "a tag from the sheet Trees"), look.TEXT, "left"),
        answer("cut", "Cut on", 15, look.DATE_LONG, _of_chosen(f'IFERROR(0+INDEX({_CUTS},{_SPREAD_LINE}),"")')),
        answer("ripe", "First figs ripe", 15, look.DATE_LONG,
            f'IF(ISNUMBER({{cut}}),IFERROR(0+INDEX({_RIPE},1,1),""),"")'),
        answer("last", "Last cut date", 9, look.DATE_SHORT, _of_chosen("INDEX(Tree_last_dates,{line})")),
        words("says", "What it says", 62,
            'IF({tag}="","",IF(NOT(ISNUMBER({line})),"Check: tree is not on the sheet Trees",'
            'IF(INDEX(Tree_cut_dates,{line})<>"","cut already, left out",'
            'IF(INDEX(Tree_positions,{line})<>Spread_position,"stands at "&INDEX(Tree_positions,{line})&", left out",'
            "IF(NOT(ISNUMBER({need})),INDEX(Tree_advice,{line}),"
            f'IF(NOT(ISNUMBER({{cut}})),INDEX({_CUTS},{_SPREAD_LINE}),'
            'IF(AND(ISNUMBER({last}),{cut}>N({last})),"after its last cut date: bolder than the chance you want",'
            'IF({cut}<{ready},"earlier than it is ready, see Trees",""))))))))'),
        working("line", "Line on Trees", 'IF({tag}="","",IFERROR(MATCH({tag},Tree_tags,0),""))'),
        working("need", "Heat need", (
            'IF(ISNUMBER({line}),IF(AND(INDEX(Tree_cut_dates,{line})="",'
            'INDEX(Tree_positions,{line})=Spread_position,ISNUMBER(INDEX(Tree_assumed_cuts,{line}))),'
            'INDEX(Tree_needs,{line}),""),"")'), "#,##0"),
        working("lag", "Days to figs", _of_chosen("INDEX(Tree_lags,{line})")),
        working("ready", "Ready from", _of_chosen("INDEX(Tree_ready_from,{line})"), look.DATE_SHORT),
        working("uncertainty", "Not known of it", _of_chosen("INDEX(Tree_uncertainties,{line})"), look.SHARE),
    ),
)  # fmt: skip


def page(rows: int) -> Page:
    """Return the sheet."""
    return Page(
        name=NAME,
        title="Picking",
        purpose="Kilograms by week, all trees together, cut as Trees assumes; below, how to spread it.",
        step="See the kilograms week by week, and what is likely to be lost.",
        last_column="E",
        paper=Paper(SPREAD.last_row, landscape=False),
        settings=(THE_CROP, SPREADING),
        tables=(TABLE, SPREAD),
        widths={"D": 9, "E": 62},
        notes={SPREADING.row + len(SPREADING.lines) + 1:
               "Choose trees below: cut on these days, they ripen at even intervals, as far apart as the days to cut "
               "allow. A proposal; the rounds do not know of it."},
        sections={SUMS_ROW - 1: "The season's sums"},
        answers=(Answers(SUMS_ROW, _SUMS),),
        more=_write_more,
    )  # fmt: skip


def _write_more(sheet: Worksheet, contents: Contents) -> None:
    look.mark(sheet, f"B{SUMS_ROW + 2}", f"N($B${SUMS_ROW + 2})>0.05", "soon")
    weeks = charts.columns(charts.Rows(sheet, TABLE, "week", count=16), [charts.Drawn("kilograms", pattern="wdUpDiag")])
    charts.add_chart(
        sheet, weeks, f"D{TABLE.heading_row}:E{TABLE.heading_row + 19}",
        "Kilograms to pick, week by week", look.TENTHS, along=look.DATE_SHORT,
    )  # fmt: skip
