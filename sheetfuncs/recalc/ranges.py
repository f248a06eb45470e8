"""How a formula uses ranges: where one stands for a single cell, and where the engine would get one wrong.

In a formula that was not entered as an array formula, a range given where one value is wanted stands for its
cell in the formula's own row or column; :meth:`RangeUse.own_line_edits` writes that cell in its place.

The engine applies most functions that work on single values to the first cell of a range only, or answers
with an error, where office programs go over every cell: ``SUMPRODUCT(LEN(A1:A9))``. The usual ones are handed
over cell by cell (:meth:`RangeUse.each_edits`). It cannot go over several sheets, and knows no unions and
intersections. :meth:`RangeUse.check` refuses what is left.
"""

from __future__ import annotations

from typing import Callable, Container, Iterator, List, Mapping, Union

from ..xlsx.places import column_letters, column_number, read_cell_name
from .formulas import EACH, Call, Edit, Token, calls, edited, is_cell, is_row_or_column, office_name, parsed, plain_name

Argument = List[Union[Token, Call]]

_ALL = frozenset(range(256))
_EVEN, _ODD = frozenset(range(0, 256, 2)), frozenset(range(1, 256, 2))
_OPERATORS = frozenset("+-*/^&=<>%")


def _at(names: str, places: frozenset[int]) -> dict[str, frozenset[int]]:
    return dict.fromkeys(names.split(), places)


#: The places of arguments, counted from 0, at which functions take a range in the engine as in office programs.
RANGE_PLACES: dict[str, frozenset[int]] = {
    **_at(
        "SUM AVERAGE AVERAGEA COUNT COUNTA COUNTBLANK MIN MAX MINA MAXA PRODUCT SUMSQ MEDIAN MODE MODE.SNGL "
        "STDEV STDEV.S STDEV.P STDEVP STDEVA STDEVPA VAR VAR.S VAR.P VARP VARA VARPA GEOMEAN HARMEAN AVEDEV DEVSQ "
        "KURT SKEW SUMPRODUCT SUMX2MY2 SUMX2PY2 SUMXMY2 TRANSPOSE CORREL PEARSON COVAR "
        "COVARIANCE.S COVARIANCE.P SLOPE INTERCEPT RSQ STEYX LINEST LOGEST TREND GROWTH FREQUENCY "
        "ROW ROWS COLUMN COLUMNS AND OR XOR CONCAT IF IFERROR IFNA SUBTOTAL AGGREGATE NPV XNPV XIRR MIRR IRR "
        "FILTER SORT SORTBY UNIQUE TAKE DROP VSTACK HSTACK TOCOL TOROW CHOOSECOLS CHOOSEROWS "
        "DSUM DAVERAGE DCOUNT DCOUNTA DGET DMAX DMIN DPRODUCT DSTDEV DSTDEVP DVAR DVARP "
        "ISREF SHEET ISFORMULA FORMULATEXT GCD LCM MULTINOMIAL T.TEST F.TEST CHISQ.TEST LET",
        _ALL,
    ),
    **_at("COUNTIF INDEX OFFSET LARGE SMALL PERCENTILE PERCENTILE.INC PERCENTILE.EXC", frozenset({0})),
    **_at("QUARTILE QUARTILE.INC QUARTILE.EXC TRIMMEAN PERCENTRANK PERCENTRANK.INC", frozenset({0})),
    **_at("PERCENTRANK.EXC Z.TEST", frozenset({0})),
    **_at("VLOOKUP HLOOKUP MATCH XMATCH CELL RANK RANK.EQ RANK.AVG", frozenset({1})),
    **_at("LOOKUP XLOOKUP FORECAST FORECAST.LINEAR", frozenset({1, 2})),
    **_at("SUMIF AVERAGEIF", frozenset({0, 2})),
    **_at("SUMIFS AVERAGEIFS MAXIFS MINIFS", _ODD | {0}),
    **_at("COUNTIFS", _EVEN),
    **_at("CHOOSE", _ALL - {0}),
    **_at("TEXTJOIN", _ALL - {0, 1}),
    **_at("NETWORKDAYS WORKDAY", frozenset({2})),
    **_at("NETWORKDAYS.INTL WORKDAY.INTL", frozenset({3})),
}
_ANSWERS_MANY = frozenset(
    _at(
        "MMULT MINVERSE TRANSPOSE LINEST LOGEST TREND GROWTH FREQUENCY FILTER SORT SORTBY UNIQUE TAKE DROP VSTACK "
        "HSTACK TOCOL TOROW CHOOSECOLS CHOOSEROWS WRAPROWS WRAPCOLS SEQUENCE RANDARRAY MODE.MULT",
        _ALL,
    )
)
#: Functions of single values that office programs apply to every cell of a range.
ONE_BY_ONE = frozenset(
    _at(
        "LEN LEFT RIGHT MID UPPER LOWER TRIM PROPER SUBSTITUTE FIND SEARCH REPLACE REPT EXACT TEXT VALUE CODE CHAR "
        "CLEAN CONCATENATE ABS SIGN INT SQRT EXP LN LOG LOG10 ROUND ROUNDUP ROUNDDOWN TRUNC MOD POWER FLOOR CEILING "
        "ATAN RADIANS DEGREES YEAR MONTH DAY WEEKDAY HOUR MINUTE SECOND DATE TIME DAYS NOT "
        "ISNUMBER ISTEXT ISBLANK ISERROR ISERR ISNA ISLOGICAL ISNONTEXT "
        "COUNTIF COUNTIFS SUMIF SUMIFS AVERAGEIF AVERAGEIFS MAXIFS MINIFS MATCH VLOOKUP HLOOKUP XLOOKUP "
        "LARGE SMALL RANK",
        _ALL,
    )
)
#: These answer with one of their arguments, so a range in them is wanted as their own answer is. "" is brackets.
_HAND_ON = frozenset({"", "IF", "IFERROR", "IFNA", "CHOOSE"})
#: Inside these every range counts whole, however the formula was entered.
_WHOLE_RANGES_INSIDE = _ANSWERS_MANY | {"SUMPRODUCT", "LET", "LOOKUP", "SUMX2MY2", "SUMX2PY2", "SUMXMY2"}


class BeyondTheEngineError(ValueError):
    """A formula that the engine would get wrong; the text says why, to follow a cell's name."""


class RangeUse:
    """How formulas of one workbook use ranges.

    ours : the names of our functions. names : the defined names, in small letters, with what they stand for.
    our_many : whether a call of one of ours answers with several cells, told ``(call, is_many)``.
    """

    def __init__(
        self,
        ours: Container[str],
        names: Mapping[str, str],
        our_many: Callable[[Call, Callable[[Argument], bool]], bool],
    ) -> None:
        self._ours = ours
        self._our_many = our_many
        self._many_names: dict[str, str] = {}
        for name, text in names.items():
            if self.is_many(parsed(text).arguments[0]):
                self._many_names[name] = text

    # -- ranges that stand for one cell ------------------------------------------------------------------------

    def own_line_edits(self, tree: Call, row: int, column: int) -> list[Edit]:
        """Return what writes single cells in place of ranges, in a formula that is no array formula."""
        return list(self._own_line(tree, True, False, row, column))

    def _own_line(self, call: Call, single: bool, whole: bool, row: int, column: int) -> Iterator[Edit]:
        name, allowed, inner_whole = self._ways(call, whole)
        for place, argument in enumerate(call.arguments):
            wants_one = not inner_whole and (
                place not in allowed or (single and name in _HAND_ON) or _has_operator(argument)
            )
            if wants_one:
                yield from self._cells_of_line(argument, row, column)
            for piece in argument:
                if isinstance(piece, Call):
                    yield from self._own_line(piece, wants_one, inner_whole, row, column)

    def _ways(self, call: Call, whole: bool) -> tuple[str, frozenset[int], bool]:
        """Return a call's plain name, where it takes ranges, and whether ranges in it count whole."""
        if not call.name:
            return "", _ALL, whole
        if plain_name(call.name) in self._ours or call.name == EACH:
            return plain_name(call.name), _ALL, True
        name = office_name(call.name)
        return name, RANGE_PLACES.get(name, frozenset()), whole or name in _WHOLE_RANGES_INSIDE

    def _cells_of_line(self, argument: Argument, row: int, column: int) -> Iterator[Edit]:
        for place, piece in enumerate(argument):
            if not isinstance(piece, Token):
                continue
            if piece.text == ":" and piece.kind == "sign" and 0 < place < len(argument) - 1:
                edit = _cell_of_line(argument, place, row, column)
                if edit is not None:
                    yield edit
            elif piece.kind == "word" and piece.text.lower() in self._many_names:
                text = self._many_names[piece.text.lower()]
                one = edited(text, list(self._cells_of_line(parsed(text).arguments[0], row, column)))
                if one != text:
                    yield Edit(piece.start, piece.end, one)

    # -- ranges that the engine would get wrong ----------------------------------------------------------------

    def check(self, tree: Call) -> None:
        """Raise :class:`BeyondTheEngineError` where the engine would get a range in the formula wrong."""
        name, allowed, _ = self._ways(tree, False)
        if not name and len(tree.arguments) > 1:
            raise BeyondTheEngineError("joins several ranges into one")
        for place, argument in enumerate(tree.arguments):
            _refuse_odd_ranges(argument)
            if place not in allowed and self.is_many(argument):
                raise BeyondTheEngineError(f"gives {name} several cells where it takes one")
            for piece in argument:
                if isinstance(piece, Call):
                    self.check(piece)

    def each_edits(self, tree: Call) -> list[Edit]:
        """Return what hands functions of single values over cell by cell where they are given several."""
        edits = []
        for call in calls(tree):
            name = office_name(call.name)
            if name in ONE_BY_ONE and any(self.is_many(argument) for argument in self._single_arguments(call)):
                edits.append(Edit(call.start, call.name_end, EACH))
                edits.append(Edit(call.gaps[0][0], call.gaps[0][0], f'"{name}",'))
        return edits

    def _single_arguments(self, call: Call) -> Iterator[Argument]:
        """Go over the arguments of a call that stand where single values are wanted."""
        _, allowed, _ = self._ways(call, False)
        return (argument for place, argument in enumerate(call.arguments) if place not in allowed)

    def is_many(self, argument: Argument) -> bool:
        """Return whether an argument can be several values."""
        return any(self._piece_is_many(argument, place) for place in range(len(argument)))

    def names_many(self, argument: Argument) -> bool:
        """Return whether an argument names several cells by a defined name."""
        return any(isinstance(piece, Token) and piece.text.lower() in self._many_names for piece in argument)

    def _piece_is_many(self, argument: Argument, place: int) -> bool:
        piece = argument[place]
        if isinstance(piece, Call):
            return self._call_is_many(piece)
        if piece.kind == "sign":
            return piece.text in "{:" or (piece.text == "#" and place > 0)
        return piece.kind == "word" and piece.text.lower() in self._many_names

    def _call_is_many(self, call: Call) -> bool:
        if plain_name(call.name) in self._ours:
            return self._our_many(call, self.is_many)
        name = office_name(call.name)
        if name in _ANSWERS_MANY or name == EACH:
            return True
        if name in ONE_BY_ONE:
            return any(self.is_many(argument) for argument in self._single_arguments(call))
        if name in _HAND_ON or name in ("ROW", "COLUMN", "LET"):
            return any(self.is_many(argument) for argument in call.arguments)
        if name == "OFFSET":
            return len(call.arguments) > 3 or self.is_many(call.arguments[0])
        if name == "INDEX":
            return any(len(part) == 1 and getattr(part[0], "text", "") == "0" for part in call.arguments[1:])
        if name == "INDIRECT":
            return any(isinstance(piece, Token) and ":" in piece.text for piece in call.arguments[0])
        return False


def _has_operator(argument: Argument) -> bool:
    return any(isinstance(piece, Token) and piece.kind == "sign" and piece.text in _OPERATORS for piece in argument)


def _refuse_odd_ranges(argument: Argument) -> None:
    texts = [piece.text if isinstance(piece, Token) else "" for piece in argument]
    for place, text in enumerate(texts[:-1]):
        piece, following = argument[place], argument[place + 1]
        if not isinstance(piece, Token):
            continue
        over_sheets = text == ":" and texts[place + 2 : place + 3] == ["!"] and texts[max(place - 2, 0)] != "!"
        if over_sheets or (piece.kind == "quoted" and ":" in text.rpartition("]")[2] and texts[place + 1] == "!"):
            raise BeyondTheEngineError("goes over several sheets at once")
        if piece.kind == "word" and isinstance(following, Token) and following.kind in ("word", "quoted"):
            raise BeyondTheEngineError("asks for what two ranges share")


def _cell_of_line(argument: Argument, colon: int, row: int, column: int) -> Edit | None:
    """Return what makes the range around a colon its one cell in a row or column; ``None`` for what is none."""
    first, last = argument[colon - 1], argument[colon + 1]
    if not (isinstance(first, Token) and isinstance(last, Token)):
        return None
    ends = first.text.replace("$", ""), last.text.replace("$", "")
    if all(is_cell(end) for end in ends):
        (top, left), (bottom, right) = (read_cell_name(end) for end in ends)
    elif all(end.isdigit() for end in ends):
        top, bottom, left, right = int(ends[0]), int(ends[1]), 1, 16384
    elif all(end.isalpha() and is_row_or_column(end) for end in ends):
        top, bottom, left, right = 1, 1048576, column_number(ends[0]), column_number(ends[1])
    else:
        return None
    if left == right and top <= row <= bottom:
        return Edit(first.start, last.end, f"${column_letters(left)}{row}")
    if top == bottom and left <= column <= right:
        return Edit(first.start, last.end, f"{column_letters(column)}${top}")
    start = first.start
    if colon >= 3 and getattr(argument[colon - 2], "text", "") == "!":
        start = argument[colon - 3].start
    return Edit(start, last.end, "#VALUE!")
