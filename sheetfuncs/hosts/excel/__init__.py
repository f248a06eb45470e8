"""Excel on Windows: the declared functions as worksheet functions, through the open-source part of xlwings.

:mod:`.udfs` is the module that xlwings imports (with :mod:`.values` and :mod:`.wording`); :mod:`.book` makes a macro
workbook out of a plain one (with :mod:`.project` and :mod:`.vba`); :mod:`.install` says what is missing on a machine.
Nothing is imported here: Excel waits for :mod:`.udfs`, which needs little of the rest.
"""

from __future__ import annotations
