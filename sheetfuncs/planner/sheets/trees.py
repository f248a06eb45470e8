"""The sheet *Trees*: one row a tree, from what was seen to the last useful date and an advice."""

from __future__ import annotations

from openpyxl import Workbook

from . import kinds, look, positions
from .contents import Contents
from .layout import A_DATE, YES_NO, Column, Role, Table, listed_in, number_between, one_of, whole_between
from .writing import define, write_table

NAME = "Trees"
FOOTINGS = ("container", "ground")
HEADING_ROW = 6

#: The cell above the first row, by name: a row's number in the table is counted from it.
HEADING_NAME = "Tree_heading"
#: Days after which one looks again where no buds were seen, as PRUNE_ADVICE says (judgement).
LOOK_AGAIN = 7

#: How an advice begins that tells of a date gone by, and of one that is near.
LATE, SOON = ("Late", "Too late", "Not this", "No fig buds, and"), "Cut now"

_COUNT = whole_between(0, 10_000, "a whole number")
_MINUTES = number_between(0.1, 1440, "minutes such as 20")


def _if_tag(formula: str) -> str:
    """Return a formula that stays blank in a row without a tag."""
    return f'IF({{tag}}="","",{formula})'


def _looked_up(answers: str, names: str, key: str, sheet: str) -> str:
    """Return the formula that looks a choice up on its sheet, with a clear line where it is not there."""
    cell = f"{{{key}}}"
    return (
        f'IF({cell}="","Check: {key} is blank, wanted one from the sheet {sheet}",'
        f'IF(COUNTIF({names},{cell})=0,"Check: {key} is not on the sheet {sheet}",'
        f"INDEX({answers},MATCH({cell},{names},0))))"
    )


def _of_kind(answers: str) -> str:
    return f'IF(ISNUMBER({{need}}),INDEX({answers},MATCH({{kind}},Kind_names,0)),"")'


def _if_known(formula: str, *more: str) -> str:
    """Return a formula that stays blank where a choice is missing; the advice says which, once a row."""
    known = ",".join(f"ISNUMBER({{{key}}})" for key in ("need", *more))
    return _if_tag(f'IF(AND({known},LEFT({{climate}},6)<>"Check:"),{formula},"")')


def _picked(formula: str) -> str:
    """Return a formula of the days on which a tree's figs are picked; what ripens too rarely comes last."""
    return _if_tag(f'IF(AND(ISNUMBER({{share}}),ISNUMBER({{end}})),{formula},"")')


def _ripe(number: int) -> str:
    """Return the formula of one date of the window; a date not reached comes as a text, which is no summand."""
    return _if_tag(
        "IF(ISNUMBER({share}),"
        f"IFERROR(0+INDEX(RIPEN_WINDOW({{climate}},{{reckoned}},{{need}},{{spread}},{{lag}}),1,{number}),"
        '"too late"),"")'
    )


#: Said in place of an advice where the row lacks something. (when, what is said), the first that fits.
_MISSING = (
    ('LEFT({climate},6)="Check:"', "{climate}"),
    ('LEFT({need},6)="Check:"', "{need}"),
    ('LEFT({not_before},6)="Check:"', "{not_before}"),
    ("NOT(ISNUMBER(Season_year))", "Season_year"),
    ('LEFT({ready},6)="Check:"', "{ready}"),
    ('AND({cut_on}<>"",NOT(ISNUMBER({cut_on})))', '"Check: cut on is "&{cut_on}&", wanted a date"'),
    ("NOT(ISNUMBER({reckoned}))", "Day_today"),
    ("NOT(ISNUMBER({share}))", "{share}"),
)
#: Where no today is typed, the advice is the one of the day that is reckoned with.
_ADVICE = (
    'PRUNE_ADVICE(IF(Day_today="",{reckoned},Day_today),IF(ISNUMBER({ready}),{ready},{not_before}),{latest},{buds},'
    "{cut_on},{climate},{need},{lag},{not_before})"
)


def _advice() -> str:
    formula = _ADVICE
    for when, said in reversed(_MISSING):
        formula = f"IF({when},{said},{formula})"
    return _if_tag(formula)


#: Trees still to be cut: the day from which a round may take them. Buds not seen are looked for in a week.
_ROUND_FROM = (
    'IF(AND({cut_on}="",ISNUMBER({latest}),ISNUMBER({ready_from})),IF(MAX({ready_from},Day_today)>{latest},"",'
    f'MAX({{ready_from}},Day_today,IF(OR({{buds}}="yes",NOT(ISNUMBER(Day_today))),0,MIN(Day_today+{LOOK_AGAIN},'
    '{latest})))),"")'
)
_LINE = f"ROW()-ROW({HEADING_NAME})"


def table(rows: int) -> Table:
    """Return the table with so many rows ready."""
    kind_names = kinds.TABLE.cells("name")
    position_names = positions.TABLE.cells("name")
    short, share = look.DATE_SHORT, look.SHARE
    entry, answer, working = Role.ENTRY, Role.ANSWER, Role.WORKING
    return Table(sheet=NAME, heading_row=HEADING_ROW, rows=rows, columns=(
        Column("tag", "Tag", 9, entry, look.TEXT),
        Column("kind", "Kind", 14, entry, look.TEXT, rule=listed_in(kind_names, "a kind from the sheet Kinds")),
        Column("footing", "Footing", 10, entry, look.TEXT, rule=one_of(*FOOTINGS)),
        Column("position", "Position", 16, entry, look.TEXT,
               rule=listed_in(position_names, "a position from the sheet Positions")),
        Column("shoots", "Shoots", 7.5, entry, rule=_COUNT, align="center"),
        Column("leaves", "Leaves on a shoot", 8, entry, rule=_COUNT, align="center"),
        Column("counted_on", "Counted on", 9, entry, short, rule=A_DATE, align="center"),
        Column("buds", "Fig buds seen", 7, entry, look.TEXT, rule=YES_NO, align="center"),
        Column("figs", "Figs on a shoot", 8, entry, rule=_COUNT, align="center"),
        Column("minutes", "Minutes to cut", 8, entry, rule=_MINUTES, align="center"),
        Column("cut_on", "Cut on", 9, entry, short, rule=A_DATE, align="center"),
        Column("advice", "Advice", 46, answer, shrink=True, formula=_advice()),
        Column("ready_from", "Ready from", 9, answer, short, align="center", formula=_if_tag(
            'IF(ISNUMBER({not_before}),MAX({not_before},{ready}),"")')),
        Column("latest", "Last cut date", 9, answer, short, align="center", shrink=True, formula=_if_known(
            "LATEST_PRUNE_DATE({climate},Season_year,{need},Chance_wanted,{lag})")),
        Column("visit", "Round on", 9, answer, short, align="center", shrink=True, formula=_if_tag(
            f'IF({{round_from}}="","",INDEX(PRUNE_ROUNDS(Tree_round_from,Tree_round_by,Tree_minutes,Minutes_a_day),'
            f"{_LINE}))")),
        Column("spare", "Days to spare", 7, answer, look.WHOLE, align="center", formula=(
            'IF(AND(ISNUMBER({latest}),ISNUMBER({reckoned})),{latest}-{reckoned},"")')),
        Column("node", "Cut above node", 7.5, answer, look.WHOLE, align="center", formula=_if_tag(
            'IF(AND({cut_on}="",ISNUMBER({leaves}),ISNUMBER({latest}),LEFT({advice},8)<>"Not this",'
            'LEFT({advice},8)<>"Too late"),'
            'PRUNE_NODE(IF({counted_on}="",Day_today,{counted_on}),{leaves},{latest}+{lag},Days_a_leaf,2,8,{reckoned}),"")')),
        Column("reckoned", "Reckoned with a cut on", 10, answer, short, align="center", formula=_if_tag(
            'IF({cut_on}<>"",{cut_on},IF(AND(ISNUMBER({ready_from}),LEFT(Day_today,6)<>"Check:"),'
            'MAX({ready_from},Day_today),""))')),
        Column("counted_from", "which is", 13, answer, align="center", formula=_if_tag(
            'IF({cut_on}<>"","the cut",IF(NOT(ISNUMBER({reckoned})),"",IF({reckoned}=Day_today,"today",'
            'IF({ready_from}>{not_before},"leaves enough","its first date"))))')),
        Column("first_ripe", "First figs ripe", 9, answer, short, align="center", formula=_ripe(1)),
        Column("middle_ripe", "Half of them", 9, answer, short, align="center", formula=_ripe(2)),
        Column("last_ripe", "Last figs ripe", 9, answer, short, align="center", formula=_ripe(3)),
        Column("chance", "Chance of first figs", 8.5, answer, share, align="center", formula=_if_known(
            "RIPEN_CHANCE({climate},{reckoned},{need},{lag})", "reckoned")),
        Column("share", "Share of the crop", 8.5, answer, share, align="center", shrink=True, formula=_if_known(
            "CROP_RIPE_SHARE({climate},{reckoned},{need},{spread},{lag})", "reckoned")),
        Column("crop", "Crop hung [kg]", 8, answer, look.TENTHS, align="center", formula=_if_tag(
            'IF(AND({shoots}<>"",ISNUMBER({grams})),CROP_WEIGHT({shoots},IF({figs}<>"",{figs},Figs_usual),{grams},'
            'Kept_share),"")')),
        Column("ripens", "Expected to ripen [kg]", 9, answer, look.TENTHS, align="center", formula=_if_tag(
            'IF(AND(ISNUMBER({crop}),ISNUMBER({share})),{crop}*{share},"")')),
        Column("lost", "Expected lost [kg]", 9, answer, look.TENTHS, align="center", formula=_if_tag(
            'IF(ISNUMBER({ripens}),{crop}-{ripens},"")')),
        Column("climate", "Climate", 22, working, formula=_if_tag(
            'IF(Climate_in_use="","Check: no climate yet, fill the sheets Place and Weather",'
            + _looked_up("Position_climates", "Position_names", "position", positions.NAME) + ")")),
        Column("need", "Heat need", 9, working, "#,##0", align="center", formula=_if_tag(kinds.at_position(
            "{kind}", "{position}", _looked_up("Kind_needs", "Kind_names", "kind", kinds.NAME)))),
        Column("lag", "Days to figs", 8, working, align="center", formula=_of_kind("Kind_lags")),
        Column("spread", "First to last", 8, working, "#,##0", align="center", formula=_of_kind("Kind_spreads")),
        Column("grams", "Grams a fig", 8, working, align="center", formula=_of_kind("Kind_grams")),
        Column("not_before", "Not before", 9, working, short, align="center", formula=_if_tag(
            'IF({footing}="container",Container_from,IF({footing}="ground",Ground_from,'
            'IF({footing}="","Check: footing is blank, wanted container or ground",'
            '"Check: footing is not container or ground")))')),
        Column("ready", "Leaves enough from", 9, working, short, align="center", formula=_if_tag(
            'IF({leaves}="","",IF(AND({counted_on}="",Day_today=""),"",'
            'READY_TO_PRUNE_FROM(IF({counted_on}="",Day_today,{counted_on}),{leaves},Leaves_wanted,Days_a_leaf)))')),
        Column("round_from", "Round from", 9, working, short, align="center", formula=_if_tag(_ROUND_FROM)),
        Column("round_by", "Round by", 9, working, short, align="center", formula=_if_tag(
            'IF({round_from}="","",{latest})')),
        Column("minutes_used", "Minutes", 8, working, align="center", formula=_if_tag(
            'IF({minutes}<>"",{minutes},Minutes_a_tree)')),
        Column("visit_key", "Order of the rounds", 12, working, "0.000000", align="center", formula=_if_tag(
            f'IF(ISNUMBER({{visit}}),{{visit}}+(500-{{visit}}+{{round_from}})/1000+({_LINE})/1000000,"")')),
        Column("pick_first", "Picked from", 9, working, short, align="center", formula=_picked(
            "IF(ISNUMBER({first_ripe}),{first_ripe},{end}-7)")),
        Column("pick_last", "Picked to", 9, working, short, align="center", formula=_picked(
            "MAX({pick_first},IF(ISNUMBER({last_ripe}),{last_ripe},{end}-1))")),
        Column("end", "Season's end", 9, working, short, align="center", formula=_if_tag(
            'IF(OR(LEFT({climate},6)="Check:",NOT(ISNUMBER(Season_year))),"",'
            'INDEX(Position_ends,MATCH({position},Position_names,0)))')),
    ))  # fmt: skip


_MEANINGS = (
    "Ripe dates are those reached in half of the seasons; chance is the share of the seasons in which the first figs "
    "ripen before the season's end.",
    "Cut above node: figs further up the shoot set too late to ripen. Leaves count as nodes, from the base up; a shoot "
    "that has fewer loses its tip alone.",
)

#: Names for the columns that other sheets ask for.
_NAMES = {
    "Tree_tags": "tag",
    "Tree_kinds": "kind",
    "Tree_positions": "position",
    "Tree_footings": "footing",
    "Tree_shoots": "shoots",
    "Tree_buds": "buds",
    "Tree_advice": "advice",
    "Tree_cut_dates": "cut_on",
    "Tree_last_dates": "latest",
    "Tree_reckoned": "reckoned",
    "Tree_ready_from": "ready_from",
    "Tree_needs": "need",
    "Tree_lags": "lag",
    "Tree_climates": "climate",
    "Tree_nodes": "node",
    "Tree_visits": "visit",
    "Tree_visit_keys": "visit_key",
    "Tree_round_from": "round_from",
    "Tree_round_by": "round_by",
    "Tree_minutes": "minutes_used",
    "Tree_crops": "crop",
    "Tree_ripens": "ripens",
    "Tree_pick_first": "pick_first",
    "Tree_pick_last": "pick_last",
}


def write(workbook: Workbook, contents: Contents, rows: int) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    trees = table(rows)
    last = trees.letter("lost")
    look.write_top(
        sheet,
        "Trees",
        "One row a tree: type what you see, read what to do. To sort, choose the coloured columns alone.",
        contents.banner,
        last,
    )
    # The answers print on a page of their own, and stand there with what they mean.
    for row, line in enumerate(_MEANINGS, start=1):
        look.write_text(sheet, f"{trees.letter('ready_from')}{row}", line, look.NOTE_FONT, indent=1)
    advice = trees.cells("advice", sheet=False)
    look.write_text(sheet, "A4", f'="Trees that say Check: "&COUNTIF({advice},"Check:*")', look.BOLD_FONT)
    look.write_text(
        sheet,
        f"{trees.letter('advice')}4",
        f'="Cut now: "&COUNTIF({advice},"Cut now*")&"   Late: "&COUNTIF({advice},"Late*")+COUNTIF({advice},"Too late*")'
        f'&"   Not this year: "&COUNTIF({advice},"Not this*")&"   Cut: "&COUNT({trees.cells("cut_on", sheet=False)})',
        look.BOLD_FONT,
        indent=1,
    )
    write_table(sheet, trees, contents.trees)
    _mark(sheet, trees)
    for name, key in _NAMES.items():
        define(workbook, name, trees.cells(key))
    define(workbook, HEADING_NAME, f"{NAME}!$A${HEADING_ROW}")
    sheet.freeze_panes = f"B{trees.first_row}"
    sheet.auto_filter.ref = f"A{HEADING_ROW}:{last}{trees.last_row}"
    look.set_up_print(sheet, contents.banner, f"A1:{last}{trees.last_row}", HEADING_ROW)
    # What was seen and the advice on one page, the dates and kilograms on the next, each beside its tags.
    sheet.page_setup.fitToWidth = 2
    sheet.print_title_cols = "A:A"


def _mark(sheet, trees: Table) -> None:
    first = {key: f"${trees.letter(key)}{trees.first_row}" for key in ("advice", "cut_on", "spare")}
    answers = trees.cells("advice", "lost", sheet=False)
    look.mark_checks(sheet, answers)
    late = ",".join(f'LEFT({first["advice"]},{len(word)})="{word}"' for word in LATE)
    for cells in (trees.cells("tag", sheet=False), answers):
        look.mark(sheet, cells, f'OR({late},AND({first["cut_on"]}<>"",ISNUMBER({first["spare"]}),{first["spare"]}<0))',
                  "late")
        look.mark(sheet, cells, f'LEFT({first["advice"]},{len(SOON)})="{SOON}"', "soon")
