"""What office programs do otherwise than the engine: handed over to functions of our own, and done by these.

The engine compares the last bits of numbers, writes 17 digits into texts, and knows the capitals of plain Latin letters
only; office programs go to the 15th digit, in any script. The functions take and give values of the engine: numbers,
texts, truth values, ``None`` for blank, an error as a dictionary, a range as a list of rows.
"""

from __future__ import annotations

import math
import operator
import re
from datetime import date
from functools import partial, reduce
from typing import Any, Callable, Sequence

from ..cells.dates import to_serial
from ..xlsx.errors import WorkbookFileError
from .formulas import Cells
from .tree import COMPARISONS, Call, Leaf, Node, Operation, function_call

#: Our functions in the copy that the engine evaluates: an answer fitted to cells, its first cell, a function applied
#: to each cell of ranges, and what is done otherwise.
FIT, FIRST, EACH = "SHEETFUNCS_FIT", "SHEETFUNCS_FIRST", "SHEETFUNCS_EACH"
COMPARE, TEXT, PRODUCTS = "SHEETFUNCS_COMPARE", "SHEETFUNCS_TEXT", "SHEETFUNCS_PRODUCTS"
PLUS, MINUS = "SHEETFUNCS_PLUS", "SHEETFUNCS_MINUS"

NOT_KNOWN = {"type": "Error", "kind": "NImpl"}
_WRONG_KIND, _MISSING, NOT_A_NUMBER = ({"type": "Error", "kind": kind} for kind in ("Value", "Na", "Num"))
#: Numbers as near as this, of their size, are equal: 0.1+0.2 and 0.3.
_SAME = 2.0**-48
_THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}(?:\D|$))")
_CLOCK = re.compile(r"(\d{1,2}):(\d\d)(?::(\d\d))?")
#: What is left of a difference of two such numbers.
NOTHING = 1e-13
_SIGNS: dict[str, Callable[[Any, Any], bool]] = {
    "=": operator.eq, "<>": operator.ne, "<": operator.lt, ">": operator.gt, "<=": operator.le, ">=": operator.ge,
}  # fmt: skip
#: Functions that answer with whole numbers, and with texts.
_WHOLE = frozenset({
    "COUNT", "COUNTA", "COUNTBLANK", "COUNTIF", "COUNTIFS", "ROW", "ROWS", "COLUMN", "COLUMNS", "LEN", "MATCH", "INT",
    "DATE", "YEAR", "MONTH", "DAY", "WEEKDAY", "HOUR", "MINUTE", "FIND", "SEARCH", "SIGN", "TODAY", "EDATE", "EOMONTH",
})  # fmt: skip
_TEXTS = frozenset({"TEXT", "LEFT", "RIGHT", "MID", "PROPER", "TRIM", "CHAR", "REPT", "REPLACE", "UPPER", "LOWER"})
#: Functions that take texts, and make one of a number.
_OF_TEXTS = frozenset({"LEN", "LEFT", "RIGHT", "MID", "FIND", "EXACT", "CONCATENATE", "CONCAT", "TRIM"})
#: Functions that answer with one of their arguments, or with a sum of them.
_HANDED_ON = frozenset({"IF", "MAX", "MIN", "ABS", "SUM"})


def in_the_office_way(node: Node, is_many: Callable[[Node], bool]) -> Node:
    """Return what hands an operation over that the engine has another way for.

    is_many : whether a node can be several values; sums of many cells are left to the engine.
    """
    if isinstance(node, Call) and node.name == "SUMPRODUCT" and len(node.arguments) > 1:
        return function_call(PRODUCTS, *node.arguments)
    if isinstance(node, Call) and node.name in _OF_TEXTS:
        arguments = (_text_of(part) if part is not None and _is_worked_out(part) else part for part in node.arguments)
        return node._replace(arguments=tuple(arguments))
    if not isinstance(node, Operation) or len(node.operands) != 2:
        return node
    left, right = node.operands
    if node.sign in COMPARISONS and not _is_compared_alike(node.sign, left, right):
        return function_call(COMPARE, Leaf("text", f'"{node.sign}"'), left, right)
    if node.sign == "&":
        return node._replace(operands=(_text_of(left), _text_of(right)))
    if node.sign in "+-" and not (_is_whole(left) and _is_whole(right)) and not (is_many(left) or is_many(right)):
        # One call for a long row of terms, as the engine takes few brackets in one another.
        name = PLUS if node.sign == "+" else MINUS
        terms = left.arguments if isinstance(left, Call) and left.written == name else (left,)
        return function_call(name, *terms, right)
    return node


def _is_worked_out(node: Node) -> bool:
    if isinstance(node, Operation):
        return node.sign in "+-*/^%"
    return isinstance(node, Call) and node.written in (PLUS, MINUS)


def _is_compared_alike(sign: str, left: Node, right: Node) -> bool:
    for one in (left, right):
        if isinstance(one, Leaf) and one.kind == "text" and one.text.isascii() and sign in ("=", "<>"):
            return True
        if isinstance(one, Leaf) and (one.text == "0" or one.kind == "truth"):
            return True  # what is nearly nought is so by a sum or a difference, and those are handed over
    return _is_whole(left) and _is_whole(right)


def _is_whole(node: Node) -> bool:
    """Return whether a node can be nothing but a whole number, which the engine has to the last digit."""
    if isinstance(node, Leaf):
        return node.kind == "number" and node.text.isdigit() and len(node.text) < 10
    if isinstance(node, Operation):
        return node.sign in "+-*" and all(map(_is_whole, node.operands))
    if isinstance(node, Cells):
        return False
    if node.name == "IF":
        return all(part is not None and _is_whole(part) for part in node.arguments[1:])
    return node.name in _WHOLE or (node.name in _HANDED_ON and all(part and _is_whole(part) for part in node.arguments))


def _text_of(node: Node) -> Node:
    is_text = isinstance(node, Leaf) and node.kind == "text"
    is_text = is_text or (isinstance(node, Operation) and node.sign == "&")
    is_text = is_text or (isinstance(node, Call) and node.name in _TEXTS)
    return node if is_text or _is_whole(node) else function_call(TEXT, node)


# -- what they are handed over to -------------------------------------------------------------------------------


def fit(value: Any, rows: float, columns: float) -> Any:
    """Spread an answer over an array formula's cells as office programs do: repeat a single line, pad with #N/A."""
    table = value if isinstance(value, list) else [[value]]

    def at(row: int, column: int) -> Any:
        cell = cell_at(table, row, column)
        return 0.0 if cell is None else cell

    return [[at(row, column) for column in range(int(columns))] for row in range(int(rows))]


def first(value: Any) -> Any:
    """Return the first cell of an answer, which is what a formula entered into one cell shows."""
    found = value[0][0] if isinstance(value, list) and value and value[0] else value
    return 0.0 if found is None or isinstance(found, list) else found


def compare(sign: str, left: Any, right: Any) -> Any:
    """Compare as office programs do: numbers to the 15th digit, texts whatever their case, numbers below texts."""
    return _over_cells(lambda one, other: _compared(sign, one, other), left, right)


def text(value: Any) -> Any:
    """Return what a value becomes where a text is wanted: a number with 15 digits."""
    return _over_cells(lambda one, _: _as_text(one), value, None)


def products(*tables: Any) -> Any:
    """Return the sum of the products of cells in the same row and column; a cell that is no number counts as 0."""
    grids = [table if isinstance(table, list) else [[table]] for table in tables]
    if len({(len(grid), len(grid[0])) for grid in grids}) > 1:
        return _WRONG_KIND
    total = 0.0
    for rows in zip(*grids):
        for cells in zip(*rows):
            fault = next((cell for cell in cells if isinstance(cell, dict)), None)
            if fault is not None:
                return fault
            total += math.prod(cell if _is_number(cell) else 0.0 for cell in cells)
    return total


def helpers(epoch: date) -> dict[str, Callable[..., Any]]:
    """Return the helpers by the names that they have in the copy; epoch : day 0 of the workbook's calendar."""
    return {
        FIT: fit, FIRST: first, COMPARE: compare, TEXT: text, PRODUCTS: products,
        "CEILING": partial(_to_step, way=math.ceil), "FLOOR": partial(_to_step, way=math.floor),
        "UPPER": partial(_in_case, way=str.upper), "LOWER": partial(_in_case, way=str.lower),
        PLUS: partial(_in_a_row, lambda one, other: _added(one, other, 1, epoch)),
        MINUS: partial(_in_a_row, lambda one, other: _added(one, other, -1, epoch)),
    }  # fmt: skip


def cell_at(table: Sequence[Sequence[Any]], row: int, column: int) -> Any:
    """Return a cell of a range that goes with larger ones: a single row or column is repeated, beyond it is #N/A."""
    line = table[0] if len(table) == 1 else table[row] if row < len(table) else None
    if line is None:
        return _MISSING
    return line[0] if len(line) == 1 else line[column] if column < len(line) else _MISSING


def _over_cells(function: Callable[[Any, Any], Any], left: Any, right: Any) -> Any:
    if not isinstance(left, list) and not isinstance(right, list):
        return function(left, right)
    one, other = (side if isinstance(side, list) else [[side]] for side in (left, right))
    down, across = max(len(one), len(other)), max(len(one[0]), len(other[0]))
    if down * across > 1_048_576:
        raise WorkbookFileError(f"a formula compares {down * across:,} cells at once; nothing was written")
    return [[function(cell_at(one, y, x), cell_at(other, y, x)) for x in range(across)] for y in range(down)]


def _in_a_row(function: Callable[[Any, Any], Any], *terms: Any) -> Any:
    return reduce(partial(_over_cells, function), terms)


def _is_number(cell: Any) -> bool:
    return isinstance(cell, (int, float)) and not isinstance(cell, bool)


def _compared(sign: str, left: Any, right: Any) -> Any:
    for side in (left, right):
        if isinstance(side, dict):
            return side
    left, right = _for_blank(left, right), _for_blank(right, left)
    kinds = _kind(left), _kind(right)
    if kinds[0] != kinds[1]:
        return _SIGNS[sign](*kinds)
    if kinds[0] == 0 and left != right:
        size = max(abs(left), abs(right))
        if abs(left - right) <= _SAME * size:
            right = left
        elif 0.0 in (left, right) and size < NOTHING:
            return NOT_KNOWN
    elif kinds[0] == 1:
        left, right = left.casefold(), right.casefold()
        if left != right and sign not in ("=", "<>") and not (left.isascii() and right.isascii()):
            return NOT_KNOWN  # the order of letters beyond a to z is each language's own
    return _SIGNS[sign](left, right)


def _for_blank(value: Any, other: Any) -> Any:
    if value is not None:
        return value
    return "" if isinstance(other, str) else False if isinstance(other, bool) else 0.0


def _kind(value: Any) -> int:
    return 2 if isinstance(value, bool) else 1 if isinstance(value, str) else 0


def _as_text(value: Any) -> Any:
    if not _is_number(value):
        return "" if value is None else value
    if value and not 1e-4 <= abs(value) < 1e15:
        return NOT_KNOWN  # programs differ in when they write powers of ten, and how
    return f"{value:.15g}"


def _added(left: Any, right: Any, sign: int, epoch: date) -> Any:
    """Return a sum or a difference; one that differs from nought by the last bits of its terms only is nought."""
    terms = []
    for value in (left, right):
        number = _number(value, epoch)
        if isinstance(number, dict):
            return number
        terms.append(number)
    one, other = terms[0], sign * terms[1]
    return 0.0 if abs(one + other) <= _SAME * max(abs(one), abs(other)) else one + other


def _number(value: Any, epoch: date) -> Any:
    """Return what a value becomes where a number is wanted."""
    if not isinstance(value, str):
        return 0.0 if value is None else value
    text = _THOUSANDS.sub("", value.strip())
    try:
        return float(text[:-1]) / 100 if text.endswith("%") else float(text)
    except ValueError:
        pass
    clock = _CLOCK.fullmatch(text)
    if clock:
        return int(clock[1]) / 24 + int(clock[2]) / 1440 + int(clock[3] or 0) / 86400
    try:
        return to_serial(date.fromisoformat(text), epoch)
    except ValueError:
        return _WRONG_KIND


def _to_step(number: Any = 0.0, step: Any = 1.0, *, way: Callable[[float], int]) -> Any:
    """Round to a multiple of a step: CEILING away from zero where both have one sign, else up; FLOOR the other way."""
    for value in (number, step):
        if isinstance(value, dict):
            return value
        if isinstance(value, (list, str)):
            return NOT_KNOWN
    number, step = float(number or 0.0), float(step or 0.0)
    if not number or not step:
        return 0.0
    if number > 0 > step:
        return NOT_A_NUMBER
    steps = number / step
    near = round(steps)
    whole = near if math.isclose(steps, near, rel_tol=_SAME) else way(steps)
    return whole * step


def _in_case(value: Any, *, way: Callable[[str], str]) -> Any:
    """Return a text in capitals or in small letters, those beyond A to Z, too."""
    if isinstance(value, (dict, list)):
        return value if isinstance(value, dict) else NOT_KNOWN
    if isinstance(value, bool):
        return str(value).upper()
    found = _as_text(value)
    # A letter that becomes two stays as it is.
    return found if isinstance(found, dict) else "".join(way(one) if len(way(one)) == 1 else one for one in found)
