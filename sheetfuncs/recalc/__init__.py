"""Recalculates a workbook file in place, without an office program, and renames our functions in it.

:mod:`.course` is the whole course in order: it reads the formulas and what each refers to (:mod:`.formula_cells`),
chooses those that are ours to write and brings them into the engine's spelling (:mod:`.plan`, :mod:`.spelling`), makes
a copy with them in memory (:mod:`.prepare`), has it evaluated (:mod:`.engine`) in a process of its own (:mod:`.apart`,
:mod:`.child`), and has :mod:`..xlsx` put the new values into the bytes of the user's file.
:mod:`.stale` drops stored values that hold no longer where others write into a workbook. It knows formulas; it knows
no figs.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .course import recalculate
    from .rename import rename_functions
    from .results import ChangedCell, CheckCell, Recalculated, RefusedCell

__all__ = ["ChangedCell", "CheckCell", "Recalculated", "RefusedCell", "recalculate", "rename_functions"]

_MODULES = {"recalculate": "course", "rename_functions": "rename"}


def __getattr__(name: str) -> Any:
    # Loaded when it is used: the process that evaluates needs the engine alone, and starts in half the time.
    if name not in __all__:
        raise AttributeError(f"module {__name__} has no attribute {name}")
    return getattr(import_module(f".{_MODULES.get(name, 'results')}", __name__), name)
