"""The sheet *Positions*: how much warmer a tree stands than the weather station, and the climate that makes."""

from __future__ import annotations

from . import look
from .layout import Column, Page, Paper, Role, Table, number_between
from .writing import merged

NAME = "Positions"

STANDING = (
    {"name": "open", "high": 0, "low": 0, "source": "As the weather station itself."},
    {
        "name": "south wall",
        "source": "Your own: no measurement of a wall's gain at night was found. Two thermometers show it in weeks.",
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

#: A wall or a tunnel gains a few degrees; what gains more is another place (judgement).
MOST_GAIN = 12
_CHANGE = number_between(-MOST_GAIN, MOST_GAIN, f"degrees from -{MOST_GAIN} to {MOST_GAIN}, such as 1.5")


def _in_use(own: str, table: str, when: str) -> str:
    """Return the formula of a change in use: the user's own, else the table's in the workbook's unit."""
    own, table = f"{{{own}}}", f"{{{table}}}"
    odd = f"OR(NOT(ISNUMBER({own})),ABS(N({own}))>{MOST_GAIN}*IF(Unit=\"F\",1.8,1))"
    return (
        f'IF({{name}}="","",IF({own}<>"",IF({odd},"Check: {when} is "&{own}&", wanted degrees such as 1.5",{own}),'
        f'IF({table}<>"",{table}*IF(Unit="F",1.8,1),0)))'
    )


def _of_climate(call: str) -> str:
    return f'IF({{climate}}="","",{call})'


TABLE = Table(
    sheet=NAME,
    heading_row=6,
    rows=15,
    named_by=("name",),
    checked=("high_in_use", "end"),
    filled=lambda contents: merged(STANDING, contents.positions),
    names={
        "Position_names": "name", "Position_ends": "end", "Position_climates": "climate",
        "Position_highs": "high_in_use", "Position_lows": "low_in_use",
    },
    columns=(
        Column("name", "Position", 18, Role.ENTRY, look.TEXT),
        Column("own_high", "Warmer by day, your own [°]", 11, Role.ENTRY, look.TENTHS, rule=_CHANGE, align="center"),
        Column("own_low", "Warmer at night, your own [°]", 11, Role.ENTRY, look.TENTHS, rule=_CHANGE, align="center"),
        Column("high_in_use", "By day, in use", 9, Role.ANSWER, look.TENTHS, align="center", shrink=True,
               formula=_in_use("own_high", "high", "warmer by day")),
        Column("low_in_use", "At night, in use", 9, Role.ANSWER, look.TENTHS, align="center", shrink=True,
               formula=_in_use("own_low", "low", "warmer at night")),
        Column("frost", "First frost, 1 in 2 earlier", 13, Role.ANSWER, look.DATE_SHORT, align="center", shrink=True,
               formula=_of_climate("FIRST_FROST({climate},Season_year,0.5)")),
        Column("end", "Season's end, 1 in 2 earlier", 13, Role.ANSWER, look.DATE_SHORT, align="center", shrink=True,
               formula=_of_climate("SEASON_END({climate},Season_year,0.5)")),
        Column("high", "By day, table [°C]", 9, Role.TEXT, look.TENTHS, align="center"),
        Column("low", "At night, table [°C]", 9, Role.TEXT, look.TENTHS, align="center"),
        Column("source", "Where the table's figures come from", 66, Role.TEXT, wrap=True),
        Column("climate", "Climate of the position", 34, Role.WORKING, formula=(
            'IF(OR({name}="",Climate_in_use=""),"",IF(NOT(ISNUMBER({high_in_use})),{high_in_use},'
            "IF(NOT(ISNUMBER({low_in_use})),{low_in_use},CLIMATE_AT(Climate_in_use,{high_in_use},{low_in_use}))))")),
    ),
    row_height=28,
)  # fmt: skip


def page(rows: int) -> Page:
    """Return the sheet."""
    return Page(
        name=NAME,
        title="Positions",
        purpose="How much warmer, or colder with a minus, a tree stands than the station: by day and at night, in the "
        "workbook's unit. Blank takes the table's figure; where it has none, the station's own temperature.",
        step="Say how much warmer or colder your walls, covers, tunnels and hollows are.",
        last_column=TABLE.letter("source"),
        paper=Paper(TABLE.last_row, TABLE.heading_row, one_page=True),
        tables=(TABLE,),
        freeze=f"B{TABLE.first_row}",
    )
