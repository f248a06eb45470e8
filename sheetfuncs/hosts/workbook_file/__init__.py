"""A workbook file as a host: recalculate it in place, read its values, rename our functions in it.

:mod:`.recalculate` tells the whole story in order. It reads the archive (:mod:`.package`), the workbook's own
description (:mod:`.book`) and each sheet (:mod:`.sheet`), makes a copy in memory with every formula in the
engine's spelling (:mod:`.prepare`, :mod:`.spelling`, and for the details :mod:`.formulas`, :mod:`.tables`,
:mod:`.ranges`), has it evaluated (:mod:`.engine`) in a process of its own (:mod:`.apart`, :mod:`.child`), and puts
the new values into the bytes of the user's file (:mod:`.patch`, :mod:`.values`), which is written beside the old one
and swapped in (:mod:`.files`).
"""

from __future__ import annotations

from .errors import WorkbookFileError
from .reading import read_values
from .recalculate import ChangedCell, CheckCell, Recalculated, recalculate
from .rename import rename_functions

__all__ = [
    "ChangedCell",
    "CheckCell",
    "Recalculated",
    "WorkbookFileError",
    "read_values",
    "recalculate",
    "rename_functions",
]
