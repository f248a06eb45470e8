"""The text of a formula: its tokens, its calls, and the names of our functions in it.

Files hold formulas in one spelling whatever the user's language: English names, commas, A1 references. What
differs is how a program writes the name of a function that came with an add-in: ``SHEETFUNCS.NAME``,
``[1]!NAME``, ``'C:\\tools\\x.xlam'!NAME``, ``_xll.NAME``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Container, Iterator, NamedTuple

#: The service's name, which Calc puts before a function's name in an .xlsx.
SERVICE = "SHEETFUNCS"
#: Helpers of our own in the copy that the engine evaluates: an answer fitted to cells, its first cell, and a
#: function applied to each cell of ranges.
FIT, FIRST, EACH = "SHEETFUNCS_FIT", "SHEETFUNCS_FIRST", "SHEETFUNCS_EACH"
#: Others that do what the engine does otherwise than office programs.
COMPARE, TEXT, PRODUCTS = "SHEETFUNCS_COMPARE", "SHEETFUNCS_TEXT", "SHEETFUNCS_PRODUCTS"
#: No office program takes longer formulas, nor more brackets in one another.
LONGEST, DEEPEST = 65_536, 256

_PREFIX = re.compile(rf"(?:_xll\.|_xlfn\.|_xludf\.|_xlws\.|{SERVICE}\.)+", re.IGNORECASE)
_OFFICE_PREFIX = re.compile(r"(?:_xlfn\.|_xlws\.)+", re.IGNORECASE)
_TOKEN = re.compile(
    r"""
    (?P<string>"(?:[^"]|"")*")
  | (?P<quoted>'(?:[^']|'')*')
  | (?P<bracket>\[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\])
  | (?P<error>\#(?:N/A|[A-Z][A-Z0-9/]*[!?]))
  | (?P<word>[^\W\d][\w.\\?$]*|[\\$][\w.\\?$]*)
  | (?P<number>(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]?\d+)?)
  | (?P<space>\s+)
  | (?P<sign>.)
    """,
    re.VERBOSE | re.DOTALL,
)
_CELL = re.compile(r"\$?[A-Za-z]{1,3}\$?[1-9]\d{0,6}\Z")
_ROWS_OR_COLUMNS = re.compile(r"\$?(?:[A-Za-z]{1,3}|\d{1,7})\Z")


class Token(NamedTuple):
    """A piece of a formula; ``kind`` is the name of its group in the pattern above."""

    kind: str
    text: str
    start: int
    end: int


class Edit(NamedTuple):
    """A stretch of a text and what takes its place."""

    start: int
    end: int
    text: str


@dataclass
class Call:
    """A function called in a formula, or, without a name, a pair of brackets, or the formula itself."""

    name: str  # as written, without a library or a path before it
    start: int  # of the name, with whatever stands before it
    name_end: int
    arguments: list[list[Token | Call]] = field(default_factory=lambda: [[]])
    gaps: list[tuple[int, int]] = field(default_factory=list)  # each argument's stretch of the text

    @property
    def is_empty(self) -> bool:
        """Whether nothing stands between the brackets."""
        return len(self.arguments) == 1 and not self.arguments[0]


class FormulaTooLongError(ValueError):
    """A formula longer or deeper than any office program takes."""


def tokens(formula: str) -> list[Token]:
    """Return the tokens of a formula, spaces left out; raises :class:`FormulaTooLongError`."""
    if len(formula) > LONGEST:
        raise FormulaTooLongError(f"holds a formula of more than {LONGEST} letters")
    return [
        Token(match.lastgroup or "", match[0], match.start(), match.end())
        for match in _TOKEN.finditer(formula)
        if match.lastgroup != "space"
    ]


def parsed(formula: str) -> Call:
    """Return a formula as a tree of calls; brackets that do not match are closed where the formula ends.

    Raises :class:`FormulaTooLongError`.
    """
    top = Call("", 0, 0)
    open_calls = [top]
    starts = [0]
    braces = 0  # inside an array constant, where commas part no arguments
    pieces = tokens(formula)
    for place, token in enumerate(pieces):
        call = open_calls[-1]
        sign = token.text if token.kind == "sign" else ""
        if sign == "(":
            inner = _opened(call, pieces, place)
            call.arguments[-1].append(inner)
            open_calls.append(inner)
            if len(open_calls) > DEEPEST:
                raise FormulaTooLongError(f"holds a formula of more than {DEEPEST} brackets in one another")
            starts.append(token.end)
        elif sign == ")" and len(open_calls) > 1:
            call.gaps.append((starts.pop(), token.start))
            open_calls.pop()
        elif sign == "," and not braces:
            call.gaps.append((starts[-1], token.start))
            starts[-1] = token.end
            call.arguments.append([])
        else:
            braces += (sign == "{") - (sign == "}")
            call.arguments[-1].append(token)
    while open_calls:
        open_calls.pop().gaps.append((starts.pop(), len(formula)))
    return top


def _opened(call: Call, pieces: list[Token], place: int) -> Call:
    """Return the call that a bracket opens, taking its name from the pieces before the bracket."""
    token = pieces[place]
    before = pieces[place - 1] if place else None
    if before is None or before.kind != "word" or before.end != token.start:
        return Call("", token.start, token.end)
    start = before.start
    call.arguments[-1].pop()
    # A library: [1]!NAME( or 'path'!NAME( or library.xlam!NAME(
    if place >= 3 and pieces[place - 2].text == "!" and pieces[place - 3].kind in ("quoted", "bracket", "word"):
        count = 2
        if place >= 4 and pieces[place - 3].kind == "word" and pieces[place - 4].kind == "bracket":
            count = 3
        start = pieces[place - 1 - count].start
        del call.arguments[-1][-count:]
    return Call(before.text, start, before.end)


def calls(tree: Call) -> Iterator[Call]:
    """Go over all calls of a parsed formula, the outer ones first."""
    for argument in tree.arguments:
        for piece in argument:
            if isinstance(piece, Call):
                if piece.name:
                    yield piece
                yield from calls(piece)


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


def is_cell(word: str) -> bool:
    """Return whether a word is a cell's name, such as ``$B2``."""
    return _CELL.match(word) is not None


def is_row_or_column(word: str) -> bool:
    """Return whether a word can be one end of ``A:A`` or ``1:1``."""
    return _ROWS_OR_COLUMNS.match(word) is not None


def edited(text: str, edits: list[Edit]) -> str:
    """Return a text with stretches of it exchanged."""
    pieces, at = [], 0
    for edit in sorted(edits):
        pieces += [text[at : edit.start], edit.text]
        at = edit.end
    return "".join([*pieces, text[at:]])


def name_edits(tree: Call, ours: Container[str], written_as: str = "{}") -> list[Edit]:
    """Return what makes all names of our functions plain, or writes them in another way.

    ours : the plain names. written_as : a pattern such as ``SHEETFUNCS.{}``.
    """
    edits = []
    for call in calls(tree):
        name = plain_name(call.name)
        if name in ours:
            edits.append(Edit(call.start, call.name_end, written_as.format(name)))
    return edits


def blank_argument_edits(tree: Call, ours: Container[str]) -> list[Edit]:
    """Return what fills the left-out arguments of our functions with ``""``, which means blank to them."""
    edits = []
    for call in calls(tree):
        if not call.is_empty and plain_name(call.name) in ours:
            for argument, (_, end) in zip(call.arguments, call.gaps):
                if not argument:
                    edits.append(Edit(end, end, '""'))
    return edits
