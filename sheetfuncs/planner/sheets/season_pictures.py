"""The pictures of the sheet *Season*, and the cells they are drawn from, to the right of its page."""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from . import charts, look, picking, varieties
from .layout import Column, Role, Table

NAME = "Season"
LAST_COLUMN = "G"
HEADING_ROW = 20
#: The pictures begin on a page of their own, and so do the further pictures of trees, three to a page.
PICTURES_ROW = HEADING_ROW + varieties.ROWS + 2
_PICTURES_END = PICTURES_ROW + 53
_MORE_ROWS, _MORE_A_PAGE = 17, 3

PAST = 15
_DAYS_OF_HEAT = 210
_HEAT_COLUMN = 9
#: Above the headings: the first day of each past season that has the days.
_STARTS_ROW = HEADING_ROW - 2


def _past_letter(back: int) -> str:
    return get_column_letter(_HEAT_COLUMN + 5 + back)


def _past_heat(back: int) -> str:
    start = f"{_past_letter(back)}${_STARTS_ROW}"
    return f'IF(OR({start}="",{{day}}=""),"",HEAT_UNITS_BETWEEN(Season_climate,{start},{start}+7*{{line}}))'


def _of_past(function: str) -> str:
    first, last = (f"{{past_{back}}}" for back in (1, PAST))
    return f'IF({{now}}="","",IF(COUNT({first}:{last})=0,{{now}},{function}({first}:{last})))'


HEAT = Table(
    sheet=NAME,
    heading_row=HEADING_ROW,
    rows=_DAYS_OF_HEAT // 7 + 1,
    first_column=_HEAT_COLUMN,
    columns=(
        Column("line", "Week", 6, Role.WORKING, align="center", formula="ROW()-ROW(Season_heading)-1"),
        Column("day", "Day", 9, Role.WORKING, look.DATE_SHORT, align="center", formula=(
            'IF(OR(Season_climate="",NOT(ISNUMBER(Heat_from))),"",Heat_from+7*{line})')),
        Column("now", "this season, then the mean", 9, Role.WORKING, "#,##0", formula=(
            'IF({day}="","",HEAT_UNITS_BETWEEN(Season_climate,Heat_from,{day}))')),
        Column("least", "least", 9, Role.WORKING, "#,##0", formula=_of_past("MIN")),
        Column("middle", "middle", 9, Role.WORKING, "#,##0", formula=_of_past("MEDIAN")),
        Column("most", "most of up to 15 seasons", 9, Role.WORKING, "#,##0", formula=_of_past("MAX")),
        *(Column(f"past_{back}", f"{back} back", 9, Role.WORKING, "#,##0", formula=_past_heat(back))
          for back in range(1, PAST + 1)),
    ),
)  # fmt: skip

FROST = Table(
    sheet=NAME,
    heading_row=HEADING_ROW,
    rows=24,
    first_column=_HEAT_COLUMN + len(HEAT.columns) + 1,
    columns=(
        Column("day", "Day", 9, Role.WORKING, look.DATE_SHORT, align="center", formula=(
            'IF(OR(Season_climate="",NOT(ISNUMBER(Season_year))),"",'
            'DATE(Season_year,IF(Hemisphere="south",3,9),1)+5*(ROW()-ROW(Season_heading)-1))')),
        Column("station", "at the station", 9, Role.WORKING, look.SHARE, formula=(
            'IF({day}="","",FROST_CHANCE(Climate_in_use,{day}))')),
        Column("position", "at the position chosen", 9, Role.WORKING, look.SHARE, formula=(
            'IF({day}="","",FROST_CHANCE(Season_climate,{day}))')),
    ),
)  # fmt: skip


#: Trees in one picture. In front of them each picture has an empty slot, where the months' names are written.
TREES_DRAWN = 30
_SLOTS = TREES_DRAWN + 1
_BARS_COLUMN = _HEAT_COLUMN + len(HEAT.columns) + len(FROST.columns) + 2
_MONTHS = 10
_FROST_CHANCES = (
    ("frost_1", 0.1, "first frost, 1 in 10 earlier"), ("frost_5", 0.5, "1 in 2"), ("frost_9", 0.9, "9 in 10"),
)  # fmt: skip
_OF_A_TREE = ("tree", "tag", "base", "wait", "pick")
_ORDER = (*_OF_A_TREE, *(key for key, _, _ in _FROST_CHANCES), *(f"month_{month}" for month in range(_MONTHS)))


def _shared(key: str) -> str:
    """Return the cell above the headings that holds what all rows of a column share."""
    return f"${get_column_letter(_BARS_COLUMN + _ORDER.index(key))}${_STARTS_ROW}"


_DRAWN = "AND(ISNUMBER(INDEX(Tree_assumed_cuts,{tree})),ISNUMBER(INDEX(Tree_pick_first,{tree})))"


def _of_tree(days: str) -> str:
    return f'IF({{tree}}="","",IF({_DRAWN},{days},0))'


def _since(key: str) -> str:
    """Return the formula of a shared date in days after the first day of the pictures."""
    return f'IF(OR({_shared("base")}="",{_shared(key)}=""),0,{_shared(key)}-{_shared("base")})'


def _month_name(month: int) -> str:
    """Return the formula of a month's first day in words; a text, so that every language of a program writes it."""
    cell = _shared(f"month_{month}")
    again = f"{cell}={_shared(f'month_{month - 1}')}" if month else "FALSE"
    # A blank one would be named by the program itself.
    return f'=IF(OR({cell}="",{again})," ","1 "&MID("JanFebMarAprMayJunJulAugSepOctNovDec",3*MONTH({cell})-2,3))'


def pictures(rows: int) -> int:
    """Return how many pictures so many lines of *Trees* fill."""
    return max(1, -(-rows // TREES_DRAWN))


def bars(rows: int) -> Table:
    """Return what the pictures of the trees are drawn from, in days after the first of the month of the first cut.

    Days, since an axis that counts from a day of its own leaves no room below the first cut, whatever the year.
    """
    return Table(
        sheet=NAME,
        heading_row=HEADING_ROW,
        rows=pictures(rows) * _SLOTS,
        first_column=_BARS_COLUMN,
        columns=(
            Column("tree", "Line on Trees", 7, Role.WORKING, align="center", formula=(
                f'IF(OR(MOD({_SLOT},{_SLOTS})=0,{_SLOT}-INT({_SLOT}/{_SLOTS})>ROWS(Tree_tags)),"",'
                f"{_SLOT}-INT({_SLOT}/{_SLOTS}))")),
            Column("tag", "Tag", 9, Role.WORKING, formula='IF({tree}="","",INDEX(Tree_tags,{tree})&"")'),
            Column("base", "to the cut", 9, Role.WORKING, look.WHOLE,
                   formula=_of_tree(f'INDEX(Tree_assumed_cuts,{{tree}})-{_shared("base")}')),
            Column("wait", "from the cut to the first ripe fig", 9, Role.WORKING, look.WHOLE,
                   formula=_of_tree("INDEX(Tree_pick_first,{tree})-INDEX(Tree_assumed_cuts,{tree})")),
            Column("pick", "picking", 9, Role.WORKING, look.WHOLE,
                   formula=_of_tree("IF(ISNUMBER(INDEX(Tree_ripe_dates,{tree})),"
                                    "INDEX(Tree_pick_last,{tree})-INDEX(Tree_pick_first,{tree}),0)")),
        ),
    )  # fmt: skip


#: The lines across are the same for all pictures.
ACROSS = Table(
    sheet=NAME,
    heading_row=HEADING_ROW,
    rows=_SLOTS,
    first_column=_BARS_COLUMN + len(_OF_A_TREE),
    columns=(
        *(Column(key, heading, 9, Role.WORKING, look.WHOLE, formula=_since(key)) for key, _, heading in _FROST_CHANCES),
        *(Column(f"month_{month}", _month_name(month), 9, Role.WORKING, look.WHOLE, formula=_since(f"month_{month}"))
          for month in range(_MONTHS)),
    ),
)  # fmt: skip
_SLOT = "(ROW()-ROW(Season_heading)-1)"


def _write_shared(sheet: Worksheet) -> None:
    """Write the dates that all rows of the bars share: the first day, the frosts, and the months up to the last."""
    start = _shared("base")
    frosts = [(key, f"FIRST_FROST(Climate_in_use,Season_year,{chance:g})") for key, chance, _ in _FROST_CHANCES]
    last = f'MAX(Tree_pick_last,{",".join(_shared(key) for key, _, _ in _FROST_CHANCES)})'
    formulas = {
        "base": 'IF(COUNT(Tree_assumed_cuts)=0,"",DATE(YEAR(MIN(Tree_assumed_cuts)),MONTH(MIN(Tree_assumed_cuts)),1))',
        **{key: f'IF(Climate_in_use="","",IF(ISNUMBER({call}),{call},""))' for key, call in frosts},
        # Months after the last thing drawn would stretch the picture: they are drawn where the last one is.
        **{f"month_{month}": f'IF({start}="","",MIN(DATE(YEAR({start}),MONTH({start})+{month},1),'
                             f"DATE(YEAR({last}),MONTH({last})+1,1)))" for month in range(_MONTHS)},
    }  # fmt: skip
    for key, formula in formulas.items():
        cell = sheet[_shared(key)]
        look.dress(cell, Role.WORKING, look.DATE_SORTABLE, "center")
        cell.value = f"={formula}"


def write_pictures(workbook: Workbook, sheet: Worksheet, drawn: Table, number: int) -> None:
    """Write what all rows share, and draw; the sheets with the trees and the weeks must be there."""
    _write_starts(sheet)
    _write_shared(sheet)
    look.write_section(sheet, PICTURES_ROW, "The season in pictures", LAST_COLUMN)
    for row in range(PICTURES_ROW + 1, last_row(number) + 1):
        sheet.row_dimensions[row].height = look.ROW_HEIGHT  # else programs differ, and pictures would overlap
    _draw(workbook, sheet)
    _draw_trees(sheet, drawn, number)


def last_row(number: int) -> int:
    """Return the last row of the page on which the picture of so many lies."""
    pages = -(-(number - 1) // _MORE_A_PAGE)
    return _PICTURES_END + (pages and 2) + pages * _MORE_A_PAGE * _MORE_ROWS


def page_ends(number: int) -> list[int]:
    """Return the rows after which a page ends, the last one's left out."""
    return [PICTURES_ROW - 1, *sorted({last_row(picture) for picture in range(1, number)} - {last_row(number)})]


def _write_starts(sheet: Worksheet) -> None:
    for back in range(1, PAST + 1):
        start = f"DATE(YEAR(Heat_from)-{back},MONTH(Heat_from),DAY(Heat_from))"
        days = f'COUNTIFS(Weather_dates,">="&{start},Weather_dates,"<"&{start}+{_DAYS_OF_HEAT})'
        cell = sheet[f"{_past_letter(back)}{_STARTS_ROW}"]
        look.dress(cell, Role.WORKING, look.DATE_SORTABLE, "center")
        known = f'IF({days}<{_DAYS_OF_HEAT - 10},"",{start})'
        cell.value = f'=IF(OR(Season_climate="",NOT(ISNUMBER(Heat_from))),"",{known})'


def _rows(sheet: Worksheet, table: Table, names: str) -> charts.Rows:
    return charts.Rows(sheet, table.heading_row, table.first_row, table.last_row, table.number(names))


def _draw(workbook: Workbook, sheet: Worksheet) -> None:
    """Draw the season below the first picture of trees, on the same page."""
    row = PICTURES_ROW + 23
    heat = charts.lines(_rows(sheet, HEAT, "day"), [
        charts.Drawn(HEAT.number("now"), charts.WARM, 2.5),
        charts.Drawn(HEAT.number("middle"), charts.INK, 1.25, "dash"),
        charts.Drawn(HEAT.number("least"), charts.FAINT, 1, "sysDot"),
        charts.Drawn(HEAT.number("most"), charts.FAINT, 1, "dashDot"),
    ], by_date=True)  # fmt: skip
    charts.add_chart(
        sheet, heat, f"A{row}:C{row + 15}", "Heat so far against other seasons",
        ("heat units", "#,##0"), along=look.DATE_SHORT, scale=(0, None),
    )  # fmt: skip
    frost = charts.lines(_rows(sheet, FROST, "day"), [
        charts.Drawn(FROST.number("station"), charts.HEAD, 2.25),
        charts.Drawn(FROST.number("position"), charts.WARM, 1.5, "dash"),
    ], by_date=True)  # fmt: skip
    charts.add_chart(
        sheet, frost, f"D{row}:G{row + 15}", "Chance that the first frost has come",
        ("chance", look.SHARE), along=look.DATE_SHORT, step=0.1, scale=(0, 1),
    )  # fmt: skip
    charts.add_chart(
        sheet, charts.columns(picking.rows(workbook), [picking.KILOGRAMS]), f"A{row + 17}:G{_PICTURES_END}",
        "Kilograms to pick, week by week", ("kg", "0.0"), along=look.DATE_SHORT,
    )  # fmt: skip


def _draw_trees(sheet: Worksheet, drawn: Table, number: int) -> None:
    """Draw the trees, thirty to a picture: the first on the page of the season, the others on pages below it."""
    if number > 1:
        look.write_section(sheet, _PICTURES_END + 1, "More trees", LAST_COLUMN)
    for picture in range(number):
        first = drawn.first_row + picture * _SLOTS
        rows = charts.Rows(sheet, drawn.heading_row, first, first + _SLOTS - 1, drawn.number("tag"))
        trees = charts.columns(rows, [
            charts.Drawn(drawn.number("base"), hidden=True),
            charts.Drawn(drawn.number("wait"), charts.FAINT, pattern="ltUpDiag"),
            charts.Drawn(drawn.number("pick"), charts.WARM),
        ], stacked=True)  # fmt: skip
        across = charts.lines(_rows(sheet, ACROSS, "frost_1"), [
            *(charts.Drawn(ACROSS.number(f"month_{month}"), charts.GRID, 0.5, named=True) for month in range(_MONTHS)),
            charts.Drawn(ACROSS.number("frost_1"), charts.INK, 1.25, "sysDot"),
            charts.Drawn(ACROSS.number("frost_5"), charts.INK, 1.75, "dash"),
            charts.Drawn(ACROSS.number("frost_9"), charts.INK, 1.25, "dashDot"),
        ])  # fmt: skip
        across.set_categories(rows.categories())
        trees += across
        top = PICTURES_ROW + 1 if not picture else _PICTURES_END + 3 + (picture - 1) * _MORE_ROWS
        bottom = PICTURES_ROW + 21 if not picture else top + _MORE_ROWS - 2
        lines = f"Trees {picture * TREES_DRAWN + 1} to {(picture + 1) * TREES_DRAWN}" if number > 1 else "Each tree"
        charts.add_chart(
            sheet, trees, f"A{top}:G{bottom}",
            f"{lines}: from cut to first ripe fig to last; first frost at the station",
            ("", ";;;"), scale=(0, None), grid=False, room=((bottom - top + 1) * look.ROW_HEIGHT, 60, 62), legend="t",
        )  # fmt: skip
