"""Recalculates a workbook file in place, without an office program, and renames our functions in it.

:mod:`.recalculate` is the whole course in order: it makes a copy in memory with every formula in the
engine's spelling (:mod:`.prepare`, :mod:`.spelling`, and for the details :mod:`.formulas`, :mod:`.tables`,
:mod:`.ranges`), has it evaluated (:mod:`.engine`) in a process of its own (:mod:`.apart`, :mod:`.child`), and has
:mod:`..xlsx` put the new values into the bytes of the user's file. It knows formulas; it knows no figs.
"""

from __future__ import annotations

from .recalculate import recalculate
from .rename import rename_functions
from .results import ChangedCell, CheckCell, Recalculated, RefusedCell

__all__ = ["ChangedCell", "CheckCell", "Recalculated", "RefusedCell", "recalculate", "rename_functions"]
