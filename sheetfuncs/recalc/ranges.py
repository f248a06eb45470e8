"""How a formula uses ranges: where one stands for a single cell, and where the engine would get one wrong.

In a formula that was not entered as an array formula, a range given where one value is wanted stands for its
cell in the formula's own row or column; :meth:`RangeUse.of_own_line` puts that cell there.

The engine applies most functions that work on single values to the first cell of a range only, or answers
with an error, where office programs go over every cell: ``SUMPRODUCT(LEN(A1:A9))``. The usual ones are handed
over cell by cell (:meth:`RangeUse.cell_by_cell`). :meth:`RangeUse.check` refuses what is left.
"""

from __future__ import annotations

from typing import Callable, Container, Iterator

from .formulas import COMPARE, EACH, MINUS, PLUS, TEXT
from .range_arguments import ALL, ANSWERS_MANY, ONE_BY_ONE, RANGE_ARGUMENTS
from .references import Cells, End
from .tree import Call, Leaf, Node, Operation, changed, parts

#: Operations on cells, not on their values.
_NO_VALUES = frozenset(":# ,@")
#: These answer with one of their arguments, so a range in them is wanted as their own answer is.
_HAND_ON = frozenset({"IF", "IFERROR", "IFNA", "CHOOSE"})
#: Inside these every range counts whole, however the formula was entered.
_WHOLE_RANGES_INSIDE = ANSWERS_MANY | {"SUMPRODUCT", "LET", "LOOKUP", "SUMX2MY2", "SUMX2PY2", "SUMXMY2"}


class BeyondTheEngineError(ValueError):
    """A formula that the engine would get wrong; the text gives the reason, to follow a cell's name."""


class RangeUse:
    """How formulas use ranges.

    ours : the names of our functions. our_many : whether a call of one of ours answers with several cells, called
    with ``(call, is_many)``.
    """

    def __init__(self, ours: Container[str], our_many: Callable[[Call, Callable[[Node], bool]], bool]) -> None:
        self._ours = ours
        self._our_many = our_many

    def _ways(self, call: Call, whole: bool) -> tuple[str, frozenset[int], bool]:
        """Return a call's plain name, where it takes ranges, and whether ranges in it count whole."""
        if call.plain in self._ours or call.written == EACH:
            return call.plain, ALL, True
        return call.name, RANGE_ARGUMENTS.get(call.name, frozenset()), whole or call.name in _WHOLE_RANGES_INSIDE

    # -- ranges that stand for one cell ------------------------------------------------------------------------

    def of_own_line(self, tree: Node, row: int, column: int) -> Node:
        """Return a formula that is no array formula with single cells instead of ranges."""

        def own(node: Node, wants_one: bool, whole: bool) -> Node:
            if isinstance(node, Cells):
                return _cell_of_line(node, row, column) if wants_one and node.is_many else node
            if isinstance(node, Leaf):
                return node
            if isinstance(node, Operation):
                if node.sign in _NO_VALUES:
                    return node
                return node._replace(operands=tuple(own(part, wants_one, whole) for part in node.operands))
            name, allowed, inner_whole = self._ways(node, whole)
            arguments = []
            for index, part in enumerate(node.arguments):
                one = not inner_whole and (
                    index not in allowed
                    or (wants_one and name in _HAND_ON)
                    or (isinstance(part, Operation) and part.sign not in _NO_VALUES)
                )
                arguments.append(part and own(part, one, inner_whole))
            return node._replace(arguments=tuple(arguments))

        return own(tree, True, False)

    # -- ranges that the engine would get wrong ----------------------------------------------------------------

    def check(self, tree: Node) -> None:
        """Raise :class:`BeyondTheEngineError` where the engine would get a range in the formula wrong."""
        if isinstance(tree, Call):
            name, allowed, _ = self._ways(tree, False)
            for index, argument in enumerate(tree.arguments):
                if index not in allowed and argument is not None and self.is_many(argument):
                    raise BeyondTheEngineError(f"gives {name} several cells where it takes one")
        for part in parts(tree):
            self.check(part)

    def cell_by_cell(self, tree: Node) -> Node:
        """Return a formula that hands functions of single values over cell by cell where they are given several."""

        def handed_over(node: Node) -> Node:
            if isinstance(node, Call) and node.name in ONE_BY_ONE and any(map(self.is_many, self._single(node))):
                return Call(EACH, (Leaf("text", f'"{node.name}"'), *node.arguments))
            return node

        return changed(tree, handed_over)

    def _single(self, call: Call) -> Iterator[Node]:
        """Go over the arguments of a call that stand where single values are wanted."""
        _, allowed, _ = self._ways(call, False)
        return (part for index, part in enumerate(call.arguments) if index not in allowed and part is not None)

    def is_many(self, node: Node) -> bool:
        """Return whether a node can be several values."""
        if isinstance(node, Leaf):
            return node.kind == "array"
        if isinstance(node, Cells):
            return node.is_many
        if isinstance(node, Operation):
            return node.sign in _NO_VALUES or any(map(self.is_many, node.operands))
        if node.plain in self._ours:
            return self._our_many(node, self.is_many)
        name = node.name
        if name in ANSWERS_MANY or node.written == EACH:
            return True
        if name in ONE_BY_ONE:
            return any(map(self.is_many, self._single(node)))
        if name in _HAND_ON or name in ("ROW", "COLUMN", "LET", COMPARE, TEXT, PLUS, MINUS):
            return any(map(self.is_many, parts(node)))
        if name == "OFFSET":
            return len(node.arguments) > 3 or any(map(self.is_many, node.arguments[:1]))
        if name == "INDEX":
            return any(isinstance(part, Leaf) and part.text == "0" for part in node.arguments[1:])
        if name == "INDIRECT":
            return any(isinstance(part, Leaf) and ":" in part.text.rpartition("!")[2] for part in parts(node))
        return False


def _cell_of_line(cells: Cells, row: int, column: int) -> Node:
    """Return the one cell of a range in a row or column; an error where it has none there."""
    if cells.is_outer:
        return cells
    area = cells.at(row, column).area
    if area.left == area.right and area.top <= row <= area.bottom:
        return Cells(cells.sheet, (End(True, 0),), (End(False, area.left),))
    if area.top == area.bottom and area.left <= column <= area.right:
        return Cells(cells.sheet, (End(False, area.top),), (End(True, 0),))
    return Leaf("error", "#VALUE!")
