"""Formulas in the engine's spelling: plain names of our functions, A1 references, no arguments left out."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import Any, Callable, Iterator, Mapping, Sequence

from ..functions.declare import Function
from ..xlsx.workbook import Table
from . import differences, engine
from .formulas import (
    EACH,
    LONGEST,
    Call,
    Edit,
    FormulaTooLongError,
    Token,
    blank_argument_edits,
    calls,
    edited,
    has_service,
    is_cell,
    is_row_or_column,
    name_edits,
    office_name,
    parsed,
    plain_name,
    tokens,
)
from .names import is_plain
from .ranges import BeyondTheEngineError, RangeUse
from .references import shifted
from .tables import with_a1_references

#: A number that merely holds the number of a row.
_IN_A_NUMBER = re.compile(r"[\d\0]\0|\0\d")
_DEEPEST_NAMES = 8


@dataclass(frozen=True, eq=False)
class Facts:
    """What holds for a formula, and for all that differ from it in row numbers only."""

    ours: int  # calls of our functions
    functions: frozenset[str]  # the other functions, by the names they are written with
    words: frozenset[str]  # the names that stand for something, in small letters
    is_many: bool  # whether the answer can be several cells


class Speller:
    """Brings the formulas of one workbook into the engine's spelling."""

    def __init__(
        self, functions: Sequence[Function], names: Mapping[str, str], tables: Mapping[str, Table]
    ) -> None:
        """Take the functions that are ours, the names as one sheet knows them, in small letters, and the tables."""
        self._functions = {function.worksheet_name: function for function in functions}
        self._tables = tables
        self._names = names
        plain = {name: text for name, text in names.items() if is_plain(text)}
        # The engine knows names of fixed ranges; what any other stands for is written out.
        self._written_out = {name: text for name, text in names.items() if name not in plain}
        self._ranges = RangeUse(self._functions, plain, self._our_many)
        self._known: dict[tuple[str, bool], tuple[str, Facts]] = {}

    def known(self, formula: str, is_array: bool, row: int) -> tuple[str, Facts] | None:
        """Return what :meth:`spell` would, if a formula has been seen that differs in the number of its row only."""
        found = self._known.get((formula.replace(str(row), "\0"), is_array))
        return None if found is None else (found[0].replace("\0", str(row)), found[1])

    def spell(self, text: str, is_array: bool, sheet: str, row: int, column: int) -> tuple[str, Facts]:
        """Return a formula's text for the engine, and its facts.

        is_array : whether it was entered as an array formula. sheet, row, column : where it stands.
        Raises :class:`BeyondTheEngineError`, :class:`~.tables.NotInTableError` or
        :class:`~.formulas.FormulaTooLongError`.
        """
        original = text
        text = self._with_names_written_out(text, row, column)
        text = with_a1_references(text, self._tables, sheet, row, column)
        is_by_row = text == original
        tree = parsed(text)
        if not is_array:
            edits = self._ranges.own_line_edits(tree, row, column)
            if edits:
                is_by_row = False
                text = edited(text, edits)
                tree = parsed(text)
        edits = self._ranges.each_edits(tree)
        if edits:
            text = edited(text, edits)
            tree = parsed(text)
        self._ranges.check(tree)
        differences.check(tree, self._ranges.is_many)
        is_many = self._ranges.is_many(tree.arguments[0])
        if is_many and not is_array and self._ranges.names_many(tree.arguments[0]):
            raise BeyondTheEngineError("names several cells where it shows one")
        found = list(calls(tree))
        ours = sum(plain_name(call.name) in self._functions for call in found)
        known = {*self._functions, EACH}
        others = frozenset(call.name for call in found if plain_name(call.name) not in known)
        has_own_words = {"LET", "LAMBDA"} & set(map(office_name, others))
        words = frozenset() if has_own_words else frozenset(_words(tokens(text)))
        text = edited(text, self._our_edits(tree) + differences.edits(tree, self._ranges.is_many))
        facts = Facts(ours, others, words, is_many)
        near, result = original.replace(str(row), "\0"), text.replace(str(row), "\0")
        if is_by_row and not _IN_A_NUMBER.search(near) and not _IN_A_NUMBER.search(result):
            self._known[near, is_array] = result, facts
        return text, facts

    def _our_edits(self, tree: Call) -> list[Edit]:
        return name_edits(tree, self._functions) + blank_argument_edits(tree, self._functions)

    def _with_names_written_out(self, text: str, row: int, column: int) -> str:
        for _ in range(_DEEPEST_NAMES):
            edits = []
            pieces = tokens(text)
            for at, piece in enumerate(pieces):
                name = piece.text.lower()
                if piece.kind != "word" or name not in self._names:
                    continue
                after = pieces[at + 1].text if at + 1 < len(pieces) else ""
                if at and pieces[at - 1].text == "!":
                    raise BeyondTheEngineError(f"uses the name {piece.text} through a sheet")
                if name in self._written_out and after not in ("(", "!"):
                    # A name's relative references are those that it has in the first cell of a sheet.
                    moved = shifted(self._written_out[name], row - 1, column - 1)
                    if moved is None:
                        raise BeyondTheEngineError(f"uses the name {piece.text}, which leads off the sheet from here")
                    edits.append(Edit(piece.start, piece.end, f"({moved})"))
            if not edits:
                return text
            if len(text) + sum(len(edit.text) for edit in edits) > LONGEST:
                raise FormulaTooLongError(f"uses names that stand for more than {LONGEST} letters")
            text = edited(text, edits)
        raise BeyondTheEngineError("uses names of names, in a circle or too deep in one another")

    def _our_many(self, call: Call, is_many: Callable[[Any], bool]) -> bool:
        function = self._functions[plain_name(call.name)]
        return function.shape != "cell" or any(
            is_many(argument) and not parameter.kind.many
            for argument, parameter in zip(call.arguments, function.parameters)
        )

    # -- what the engine does not know -------------------------------------------------------------------------

    def find_unknown(self, facts: Sequence[Facts]) -> dict[Facts, str]:
        """Return which formulas hold something that the engine does not know, and what that is.

        The texts follow a cell's name.
        """
        written = {name for item in facts for name in item.functions}
        plain = {name: office_name(name) for name in written}
        strangers = engine.unknown_functions(sorted({name for name in plain.values() if _can_be_called(name)}))
        unknown = {name for name in written if plain[name] in strangers or not _can_be_called(plain[name])}
        found = {}
        for item in facts:
            reason = next(self._reasons(item, unknown), "")
            if reason:
                found[item] = reason
        return found

    def _reasons(self, facts: Facts, unknown: set[str]) -> Iterator[str]:
        for name in sorted(facts.functions & unknown):
            plain = plain_name(name)
            if has_service(name):
                yield f"asks for {name}, which this version does not have{self._hint(plain)}"
            else:
                yield f"asks for {plain}, which this recalculation does not know{self._hint(plain)}"
        for word in sorted(facts.words):
            if word not in self._names:
                yield f"uses the name {word}, which the workbook does not define"

    def _hint(self, plain: str) -> str:
        near = difflib.get_close_matches(plain, self._functions, n=1, cutoff=0.8)
        return f"; did you mean {near[0]}?" if near else ""


def _can_be_called(name: str) -> bool:
    return re.fullmatch(r"[A-Z_][A-Z0-9._]*", name) is not None


def _words(pieces: Sequence[Token]) -> Iterator[str]:
    """Go over the words of a formula that must be defined names."""
    for place, piece in enumerate(pieces):
        if piece.kind != "word" or is_cell(piece.text) or piece.text.upper() in ("TRUE", "FALSE"):
            continue
        before = pieces[place - 1].text if place else ""
        after = pieces[place + 1].text if place + 1 < len(pieces) else ""
        is_end_of_range = ":" in (before, after) and is_row_or_column(piece.text)
        in_other_book = before == "!" and any(item.kind == "bracket" or "[" in item.text for item in pieces[:place])
        if after not in ("(", "!") and not is_end_of_range and not in_other_book and before != "]":
            if pieces[place - 1].kind == "bracket" and place:
                continue
            yield piece.text.lower()
