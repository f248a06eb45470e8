"""The sheet *Positions*: how much warmer a tree stands than the weather station, and the climate that makes."""

from __future__ import annotations

from openpyxl import Workbook

from . import look
from .contents import Contents
from .layout import Column, Role, Table, number_between
from .writing import define, merged, write_table

NAME = "Positions"

STANDING = (
    {"name": "open", "high": 0, "low": 0, "source": "As the weather station itself."},
    {
        "name": "south wall",
        "source": "Your own: no measurement of a wall's gain at night was found. Two thermometers for two weeks tell.",
    },
    {
        "name": "floating cover",
        "low": 1.0,
        "source": "Middle of +0.2 to +1.8 °C, at times below 0 on clear nights (Oregon State University); "
        "+1.1 to +2.2 °C (Colorado State University). Judgement: the more careful of the two.",
    },
    {
        "name": "unheated tunnel",
        "low": 1.3,
        "source": "+1.3 °C on the lows (Savage 1980). By day it depends on the vents: your own.",
    },
    {"name": "hollow", "source": "Your own, below 0 where cold air gathers. Blank counts as the station."},
)

_CHANGE = number_between(-40, 40, "degrees from -40 to 40, such as 1.5")


def _in_use(own: str, table: str) -> str:
    """Return the formula of a change in use: the user's own, else the table's in the place's unit."""
    return f'IF({{name}}="","",IF({{{own}}}<>"",{{{own}}},IF({{{table}}}<>"",{{{table}}}*IF(Unit="F",1.8,1),0)))'


def _of_climate(call: str) -> str:
    return f'IF({{climate}}="","",{call})'


TABLE = Table(
    sheet=NAME,
    heading_row=6,
    rows=15,
    columns=(
        Column("name", "Position", 18, Role.ENTRY, look.TEXT),
        Column("own_high", "Warmer by day, your own [°]", 11, Role.ENTRY, look.TENTHS, rule=_CHANGE, align="center"),
        Column("own_low", "Warmer at night, your own [°]", 11, Role.ENTRY, look.TENTHS, rule=_CHANGE, align="center"),
        Column("high_in_use", "By day, in use", 9, Role.ANSWER, look.TENTHS, align="center",
               formula=_in_use("own_high", "high")),
        Column("low_in_use", "At night, in use", 9, Role.ANSWER, look.TENTHS, align="center",
               formula=_in_use("own_low", "low")),
        Column("climate", "Climate of the position", 34, Role.ANSWER, formula=(
            'IF(OR({name}="",Climate_in_use=""),"",CLIMATE_AT(Climate_in_use,{high_in_use},{low_in_use}))')),
        Column("frost", "First frost, 1 in 2 earlier", 11, Role.ANSWER, look.DATE_SHORT, align="center",
               formula=_of_climate("FIRST_FROST({climate},Season_year,0.5)")),
        Column("end", "Season's end, 1 in 2 earlier", 11, Role.ANSWER, look.DATE_SHORT, align="center",
               formula=_of_climate("SEASON_END({climate},Season_year,0.5)")),
        Column("high", "By day, table [°C]", 9, Role.TEXT, look.TENTHS, align="center"),
        Column("low", "At night, table [°C]", 9, Role.TEXT, look.TENTHS, align="center"),
        Column("source", "Where the table's figures come from", 66, Role.TEXT, wrap=True),
    ),
)  # fmt: skip


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    last = TABLE.letter("source")
    look.write_top(
        sheet,
        "Positions",
        "How much warmer, or colder with a minus, a tree stands than the station: by day and at night, in the "
        "place's own unit. Blank takes the table's figure; where it has none, the station's own temperature.",
        contents.banner,
        last,
    )
    write_table(sheet, TABLE, merged(STANDING, contents.positions))
    for row in range(TABLE.first_row, TABLE.first_row + len(STANDING)):
        sheet.row_dimensions[row].height = 28
    look.mark_checks(sheet, TABLE.cells("climate", "end", sheet=False))
    define(workbook, "Position_names", TABLE.cells("name"))
    define(workbook, "Position_ends", TABLE.cells("end"))
    define(workbook, "Position_climates", TABLE.cells("climate"))
    define(workbook, "Position_highs", TABLE.cells("high_in_use"))
    define(workbook, "Position_lows", TABLE.cells("low_in_use"))
    sheet.freeze_panes = f"B{TABLE.first_row}"
    look.set_up_print(sheet, contents.banner, f"A1:{last}{TABLE.last_row}", TABLE.heading_row)
