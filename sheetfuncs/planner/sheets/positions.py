"""The sheet *Positions*: how much warmer a tree stands than the weather station, the climate that makes, its winter."""

from __future__ import annotations

from dataclasses import replace

from . import look, winter
from .layout import Column, Page, Paper, Role, Table, answer, entry, working
from .rules import listed_in, number_between
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
    twice = '"Check: position "&{name}&" is there "&COUNTIF(Position_names,{name})&" times"'
    return (
        f'IF({{name}}="","",IF(COUNTIF(Position_names,{{name}})>1,{twice},'
        f'IF({own}<>"",IF({odd},"Check: {when} is "&{own}&", wanted degrees such as 1.5",{own}),'
        f'IF({table}<>"",{table}*IF(Unit="F",1.8,1),0))))'
    )


def _of_climate(call: str) -> str:
    return f'IF({{climate}}="","",{call})'


TABLE = Table(
    sheet=NAME,
    heading_row=6,
    rows=15,
    named_by=("name",),
    checked=("high_in_use", "cuttings"),
    filled=lambda contents: merged(STANDING, contents.positions),
    names={
        "Position_names": "name", "Position_ends": "end", "Position_climates": "climate",
        "Position_highs": "high_in_use", "Position_lows": "low_in_use",
    },
    columns=(
        entry("name", "Position", 18, None, look.TEXT, "left"),
        entry("own_high", "Warmer by day, your own [°]", 11, _CHANGE, look.TENTHS),
        entry("own_low", "Warmer at night, your own [°]", 11, _CHANGE, look.TENTHS),
        answer("high_in_use", "By day, in use", 9, look.TENTHS, _in_use("own_high", "high", "warmer by day")),
        answer("low_in_use", "At night, in use", 9, look.TENTHS, _in_use("own_low", "low", "warmer at night")),
        answer("frost", "First frost, 1 in 2 earlier", 13, look.DATE_SHORT,
            _of_climate("FIRST_FROST({climate},Season_year,0.5)")),
        answer("end", "Season's end, 1 in 2 earlier", 13, look.DATE_SHORT,
            _of_climate("SEASON_END({climate},Season_year,0.5)")),
        *winter.COLUMNS,
        Column("high", "By day, table [°C]", 9, Role.TEXT, look.TENTHS, align="center"),
        Column("low", "At night, table [°C]", 9, Role.TEXT, look.TENTHS, align="center"),
        Column("source", "Where the table's figures come from", 66, Role.TEXT, wrap=True),
        working("climate", "Climate of the position",
            'IF(OR({name}="",Climate_in_use="",NOT(ISNUMBER({high_in_use}+{low_in_use}))),"",'
            "CLIMATE_AT(Climate_in_use,{high_in_use},{low_in_use}))"),
    ),
    row_height=28,
)  # fmt: skip


#: For cells in which a position is chosen, on any sheet.
CHOICE = listed_in("Position_names", "a position from the sheet Positions")
LIMITS = replace(winter.LIMITS, row=TABLE.last_row + 2, note_end=TABLE.letter("source"))
_NOTES_ROW = LIMITS.row + len(LIMITS.lines) + 2


def page(rows: int) -> Page:
    """Return the sheet."""
    return Page(
        name=NAME,
        title="Positions",
        purpose="How much warmer, or colder with a minus, a tree stands than the station: by day and at night, in the "
        "workbook's unit. Blank takes the table's figure; where it has none, the station's own temperature.",
        step="Say how much warmer or colder your positions are; see when to shelter and wrap, and bring out.",
        last_column=TABLE.letter("source"),
        paper=Paper(_NOTES_ROW + len(winter.NOTES) - 1, TABLE.heading_row),
        settings=(LIMITS,),
        tables=(TABLE,),
        notes=dict(enumerate(winter.NOTES, start=_NOTES_ROW)),
        freeze=f"B{TABLE.first_row}",
    )
