"""Our functions in the text of a Calc formula: found under any spelling, written as Calc knows them.

The texts are those of the office's API: ``;`` between arguments, ``.`` between sheet and cell.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Callable, Mapping, Sequence

from ...functions.declare import Function, Parameter

#: The service under which Calc knows the functions; an .xlsx file that Calc saved shows it before each name.
SERVICE = "SHEETFUNCS"

#: For each worksheet name: which arguments read a blank cell and a 0 differently.
Known = Mapping[str, Sequence[bool]]

_ATOM = re.compile(
    r"""
      "(?:[^"]|"")*"                                          # a text
    | '(?:[^']|'')*'                                          # a sheet's or a file's name
    | \[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\]               # the columns of a table
    | \{(?:[^{}"]|"(?:[^"]|"")*")*\}                          # an array typed into the formula
    | (?P<call>[^\W\d][\w.]*)\s*\(
    | [^\W\d][\w.]*
    | .
    """,
    re.VERBOSE | re.DOTALL,
)
_SPELLING = re.compile(rf"(?:_xl\w*\.)*(?:{SERVICE}\.)?(?P<name>[A-Z][A-Z0-9_]*)", re.IGNORECASE)
_IN_ANOTHER_BOOK = re.compile(r"(?:\[\d+\]|'[^']*'|[\w.]+)!$|'[^']*'#$")
_ONE_VALUE = re.compile(r"_xl\w*\.single", re.IGNORECASE)
_OUR_CALL = re.compile(rf"{SERVICE}\.\w+\(.*\)", re.DOTALL)

_SHEET = r"(?:'[^']*'\#)?\$?(?:'(?:[^']|'')+'|[^\W\d]\w*)\."
_CELL = re.compile(rf"(?:{_SHEET})?(?P<cell>\$?[A-Z]{{1,3}}\$?\d{{1,7}})", re.IGNORECASE)
_TABLE_ROW = re.compile(r"[^\W\d][\w.]*\[.*#This Row.*\]", re.IGNORECASE)
_NAME = re.compile(r"[^\W\d][\w.]*")


def known_functions(functions: Sequence[Function]) -> Known:
    """Return what must be known of the functions to adapt a formula."""
    return {
        function.worksheet_name: tuple(tells_blank_from_zero(parameter) for parameter in function.parameters)
        for function in functions
    }


def tells_blank_from_zero(parameter: Parameter) -> bool:
    """Return whether a blank cell and a 0 mean different things for an argument."""
    default_is_zero = type(parameter.default) in (int, float, bool) and parameter.default == 0
    return parameter.kind.takes_blank or not (default_is_zero or reads_zero_as_blank(parameter))


def reads_zero_as_blank(parameter: Parameter) -> bool:
    """Return whether a 0 counts as a blank cell, which Calc hands over as 0.

    Of a required argument a 0 is as little an answer as a blank: only what the line says differs from the other hosts.
    For the same reason TRUE is the number 1 in Calc.
    """
    return parameter.required and parameter.kind.zero_is_no_value and not parameter.kind.takes_blank


def mentions_any(known: Known) -> Callable[[str], object]:
    """Return a quick test whether a formula may hold one of the functions: most formulas of a book do not."""
    # In capitals once: a search in any case takes seventeen times as long.
    search = re.compile("|".join(map(re.escape, known)) or "(?!)").search
    return lambda formula: search(formula.upper())


def is_one_cell(text: str) -> bool:
    """Return whether a text is a reference to one cell."""
    return _CELL.fullmatch(text.strip()) is not None


@dataclass
class _Level:
    """What stands between one pair of brackets, so far."""

    opening: str = ""
    differs: Sequence[bool] = ()
    arguments: list[str] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)


def adapt(formula: str, known: Known, is_one_cell_name: Callable[[str], bool] = lambda name: False) -> str:
    """Return a formula in which Calc knows our functions and hands over a blank cell as a blank.

    Bare and prefixed names become ``SHEETFUNCS.NAME``. Calc hands a single blank cell over as 0, but a blank
    cell of a range as a blank: so ``A5`` becomes the range ``A5:A5`` where the difference counts, and a
    name ``lag`` becomes ``IF(ISBLANK(lag);"";lag)``.

    formula : the text with or without its ``=``. is_one_cell_name : whether a defined name stands for one cell.
    Returns the same text where there is nothing to do.
    """
    if formula.startswith("{=") and formula.endswith("}"):  # an array formula, as the office shows it
        return "{" + adapt(formula[1:-1], known, is_one_cell_name) + "}"
    levels = [_Level()]
    for atom in _ATOM.finditer(formula):
        text, call = atom.group(), atom.group("call")
        level = levels[-1]
        if call is not None:
            levels.append(_opened(call, text, level, known))
        elif text == "(":
            levels.append(_Level("("))
        elif text == ";":
            _end_argument(level, is_one_cell_name)
        elif text == ")" and len(levels) > 1:
            _end_argument(level, is_one_cell_name)
            levels.pop()
            levels[-1].parts.append(_closed(level))
        else:
            level.parts.append(text)
    while len(levels) > 1:  # brackets left open: not a formula we know, kept as it is
        level = levels.pop()
        levels[-1].parts.append(level.opening + ";".join([*level.arguments, "".join(level.parts)]))
    return ";".join([*levels[0].arguments, "".join(levels[0].parts)])


def _opened(call: str, text: str, level: _Level, known: Known) -> _Level:
    spelling = _SPELLING.fullmatch(call)
    name = spelling.group("name").upper() if spelling else ""
    if name not in known:
        return _Level(text)
    before = "".join(level.parts)
    level.parts[:] = [_IN_ANOTHER_BOOK.sub("", before)]
    return _Level(f"{SERVICE}.{name}(", known[name])


def _end_argument(level: _Level, is_one_cell_name: Callable[[str], bool]) -> None:
    text = "".join(level.parts)
    index = len(level.arguments)
    if index < len(level.differs) and level.differs[index]:
        text = _with_its_blank(text, is_one_cell_name)
    level.arguments.append(text)
    level.parts.clear()


def _closed(level: _Level) -> str:
    inside = ";".join(level.arguments)
    if _ONE_VALUE.fullmatch(level.opening.rstrip("( ")) and _OUR_CALL.fullmatch(inside.strip()):
        return inside.strip()
    return f"{level.opening}{inside})"


def _with_its_blank(text: str, is_one_cell_name: Callable[[str], bool]) -> str:
    """Return a reference to one cell in a form that hands over a blank as a blank, any other text as it is.

    Both forms mean the same in every other program that reads the file.
    """
    plain = text.strip()
    cell = _CELL.fullmatch(plain)
    if cell:
        return f"{plain}:{cell.group('cell')}"
    in_table = _TABLE_ROW.fullmatch(plain) and "]:" not in plain
    if in_table or (_NAME.fullmatch(plain) and is_one_cell_name(plain)):
        return f'IF(ISBLANK({plain});"";{plain})'
    return text
