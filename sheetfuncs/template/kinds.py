"""The sheet *Kinds*: how much heat each kind of fig needs, how long buds take to show, how long it picks."""

from __future__ import annotations

from openpyxl import Workbook

from . import look
from .contents import Contents
from .layout import Column, Role, Table, number_between, whole_between
from .writing import define, merged, write_table

NAME = "Kinds"

_BASIS = (
    "Judgement, scaled from a late kind that took 80–89 days at 24.7 °C, about 1,420 °C·day above 8 °C (Yahata & "
    "Nogata 2000, J. Japan. Soc. Hort. Sci. 69(2)). Lag and spread: judgement, no trial was found."
)

#: Heat needs from the visible fig to the first ripe one, base 8 °C, single sine [°C·day]: judgement, see _BASIS.
STANDING = (
    {"name": "early", "need": 1150, "lag": 10, "spread": 250, "source": _BASIS},
    {"name": "middle", "need": 1300, "lag": 10, "spread": 250, "source": "As above."},
    {"name": "late", "need": 1450, "lag": 10, "spread": 250, "source": "As above."},
)

_NEED = number_between(1, 20000, "heat units above 0, such as 1300")
_SPREAD = number_between(0, 20000, "heat units from 0 up, such as 250")
_LAG = whole_between(0, 400, "whole days from 0 to 400")

TABLE = Table(
    sheet=NAME,
    heading_row=6,
    rows=15,
    columns=(
        Column("name", "Kind", 16, Role.ENTRY, look.TEXT),
        Column("own_need", "Heat need, your own", 11, Role.ENTRY, "#,##0", rule=_NEED, align="center"),
        Column("own_lag", "Days from cut to visible figs, your own", 13, Role.ENTRY, rule=_LAG, align="center"),
        Column("own_spread", "Heat from first to last fig, your own", 13, Role.ENTRY, "#,##0", rule=_SPREAD,
               align="center"),
        Column("need_in_use", "Heat need in use", 10, Role.ANSWER, "#,##0", align="center", formula=(
            'IF({name}="","",IF({own_need}<>"",{own_need},IF({need}<>"",{need}*IF(Unit="F",1.8,1),'
            '"Check: heat need is blank, wanted heat units such as 1300")))')),
        Column("lag_in_use", "Days to visible figs in use", 10, Role.ANSWER, align="center", formula=(
            'IF({name}="","",IF({own_lag}<>"",{own_lag},IF({lag}<>"",{lag},10)))')),
        Column("spread_in_use", "Heat first to last in use", 10, Role.ANSWER, "#,##0", align="center", formula=(
            'IF({name}="","",IF({own_spread}<>"",{own_spread},IF({spread}<>"",{spread},250)*IF(Unit="F",1.8,1)))')),
        Column("latest", "Last cut date in the open", 12, Role.ANSWER, look.DATE_SHORT, align="center", formula=(
            'IF(OR({name}="",Climate_in_use=""),"",'
            "LATEST_PRUNE_DATE(Climate_in_use,Season_year,{need_in_use},Chance_wanted,{lag_in_use}))")),
        Column("need", "Heat need, table [°C·day]", 10, Role.TEXT, "#,##0", align="center"),
        Column("lag", "Days, table", 8, Role.TEXT, align="center"),
        Column("spread", "First to last, table [°C·day]", 11, Role.TEXT, "#,##0", align="center"),
        Column("source", "Where the table's figures come from", 62, Role.TEXT, wrap=True),
    ),
)  # fmt: skip


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    last = TABLE.letter("source")
    look.write_top(
        sheet,
        "Kinds of fig",
        "Heat units from the visible fig to the first ripe one. Figures from your own log are better than the table's: "
        "type them in the place's own unit.",
        contents.banner,
        last,
    )
    look.write_text(sheet, "A4", _OTHER_RULES, look.BOLD_FONT)
    write_table(sheet, TABLE, merged(STANDING, contents.kinds))
    sheet.row_dimensions[TABLE.first_row].height = 42
    look.mark_checks(sheet, TABLE.cells("need_in_use", "latest", sheet=False))
    define(workbook, "Kind_names", TABLE.cells("name"))
    define(workbook, "Kind_needs", TABLE.cells("need_in_use"))
    define(workbook, "Kind_lags", TABLE.cells("lag_in_use"))
    define(workbook, "Kind_spreads", TABLE.cells("spread_in_use"))
    sheet.freeze_panes = f"B{TABLE.first_row}"
    look.set_up_print(sheet, contents.banner, f"A1:{last}{TABLE.last_row}", TABLE.heading_row)


_OTHER_RULES = (
    '=IF(AND(OR(Heat_method<>"sine",ABS(Heat_base-IF(Unit="F",46.4,8))>0.01),'
    f"COUNT({TABLE.cells('need', sheet=False)})>COUNT({TABLE.cells('own_need', sheet=False)})),"
    '"Mind: the table\'s needs hold for base 8 °C and the sine method, and Place says otherwise. Type your own.","")'
)
