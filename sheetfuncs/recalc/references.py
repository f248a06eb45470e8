"""What a formula refers to: cells, ranges, names and functions, read from its text in one pass.

A range whose end is worked out (``A1:INDEX(…)``, ``OFFSET(…)``) may lie anywhere on the sheets that the formula names,
and ``INDIRECT`` anywhere in the workbook.
"""

from __future__ import annotations

import re
from typing import Iterator, NamedTuple

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


def shifted(formula: str, rows: int, columns: int) -> str | None:
    """Return a formula with its relative references moved, as when it is copied to another cell.

    ``None`` where one would leave the sheet.
    """
    if not rows and not columns:
        return formula
    pieces, at = [], 0
    for start, end, text in _moved(formula, rows, columns):
        if text is None:
            return None
        pieces += [formula[at:start], text]
        at = end
    return "".join([*pieces, formula[at:]])


def _moved(formula: str, rows: int, columns: int) -> Iterator[tuple[int, int, str | None]]:
    for match in _SHIFTED.finditer(formula):
        for group in ("c1", "left", "right"):
            if match[group] and not match[group].startswith("$"):
                number = column_number(match[group]) + columns
                yield *match.span(group), column_letters(number) if 0 < number <= LAST_COLUMN else None
            if group == "c1" and match["r1"] and not match["r1"].startswith("$"):
                yield *match.span("r1"), _row(int(match["r1"]) + rows)
        for group in ("top", "bottom"):
            if match[group] and not match[group].startswith("$"):
                yield *match.span(group), _row(int(match[group]) + rows)


def _row(number: int) -> str | None:
    return str(number) if 0 < number <= LAST_ROW else None
