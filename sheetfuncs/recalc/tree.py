"""A formula as a tree: read once, changed by passes that give another tree, written once.

What office programs do not take is not read: operators without operands, brackets without an end.
"""

from __future__ import annotations

from functools import cached_property
from typing import Callable, Iterator, NamedTuple, Sequence, Union

from .formulas import FormulaTooLongError, Token, office_name, plain_name
from .references import Cells, Template, plain_sheet, uses

#: The most levels of a tree: brackets in one another, and operations in one row.
DEEPEST = 150

_COMPARISONS = ("=", "<>", "<", ">", "<=", ">=")
_LEVELS = {**dict.fromkeys(_COMPARISONS, 1), "&": 2, "+": 3, "-": 3, "*": 4, "/": 4, "^": 5}


class UnreadableFormulaError(ValueError):
    """A formula that no office program takes, or that goes beyond this recalculation; the text gives the reason."""


class Leaf(NamedTuple):
    """A piece without parts that is no reference to cells.

    kind : "number", "text", "error", "truth", "array" (in braces), "name", "outer" (a name of another book).
    text : as it is written; for names, without the sheet. sheet : as it is written, with its mark.
    """

    kind: str
    text: str
    sheet: str = ""


class Call(NamedTuple):
    """A function called; without a name, a pair of brackets. An argument left out is ``None``."""

    written: str
    arguments: tuple[Node | None, ...]

    @property
    def name(self) -> str:
        """The name of an office function, in capitals and without marks."""
        return office_name(self.written)

    @property
    def plain(self) -> str:
        """The name without all that programs put before the name of a function of ours."""
        return plain_name(self.written)


class Operation(NamedTuple):
    """A sign between two operands, before one (``-``, ``+``) or after one (``%``, ``#``)."""

    sign: str
    operands: tuple[Node, ...]

    @property
    def is_comparison(self) -> bool:
        """Whether it compares."""
        return self.sign in _COMPARISONS


Node = Union[Leaf, Cells, Call, Operation]


def parts(node: Node) -> tuple[Node, ...]:
    """Return the parts of a node."""
    if isinstance(node, Call):
        return tuple(argument for argument in node.arguments if argument is not None)
    return node.operands if isinstance(node, Operation) else ()


def all_nodes(node: Node) -> Iterator[Node]:
    """Go over a tree, the outer nodes first."""
    yield node
    for part in parts(node):
        yield from all_nodes(part)


def changed(node: Node, change: Callable[[Node], Node]) -> Node:
    """Return a tree in which every node is changed, the inner ones first."""
    if isinstance(node, Call):
        node = node._replace(arguments=tuple(part and changed(part, change) for part in node.arguments))
    elif isinstance(node, Operation):
        node = node._replace(operands=tuple(changed(part, change) for part in node.operands))
    return change(node)


def written(tree: Node) -> Template:
    """Return a tree as the text of a formula, to be filled for a cell."""
    return Template.of(_pieces(tree))


def _pieces(node: Node | None) -> Iterator[str | Cells]:
    if isinstance(node, Cells):
        yield node
    elif isinstance(node, Leaf):
        yield node.sheet + node.text
    elif isinstance(node, Call):
        yield f"{node.written}("
        for index, argument in enumerate(node.arguments):
            if index:
                yield ","
            yield from _pieces(argument)
        yield ")"
    elif isinstance(node, Operation):
        is_after = node.sign in "%#"
        if len(node.operands) == 1 and not is_after:
            yield node.sign
        yield from _pieces(node.operands[0])
        if len(node.operands) == 2 or is_after:
            yield node.sign
        yield from (piece for operand in node.operands[1:] for piece in _pieces(operand))


def parsed(pieces: Sequence[Token], row: int, column: int) -> Node:
    """Return a formula as a tree.

    pieces : its tokens. row, column : where it stands; its references are kept as distances from there.
    Raises :class:`UnreadableFormulaError` or :class:`.formulas.FormulaTooLongError`.
    """
    reader = _Reader(pieces, row, column)
    tree = reader.expression(1)
    if reader.at < len(pieces):
        raise UnreadableFormulaError("is beyond this recalculation")
    return tree


class Formula:
    """A formula and all its copies on a sheet."""

    def __init__(self, pieces: Sequence[Token], template: Template, row: int, column: int) -> None:
        """Take the tokens, and the template made from them, of the copy that stands in a cell."""
        self.template = template
        self.uses = uses(pieces, row, column)
        self._read = pieces, row, column

    @cached_property
    def tree(self) -> Node:
        """The formula as a tree; raises as :func:`parsed` does."""
        return parsed(*self._read)


class _Reader:
    """Goes over the tokens of one formula."""

    def __init__(self, pieces: Sequence[Token], row: int, column: int) -> None:
        self.pieces = pieces
        self.at = 0
        self._row, self._column = row, column
        self._depth = 0

    def _sign(self, ahead: int = 0) -> str:
        at = self.at + ahead
        return self.pieces[at].text if at < len(self.pieces) and self.pieces[at].kind == "sign" else ""

    def _operator(self) -> tuple[str, int]:
        """Return the operator that comes next, and how many tokens it takes."""
        sign = self._sign()
        if sign and sign + self._sign(1) in ("<>", "<=", ">="):
            return sign + self._sign(1), 2
        return sign, 1

    def _deeper(self, levels: int = 1) -> None:
        self._depth += levels
        if self._depth > DEEPEST:
            raise FormulaTooLongError(f"holds a formula of more than {DEEPEST} brackets or operations in one another")

    def expression(self, level: int) -> Node:
        """Read operands and the operators between them that bind at least so tightly."""
        node, rows = self._operand(), 0
        while True:
            sign, length = self._operator()
            binds = _LEVELS.get(sign, 0)
            if binds < level:
                self._depth -= rows
                return node
            self.at += length
            rows += 1
            self._deeper()
            node = Operation(sign, (node, self.expression(binds + 1)))

    def _operand(self) -> Node:
        signs = []
        while self._sign() in ("+", "-"):
            signs.append(self._sign())
            self.at += 1
        self._deeper(len(signs))
        node = self._reference()
        while self._sign() == ":":
            self.at += 1
            node = Operation(":", (node, self._reference()))
        for sign in reversed(signs):
            node = Operation(sign, (node,))
        while self._sign() in ("%", "#"):
            node = Operation(self._sign(), (node,))
            self.at += 1
            self._deeper()
            signs.append("%")
        self._depth -= len(signs)
        if self.at < len(self.pieces) and self.pieces[self.at].kind not in ("sign",):
            raise UnreadableFormulaError("asks for what two ranges share")
        return node

    def _reference(self) -> Node:
        """Read what stands between operators."""
        if self.at >= len(self.pieces):
            raise UnreadableFormulaError("is beyond this recalculation")
        piece = self.pieces[self.at]
        if piece.text == "(":
            return Call("", self._arguments())
        if piece.text == "{":
            return self._array()
        sheet = self._sheet()
        piece = self.pieces[self.at] if self.at < len(self.pieces) else Token("sign", "", 0, 0)
        if piece.kind == "word" and self._sign(1) == "(" and self.pieces[self.at + 1].start == piece.end:
            self.at += 1
            return Call(piece.text, self._arguments())  # a library before it means nothing to this recalculation
        if piece.kind in ("sign", "quoted", "bracket"):
            raise UnreadableFormulaError("is beyond this recalculation")
        self.at += 1
        if piece.kind == "area":
            return Cells.read(piece.text, self._row, self._column, plain_sheet(sheet[:-1]))
        if piece.kind != "word":
            return Leaf({"string": "text"}.get(piece.kind, piece.kind), piece.text)
        if piece.text.upper() in ("TRUE", "FALSE") and not sheet:
            return Leaf("truth", piece.text.upper())
        return Leaf("outer" if "[" in sheet else "name", piece.text, sheet)

    def _sheet(self) -> str:
        """Read the sheet, the book or the library before a reference, with its mark."""
        start = self.at
        if self.pieces[self.at].kind == "bracket":
            self.at += 1
        if self.at < len(self.pieces) and self.pieces[self.at].kind in ("word", "quoted", "area"):
            if self._sign(1) == "!":
                name = self.pieces[self.at]
                self.at += 2
                is_call = self._sign(1) == "("  # after a library's path
                if name.kind == "quoted" and ":" in name.text.rpartition("]")[2] and not is_call:
                    raise UnreadableFormulaError("goes over several sheets at once")
            elif self._sign(1) == ":" and self._sign(3) == "!":
                raise UnreadableFormulaError("goes over several sheets at once")
        elif self.at > start and self._sign() == "!":
            self.at += 1
        return "".join(piece.text for piece in self.pieces[start : self.at])

    def _array(self) -> Leaf:
        start = self.at
        while self._sign() != "}":
            self.at += 1
            if self.at >= len(self.pieces):
                raise UnreadableFormulaError("is beyond this recalculation")
        self.at += 1
        return Leaf("array", "".join(piece.text for piece in self.pieces[start : self.at]))

    def _arguments(self) -> tuple[Node | None, ...]:
        self._deeper()
        self.at += 1  # the bracket
        found: list[Node | None] = []
        while True:
            if self._sign() in (",", ")"):
                found.append(None)
            else:
                found.append(self.expression(1))
            sign = self._sign()
            self.at += 1
            if sign == ")":
                self._depth -= 1
                return tuple(found) if found != [None] else ()
            if sign != ",":
                raise UnreadableFormulaError("is beyond this recalculation")
