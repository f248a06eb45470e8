"""How wide texts are: letters of Helvetica and Helvetica-Bold by the core font metrics (Adobe, 1985–1997), which Arial
and Arial Bold share, in thousandths of the font's size.
"""

from __future__ import annotations

from sheetfuncs.planner.sheets import trees

_PLAIN = {
    **dict.fromkeys("abdeghnopqu0123456789L°", 556), **dict.fromkeys("ckvxyszJ", 500), **dict.fromkeys("ijl", 222),
    **dict.fromkeys("ft ,.:;!/I[]", 278), **dict.fromkeys("ABEKPSVXY", 667), **dict.fromkeys("CDHNRUw", 722),
    **dict.fromkeys("FTZ", 611), **dict.fromkeys("GOQ", 778), **dict.fromkeys("r-()", 333), "m": 833, "M": 833,
    "W": 944, "%": 889, "'": 191, '"': 355, "±": 584,
}  # fmt: skip
_BOLD = {
    **dict.fromkeys("aceksvxy0123456789", 556), **dict.fromkeys("bdghnopquFLTZ", 611), **dict.fromkeys("ijlI .,/", 278),
    **dict.fromkeys("frt-()[]:;·", 333), **dict.fromkeys("ABCDHKNRU", 722), **dict.fromkeys("EPSVXY", 667),
    **dict.fromkeys("GOQw", 778), "z": 500, "m": 889, "J": 556, "M": 833, "W": 944, "%": 889, "±": 584, "'": 238,
    '"': 474, "°": 400,
}  # fmt: skip
_BOLD.update(dict.fromkeys("ij", 278), f=333)
#: Nine points on a screen of 96 dots an inch.
_SIZE = 9 / 72 * 96
#: One unit of a column's width in Excel, where columns are narrowest; what a cell keeps clear at its sides, and more
#: where the text is set in from the left [dots].
EXCEL, CLEAR, INDENT = 7, 4, 9
#: Height of a line of such letters in Excel [points].
LINE = 12


def dots(text: str, bold: bool = True) -> float:
    """Return the width of a text in nine points on a screen [dots]."""
    return sum((_BOLD if bold else _PLAIN)[letter] for letter in text) / 1000 * _SIZE


def lines_in(text: str, room: float, bold: bool) -> int:
    """Return how many lines a text takes in a cell of a width [dots], broken between words."""
    lines, used, space = 1, 0.0, dots(" ", bold)
    for word in text.split():
        width = dots(word, bold)
        if used and used + space + width > room:
            lines, used = lines + 1, 0.0
        used += width + (space if used else 0.0)
    return lines


def advice_room() -> float:
    """Return the room for a line of an advice on *Trees* [dots]."""
    [advice] = [column for column in trees.table(1).columns if column.key == "advice"]
    return EXCEL * advice.width - CLEAR - INDENT
