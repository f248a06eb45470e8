"""Worksheet functions for the summer pruning of fig trees in a short season.

Every function of the worksheet is here under its Python name: ``sheetfuncs.latest_prune_date(...)``. Editors and type
checkers read the stub beside this file, which ``python -m tests.stub`` writes from the declarations.
"""

from __future__ import annotations

from .cells.errors import InputError
from .functions import all_faces as _all_faces
from .functions import all_functions
from .functions.frames import UnansweredLineWarning
from .functions.plan import plan_trees

_FACES = {face.__name__: face for face in _all_faces()}
globals().update(_FACES)

__all__ = ["InputError", "UnansweredLineWarning", "all_functions", "plan_trees", *_FACES]
