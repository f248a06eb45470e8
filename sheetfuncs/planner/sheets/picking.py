"""The sheet *Picking*: kilograms by week, and what is likely to be lost."""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from . import charts, look, positions
from .contents import Contents
from .layout import A_DATE, Column, Role, Setting, Table, listed_in, number_between
from .writing import allow, define, write_lines, write_settings, write_table

NAME = "Picking"
HEADING_NAME = "Week_heading"

SETTINGS = (
    Setting("Figs_usual", "Figs on a shoot, where none are counted", "10",
            "Count them on Trees. 15 to 20 at most in a short season (several reports); 10: judgement.",
            number_between(0, 200, "figs such as 10")),
    Setting("Kept_share", "Share that is kept", "0.9",
            "What birds, wasps, splits and windfalls leave. 90 %: judgement, your own scales know better.",
            number_between(0, 1, "a share such as 90%"), look.SHARE),
)  # fmt: skip

_SUMS_ROW = 10
_SUMS = (
    ("Crop hung [kg]", "=SUM(Tree_crops)", look.TENTHS, "shoots × figs × grams × kept share, trees with shoots only"),
    ("Picked in the weeks below [kg]", "=SUM(Week_kilograms)", look.TENTHS, "each tree's crop × the share that ripens"),
    ("Lost [kg]", f"=B{_SUMS_ROW}-B{_SUMS_ROW + 1}", look.TENTHS,
     "not ripe before the season's end, or on trees that lack something"),
    ("Trees without a crop", "=COUNTA(Tree_tags)-COUNT(Tree_crops)", look.WHOLE, "no shoots are typed on Trees"),
)  # fmt: skip

_LINE = f"(ROW()-ROW({HEADING_NAME}))"
_MONDAY = f"MIN(Tree_pick_first)-MOD(MIN(Tree_pick_first)-2,7)+7*({_LINE}-1)"
#: Half a year of weeks from the first ripe fig.
TABLE = Table(
    sheet=NAME,
    heading_row=_SUMS_ROW + 6,
    rows=26,
    columns=(
        Column("week", "Week from Monday", 38, Role.ANSWER, look.DATE_LONG, align="center", formula=(
            f'IF(COUNT(Tree_pick_first)=0,"",IF({_MONDAY}>MAX(Tree_pick_last),"",{_MONDAY}))')),
        Column("kilograms", "To pick [kg]", 15, Role.ANSWER, look.TENTHS, align="center", formula=(
            f'IF({{week}}="","",INDEX(PICKING_BY_WEEK(Tree_pick_first,Tree_pick_last,Tree_ripens,Weeks),{_LINE}))')),
        Column("so_far", "Together [kg]", 15, Role.ANSWER, look.TENTHS, align="center", formula=(
            'IF({week}="","",IF(ISNUMBER({above_so_far}),{above_so_far},0)+{kilograms})')),
    ),
)  # fmt: skip


# -- the picking spread by the cuts -----------------------------------------------------------------------------

_SPREAD_ROW = TABLE.last_row + 2
SPREAD_SETTINGS = (
    Setting("Spread_position", "Position", 'IF(COUNT(Spread_lines)=0,"",INDEX(Tree_positions,MIN(Spread_lines)))&""',
            "The trees chosen must stand at one position. Blank: that of the first of them on Trees.",
            listed_in(positions.TABLE.cells("name"), "a position from the sheet Positions")),
    Setting("Spread_from", "First day to cut", 'IF(COUNT(Spread_ready)=0,"",MAX(Spread_ready,Day_today))',
            "Blank: today, or the day from which all of them are ready.", A_DATE, look.DATE_LONG),
    Setting("Spread_to", "Last day to cut", 'IF(COUNT(Spread_last)=0,"",MIN(Spread_last))',
            "Blank: the earliest of their last cut dates.", A_DATE, look.DATE_LONG),
)  # fmt: skip
_SPREAD_ROWS = 20
_SPREAD_LINE = "(ROW()-ROW(Spread_heading))"
_SPREAD_CLIMATE = "INDEX(Tree_climates,MATCH(Spread_position,Tree_positions,0))"
_SPREAD_CUTS = f"SPREAD_CUTS({_SPREAD_CLIMATE},Spread_needs,Spread_from,Spread_to,MAX(Spread_lags))"


def _of_chosen(formula: str) -> str:
    """Return a formula that stays blank where no tree is chosen that can be spread."""
    return f'IF(ISNUMBER({{need}}),{formula},"")'


def _of_line(name: str) -> str:
    return _of_chosen(f"INDEX({name},{{line}})")


SPREAD = Table(
    sheet=NAME,
    heading_row=_SPREAD_ROW + len(SPREAD_SETTINGS) + 3,
    rows=_SPREAD_ROWS,
    columns=(
        Column("tag", "Tree", 38, Role.ENTRY, look.TEXT),
        Column("cut", "Cut on", 15, Role.ANSWER, look.DATE_LONG, align="center", formula=_of_chosen(
            f'IFERROR(0+INDEX({_SPREAD_CUTS},{_SPREAD_LINE}),"")')),
        Column("ripe", "First figs ripe", 15, Role.ANSWER, look.DATE_LONG, align="center", formula=(
            f'IF(ISNUMBER({{cut}}),IFERROR(0+INDEX(RIPEN_WINDOW({_SPREAD_CLIMATE},{{cut}},{{need}},0,MAX(Spread_lags)),'
            '1,1),""),"")')),
        Column("last", "Last cut date", 9, Role.ANSWER, look.DATE_SHORT, align="center",
               formula=_of_line("Tree_last_dates")),
        Column("says", "What it says", 62, Role.ANSWER, shrink=True, formula=(
            'IF({tag}="","",IF(NOT(ISNUMBER({line})),"Check: tree is not on the sheet Trees",'
            'IF(INDEX(Tree_cut_dates,{line})<>"","cut already, left out",'
            'IF(INDEX(Tree_positions,{line})<>Spread_position,"stands at "&INDEX(Tree_positions,{line})&", left out",'
            "IF(NOT(ISNUMBER({need})),INDEX(Tree_advice,{line}),"
            f'IF(NOT(ISNUMBER({{cut}})),INDEX({_SPREAD_CUTS},{_SPREAD_LINE}),'
            'IF(AND(ISNUMBER({last}),{cut}>N({last})),"after its last cut date: bolder than the chance you want",'
            'IF({cut}<{ready},"earlier than it is ready, see Trees",""))))))))')),
        Column("line", "Line on Trees", 9, Role.WORKING, align="center", formula=(
            'IF({tag}="","",IFERROR(MATCH({tag},Tree_tags,0),""))')),
        Column("need", "Heat need", 9, Role.WORKING, "#,##0", align="center", formula=(
            'IF(ISNUMBER({line}),IF(AND(INDEX(Tree_cut_dates,{line})="",'
            'INDEX(Tree_positions,{line})=Spread_position,ISNUMBER(INDEX(Tree_reckoned,{line}))),'
            'INDEX(Tree_needs,{line}),""),"")')),
        Column("lag", "Days to figs", 9, Role.WORKING, align="center", formula=_of_line("Tree_lags")),
        Column("ready", "Ready from", 9, Role.WORKING, look.DATE_SHORT, align="center",
               formula=_of_line("Tree_ready_from")),
    ),
)  # fmt: skip
#: Of a page in landscape: the weeks fit the first, the spread the second.
_SCALE = 68


def rows(workbook: Workbook) -> charts.Rows:
    """Return the weeks as a chart draws them."""
    return charts.Rows(workbook[NAME], TABLE.heading_row, TABLE.first_row, TABLE.first_row + 15, names=1)


KILOGRAMS = charts.Drawn(column=2, colour=charts.HEAD, pattern="wdUpDiag")


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    for letter, width in (("D", 8), ("E", 62)):
        sheet.column_dimensions[letter].width = width
    look.write_top(
        sheet, "Picking",
        "Kilograms by week, all trees together, with each tree cut as Trees reckons; below, how to spread it.",
        contents.banner, "E",
    )  # fmt: skip
    write_settings(workbook, sheet, 5, "The crop", SETTINGS, contents)
    look.write_section(sheet, _SUMS_ROW - 1, "The season's sums", "E")
    write_lines(sheet, _SUMS_ROW, _SUMS, "B")
    look.mark(sheet, f"B{_SUMS_ROW + 2}", f"N($B${_SUMS_ROW + 2})>0.05", "soon")
    write_table(sheet, TABLE)
    define(workbook, HEADING_NAME, f"{NAME}!$A${TABLE.heading_row}")
    define(workbook, "Weeks", TABLE.cells("week"))
    define(workbook, "Week_kilograms", TABLE.cells("kilograms"))
    charts.place(
        sheet, charts.columns(rows(workbook), [KILOGRAMS]), f"D{TABLE.heading_row}:E{TABLE.heading_row + 19}",
        "Kilograms to pick, week by week", ("kg", "0.0"), along=look.DATE_SHORT,
    )  # fmt: skip
    _write_spread(workbook, sheet, contents)
    sheet.freeze_panes = "A4"
    look.set_up_print(sheet, contents.banner, f"A1:E{SPREAD.last_row}", scale=_SCALE)
    sheet.row_breaks.append(Break(id=_SPREAD_ROW - 1))


def _write_spread(workbook: Workbook, sheet: Worksheet, contents: Contents) -> None:
    """Write the block that gives trees of one position cut dates by which they ripen one after the other."""
    write_settings(workbook, sheet, _SPREAD_ROW, "Spread the picking", SPREAD_SETTINGS, contents)
    look.write_text(
        sheet, f"A{_SPREAD_ROW + len(SPREAD_SETTINGS) + 1}",
        "Choose trees below: cut on these days, they ripen at even intervals, as far apart as the days to cut allow. "
        "A proposal; the rounds do not know of it.", look.NOTE_FONT,
    )  # fmt: skip
    write_table(sheet, SPREAD, [{"tag": tag} for tag in contents.spread])
    tags = workbook.defined_names["Tree_tags"].attr_text
    allow(sheet, listed_in(tags, "a tag from the sheet Trees"), SPREAD.cells("tag", sheet=False).replace("$", ""))
    look.mark_checks(sheet, SPREAD.cells("says", sheet=False))
    define(workbook, "Spread_heading", f"{NAME}!$A${SPREAD.heading_row}")
    for name, key in (("lines", "line"), ("needs", "need"), ("lags", "lag"), ("ready", "ready"), ("last", "last")):
        define(workbook, f"Spread_{name}", SPREAD.cells(key))
