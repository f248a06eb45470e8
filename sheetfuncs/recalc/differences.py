"""Where the engine answers otherwise than office programs do: done by a helper of ours, or refused.

Found by evaluating some hundred formulas with the engine and with an office program side by side; they stand, with what
was decided, in ``tests/recalc/differences.csv``.
"""

from __future__ import annotations

import re
from typing import Callable, Iterator, Sequence

from .formulas import COMPARE, PRODUCTS, TEXT, Call, Edit, Token, calls, office_name
from .ranges import Argument, BeyondTheEngineError

#: What a criterion is read as beyond a plain number, date or text.
_ODD_CRITERION = re.compile(r"[%#]")
#: What TEXT does in a number's format as office programs do; in a date's all letters are the same.
_NUMBER_FORMAT = re.compile(r"""(?:[#0,]*\.?[#0]*%?(?:\s*"[^"]*")?[;()-]*)*\Z""")
_DATE_FORMAT = re.compile(r"(?:[dmyhs\s.,:/-]|\[hh?\]|AM/PM)+\Z", re.IGNORECASE)
_BETWEEN_DIGITS = re.compile(r"[#0][-(][#0]")
#: Functions that look at a number as a text.
_OF_TEXTS = frozenset(
    ("LEN", "LEFT", "RIGHT", "MID", "FIND", "SEARCH", "SUBSTITUTE", "REPLACE", "CONCATENATE", "CONCAT", "TEXTJOIN")
)
_GIVE_TEXTS = frozenset(("TEXT", "LEFT", "MID", "RIGHT"))
_CRITERIA: dict[str, Callable[[int], Sequence[int]]] = {
    "COUNTIF": lambda count: (1,),
    "SUMIF": lambda count: (1,),
    "AVERAGEIF": lambda count: (1,),
    "COUNTIFS": lambda count: range(1, count, 2),
    "SUMIFS": lambda count: range(2, count, 2),
    "AVERAGEIFS": lambda count: range(2, count, 2),
    "MAXIFS": lambda count: range(2, count, 2),
    "MINIFS": lambda count: range(2, count, 2),
}


def check(tree: Call, is_many: Callable[[Argument], bool]) -> None:
    """Raise :class:`BeyondTheEngineError` where a formula holds something that the engine gets wrong."""
    for argument in _arguments(tree):
        if len(_comparisons(argument)) > 1:
            raise BeyondTheEngineError("compares twice in a row")
    for call in calls(tree):
        reason = next(_reasons(call, is_many), "")
        if reason:
            raise BeyondTheEngineError(reason)


def _reasons(call: Call, is_many: Callable[[Argument], bool]) -> Iterator[str]:
    name, arguments = office_name(call.name), call.arguments
    if name in ("ROW", "COLUMN") and is_many(arguments[0]):
        yield f"asks for the {name} of several cells"
    if name in ("WORKDAY", "NETWORKDAYS") and len(arguments) > 2 and arguments[2] and not is_many(arguments[2]):
        yield f"gives {name} a single holiday"
    for place in _CRITERIA[name](len(arguments)) if name in _CRITERIA else ():
        text = _literal(arguments[place]) if place < len(arguments) else None
        if text is not None and _ODD_CRITERION.search(text):
            yield f'gives {name} the criterion "{text}"'
    if name == "TEXT" and len(arguments) == 2:
        text = _literal(arguments[1])
        if text is None or not (_NUMBER_FORMAT.match(text) or _DATE_FORMAT.match(text) or text in ("@", "General")):
            yield "gives TEXT a format that programs read in their own ways"
        elif _BETWEEN_DIGITS.search(text):
            yield f'gives TEXT the format "{text}"'
    if name in ("PROPER", "SEARCH") and any(not _is_ascii(argument) for argument in arguments):
        yield f"gives {name} letters beyond A to Z"


def edits(tree: Call, is_many: Callable[[Argument], bool]) -> list[Edit]:
    """Return what hands over to helpers of ours what the engine does otherwise: comparing, and numbers as texts."""
    found: list[Edit] = []
    for argument in _arguments(tree):
        found += _comparison_edits(argument)
        found += _joining_edits(argument)
    for call in calls(tree):
        name = office_name(call.name)
        if name == "SUMPRODUCT" and len(call.arguments) > 1:
            found.append(Edit(call.start, call.name_end, PRODUCTS))
        elif name in _OF_TEXTS:
            for argument in call.arguments:
                if _has_arithmetic(argument) and not is_many(argument) and not _signs(argument, "&"):
                    found += _around(argument, f"{TEXT}(", ")")
    return found


def _comparison_edits(argument: Argument) -> Iterator[Edit]:
    for at, length in _comparisons(argument):
        left, right = argument[:at], argument[at + length :]
        sign = "".join(piece.text for piece in argument[at : at + length] if isinstance(piece, Token))
        is_of_a_to_z = sign in ("=", "<>") and any(_needs_no_help(side) for side in (left, right))
        if not left or not right or is_of_a_to_z:
            continue
        yield from _around(left, f'{COMPARE}("{sign}",', "")
        yield Edit(_start(argument[at]), _end(argument[at + length - 1]), ",")
        yield from _around(right, "", ")")


def _needs_no_help(side: Argument) -> bool:
    """Return whether a side of a comparison is a plain text, of which the engine knows all letters."""
    text = _literal(side)
    return text is not None and text.isascii()


def _joining_edits(argument: Argument) -> Iterator[Edit]:
    signs = _signs(argument, "&")
    if not signs:
        return
    bounds = sorted({-1, len(argument), *_signs(argument, "&=<>")})
    for before, after in zip(bounds, bounds[1:]):
        part = argument[before + 1 : after]
        is_joined = before in signs or after in signs
        if part and is_joined and _literal(part) is None and not _is_text_call(part):
            yield from _around(part, f"{TEXT}(", ")")


def _is_text_call(part: Argument) -> bool:
    return len(part) == 1 and isinstance(part[0], Call) and office_name(part[0].name) in _GIVE_TEXTS


def _arguments(tree: Call) -> Iterator[Argument]:
    for argument in tree.arguments:
        yield argument
        for piece in argument:
            if isinstance(piece, Call):
                yield from _arguments(piece)


def _signs(argument: Argument, signs: str) -> list[int]:
    return [
        place for place, piece in enumerate(argument)
        if isinstance(piece, Token) and piece.kind == "sign" and piece.text in signs
    ]  # fmt: skip


def _comparisons(argument: Argument) -> list[tuple[int, int]]:
    """Return where an argument compares: the number of a sign's first piece, and how many pieces it has."""
    found: list[tuple[int, int]] = []
    for place in _signs(argument, "=<>"):
        if found and place == found[-1][0] + 1:
            found[-1] = found[-1][0], 2
        else:
            found.append((place, 1))
    return found


def _has_arithmetic(argument: Argument) -> bool:
    return bool(_signs(argument, "+-*/^"))


def _around(part: Argument, before: str, after: str) -> Iterator[Edit]:
    if before:
        yield Edit(_start(part[0]), _start(part[0]), before)
    if after:
        yield Edit(_end(part[-1]), _end(part[-1]), after)


def _start(piece: Token | Call) -> int:
    return piece.start


def _end(piece: Token | Call) -> int:
    return piece.end if isinstance(piece, Token) else piece.gaps[-1][1] + 1


def _literal(argument: Argument) -> str | None:
    """Return the text of an argument that is one, ``None`` for any other."""
    if len(argument) == 1 and isinstance(argument[0], Token) and argument[0].kind == "string":
        return argument[0].text[1:-1].replace('""', '"')
    return None


def _is_ascii(argument: Argument) -> bool:
    return all(piece.text.isascii() for piece in argument if isinstance(piece, Token))
