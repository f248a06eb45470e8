"""Excel on Windows: the declared functions as worksheet functions, through the open-source part of xlwings.

:mod:`.udfs` is the module that xlwings imports; :mod:`.book` makes a macro workbook out of a plain one;
:mod:`.install` says what is missing on this machine.
"""

from __future__ import annotations

from .book import make_macro_book
from .install import Step, check_excel

__all__ = ["Step", "check_excel", "make_macro_book"]
