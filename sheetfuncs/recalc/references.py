"""What a formula refers to: cells, ranges, names and functions, read from its text in one pass.

A range whose end is worked out (``A1:INDEX(…)``, ``OFFSET(…)``) may lie anywhere on the sheets that the formula names,
and ``INDIRECT`` anywhere in the workbook.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from ..xlsx.places import Area, column_letters, column_number

LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
EVERYWHERE = Area(1, 1, LAST_ROW, LAST_COLUMN)

_ELEMENT = re.compile(
    r"""
    "(?:[^"]|"")*"
  | (?P<sheet>(?:'(?:[^']|'')*'|[^\W\d][\w.]*)!)?
    (?:
      (?P<c1>\$?[A-Za-z]{1,3})(?P<r1>\$?[1-9]\d{0,6})(?::(?P<c2>\$?[A-Za-z]{1,3})(?P<r2>\$?[1-9]\d{0,6}))?(?![\w.(!\\?])
    | (?P<left>\$?[A-Za-z]{1,3}):(?P<right>\$?[A-Za-z]{1,3})(?![\w.(!\\?])
    | (?P<top>\$?[1-9]\d{0,6}):(?P<bottom>\$?[1-9]\d{0,6})(?![\w.(!\\?])
    | (?P<word>[^\W\d][\w.\\?]*|\\[\w.\\?]*)(?P<call>\()?
    )
  | (?<![\w.])(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]?\d+)?
    """,
    re.VERBOSE,
)
_SHIFTED = re.compile(
    r"""
    "(?:[^"]|"")*" | '(?:[^']|'')*'! | \[[^\]]*\]
  | (?<![\w.$\\?])(?:
      (?P<c1>\$?[A-Za-z]{1,3})(?P<r1>\$?[1-9]\d{0,6})
    | (?P<left>\$?[A-Za-z]{1,3}):(?P<right>\$?[A-Za-z]{1,3})
    | (?P<top>\$?[1-9]\d{0,6}):(?P<bottom>\$?[1-9]\d{0,6})
    )(?![\w.(!\\?])
    """,
    re.VERBOSE,
)


class Uses(NamedTuple):
    """What a formula uses: areas by sheet ("" for its own), names by sheet, functions as they are written.

    is_wide : whether it works a range out, which may lie anywhere on the sheets that it names.
    """

    areas: tuple[tuple[str, Area], ...]
    names: tuple[tuple[str, str], ...]
    functions: frozenset[str]
    is_wide: bool


def uses(formula: str) -> Uses:
    """Return what a formula uses; sheets and names in small letters, functions in capitals."""
    areas: dict[tuple[str, Area], None] = {}
    names: dict[tuple[str, str], None] = {}
    functions = set()
    at, is_wide = 0, False
    for match in _ELEMENT.finditer(formula):
        start = match.start()
        is_wide = is_wide or ":" in formula[at:start]  # a colon that belongs to no plain range
        at = match.end()
        if match.lastgroup is None or (start and formula[start - 1] == "]"):
            continue  # a text, a number, or a cell of another workbook
        written, word = match["sheet"] or "", match["word"]
        if "[" in written:
            continue
        sheet = _plain_sheet(written)
        area = None if word else _area(match)
        if area is not None:
            areas[sheet, area] = None
        elif match["call"]:
            functions.add(word.upper())
        else:
            names[sheet, match[0].rpartition("!")[2].lower()] = None
    return Uses(
        tuple(areas), tuple(names), frozenset(functions), is_wide or ":" in formula[at:] or "OFFSET" in functions
    )


def _plain_sheet(written: str) -> str:
    text = written[:-1]
    if text.startswith("'"):
        text = text[1:-1].replace("''", "'")
    return text.lower()


def _area(match: re.Match[str]) -> Area | None:
    if match["c1"]:
        left, top = column_number(match["c1"].lstrip("$")), int(match["r1"].lstrip("$"))
        right, bottom = left, top
        if match["c2"]:
            right, bottom = column_number(match["c2"].lstrip("$")), int(match["r2"].lstrip("$"))
    elif match["left"]:
        left, right = column_number(match["left"].lstrip("$")), column_number(match["right"].lstrip("$"))
        top, bottom = 1, LAST_ROW
    else:
        top, bottom = int(match["top"].lstrip("$")), int(match["bottom"].lstrip("$"))
        left, right = 1, LAST_COLUMN
    if max(left, right) > LAST_COLUMN or max(top, bottom) > LAST_ROW:
        return None  # a name, such as ABC1 is none but XYZ9 is
    return Area(min(top, bottom), min(left, right), max(top, bottom), max(left, right))


def relative(formula: str, row: int, column: int) -> str:
    """Return a formula with its relative references as distances from its cell: copies of a formula have one text."""

    def distance(match: re.Match[str]) -> str:
        if not match.lastgroup:
            return match[0]
        ends = []
        for group, end in match.groupdict().items():
            if end:
                origin = column if group in ("c1", "left", "right") else row
                number = column_number(end) if end[-1].isalpha() and end[0] != "$" else end
                ends.append(end if end[0] == "$" else f"[{int(number) - origin}]")
        return ",".join(ends)

    return _SHIFTED.sub(distance, formula)


def shifted(formula: str, rows: int, columns: int) -> str | None:
    """Return a formula with its relative references moved, as when it is copied to another cell.

    ``None`` where one would leave the sheet.
    """
    if not rows and not columns:
        return formula
    try:
        return _SHIFTED.sub(lambda match: _moved(match, rows, columns, is_name=False), formula)
    except ValueError:
        return None


def from_first_cell(text: str, row: int, column: int) -> str:
    """Return what a name stands for in a cell; a file has it as in a sheet's first cell, where left of A is XFD."""
    return _SHIFTED.sub(lambda match: _moved(match, row - 1, column - 1, is_name=True), text)


def _moved(match: re.Match[str], rows: int, columns: int, is_name: bool) -> str:
    """Return a reference moved; raises ``ValueError`` where it would leave the sheet."""
    if not match.lastgroup:
        return match[0]
    pieces, at = [], match.start()
    for group, end in match.groupdict().items():
        if not end or end.startswith("$"):
            continue
        is_column = group in ("c1", "left", "right")
        number = column_number(end) + columns if is_column else int(end) + rows
        last = LAST_COLUMN if is_column else LAST_ROW
        if is_name:
            number = (number - 1) % last + 1
        if not 0 < number <= last:
            raise ValueError(match[0])
        start, stop = match.span(group)
        pieces += [match.string[at:start], column_letters(number) if is_column else str(number)]
        at = stop
    return "".join([*pieces, match.string[at : match.end()]])
