"""Worksheet functions for the summer pruning of fig trees in a short season.

Every function of the worksheet is here under its Python name: ``sheetfuncs.latest_prune_date(...)``.
"""

from __future__ import annotations

from .cells.errors import InputError
from .functions import all_faces as _all_faces
from .functions import all_functions

globals().update({face.__name__: face for face in _all_faces()})

__all__ = ["InputError", "all_functions", *(face.__name__ for face in _all_faces())]
