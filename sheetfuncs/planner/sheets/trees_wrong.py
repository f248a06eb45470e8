"""What can be wrong in a row of *Trees*: one line each, the first that fits."""

from __future__ import annotations

from . import positions, varieties


def _not_on_its_sheet(key: str, word: str, names: str, sheet: str) -> tuple[tuple[str, str], ...]:
    return (
        (f'{{{key}}}=""', f'"Check: {word} is blank, wanted one from the sheet {sheet}"'),
        (f"COUNTIF({names},{{{key}}})=0", f'"Check: {word} is not on the sheet {sheet}"'),
    )


def _no_day(key: str, word: str) -> tuple[str, str]:
    """Return when a typed day is none of the season, and the line that says so."""
    odd = f'IF({{{key}}}="",FALSE,IF(ISNUMBER({{{key}}}),ABS({{{key}}}-Season_middle)>250,TRUE))'
    shown = f'IF(ISNUMBER({{{key}}}),DAY({{{key}}})&"."&MONTH({{{key}}})&"."&YEAR({{{key}}}),{{{key}}})'
    return odd, f'"Check: {word} is "&{shown}&", wanted a date of season "&Season_year'


#: A tag that is there twice costs no answers: it is only named.
TWICE = ("COUNTIF(Tree_tags,{tag})>1", '"Check: tag "&{tag}&" is there "&COUNTIF(Tree_tags,{tag})&" times"')
#: What is wrong in a row: (when, the line), the first that fits.
_WRONG = (
    *_not_on_its_sheet("kind", "variety", "Kind_names", varieties.NAME),
    *_not_on_its_sheet("position", "position", "Position_names", positions.NAME),
    ('{grown_in}=""', '"Check: grown in is blank, wanted container or ground"'),
    ('AND({grown_in}<>"container",{grown_in}<>"ground")', '"Check: grown in is not container or ground"'),
    _no_day("counted_on", "counted on"), _no_day("cut_on", "cut on"), _no_day("seen_on", "figs seen on"),
    _no_day("picking_from", "first ripe on"), _no_day("picking_to", "last ripe on"),
    ('AND({cut_on}<>"",{seen_on}<>"",N({seen_on})<N({cut_on}))', '"Check: figs seen before the cut on "&DAY({cut_on})'
     '&"."&MONTH({cut_on})&"., wanted the new figs\' day"'),
    ('IF({minutes}="",FALSE,IF(ISNUMBER({minutes}),{minutes}<=0,TRUE))',
     '"Check: minutes are "&{minutes}&", wanted minutes above 0 such as 20"'),
    ('IF({leaves}="",FALSE,IF(ISNUMBER({leaves}),{leaves}<0,TRUE))',
     '"Check: leaves are "&{leaves}&", wanted a count such as 6"'),
    ('LEFT({need},6)="Check:"', "{need}"),
    ('LEFT({ban},6)="Check:"', "{ban}"),
    ('LEFT(Chance_wanted,6)="Check:"', '"see Place: the chance you want"'),
)  # fmt: skip


def line() -> str:
    """Return the formula of the line that says what is wrong in a row, blank where nothing is."""
    formula = '""'
    for when, line in reversed(_WRONG):
        formula = f"IF({when},{line},{formula})"
    formula = f'IF(LEFT({{climate}},6)="Check:","see Positions",{formula})'
    return f'IF(Climate_in_use="","see Place and Weather",{formula})'
