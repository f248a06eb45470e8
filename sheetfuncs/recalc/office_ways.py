"""How office programs compare, join and subtract, where the engine has another way: to the 15th digit, in any script.

The engine compares the last bits of numbers, writes 17 digits into texts, and knows the capitals of plain Latin letters
only. :func:`with_office_ways` hands such operations over to functions of our own (:mod:`.helpers`).
"""

from __future__ import annotations

from typing import Callable

from .formulas import COMPARE, MINUS, PLUS, PRODUCTS, TEXT
from .references import Cells
from .tree import Call, Leaf, Node, Operation, changed

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


def with_office_ways(tree: Node, is_many: Callable[[Node], bool]) -> Node:
    """Return a formula in which the operations that the engine has another way for are handed over.

    is_many : whether a node can be several values; sums of many cells are left to the engine.
    """
    return changed(tree, lambda node: _handed_over(node, is_many))


def _handed_over(node: Node, is_many: Callable[[Node], bool]) -> Node:
    if isinstance(node, Call) and node.name == "SUMPRODUCT" and len(node.arguments) > 1:
        return node._replace(written=PRODUCTS)
    if isinstance(node, Call) and node.name in _OF_TEXTS:
        arguments = (_as_text(part) if part is not None and _is_worked_out(part) else part for part in node.arguments)
        return node._replace(arguments=tuple(arguments))
    if not isinstance(node, Operation) or len(node.operands) != 2:
        return node
    left, right = node.operands
    if node.is_comparison and not _is_compared_alike(node.sign, left, right):
        return Call(COMPARE, (Leaf("text", f'"{node.sign}"'), left, right))
    if node.sign == "&":
        return node._replace(operands=(_as_text(left), _as_text(right)))
    if node.sign in "+-" and not (_is_whole(left) and _is_whole(right)) and not (is_many(left) or is_many(right)):
        # One call for a long row of terms, as the engine takes few brackets in one another.
        name = PLUS if node.sign == "+" else MINUS
        terms = left.arguments if isinstance(left, Call) and left.written == name else (left,)
        return Call(name, (*terms, right))
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


def _as_text(node: Node) -> Node:
    is_text = isinstance(node, Leaf) and node.kind == "text"
    is_text = is_text or (isinstance(node, Operation) and node.sign == "&")
    is_text = is_text or (isinstance(node, Call) and node.name in _TEXTS)
    return node if is_text or _is_whole(node) else Call(TEXT, (node,))
