"""The text of a formula: its tokens, and the names of functions in it.

Files hold formulas in one spelling whatever the user's language: English names, commas, A1 references. What
differs is how a program writes the name of a function that came with an add-in: ``SHEETFUNCS.NAME``,
``[1]!NAME``, ``'C:\\tools\\x.xlam'!NAME``, ``_xll.NAME``.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from ..xlsx.places import column_number

#: The service's name, which Calc puts before a function's name in an .xlsx.
SERVICE = "SHEETFUNCS"
#: Helpers of our own in the copy that the engine evaluates: an answer fitted to cells, its first cell, and a
#: function applied to each cell of ranges.
FIT, FIRST, EACH = "SHEETFUNCS_FIT", "SHEETFUNCS_FIRST", "SHEETFUNCS_EACH"
#: Others that do what the engine does otherwise than office programs.
COMPARE, TEXT, PRODUCTS = "SHEETFUNCS_COMPARE", "SHEETFUNCS_TEXT", "SHEETFUNCS_PRODUCTS"
PLUS, MINUS = "SHEETFUNCS_PLUS", "SHEETFUNCS_MINUS"
#: No office program takes longer formulas.
LONGEST = 65_536
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384

_PREFIX = re.compile(rf"(?:_xll\.|_xlfn\.|_xludf\.|_xlws\.|{SERVICE}\.)+", re.IGNORECASE)
_OFFICE_PREFIX = re.compile(r"(?:_xlfn\.|_xlws\.)+", re.IGNORECASE)
_TOKEN = re.compile(
    r"""
    (?P<string>"(?:[^"]|"")*")
  | (?P<quoted>'(?:[^']|'')*')
  | (?P<bracket>\[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\])
  | (?P<error>\#(?:N/A|[A-Z][A-Z0-9/]*[!?]))
  | (?P<area>(?:\$?[A-Za-z]{1,3}\$?[1-9]\d{0,6}(?::\$?[A-Za-z]{1,3}\$?[1-9]\d{0,6})?
      | \$?[A-Za-z]{1,3}:\$?[A-Za-z]{1,3} | \$?[1-9]\d{0,6}:\$?[1-9]\d{0,6})(?![\w.(!\\?\[]))
  | (?P<word>[^\W\d][\w.\\?$]*|[\\$][\w.\\?$]*)
  | (?P<number>(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]?\d+)?)
  | (?P<space>\s+)
  | (?P<sign>.)
    """,
    re.VERBOSE | re.DOTALL,
)


#: One end of an area: whether it stays, and its column's letters or its row.
END = re.compile(r"(\$?)([A-Za-z]+|\d+)")


class Token(NamedTuple):
    """A piece of a formula; ``kind`` is the name of its group in the pattern above."""

    kind: str
    text: str
    start: int
    end: int


class FormulaTooLongError(ValueError):
    """A formula longer or deeper than any office program takes."""


def tokens(formula: str) -> list[Token]:
    """Return the tokens of a formula, spaces left out; raises :class:`FormulaTooLongError`."""
    if len(formula) > LONGEST:
        raise FormulaTooLongError(f"holds a formula of more than {LONGEST} letters")
    return [
        Token(_kind(match), match[0], match.start(), match.end())
        for match in _TOKEN.finditer(formula)
        if match.lastgroup != "space"
    ]


def _kind(match: re.Match[str]) -> str:
    kind = match.lastgroup or ""
    return "word" if kind == "area" and is_beyond_a_sheet(match[0]) else kind  # XYZ9 is a name


def is_beyond_a_sheet(area: str) -> bool:
    """Return whether cells such as ``XYZ9`` would lie beyond the last row or column."""
    ends = END.findall(area)
    return any((int(end) > LAST_ROW if end.isdigit() else column_number(end) > LAST_COLUMN) for _, end in ends)


def plain_name(written: str) -> str:
    """Return a function's name in capitals without what programs put before it.

    >>> plain_name("_xll.Latest_Prune_Date"), plain_name("_xlfn.XLOOKUP")
    ('LATEST_PRUNE_DATE', 'XLOOKUP')
    """
    return _PREFIX.sub("", written, count=1).upper() if _PREFIX.match(written) else written.upper()


def has_service(written: str) -> bool:
    """Return whether a name is written as one of ours, whether we have it or not."""
    prefix = _PREFIX.match(written)
    return prefix is not None and f"{SERVICE}." in prefix[0].upper()


def office_name(written: str) -> str:
    """Return a built-in function's name in capitals without the marks of newer functions."""
    return _OFFICE_PREFIX.sub("", written, count=1).upper()
