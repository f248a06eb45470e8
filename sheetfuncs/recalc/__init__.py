"""Recalculates a workbook file in place, without an office program, and renames our functions in it.

:mod:`.course` is the whole course in order, each step a module: the formula cells and what each refers to
(:mod:`.reading`); which of them are ours to write (:mod:`.plan`); their text for the engine (:mod:`.spelling`, by
passes over trees: :mod:`.ranges`, :mod:`.differences`, :mod:`.office_ways`); a copy of the workbook with it in memory
(:mod:`.prepare`); the answers of :mod:`.engine`, in a process of its own (:mod:`.apart`, :mod:`.process`); what is
refused and changes by them (:mod:`.outcome`), which :mod:`..xlsx` puts into the bytes of the user's file.
:mod:`.stale` drops stored values that hold no longer where others write into a workbook. It knows formulas; it knows
no figs.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .course import recalculate
    from .outcome import ChangedCell, CheckCell, Recalculated, RefusedCell
    from .rename import rename_functions

__all__ = ["ChangedCell", "CheckCell", "Recalculated", "RefusedCell", "recalculate", "rename_functions"]

_MODULES = {"recalculate": "course", "rename_functions": "rename"}


def __getattr__(name: str) -> Any:
    # Loaded when it is used: the process that evaluates needs the engine alone, and starts in half the time.
    if name not in __all__:
        raise AttributeError(f"module {__name__} has no attribute {name}")
    return getattr(import_module(f".{_MODULES.get(name, 'outcome')}", __name__), name)
