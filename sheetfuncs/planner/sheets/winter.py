"""The sheet *Winter*: containers in and out, wrapping in the ground, cuttings, by position."""

from __future__ import annotations

from openpyxl import Workbook

from . import look
from .contents import Contents
from .layout import Column, Role, Setting, Table, number_between, whole_between
from .place import by_unit
from .positions import TABLE as POSITIONS
from .writing import Block, define, write_settings, write_table

NAME = "Winter"
HEADING_NAME = "Winter_heading"
_BLOCK = Block(typed="D", used="E", note="F", note_end="H", letters_a_line=80)
_DEGREES = number_between(-150, 150, "a temperature")
_SHARE = number_between(0.001, 0.999, "a share such as 10% or 0.1")

SETTINGS = (
    Setting("Shelter_limit", "Containers: a low the young wood must not meet", by_unit(-4),
            "Young wood is hurt at -3.9 to -2.8 °C (Rutgers FS1198). Roots in a container have no ground around them: "
            "higher is more careful.", _DEGREES, look.TENTHS),
    Setting("Wrap_limit", "In the ground: a low the wood must not meet", by_unit(-6),
            "Wood dies to the ground at -6.7 °C (Ohio State HYG-1439); -6 °C leaves a little (judgement). Dormant "
            "shoots stood -17 to -20 °C in a laboratory (Karami 2018), which a garden does not promise.",
            _DEGREES, look.TENTHS),
    Setting("Outside_limit", "In spring: a low the opening buds must not meet", by_unit(-1), "-1 °C: judgement.",
            _DEGREES, look.TENTHS),
    Setting("Winter_chance", "Chance of such a low that you accept", "0.1", "10 %: one season in ten (judgement).",
            _SHARE, look.SHARE),
    Setting("Rooting_days", "Cuttings: days to root", "60",
            "Cuttings of the growing season were judged at 60 days under mist (Ciênc. Agrotec. 31(3), 2007).",
            whole_between(1, 400, "whole days such as 60"), look.WHOLE),
    Setting("Rooting_chance", "Cuttings: chance of an end too early that you accept", "0.2",
            "20 %: one season in five (judgement).", _SHARE, look.SHARE),
)  # fmt: skip

_LINE = f"(ROW()-ROW({HEADING_NAME}))"
_CLIMATE = f"INDEX(Position_climates,{_LINE})"


def _dated(call: str, rarer: str) -> str:
    """Return the formula of a date; where the record holds no such low often enough, it says so."""
    asked = call.replace("{climate}", _CLIMATE)
    return f'IF(OR({{position}}="",{_CLIMATE}=""),"",IF({asked}="","{rarer}",{asked}))'


_RARE = "rarer"
TABLE = Table(
    sheet=NAME,
    heading_row=14,
    rows=POSITIONS.rows,
    columns=(
        Column("position", "Position", 18, Role.ANSWER, formula=f'INDEX(Position_names,{_LINE})&""'),
        Column("shelter", "Containers: under shelter by", 14, Role.ANSWER, look.DATE_SHORT, align="center",
               shrink=True, formula=_dated("SHELTER_BY({climate},Season_year,Shelter_limit,Winter_chance)", _RARE)),
        Column("wrap", "In the ground: wrapped by", 14, Role.ANSWER, look.DATE_SHORT, align="center", shrink=True,
               formula=_dated("SHELTER_BY({climate},Season_year,Wrap_limit,Winter_chance)", _RARE)),
        Column("outside", "Out again, unwrapped, from", 14, Role.ANSWER, look.DATE_LONG, align="center", shrink=True,
               formula=_dated("SAFE_OUTSIDE_FROM({climate},Season_year+1,Outside_limit,Winter_chance)", _RARE)),
        Column("cuttings", "Cuttings: take them by", 14, Role.ANSWER, look.DATE_SHORT, align="center", shrink=True,
               formula=_dated("ROOT_CUTTINGS_BY({climate},Season_year,Rooting_days,Rooting_chance)", "no end")),
        Column("containers", "Containers here", 12, Role.ANSWER, look.WHOLE, align="center", formula=(
            'IF({position}="","",COUNTIFS(Tree_positions,{position},Tree_footings,"container"))')),
        Column("ground", "In the ground here", 12, Role.ANSWER, look.WHOLE, align="center", formula=(
            'IF({position}="","",COUNTIFS(Tree_positions,{position},Tree_footings,"ground"))')),
    ),
)  # fmt: skip

_NOTES = (
    "rarer: such a low came in too few of the record's seasons for the chance you accept.",
    "Out again is the spring after this season's winter. The record's own lows count, not typed frost dates.",
    "Stored containers: 4.4 °C was used (University of New Hampshire, 2023), 0 to 10 °C in general; dark, and not dry.",
    "Containers are heavy: trolley or a second person.",
)


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    look.write_top(
        sheet, "Winter", "By when containers go under shelter and trees in the ground are wrapped, when they come out, "
        "and by when cuttings are taken.", contents.banner, "H",
    )  # fmt: skip
    write_settings(workbook, sheet, 5, "Limits", SETTINGS, contents, _BLOCK)
    write_table(sheet, TABLE)
    look.mark_checks(sheet, TABLE.cells("shelter", "cuttings", sheet=False))
    define(workbook, HEADING_NAME, f"{NAME}!$A${TABLE.heading_row}")
    for row, line in enumerate(_NOTES, start=TABLE.last_row + 2):
        look.write_text(sheet, f"A{row}", line, look.NOTE_FONT)
    sheet.column_dimensions["H"].width = 40
    sheet.freeze_panes = "A4"
    look.set_up_print(sheet, contents.banner, f"A1:H{TABLE.last_row + 1 + len(_NOTES)}", one_page=True)
