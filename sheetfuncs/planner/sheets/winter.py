"""What *Positions* says of the winter: containers in and out, wrapping in the ground, cuttings."""

from __future__ import annotations

from . import look
from .layout import Column, Setting, Settings, answer
from .place import by_unit
from .rules import default, number_between, whole_between

_DEGREES = number_between(-150, 150, "a temperature")
_SHARE = number_between(0.001, 0.999, "a share such as 10% or 0.1")

#: *Positions* says in which rows they stand.
LIMITS = Settings(0, "Winter: the limits", (
    Setting("Shelter_limit", "Containers: a low the young wood must not meet", default("shelter_by", "limit"),
            "Young wood is hurt at -3.9 to -2.8 °C (Rutgers FS1198). Roots in a container have no ground around them: "
            "higher is more careful.", _DEGREES, look.TENTHS),
    Setting("Wrap_limit", "In the ground: a low the wood must not meet", by_unit(-6),
            "Wood dies to the ground at -6.7 °C (Ohio State HYG-1439); -6 °C leaves a little (judgement). Dormant "
            "shoots stood -17 to -20 °C in a laboratory (Karami 2018), which a garden does not promise.",
            _DEGREES, look.TENTHS),
    Setting("Outside_limit", "In spring: a low the opening buds must not meet", default("safe_outside_from", "limit"),
            "-1 °C: judgement.", _DEGREES, look.TENTHS),
    Setting("Winter_chance", "Chance of such a low that you accept", default("shelter_by", "chance"),
            "10 %: one season in ten (judgement).", _SHARE, look.SHARE),
    Setting("Rooting_days", "Cuttings: days to root", default("root_cuttings_by", "rooting_days"),
            "Cuttings of the growing season were judged at 60 days under mist (Ciênc. Agrotec. 31(3), 2007).",
            whole_between(1, 400, "whole days such as 60"), look.WHOLE),
    Setting("Rooting_chance", "Cuttings: chance of too early an end",
            default("root_cuttings_by", "chance"), "20 %: one season in five (judgement).", _SHARE, look.SHARE),
), typed="D", used="E", note="F", letters_a_line=150)  # fmt: skip


def _dated(key: str, heading: str, function: str, season: str, limits: str, rarer: str = "rarer",
           number_format: str = look.DATE_SHORT) -> Column:  # fmt: skip
    """Return a column of dates; where the record holds no such low often enough, it says so."""
    call = f"{function}({{climate}},{season},{limits})"
    known = f"ISNUMBER({limits.replace(',', '+')})"
    formula = f'IF(OR({{climate}}="",NOT({known})),"",IF({call}="","{rarer}",{call}))'
    return answer(key, heading, 13, number_format, formula)


def _counted(key: str, heading: str, grown_in: str) -> Column:
    formula = f'IF({{name}}="","",COUNTIFS(Tree_positions,{{name}},Tree_grown_in,"{grown_in}"))'
    return answer(key, heading, 11, look.WHOLE, formula)


COLUMNS = (
    _dated("shelter", "Containers under shelter by", "SHELTER_BY", "Season_year", "Shelter_limit,Winter_chance"),
    _dated("wrap", "In the ground, wrapped by", "SHELTER_BY", "Season_year", "Wrap_limit,Winter_chance"),
    _dated("outside", "Out again, unwrapped, from",
           "SAFE_OUTSIDE_FROM", "Season_year+1", "Outside_limit,Winter_chance", number_format=look.DATE_LONG),
    _dated("cuttings", "Cuttings: take them by",
           "ROOT_CUTTINGS_BY", "Season_year", "Rooting_days,Rooting_chance", "no end"),
    _counted("containers", "Containers here", "container"),
    _counted("ground", "In the ground here", "ground"),
)  # fmt: skip

NOTES = (
    "rarer: such a low came in too few of the record's seasons for the chance you accept.",
    "Out again is the spring after this season's winter. The record's own lows count, not typed frost dates.",
    "Stored containers: 4.4 °C was used (University of New Hampshire, 2023), 0 to 10 °C in general; dark, and not dry. "
    "They are heavy: trolley or a second person.",
)
