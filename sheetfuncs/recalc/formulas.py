"""The text of a formula, as the engine's own parser reads it, and the names of functions in it.

Files hold formulas in one spelling whatever the user's language: English names, commas, A1 references. What
differs is how a program writes the name of a function that came with an add-in: ``SHEETFUNCS.NAME``,
``[1]!NAME``, ``'C:\\tools\\x.xlam'!NAME``, ``_xll.NAME``.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import formualizer

#: The service's name, which Calc puts before a function's name in an .xlsx.
SERVICE = "SHEETFUNCS"
#: Helpers of our own in the copy that the engine evaluates: an answer fitted to cells, its first cell, and a
#: function applied to each cell of ranges.
FIT, FIRST, EACH = "SHEETFUNCS_FIT", "SHEETFUNCS_FIRST", "SHEETFUNCS_EACH"
#: Others that do what the engine does otherwise than office programs.
COMPARE, TEXT, PRODUCTS = "SHEETFUNCS_COMPARE", "SHEETFUNCS_TEXT", "SHEETFUNCS_PRODUCTS"
PLUS, MINUS = "SHEETFUNCS_PLUS", "SHEETFUNCS_MINUS"

_PREFIX = re.compile(rf"^(?:_xll\.|_xlfn\.|_xludf\.|_xlws\.|{SERVICE}\.)+", re.IGNORECASE)
_OFFICE_PREFIX = re.compile(r"(?:_xlfn\.|_xlws\.)+", re.IGNORECASE)
_TOO_DEEP = "holds a formula of more than 72 brackets or 256 operations in one another"
#: How some programs write ``[[#This Row],[Column]]``.
_BARE_COLUMN = re.compile(r"(\[\[#This Row\],)([^\[\]]+)\]", re.IGNORECASE)


class UnreadableFormulaError(ValueError):
    """A formula that no office program takes, or that goes beyond this recalculation; the text gives the reason."""


class Token(NamedTuple):
    """A piece of a formula's text. kind : the engine's name of it, such as "Operand" or "Func"."""

    kind: str
    text: str


def tokens(formula: str) -> list[Token]:
    """Return the pieces of a formula, which joined are its text; raises :class:`UnreadableFormulaError`."""
    text = f"={formula}"
    raw = text.encode()
    try:
        return [Token(str(one.token_type), raw[one.start : one.end].decode()) for one in formualizer.tokenize(text)]
    except formualizer.TokenizerError:
        raise UnreadableFormulaError("is beyond this recalculation") from None


def syntax(formula: str) -> formualizer.ASTNode:
    """Return a formula as the engine reads it; raises :class:`UnreadableFormulaError`."""
    if _BARE_COLUMN.search(formula):
        pieces = tokens(formula)
        formula = "".join(
            one.text if one.text.startswith('"') else _BARE_COLUMN.sub(r"\1[\2]]", one.text) for one in pieces
        )
    try:
        return formualizer.parse(f"={formula}")
    except (formualizer.ParserError, formualizer.TokenizerError) as error:
        is_deep = "too deep" in str(error) or "limit" in str(error)
        raise UnreadableFormulaError(_TOO_DEEP if is_deep else "is beyond this recalculation") from None


def plain_name(written: str) -> str:
    """Return a function's name in capitals without what programs put before it.

    >>> plain_name("[1]!_xll.Latest_Prune_Date"), plain_name("_xlfn.XLOOKUP")
    ('LATEST_PRUNE_DATE', 'XLOOKUP')
    """
    return _PREFIX.sub("", written.rpartition("!")[2]).upper()


def has_service(written: str) -> bool:
    """Return whether a name is written as one of ours, whether we have it or not."""
    prefix = _PREFIX.match(written)
    return prefix is not None and f"{SERVICE}." in prefix[0].upper()


def office_name(written: str) -> str:
    """Return a built-in function's name in capitals without the marks of newer functions."""
    return _OFFICE_PREFIX.sub("", written, count=1).upper()
