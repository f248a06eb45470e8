"""Formulas in the engine's spelling: plain names of our functions, A1 references, no arguments left out."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import Callable, Container, Iterable, Sequence

from ..functions.declare import Function
from . import engine
from .differences import depends_on_texts, difference, difference_by_texts
from .formulas import EACH, has_service, office_name, plain_name
from .names import Formula, References
from .office_ways import with_office_ways
from .ranges import BeyondTheEngineError, RangeUse
from .references import Template
from .texts import Texts
from .tree import Call, Leaf, Node, all_nodes, changed, written

#: The most names in one another, and the most letters that all names of a formula come to.
_DEEPEST_NAMES, _LONGEST = 8, 65_536


@dataclass(frozen=True, eq=False)
class Facts:
    """What holds for a formula, and for all that are copies of it in other cells."""

    ours: int  # calls of our functions
    functions: frozenset[str]  # the other functions, by the names they are written with
    words: frozenset[str]  # the names that stand for something, in small letters
    is_many: bool  # whether the answer can be several cells


def with_plain_calls(tree: Node, ours: Container[str]) -> Node:
    """Return a formula with our functions by their plain names, and ``""`` for what is left out, which means blank."""

    def plain(node: Node) -> Node:
        if not isinstance(node, Call) or node.plain not in ours:
            return node
        return Call(node.plain, tuple(argument or Leaf("text", '""') for argument in node.arguments))

    return changed(tree, plain)


class Speller:
    """Brings the formulas of one sheet into the engine's spelling."""

    def __init__(self, functions: Sequence[Function], sheet: str, names: References, texts: Texts) -> None:
        """Take the functions that are ours, the sheet's name, what knows all names, and what is known of all texts."""
        self._functions = {function.worksheet_name: function for function in functions}
        self._sheet = sheet.lower()
        self._names = names
        self._texts = texts
        self._ranges = RangeUse(self._functions, self._our_many)
        self._known: dict[tuple[Formula, bool], tuple[Template, Facts]] = {}

    def spell(self, formula: Formula, is_array: bool, row: int, column: int) -> tuple[str, Facts]:
        """Return a formula's text for the engine, and its facts.

        is_array : whether it was entered as an array formula. row, column : where it stands.
        Raises :class:`BeyondTheEngineError`, or :class:`~.formulas.UnreadableFormulaError` for a name in it.
        """
        key = formula, is_array
        if key in self._known:
            spelled, facts = self._known[key]
            return spelled.at(row, column), facts
        tree = self._with_names_written_out(formula.tree)
        own = tree if is_array else self._ranges.of_own_line(tree, row, column)
        is_of_own_line = own is not tree and own != tree
        tree = own
        is_many = self._ranges.is_many
        by_texts = depends_on_texts(tree, self._texts)
        reason = difference(tree, is_many, self._texts)
        if by_texts and not reason:
            reason = difference_by_texts(tree, self._sheet, row, column, self._texts)
        if not is_array and isinstance(tree, Call) and tree.name in ("INDEX", "OFFSET", "INDIRECT") and is_many(tree):
            reason = reason or f"shows one cell of the several that {tree.name} gives"
        if reason:
            raise BeyondTheEngineError(reason)
        tree = self._ranges.cell_by_cell(tree)
        self._ranges.check(tree)
        nodes = list(all_nodes(tree))
        calls = [node for node in nodes if isinstance(node, Call)]
        others = frozenset(call.written for call in calls if call.plain not in self._functions and call.written != EACH)
        words = frozenset(node.text.lower() for node in nodes if isinstance(node, Leaf) and node.kind == "name")
        facts = Facts(
            ours=sum(call.plain in self._functions for call in calls),
            functions=others,
            words=frozenset() if {"LET", "LAMBDA"} & set(map(office_name, others)) else words,
            is_many=is_many(tree),
        )
        spelled = written(with_plain_calls(with_office_ways(tree, is_many), self._functions))
        if not is_of_own_line and not by_texts:
            self._known[key] = spelled, facts
        return spelled.at(row, column), facts

    def _with_names_written_out(self, tree: Node) -> Node:
        letters = 0

        def written_out(node: Node, depth: int = 0) -> Node:
            nonlocal letters
            if not isinstance(node, Leaf) or node.kind != "name":
                return node
            formula = self._names.name(self._sheet, node.text.lower())
            if formula is None:
                return node
            if node.sheet:
                raise BeyondTheEngineError(f"uses the name {node.text} through a sheet")
            letters += len(formula.template.text)
            if depth > _DEEPEST_NAMES or letters > _LONGEST:
                raise BeyondTheEngineError("uses names of names, in a circle or too deep in one another")
            return changed(formula.tree, lambda part: written_out(part, depth + 1))

        return changed(tree, written_out)

    def _our_many(self, call: Call, is_many: Callable[[Node], bool]) -> bool:
        function = self._functions[call.plain]
        return function.shape != "cell" or any(
            argument is not None and is_many(argument) and not parameter.kind.many
            for argument, parameter in zip(call.arguments, function.parameters)
        )

    # -- what the engine does not know -------------------------------------------------------------------------

    def unknown(self, facts: Facts, not_known: Container[str]) -> str:
        """Return what a formula holds that the engine does not know, to follow a cell's name; empty where all is known.

        not_known : names of functions, see :func:`functions_not_known`.
        """
        for name in sorted(facts.functions):
            if name in not_known:
                plain = plain_name(name)
                near = difflib.get_close_matches(plain, self._functions, n=1, cutoff=0.8)
                hint = f"; did you mean {near[0]}?" if near else ""
                if has_service(name):
                    return f"asks for {name}, which this version does not have{hint}"
                return f"asks for {plain}, which this recalculation does not know{hint}"
        for word in sorted(facts.words):
            if self._names.name(self._sheet, word) is None:
                return f"uses the name {word}, which the workbook does not define"
        return ""


def functions_not_known(facts: Iterable[Facts]) -> frozenset[str]:
    """Return the functions of some formulas that the engine does not know, by the names they are written with."""
    plain = {name: office_name(name) for item in facts for name in item.functions}
    can_be_called = {name for name in plain.values() if re.fullmatch(r"[A-Z_][A-Z0-9._]*", name)}
    known = can_be_called - engine.unknown_functions(sorted(can_be_called))
    return frozenset(name for name, office in plain.items() if office not in known)
