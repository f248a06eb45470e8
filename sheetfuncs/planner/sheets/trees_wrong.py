"""What can be wrong in a row of *Trees*: one line each, the first that fits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from .layout import Column

#: Columns that no row can do without.
_NEEDED = ("kind", "position", "grown_in")
#: Days that are seen, so none to come; and days that come one after the other.
_SEEN = ("counted_on", "seen_on", "picking_from", "picking_to")
_IN_ORDER = (
    ("cut_on", "seen_on"), ("cut_on", "picking_from"), ("seen_on", "picking_from"), ("picking_from", "picking_to"),
)  # fmt: skip
#: What is wrong with a tag costs no answers: (when, the line).
TAGS = (
    ('{tag}&""<>TRIM({tag})', '"Check: tag """&{tag}&""" has a space too many"'),
    ("COUNTIF(Tree_tags,{tag})>1", '"Check: tag "&{tag}&" is there "&COUNTIF(Tree_tags,{tag})&" times"'),
)


def _wrong(columns: Mapping[str, Column]) -> Iterator[tuple[str, str]]:
    """Go over what can be wrong in a row: when, and the line that says so."""
    for key in sorted(columns, key=lambda key: key not in _NEEDED):
        column, cell = columns[key], f"{{{key}}}"
        if column.rule is None:
            continue
        odd = f"NOT({column.rule.fits(cell)})"
        yield odd if key in _NEEDED else f'IF({cell}="",FALSE,{odd})', column.rule.found(cell, column.heading)
        if column.rule.type == "date":
            yield (f'IF({cell}="",FALSE,ABS({cell}-Season_middle)>250)', f'"{column.heading} is "&DAY({cell})&"."&'
                   f'MONTH({cell})&"."&YEAR({cell})&", wanted a date of season "&Season_year')  # fmt: skip
    for key in _SEEN:
        yield f'AND({{{key}}}<>"",N({{{key}}})>Seen_until)', f'"{columns[key].heading} lies after today"'
    for first, then in _IN_ORDER:
        yield (f'AND({{{first}}}<>"",{{{then}}}<>"",N({{{then}}})<N({{{first}}}))',
               f'"{columns[then].heading} lies before {columns[first].heading}"')  # fmt: skip
    yield 'AND({cut_on}<>"",N({cut_on})<N(Cut_from))', '"Cut on is a day before shoots have leaves"'


def line(columns: Iterable[Column]) -> str:
    """Return the formula of the line that says what is wrong in a row, blank where nothing is."""
    formula = 'IF({climate}="","see Positions",IF(NOT(ISNUMBER({need})),"see Varieties",""))'
    for when, line in reversed(tuple(_wrong({column.key: column for column in columns}))):
        formula = f"IF({when},{line},{formula})"
    return f'IF(Climate_in_use="","see Place and Weather",IF(Place_checks>0,"see Place",{formula}))'
