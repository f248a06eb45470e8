"""The sheet *Log*: one line a tree and year, from which the heat needs of the varieties are learned."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from openpyxl.worksheet.worksheet import Worksheet

from . import look, positions, varieties
from .contents import Contents
from .layout import Column, Page, Paper, Table, answer, entry, working
from .rules import A_DATE, number_between, whole_between

NAME = "Log"
#: Lines that are ready: ten years of each tree, as far as these numbers go; carrying adds what a further year takes.
_FEWEST, _MOST, _YEARS = 300, 1000, 10
#: Lines that are only ready are no pages to print.
_PRINTED = 45
_HEADING_ROW = 6

#: Numbers each variety at a position at its first line with a ripe fig, in the order of the log.
_PAIR = (
    'IF(OR({kind}="",{position}="",NOT(ISNUMBER({first_ripe}))),"",'
    f"IF(COUNTIFS($C${_HEADING_ROW}:{{above_kind}},{{kind}},$D${_HEADING_ROW}:{{above_position}},{{position}},"
    f'$G${_HEADING_ROW}:{{above_first_ripe}},">0")=0,MAX(0,$O${_HEADING_ROW}:{{above_pair}})+1,""))'
)


def _day(key: str, heading: str) -> Column:
    return entry(key, heading, 13, A_DATE, look.DATE_LONG)


TABLE = Table(
    sheet=NAME,
    heading_row=_HEADING_ROW,
    rows=_FEWEST,
    named_by=("tag", "year"),
    checked=("heat", "days"),
    filled=lambda contents: contents.log,
    from_top=True,
    names={
        "Log_cut_dates": "cut_on", "Log_seen_dates": "seen_on", "Log_ripe_dates": "first_ripe", "Log_kinds": "kind",
        "Log_positions": "position", "Log_climates": "climate", "Log_pairs": "pair",
    },
    columns=(
        entry("tag", "Tag", 9, None, look.TEXT, "left"),
        entry("year", "Year", 7, whole_between(1900, 2150, "a year such as 2026"), look.WHOLE),
        entry("kind", "Variety", 15, varieties.CHOICE, look.TEXT, "left", formerly="Kind"),
        entry("position", "Position", 16, positions.CHOICE, look.TEXT, "left"),
        _day("cut_on", "Cut on"),
        _day("seen_on", "Figs seen on"),
        _day("first_ripe", "First fig ripe"),
        _day("last_ripe", "Last fig ripe"),
        entry("kilograms", "Picked [kg]", 10, number_between(0, 10000, "kilograms such as 4.5"), look.TENTHS),
        entry("note", "Note", 34, None, look.TEXT, "left"),
        answer("heat", "Heat it took", 10, "#,##0",
            'IF(OR({climate}="",NOT(ISNUMBER({first_ripe})),AND({cut_on}="",{seen_on}="")),"",'
            'IF(LEFT({climate},6)="Check:","",HEAT_UNITS_BETWEEN({climate},IF({seen_on}<>"",{seen_on},{cut_on}+{lag}),'
            "{first_ripe})))"),
        answer("days", "Days from cut to ripe", 9, look.WHOLE,
            'IF(AND(ISNUMBER({cut_on}),ISNUMBER({first_ripe})),{first_ripe}-{cut_on},"")'),
        working("climate", "Climate",
            f'IF({{position}}="","",IF({positions.CHOICE.fits("{position}")},'
            "INDEX(Position_climates,MATCH({position},Position_names,0)),"
            f'"Check: "&{positions.CHOICE.found("{position}", "position")}))'),
        working("lag", "Days to figs",
            f'IF({{kind}}="","",IF(COUNTIF(Kind_names,{{kind}})=0,{varieties.LAG},'
            "INDEX(Kind_lags,MATCH({kind},Kind_names,0))))"),
        working("pair", "Variety at position", _PAIR),
    ),
)  # fmt: skip


def page(rows: int, lines: int = 0) -> Page:
    """Return the sheet with lines ready for so many trees, and for so many lines that are there already."""
    table = replace(TABLE, rows=max(_FEWEST, min(_YEARS * rows, _MOST), lines + 2 * rows))
    return Page(
        name=NAME,
        title="Log",
        purpose="One line a tree and year; add lines, never overwrite one. What is typed on Trees comes here with next "
        "year's workbook. Lines with a first ripe fig teach the variety's heat need.",
        step="Keep one line a tree and year: next year's heat needs come from it. carry fills it from Trees.",
        last_column=TABLE.letter("days"),
        paper=Paper(TABLE.heading_row + _PRINTED, TABLE.heading_row),
        tables=(table,),
        freeze=f"B{TABLE.first_row}",
        lead=_counts(table),
        more=partial(_let_filter, table),
    )


def _counts(table: Table) -> str:
    ripe, tags = (table.cells(key, sheet=False) for key in ("first_ripe", "tag"))
    # Both shrink where rows are deleted; a range of what lies beyond would be lost with them.
    printed = f"$A${table.first_row}:$A${table.heading_row + _PRINTED}"
    return (
        f'="Lines with a first ripe fig: "&COUNT({ripe})&IF(COUNTA({printed})=COUNTA({tags}),"",'
        f'" of "&COUNTA({tags})&". The first {_PRINTED} lines print; widen the print range for more.")'
    )


def _let_filter(table: Table, sheet: Worksheet, contents: Contents) -> None:
    sheet.auto_filter.ref = f"A{TABLE.heading_row}:{table.letter('days')}{table.last_row}"
