"""What a workbook is filled with; a blank one is filled with nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any, Mapping, Sequence, Tuple

#: One day of weather: date, low, high.
Day = Tuple[date, float, float]


@dataclass(frozen=True)
class Contents:
    """What goes into the cells that a user would fill.

    banner : the line that marks an invented workbook on every sheet. settings : typed values by defined name.
    frost_rows : (chance, date) as typed. weather : the daily record.
    positions, kinds : the user's own figures by name, as columns of the sheet; new names make new rows.
    trees, hard_cuts, log : one mapping a line, by column of the sheets *Trees*, *Later flush* and *Log*.
    spread : tags of the trees whose picking is spread on *Picking*.
    """

    banner: str = ""
    settings: Mapping[str, Any] = field(default_factory=dict)
    frost_rows: Sequence[tuple[float, date]] = ()
    weather: Sequence[Day] = ()
    positions: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    kinds: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    trees: Sequence[Mapping[str, Any]] = ()
    hard_cuts: Sequence[Mapping[str, Any]] = ()
    log: Sequence[Mapping[str, Any]] = ()
    spread: Sequence[str] = ()


BLANK = Contents()
