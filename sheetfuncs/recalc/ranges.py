"""How a formula uses ranges: where one stands for a single cell, and where the engine would get one wrong.

In a formula that was not entered as an array formula, a range given where one value is wanted stands for its
cell in the formula's own row or column; :meth:`RangeUse.of_own_line` puts that cell there.

The engine applies most functions that work on single values to the first cell of a range only, or answers
with an error, where office programs go over every cell: ``SUMPRODUCT(LEN(A1:A9))``. The usual ones are handed
over cell by cell (:meth:`RangeUse.cell_by_cell`). :meth:`RangeUse.check` refuses what is left.
"""

from __future__ import annotations

from typing import Iterator, Mapping

from ..functions.declare import Function
from .formulas import Cells, End
from .office_ways import COMPARE, EACH, MINUS, PLUS, TEXT
from .tree import Call, Leaf, Node, Operation, function_call, parts

ALL = frozenset(range(256))
_EVEN, _ODD = frozenset(range(0, 256, 2)), frozenset(range(1, 256, 2))


def _names(names: str) -> frozenset[str]:
    return frozenset(names.split())


def _at(names: str, indices: frozenset[int]) -> dict[str, frozenset[int]]:
    return dict.fromkeys(_names(names), indices)


#: The arguments, counted from 0, in which functions take a range in the engine as in office programs.
RANGE_ARGUMENTS: dict[str, frozenset[int]] = {
    **_at(
        "SUM AVERAGE AVERAGEA COUNT COUNTA COUNTBLANK MIN MAX MINA MAXA PRODUCT SUMSQ MEDIAN MODE MODE.SNGL "
        "STDEV STDEV.S STDEV.P STDEVP STDEVA STDEVPA VAR VAR.S VAR.P VARP VARA VARPA GEOMEAN HARMEAN AVEDEV DEVSQ "
        "KURT SKEW SUMPRODUCT SUMX2MY2 SUMX2PY2 SUMXMY2 TRANSPOSE CORREL PEARSON COVAR "
        "COVARIANCE.S COVARIANCE.P SLOPE INTERCEPT RSQ STEYX LINEST LOGEST TREND GROWTH FREQUENCY "
        "ROW ROWS COLUMN COLUMNS AND OR XOR CONCAT IF IFERROR IFNA SUBTOTAL AGGREGATE NPV XNPV XIRR MIRR IRR "
        "FILTER SORT SORTBY UNIQUE TAKE DROP VSTACK HSTACK TOCOL TOROW CHOOSECOLS CHOOSEROWS "
        "DSUM DAVERAGE DCOUNT DCOUNTA DGET DMAX DMIN DPRODUCT DSTDEV DSTDEVP DVAR DVARP "
        "ISREF SHEET ISFORMULA FORMULATEXT GCD LCM MULTINOMIAL T.TEST F.TEST CHISQ.TEST LET",
        ALL,
    ),
    **_at("COUNTIF INDEX OFFSET LARGE SMALL PERCENTILE PERCENTILE.INC PERCENTILE.EXC", frozenset({0})),
    **_at("QUARTILE QUARTILE.INC QUARTILE.EXC TRIMMEAN PERCENTRANK PERCENTRANK.INC", frozenset({0})),
    **_at("PERCENTRANK.EXC Z.TEST", frozenset({0})),
    **_at("VLOOKUP HLOOKUP MATCH XMATCH CELL RANK RANK.EQ RANK.AVG", frozenset({1})),
    **_at("LOOKUP XLOOKUP FORECAST FORECAST.LINEAR", frozenset({1, 2})),
    **_at("SUMIF AVERAGEIF", frozenset({0, 2})),
    **_at("SUMIFS AVERAGEIFS MAXIFS MINIFS", _ODD | {0}),
    **_at("COUNTIFS", _EVEN),
    **_at("CHOOSE", ALL - {0}),
    **_at("TEXTJOIN", ALL - {0, 1}),
    **_at("NETWORKDAYS WORKDAY", frozenset({2})),
    **_at("NETWORKDAYS.INTL WORKDAY.INTL", frozenset({3})),
}
ANSWERS_MANY = _names(
    "MMULT MINVERSE TRANSPOSE LINEST LOGEST TREND GROWTH FREQUENCY FILTER SORT SORTBY UNIQUE TAKE DROP VSTACK "
    "HSTACK TOCOL TOROW CHOOSECOLS CHOOSEROWS WRAPROWS WRAPCOLS SEQUENCE RANDARRAY MODE.MULT"
)
#: Functions of single values that office programs apply to every cell of a range.
ONE_BY_ONE = _names(
    "LEN LEFT RIGHT MID UPPER LOWER TRIM PROPER SUBSTITUTE FIND SEARCH REPLACE REPT EXACT TEXT VALUE CODE CHAR "
    "CLEAN CONCATENATE ABS SIGN INT SQRT EXP LN LOG LOG10 ROUND ROUNDUP ROUNDDOWN TRUNC MOD POWER FLOOR CEILING "
    "ATAN RADIANS DEGREES YEAR MONTH DAY WEEKDAY HOUR MINUTE SECOND DATE TIME DAYS NOT "
    "ISNUMBER ISTEXT ISBLANK ISERROR ISERR ISNA ISLOGICAL ISNONTEXT "
    "COUNTIF COUNTIFS SUMIF SUMIFS AVERAGEIF AVERAGEIFS MAXIFS MINIFS MATCH VLOOKUP HLOOKUP XLOOKUP "
    "LARGE SMALL RANK"
)

#: Operations on cells, not on their values.
_NO_VALUES = frozenset(":# ,@")
#: These answer with one of their arguments, so a range in them is wanted as their own answer is.
_HAND_ON = frozenset({"IF", "IFERROR", "IFNA", "CHOOSE"})
#: Inside these every range counts whole, however the formula was entered.
_WHOLE_RANGES_INSIDE = ANSWERS_MANY | {"SUMPRODUCT", "LET", "LOOKUP", "SUMX2MY2", "SUMX2PY2", "SUMXMY2"}


class BeyondTheEngineError(ValueError):
    """A formula that the engine would get wrong; the text gives the reason, to follow a cell's name."""


class RangeUse:
    """How formulas use ranges; ours : our functions by their names in a worksheet."""

    def __init__(self, ours: Mapping[str, Function]) -> None:
        self._ours = ours

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

    def cell_by_cell(self, node: Node) -> Node:
        """Return what hands a function of single values over cell by cell where it is given several."""
        if isinstance(node, Call) and node.name in ONE_BY_ONE and any(map(self.is_many, self._single(node))):
            return function_call(EACH, Leaf("text", f'"{node.name}"'), *node.arguments)
        return node

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
            function = self._ours[node.plain]
            return function.shape != "cell" or any(
                argument is not None and self.is_many(argument) and not parameter.kind.many
                for argument, parameter in zip(node.arguments, function.parameters)
            )
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
