"""Formulas in the engine's spelling: plain names of our functions, A1 references, no arguments left out."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import Container, Sequence

from ..functions.declare import Function
from .differences import depends_on_texts, difference, texts_of
from .engine import unknown_functions
from .formulas import Template, UnreadableFormulaError, has_service, office_name, plain_name
from .office_ways import EACH, FIRST, FIT, in_the_office_way
from .ranges import BeyondTheEngineError, RangeUse
from .reading import Formula, Formulas, PlannedCell
from .tree import Call, Leaf, Node, all_nodes, changed, function_call, written

#: The most names in one another, and the most letters that all names of a formula come to.
_DEEPEST_NAMES, _LONGEST = 8, 65_536


def spell(formulas: Formulas, functions: Sequence[Function], strings: Sequence[str]) -> None:
    """Note the text for the engine of all formulas that are to be evaluated, and refuse those beyond it.

    functions : those that are ours. strings : the texts that cells share.
    """
    if not any(planned.is_evaluated for planned in formulas.cells):
        return
    speller = _Speller(formulas, functions, strings)
    facts: dict[int, _Facts] = {}
    for number, planned in enumerate(formulas.cells):
        if planned.is_evaluated:
            try:
                facts[number] = speller.spell(planned)
            except (BeyondTheEngineError, UnreadableFormulaError) as error:
                planned.refuse(str(error))
            except RecursionError:
                planned.refuse("uses names of names, too deep in one another")
    offices = {name: office_name(name) for found in facts.values() for name in found.functions}
    can_be_called = {name for name in offices.values() if re.fullmatch(r"[A-Z_][A-Z0-9._]*", name)}
    known = can_be_called - unknown_functions(sorted(can_be_called))
    not_known = {name for name, office in offices.items() if office not in known}
    reasons: dict[_Facts, str] = {}
    for number, found in facts.items():
        planned = formulas.cells[number]
        if found not in reasons:
            reasons[found] = speller.not_known(planned.sheet.lower(), found, not_known)
        if reasons[found]:
            planned.refuse(reasons[found])


def with_plain_calls(tree: Node, ours: Container[str]) -> Node:
    """Return a formula with our functions by their plain names, and ``""`` for what is left out, which means blank."""

    def plain(node: Node) -> Node:
        if not isinstance(node, Call) or node.plain not in ours:
            return node
        return function_call(node.plain, *(argument or Leaf("text", '""') for argument in node.arguments))

    return changed(tree, plain)


@dataclass(frozen=True, eq=False)
class _Facts:
    """What holds for a formula, and for all that are copies of it in other cells."""

    ours: int  # calls of our functions
    functions: frozenset[str]  # the other functions, by the names they are written with
    words: frozenset[str]  # the names that stand for something, in small letters
    is_many: bool  # whether the answer can be several cells


class _Speller:
    """Brings the formulas of a workbook into the engine's spelling."""

    def __init__(self, formulas: Formulas, functions: Sequence[Function], strings: Sequence[str]) -> None:
        self._functions = {function.worksheet_name: function for function in functions}
        self._name = formulas.name
        self._texts = texts_of(strings, {sheet.scanned.name: sheet.scanned.xml for sheet in formulas.sheets})
        self._ranges = RangeUse(self._functions)
        self._spelled: dict[tuple[Formula, bool], tuple[Template, _Facts]] = {}

    def spell(self, planned: PlannedCell) -> _Facts:
        """Note a formula's text for the engine, and return its facts.

        Raises :class:`BeyondTheEngineError`, or :class:`UnreadableFormulaError` for a name in it.
        """
        cell, formula = planned.cell, planned.formula
        assert formula is not None
        key = formula, cell.area is not None
        spelled = self._spelled.get(key)
        if spelled is None:
            spelled, is_alike = self._read(formula.tree, planned.sheet.lower(), key[1], cell.row, cell.column)
            if is_alike:
                self._spelled[key] = spelled
        template, facts = spelled
        text = template.at(cell.row, cell.column)
        # One that fills just the cells it is to fill: the engine would spill over others.
        if not cell.grows and (facts.is_many or cell.fills_several):
            area = cell.area if cell.fills_several else None
            text = f"{FIT}({text},{area.rows},{area.columns})" if area else f"{FIRST}({text})"
        planned.text, planned.ours = text, facts.ours
        return facts

    def _read(
        self, tree: Node, sheet: str, is_array: bool, row: int, column: int
    ) -> tuple[tuple[Template, _Facts], bool]:
        """Return a formula's template and facts, and whether they hold for its copies in other cells.

        sheet : its name in small letters. is_array : whether it was entered as an array formula.
        """
        is_many = self._ranges.is_many
        named = self._with_names_written_out(tree, sheet)
        tree = named if is_array else self._ranges.of_own_line(named, row, column)
        reason = difference(tree, is_many, self._texts, (sheet, row, column))
        if not is_array and isinstance(tree, Call) and tree.name in ("INDEX", "OFFSET", "INDIRECT") and is_many(tree):
            reason = reason or f"shows one cell of the several that {tree.name} gives"
        if reason:
            raise BeyondTheEngineError(reason)
        is_alike = tree == named and not depends_on_texts(tree, self._texts)
        tree = changed(tree, self._ranges.cell_by_cell)
        self._ranges.check(tree)
        nodes = list(all_nodes(tree))
        calls = [node for node in nodes if isinstance(node, Call)]
        others = frozenset(one.written for one in calls if one.plain not in self._functions and one.written != EACH)
        words = frozenset(node.text.lower() for node in nodes if isinstance(node, Leaf) and node.kind == "name")
        facts = _Facts(
            ours=sum(one.plain in self._functions for one in calls),
            functions=others,
            words=frozenset() if {"LET", "LAMBDA"} & set(map(office_name, others)) else words,
            is_many=is_many(tree),
        )
        tree = changed(tree, lambda node: in_the_office_way(node, is_many))
        return (written(with_plain_calls(tree, self._functions)), facts), is_alike

    def _with_names_written_out(self, tree: Node, sheet: str) -> Node:
        letters = 0

        def written_out(node: Node, depth: int = 0) -> Node:
            nonlocal letters
            if not isinstance(node, Leaf) or node.kind != "name":
                return node
            formula = self._name(sheet, node.text.lower())
            if formula is None:
                return node
            if node.sheet:
                raise BeyondTheEngineError(f"uses the name {node.text} through a sheet")
            letters += len(formula.template.text)
            if depth > _DEEPEST_NAMES or letters > _LONGEST:
                raise BeyondTheEngineError("uses names of names, in a circle or too deep in one another")
            return changed(formula.tree, lambda part: written_out(part, depth + 1))

        return changed(tree, written_out)

    def not_known(self, sheet: str, facts: _Facts, not_known: Container[str]) -> str:
        """Return what a formula holds that the engine does not know, to follow a cell's name; empty where all is known.

        not_known : the functions that it does not know, by the names they are written with.
        """
        for name in sorted(facts.functions):
            if name in not_known:
                plain = plain_name(name)
                near = difflib.get_close_matches(plain, self._functions, n=1, cutoff=0.8)
                hint = f"; did you mean {near[0]}?" if near else ""
                if has_service(name):
                    return f"calls {name}, which this version does not have{hint}"
                return f"calls {plain}, which this recalculation does not know{hint}"
        for word in sorted(facts.words):
            if self._name(sheet, word) is None:
                return f"uses the name {word}, which the workbook does not define"
        return ""
