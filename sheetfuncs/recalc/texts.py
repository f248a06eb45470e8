"""What is known of the texts of a workbook, by which the engine takes a few formulas in another way."""

from __future__ import annotations

import re
from typing import Iterable, Mapping, NamedTuple, Sequence

from ..xlsx.places import Area, read_cell_name

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


class SheetCell(NamedTuple):
    """A cell: its sheet in small letters, its row and column."""

    sheet: str
    row: int
    column: int


class Texts(NamedTuple):
    """What is known of all texts that a workbook holds.

    beyond_ascii : whether one has a letter that is no plain Latin one. twins : the cells with texts that read as
    numbers, where the number stands in the same column as a number, too.
    """

    beyond_ascii: bool = False
    twins: frozenset[SheetCell] = frozenset()


def holds_one(cells: Iterable[SheetCell], sheet: str, area: Area) -> bool:
    """Return whether one of some cells lies in an area of a sheet."""
    return any(cell.sheet == sheet and area.holds(cell.row, cell.column) for cell in cells)


def texts_of(strings: Sequence[str], sheets: Mapping[str, bytes]) -> Texts:
    """Return what is known of all texts of a workbook.

    strings : the texts that cells share. sheets : the XML of the worksheets by their names.
    """
    beyond = any(map(_BEYOND_ASCII.search, strings)) or any(
        not xml.isascii() and _BEYOND_ASCII.search(xml.decode(errors="replace")) for xml in sheets.values()
    )
    found = ((str(at).encode(), _LIKE_A_NUMBER.fullmatch(text)) for at, text in enumerate(strings))
    shared = {at: match[1] for at, match in found if match}
    twins: set[SheetCell] = set()
    for name, xml in sheets.items():
        if not _MAY_BE_ONE.search(xml):
            continue
        texts: dict[SheetCell, float] = {}
        numbers: set[tuple[int, float]] = set()
        for attributes, stored in _CELL.findall(xml):
            kind, cell = _KIND.search(attributes), _NAME.search(attributes)
            if cell is None:
                continue
            kind = kind[1] if kind else b"n"
            text = shared.get(stored, "") if kind == b"s" else stored.decode(errors="replace")
            number = _LIKE_A_NUMBER.fullmatch(text) if kind in (b"s", b"str", b"inlineStr", b"n") else None
            if number is not None:
                cell_found = SheetCell(name.lower(), *read_cell_name(cell[1].decode()))
                if kind == b"n":
                    numbers.add((cell_found.column, float(number[1])))
                else:
                    texts[cell_found] = float(number[1])
        twins |= {cell_found for cell_found, number in texts.items() if (cell_found.column, number) in numbers}
    return Texts(bool(beyond), frozenset(twins))
