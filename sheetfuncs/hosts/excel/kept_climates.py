"""Climates that outlive their process: Excel keeps the texts in its cells, and asks a new process what is behind them.

Kept is not what was made but the call that made it: the function's name and its arguments, plain numbers and texts. A
text that is not held is made again by that call, and is taken only where the same text comes out.
"""

from __future__ import annotations

import hashlib
from datetime import date, datetime
from typing import Any, Sequence

from ...cells.cache import Cache, user_folder
from ...cells.climates import CLIMATES
from ...cells.kinds import CLIMATE, is_check
from ...functions import all_functions
from ...functions.declare import Function

_MAKERS = {function.name: function for function in all_functions() if function.result is CLIMATE}


class KeptClimates:
    """The calls that made climates, in a cache."""

    def __init__(self, cache: Cache) -> None:
        self._cache = cache
        self._written: set[str] = set()

    def note(self, function: Function, cells: Sequence[Any], epoch: date, answer: Any) -> None:
        """Keep the call of a function where its answer is a climate that this process has not kept yet."""
        if function.result is not CLIMATE or not isinstance(answer, str) or is_check(answer):
            return
        if answer in self._written or any(isinstance(cell, str) and is_check(cell) for cell in cells):
            return
        self._written.add(answer)
        with_kinds = [_plain(cell) for cell in cells]
        if _NOT_PLAIN not in with_kinds:
            self._cache.write(_file_name(answer), [answer, function.name, epoch.toordinal(), with_kinds])

    def find(self, text: str) -> Any:
        """Return the climate of a text, made again; ``None`` where its call is not kept or gives another one."""
        try:
            kept, name, epoch, cells = self._cache.read(_file_name(text))
            if kept != text or _MAKERS[name].in_cell([_cell(one) for one in cells], date.fromordinal(epoch)) != text:
                return None
        except (TypeError, ValueError, KeyError, OverflowError, RecursionError):  # no call of ours
            return None
        return CLIMATES.held(text)


def keep_climates() -> KeptClimates:
    """Let climates that are not held be looked for in the user's cache; returns what notes new ones."""
    kept = KeptClimates(Cache(user_folder()))
    CLIMATES.find = kept.find
    return kept


def _file_name(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


_NOT_PLAIN: Any = {}


def _plain(cell: Any) -> Any:
    """Return a cell, or rows of them, as JSON holds it; a date as its ordinal in a list."""
    if isinstance(cell, (list, tuple)):
        rows = [[_plain(one) for one in row] for row in cell]
        return _NOT_PLAIN if any(_NOT_PLAIN in row for row in rows) else {"rows": rows}
    if isinstance(cell, date):
        return [(cell.date() if isinstance(cell, datetime) else cell).toordinal()]
    return cell if cell is None or isinstance(cell, (str, int, float)) else _NOT_PLAIN


def _cell(plain: Any) -> Any:
    if isinstance(plain, dict):
        return [[_cell(one) for one in row] for row in plain["rows"]]
    return date.fromordinal(plain[0]) if isinstance(plain, list) else plain
