"""The sheet *Picking*: kilograms by week, and what is likely to be lost."""

from __future__ import annotations

from openpyxl import Workbook

from . import charts, look
from .contents import Contents
from .layout import Column, Role, Setting, Table, number_between
from .writing import define, write_lines, write_settings, write_table

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
        sheet, "Picking", "Kilograms by week, all trees together, with each tree cut as Trees reckons.",
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
    sheet.freeze_panes = "A4"
    look.set_up_print(sheet, contents.banner, f"A1:E{TABLE.last_row}", one_page=True)
