"""The sheet *Trees*: one row a tree, from what was seen to the last useful date and an advice."""

from __future__ import annotations

from openpyxl import Workbook

from . import kinds, look, positions
from .contents import Contents
from .layout import A_DATE, YES_NO, Column, Role, Table, listed_in, one_of, whole_between
from .writing import define, write_table

NAME = "Trees"
FOOTINGS = ("container", "ground")
HEADING_ROW = 6

_COUNT = whole_between(0, 10_000, "a whole number")


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


def _ripe(number: int) -> str:
    """Return the formula of one date of the window; a date not reached comes as a text, which is no summand."""
    return _if_tag(
        "IF(ISNUMBER({share}),"
        f"IFERROR(0+INDEX(RIPEN_WINDOW({{climate}},{{reckoned}},{{need}},{{spread}},{{lag}}),1,{number}),"
        '"too late"),"")'
    )


_PER_CENT = 'ROUND(100*{chance},0)&" % of seasons"'

_TO_SPARE = 'IF({spare}=0,"no day",{spare}&IF({spare}=1," day"," days"))&" to spare"'
_TO_FIRST = '({not_before}-Day_today)&IF({not_before}-Day_today=1," day, "," days, ")'

#: The first that fits is said. (when, what is said); the last one always fits.
_ADVICE = (
    ('LEFT({climate},6)="Check:"', "{climate}"),
    ('LEFT({need},6)="Check:"', "{need}"),
    ('LEFT({not_before},6)="Check:"', "{not_before}"),
    ('LEFT({latest},6)="Check:"', "{latest}"),
    ("NOT(ISNUMBER({reckoned}))", '"Check: cut on is "&{reckoned}&", wanted a date"'),
    ("NOT(ISNUMBER({share}))", "{share}"),
    ('AND({cut_on}<>"",{spare}>=0)', '"Cut in time."'),
    ('{cut_on}<>""', f'"Cut late: first figs ripen in "&{_PER_CENT}&"."'),
    ("{not_before}>{latest}", f'"Not this year: a cut would ripen figs in "&{_PER_CENT}&"."'),
    ("{spare}<0", f'"Late: a cut today ripens figs in "&{_PER_CENT}&"."'),
    ('{buds}="no"', f'"No buds, no cut: look again in 7 days; "&{_TO_SPARE}&"."'),
    ('AND({leaves}<>"",{leaves}<Leaves_wanted)',
     f'"Wait for leaves: "&{{leaves}}&" counted, "&Leaves_wanted&" wanted; "&{_TO_SPARE}&"."'),
    ("IF(ISNUMBER(Day_today),{latest}-Day_today,9999)<=Soon_days",
     f'"Soon: "&IF({{not_before}}>Day_today,"from its first date, in "&{_TO_FIRST},"")'
     f'&{_TO_SPARE}&IF({{buds}}="",", look for fig buds.",".")'),
    ('{buds}=""', f'"In time: "&{_TO_SPARE}&", look for fig buds."'),
    ("", f'"In time: "&{_TO_SPARE}&"."'),
)  # fmt: skip


def _advice() -> str:
    formula = _ADVICE[-1][1]
    for when, said in reversed(_ADVICE[:-1]):
        formula = f"IF({when},{said},{formula})"
    return _if_tag(formula)


def table(rows: int) -> Table:
    """Return the table with so many rows ready."""
    kind_names = kinds.TABLE.cells("name")
    position_names = positions.TABLE.cells("name")
    short, share, entry, answer = look.DATE_SHORT, look.SHARE, Role.ENTRY, Role.ANSWER
    return Table(sheet=NAME, heading_row=HEADING_ROW, rows=rows, columns=(
        Column("tag", "Tag", 9, entry, look.TEXT),
        Column("kind", "Kind", 14, entry, look.TEXT, rule=listed_in(kind_names, "a kind from the sheet Kinds")),
        Column("footing", "Footing", 10, entry, look.TEXT, rule=one_of(*FOOTINGS)),
        Column("position", "Position", 15, entry, look.TEXT,
               rule=listed_in(position_names, "a position from the sheet Positions")),
        Column("shoots", "Shoots", 7.5, entry, rule=_COUNT, align="center"),
        Column("leaves", "Leaves on a shoot", 8, entry, rule=_COUNT, align="center"),
        Column("counted_on", "Counted on", 9, entry, short, rule=A_DATE, align="center"),
        Column("buds", "Fig buds seen", 7, entry, look.TEXT, rule=YES_NO, align="center"),
        Column("cut_on", "Cut on", 9, entry, short, rule=A_DATE, align="center"),
        Column("latest", "Last cut date", 9, answer, short, align="center", shrink=True, formula=_if_known(
            "LATEST_PRUNE_DATE({climate},Season_year,{need},Chance_wanted,{lag})")),
        Column("spare", "Days to spare", 7, answer, look.WHOLE, align="center", formula=(
            'IF(AND(ISNUMBER({latest}),ISNUMBER({reckoned})),{latest}-{reckoned},"")')),
        Column("reckoned", "Reckoned with a cut on", 10, answer, short, align="center", formula=_if_tag(
            'IF({cut_on}<>"",{cut_on},IF(ISNUMBER({not_before}),MAX({not_before},Day_today),""))')),
        Column("counted_from", "which is", 10.5, answer, align="center", formula=_if_tag(
            'IF({cut_on}<>"","the cut",IF({reckoned}=Day_today,"today",'
            'IF(ISNUMBER({reckoned}),"its first date","")))')),
        Column("first_ripe", "First figs ripe", 9, answer, short, align="center", formula=_ripe(1)),
        Column("middle_ripe", "Half of them", 9, answer, short, align="center", formula=_ripe(2)),
        Column("last_ripe", "Last figs ripe", 9, answer, short, align="center", formula=_ripe(3)),
        Column("chance", "Chance of first figs", 8.5, answer, share, align="center", formula=_if_known(
            "RIPEN_CHANCE({climate},{reckoned},{need},{lag})", "reckoned")),
        Column("share", "Share of the crop", 8.5, answer, share, align="center", shrink=True, formula=_if_known(
            "CROP_RIPE_SHARE({climate},{reckoned},{need},{spread},{lag})", "reckoned")),
        Column("advice", "Advice", 50, answer, shrink=True, formula=_advice()),
        Column("climate", "Climate", 22, Role.WORKING, formula=_if_tag(
            'IF(Climate_in_use="","Check: no climate yet, fill the sheets Place and Weather",'
            + _looked_up("Position_climates", "Position_names", "position", positions.NAME) + ")")),
        Column("need", "Heat need", 9, Role.WORKING, "#,##0", align="center", formula=_if_tag(_looked_up(
            "Kind_needs", "Kind_names", "kind", kinds.NAME))),
        Column("lag", "Days to figs", 8, Role.WORKING, align="center", formula=_of_kind("Kind_lags")),
        Column("spread", "First to last", 8, Role.WORKING, align="center", formula=_of_kind("Kind_spreads")),
        Column("not_before", "Not before", 9, Role.WORKING, short, align="center", formula=_if_tag(
            'IF({footing}="container",Container_from,IF({footing}="ground",Ground_from,'
            'IF({footing}="","Check: footing is blank, wanted container or ground",'
            '"Check: footing is not container or ground")))')),
    ))  # fmt: skip


def write(workbook: Workbook, contents: Contents, rows: int) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    trees = table(rows)
    last = trees.letter("advice")
    look.write_top(
        sheet,
        "Trees",
        "One row a tree. Ripe dates are those reached in half of the seasons; chance is the share of the seasons in "
        "which the first figs ripen before the season's end.",
        contents.banner,
        last,
    )
    advice = trees.cells("advice", sheet=False)
    look.write_text(sheet, "A4", f'="Trees that say Check: "&COUNTIF({advice},"Check:*")', look.BOLD_FONT)
    look.write_text(
        sheet,
        f"{trees.letter('latest')}4",
        f'="Late: "&COUNTIF({advice},"Late*")&"   Soon: "&COUNTIF({advice},"Soon*")'
        f'&"   Not this year: "&COUNTIF({advice},"Not this*")&"   Cut: "&COUNT({trees.cells("cut_on", sheet=False)})',
        look.BOLD_FONT,
    )
    write_table(sheet, trees, contents.trees)
    _mark(sheet, trees)
    define(workbook, "Tree_tags", trees.cells("tag"))
    define(workbook, "Tree_advice", trees.cells("advice"))
    define(workbook, "Tree_cut_dates", trees.cells("cut_on"))
    define(workbook, "Tree_last_dates", trees.cells("latest"))
    sheet.freeze_panes = f"B{trees.first_row}"
    sheet.auto_filter.ref = f"A{HEADING_ROW}:{last}{trees.last_row}"
    look.set_up_print(sheet, contents.banner, f"A1:{last}{trees.last_row}", HEADING_ROW)


def _mark(sheet, trees: Table) -> None:
    first_advice = f"${trees.letter('advice')}{trees.first_row}"
    answers = trees.cells("latest", "advice", sheet=False)
    look.mark_checks(sheet, answers)
    late = ("Late", "Not this", "Cut late")
    starts = ",".join(f'LEFT({first_advice},{len(word)})="{word}"' for word in late)
    for cells in (trees.cells("tag", sheet=False), answers):
        look.mark(sheet, cells, f"OR({starts})", "late")
        look.mark(sheet, cells, f'LEFT({first_advice},4)="Soon"', "soon")
