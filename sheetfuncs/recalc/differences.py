"""Where the engine is known to answer in another way than office programs: what is refused by the look of a formula.

Each case is one that a comparison with LibreOffice has found; what both do alike is not here. A few depend on what
texts the workbook holds.
"""

from __future__ import annotations

import re
from typing import Callable, Iterator, Mapping, NamedTuple, Sequence

from ..xlsx.references import read_cell_name
from .formulas import Cells
from .tree import Call, Leaf, Node, Operation, all_nodes

IsMany = Callable[[Node], bool]

#: The formats of TEXT that the engine writes as office programs do.
_NUMBER_FORMAT = re.compile(r'(?:[#0,]*\.?[#0]*%?(?:\s*"[^"]*")?[;()-]*)*')
_BETWEEN_DIGITS = re.compile(r"[#0][-(][#0]")
_DATE_FORMAT = re.compile(r"(?:d{1,4}|m{1,5}|yy(?:yy)?|hh?|\[h\]|ss?|AM/PM|[-/.: ,])+", re.IGNORECASE)
_DATE_AS_TEXT = re.compile(r'"\d{4}-')
#: What is looked for where the last cell in use is meant.
_BEYOND_ALL = re.compile(r'\d+(?:\.\d+)?E\+?\d+|9{6,}.*|"z+"', re.IGNORECASE)
_UNITS = frozenset({"C", "F", "K", "g", "kg", "lbm", "m", "km", "cm", "mm", "ft", "in", "yd", "mi"})
_CRITERIA = {
    "COUNTIF": (1,), "SUMIF": (1,), "AVERAGEIF": (1,), "COUNTIFS": range(1, 255, 2),
    "SUMIFS": range(2, 255, 2), "AVERAGEIFS": range(2, 255, 2), "MAXIFS": range(2, 255, 2), "MINIFS": range(2, 255, 2),
}  # fmt: skip
_NOT_TAKEN = {
    " ": "takes what two ranges share", ",": "joins several ranges into one",
    **dict.fromkeys(("()", "@"), "is beyond this recalculation"),
}  # fmt: skip
_LOOKUPS = frozenset({"MATCH", "XMATCH", "VLOOKUP", "HLOOKUP", "LOOKUP", "XLOOKUP"})
_HOLIDAYS = {"WORKDAY": 2, "NETWORKDAYS": 2, "WORKDAY.INTL": 3, "NETWORKDAYS.INTL": 3}
_OF_DATES = frozenset(
    ("YEAR", "MONTH", "DAY", "WEEKDAY", "WEEKNUM", "ISOWEEKNUM", "EDATE", "EOMONTH", "DATEDIF", "DAYS", *_HOLIDAYS)
)

_LIKE_A_NUMBER = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]?\d+)?)\s*")
_BEYOND_ASCII = re.compile(r"[^\W\d_\x00-\x7f]")
_CELL = re.compile(
    rb"<(?:\w+:)?c\b([^<>]*)>(?:<(?:\w+:)?f\b[^<>]*(?:/>|>[^<]*</(?:\w+:)?f>))?<(?:\w+:)?(?:v|is><(?:\w+:)?t)\b[^<>]*>([^<]+)<"
)
#: A text that begins as a number does, or one that cells share: most sheets of many numbers have none.
_MAY_BE_ONE = re.compile(
    rb"""\st=["'](?:s|str|inlineStr)["'][^<>]*>(?:<(?:\w+:)?f\b[^<>]*(?:/>|>[^<]*</(?:\w+:)?f>))?"""
    rb"""<(?:\w+:)?(?:v|is><(?:\w+:)?t)\b[^<>]*>\s*[-+.\d]"""
)
_NAME, _KIND = re.compile(rb'\sr=["\x27]([A-Z]{1,3}[0-9]{1,7})["\x27]'), re.compile(rb'\st=["\x27](\w+)')


class Texts(NamedTuple):
    """What is known of all texts that a workbook holds.

    beyond_ascii : whether one has a letter that is no plain Latin one. twins : the cells, as (sheet in small letters,
    row, column), with texts that read as numbers, where the number stands in the same column as a number, too.
    """

    beyond_ascii: bool = False
    twins: frozenset[tuple[str, int, int]] = frozenset()


def difference(tree: Node, is_many: IsMany, texts: Texts, at: tuple[str, int, int]) -> str:
    """Return why a formula is not left to the engine, to follow a cell's name; empty where it is.

    is_many : whether a node can be several values. at : the formula's sheet in small letters, its row and column.
    """
    nodes = list(all_nodes(tree))
    reasons = (reason for node in nodes for reason in (*_of_node(node, is_many, texts), *_of_texts(node, texts, *at)))
    return next(reasons, "")


def depends_on_texts(tree: Node, texts: Texts) -> bool:
    """Return whether it matters to a formula which texts stand in the cells that it refers to."""
    return bool(texts.twins) and any(isinstance(node, Call) and node.name in _LOOKUPS for node in all_nodes(tree))


def _of_texts(node: Node, texts: Texts, sheet: str, row: int, column: int) -> Iterator[str]:
    if texts.twins and isinstance(node, Call) and node.name in _LOOKUPS:
        areas = [part.at(row, column) for part in all_nodes(node) if isinstance(part, Cells)]
        if any(one == (other or sheet) and area.holds(*at) for other, area in areas for one, *at in texts.twins):
            yield f"gives {node.name} numbers of which some are texts"


def _of_node(node: Node, is_many: IsMany, texts: Texts) -> Iterator[str]:
    if isinstance(node, Call):
        yield from _of_call(node, is_many, texts)
    elif isinstance(node, Operation) and node.sign in _NOT_TAKEN:
        yield _NOT_TAKEN[node.sign]
    elif isinstance(node, Cells) and node.is_of_several_sheets:
        yield "goes over several sheets at once"


def _of_call(call: Call, is_many: IsMany, texts: Texts) -> Iterator[str]:
    name, arguments = call.name, call.arguments
    if name in ("ROW", "COLUMN") and arguments and is_many(call):
        yield f"gives {name} several cells at once"
    index = _HOLIDAYS.get(name)
    if index is not None and len(arguments) > index and not is_many(arguments[index] or call):
        yield f"gives {name} a single holiday; two cells, one of them blank, can be recalculated"
    if name in _CRITERIA and any(_is_odd_criterion(arguments, index) for index in _CRITERIA[name]):
        yield f"gives {name} a share or an error to look for"
    yield from _of_lookup(name, arguments)
    if name == "TEXT" and len(arguments) == 2 and not _is_plain_format(arguments[1]):
        yield "gives TEXT a format that office programs may write in another way"
    if name == "INT" and any(_is_product_of_fractions(part) for part in arguments if part):
        yield "gives INT a product of fractions"
    if name in _OF_DATES and any(_DATE_AS_TEXT.match(_text(part)) for part in arguments):
        yield f"gives {name} a date as a text"
    needle = arguments[0] if arguments else None
    if name == "SEARCH" and not (_text(needle).isascii() if _is_text(needle) else not texts.beyond_ascii):
        yield "gives SEARCH letters that are no plain Latin ones"
    if name == "IF" and _is_text(needle):
        yield "gives IF a text as its condition"
    if name == "VALUE" and _is_text(needle) and not set(_text(needle)).isdisjoint(",$€£"):
        yield "gives VALUE a number in a form of its own"
    if name == "CEILING.MATH" and len(arguments) > 2:
        yield "gives CEILING.MATH another direction"
    if name == "CODE" and not (_is_text(needle) and _text(needle).isascii()):
        yield "gives CODE letters that are no plain Latin ones"
    if name == "CHAR" and not (_text(needle).isdigit() and int(_text(needle)) < 128):
        yield "gives CHAR the number of a letter that is no plain Latin one"
    if name == "CONVERT" and not _UNITS.issuperset(_text(part).strip('"') for part in arguments[1:]):
        yield "gives CONVERT a unit that this recalculation may not know"
    if name in ("PROPER", "ISFORMULA"):
        yield f"calls {name}, which office programs answer in more than one way"


def _of_lookup(name: str, arguments: tuple[Node | None, ...]) -> Iterator[str]:
    table = arguments[1] if len(arguments) > 1 else None
    is_reference = isinstance(table, Cells) or (isinstance(table, Leaf) and table.kind in ("name", "array", "outer"))
    if name == "LOOKUP" and len(arguments) > 1 and not is_reference:
        yield "gives LOOKUP what is worked out on the way"
    is_exact = name == "MATCH" and len(arguments) == 3 and _text(arguments[2]) == "0"
    if name in ("MATCH", "LOOKUP") and not is_exact and arguments and _BEYOND_ALL.fullmatch(_text(arguments[0])):
        yield f"looks for the last cell in use, by {name}"
    is_whole = name == "INDEX" and any(_text(part) in ("", "0") for part in arguments[1:])
    if is_whole and isinstance(arguments[0], (Operation, Call)):
        yield "takes a whole row or column, by INDEX, of what is worked out on the way"


def _text(node: Node | None) -> str:
    return node.text if isinstance(node, Leaf) else "" if node is None else "("


def _is_text(node: Node | None) -> bool:
    return isinstance(node, Leaf) and node.kind == "text"


def _is_odd_criterion(arguments: tuple[Node | None, ...], index: int) -> bool:
    if index >= len(arguments):
        return False
    criterion = arguments[index]
    return any(
        (isinstance(part, Call) and part.name == "NA")
        or (isinstance(part, Leaf) and part.kind == "error")
        or (_is_text(part) and ("%" in _text(part) or _text(part).lstrip('"<>=').startswith("#")))
        for part in (all_nodes(criterion) if criterion is not None else ())
    )


def _is_plain_format(node: Node | None) -> bool:
    if not isinstance(node, Leaf) or node.kind != "text":
        return False
    text = node.text[1:-1].replace('""', '"')
    is_number = _NUMBER_FORMAT.fullmatch(text) and not _BETWEEN_DIGITS.search(text) and text not in ("", "#")
    return bool(is_number or _DATE_FORMAT.fullmatch(text) or text == "@")


def _is_product_of_fractions(node: Node) -> bool:
    leaves = [part for part in all_nodes(node) if isinstance(part, Leaf) and part.kind == "number"]
    has_product = any(isinstance(part, Operation) and part.sign in "*^" for part in all_nodes(node))
    return has_product and any("." in leaf.text for leaf in leaves)


# -- the texts of a workbook ------------------------------------------------------------------------------------


def texts_of(strings: Sequence[str], sheets: Mapping[str, bytes]) -> Texts:
    """Return what is known of all texts of a workbook.

    strings : the texts that cells share. sheets : the XML of the worksheets by their names.
    """
    beyond = any(map(_BEYOND_ASCII.search, strings)) or any(
        not xml.isascii() and _BEYOND_ASCII.search(xml.decode(errors="replace")) for xml in sheets.values()
    )
    found = ((str(at).encode(), _LIKE_A_NUMBER.fullmatch(text)) for at, text in enumerate(strings))
    shared = {at: match[1] for at, match in found if match}
    twins: set[tuple[str, int, int]] = set()
    for name, xml in sheets.items():
        if not _MAY_BE_ONE.search(xml):
            continue
        texts: dict[tuple[str, int, int], float] = {}
        numbers: set[tuple[int, float]] = set()
        for attributes, stored in _CELL.findall(xml):
            kind, cell = _KIND.search(attributes), _NAME.search(attributes)
            if cell is None:
                continue
            kind = kind[1] if kind else b"n"
            text = shared.get(stored, "") if kind == b"s" else stored.decode(errors="replace")
            number = _LIKE_A_NUMBER.fullmatch(text) if kind in (b"s", b"str", b"inlineStr", b"n") else None
            if number is not None:
                row, column = read_cell_name(cell[1].decode())
                if kind == b"n":
                    numbers.add((column, float(number[1])))
                else:
                    texts[name.lower(), row, column] = float(number[1])
        twins |= {at for at, number in texts.items() if (at[2], number) in numbers}
    return Texts(bool(beyond), frozenset(twins))
