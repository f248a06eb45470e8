"""The pictures of the sheet *Season*, and the cells they are drawn from, to the right of its page."""

from __future__ import annotations

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from . import charts, look, varieties
from .layout import Role, Table, working

NAME = "Season"
LAST_COLUMN = "G"
HEADING_ROW = 20
PICTURES_ROW = HEADING_ROW + varieties.ROWS + 2
_TREES_ROWS, _LINES_ROWS = 19, 13
_PICTURES_END = PICTURES_ROW + 1 + _TREES_ROWS + _LINES_ROWS
#: Further pictures of trees lie on pages below, four to a page.
_MORE_ROWS, _MORE_A_PAGE = 17, 4

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
        working("line", "Week", "ROW()-ROW(Season_heading)-1"),
        working("day", "Day",
            'IF(OR(Season_climate="",NOT(ISNUMBER(Heat_from))),"",Heat_from+7*{line})', look.DATE_SHORT),
        working("now", "this season, then the mean",
            'IF({day}="","",HEAT_UNITS_BETWEEN(Season_climate,Heat_from,{day}))', "#,##0"),
        working("least", "least", _of_past("MIN"), "#,##0"),
        working("middle", "middle", _of_past("MEDIAN"), "#,##0"),
        working("most", "most of up to 15 seasons", _of_past("MAX"), "#,##0"),
        *(working(f"past_{back}", f"{back} back", _past_heat(back), "#,##0")
          for back in range(1, PAST + 1)),
    ),
)  # fmt: skip

FROST = Table(
    sheet=NAME,
    heading_row=HEADING_ROW,
    rows=24,
    first_column=_HEAT_COLUMN + len(HEAT.columns) + 1,
    columns=(
        working("day", "Day",
            'IF(OR(Season_climate="",NOT(ISNUMBER(Season_year))),"",'
            'DATE(Season_year,IF(Hemisphere="south",3,9),1)+5*(ROW()-ROW(Season_heading)-1))', look.DATE_SHORT),
        working("station", "at the station", 'IF({day}="","",FROST_CHANCE(Climate_in_use,{day}))', look.SHARE),
        working("position", "at the position chosen", 'IF({day}="","",FROST_CHANCE(Season_climate,{day}))', look.SHARE),
    ),
)  # fmt: skip


#: Trees in one picture. In front of them each picture has an empty slot, where the months' names are written.
TREES_DRAWN = 32
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
            working("tree", "Line on Trees",
                f'IF(OR(MOD({_SLOT},{_SLOTS})=0,{_SLOT}-INT({_SLOT}/{_SLOTS})>ROWS(Tree_tags)),"",'
                f"{_SLOT}-INT({_SLOT}/{_SLOTS}))"),
            working("tag", "Tag", 'IF({tree}="","",INDEX(Tree_tags,{tree})&"")'),
            working("base", "to the cut", _of_tree(f'INDEX(Tree_assumed_cuts,{{tree}})-{_shared("base")}'), look.WHOLE),
            working("wait", "from the cut to the first ripe fig",
                _of_tree("INDEX(Tree_pick_first,{tree})-INDEX(Tree_assumed_cuts,{tree})"), look.WHOLE),
            working("pick", "picking",
                _of_tree("IF(ISNUMBER(INDEX(Tree_ripe_dates,{tree})),"
                "INDEX(Tree_pick_last,{tree})-INDEX(Tree_pick_first,{tree}),0)"), look.WHOLE),
        ),
    )  # fmt: skip


#: The lines across are the same for all pictures.
ACROSS = Table(
    sheet=NAME,
    heading_row=HEADING_ROW,
    rows=_SLOTS,
    first_column=_BARS_COLUMN + len(_OF_A_TREE),
    columns=(
        *(working(key, heading, _since(key), look.WHOLE) for key, _, heading in _FROST_CHANCES),
        *(working(f"month_{month}", _month_name(month), _since(f"month_{month}"), look.WHOLE)
          for month in range(_MONTHS)),
    ),
)  # fmt: skip
_SLOT = "(ROW()-ROW(Season_heading)-1)"


def _write_shared(sheet: Worksheet) -> None:
    """Write the dates that all rows share: the first day, the frosts, the months, and where past seasons began."""
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
    cells = {_shared(key): formula for key, formula in formulas.items()}
    cells.update({f"{_past_letter(back)}{_STARTS_ROW}": _past_start(back) for back in range(1, PAST + 1)})
    for address, formula in cells.items():
        cell = sheet[address]
        look.dress(cell, Role.WORKING, look.DATE_SORTABLE, "center")
        cell.value = f"={formula}"


def write_pictures(sheet: Worksheet, drawn: Table, number: int) -> None:
    """Write what all rows share, and draw."""
    _write_shared(sheet)
    look.write_section(sheet, PICTURES_ROW, "The season in pictures", LAST_COLUMN)
    for row in range(PICTURES_ROW + 1, last_row(number) + 1):
        sheet.row_dimensions[row].height = look.ROW_HEIGHT  # else programs differ, and pictures would overlap
    _draw(sheet)
    _draw_trees(sheet, drawn, number)


def last_row(number: int) -> int:
    """Return the last row of the page on which the picture of so many lies."""
    pages = -(-(number - 1) // _MORE_A_PAGE)
    return _PICTURES_END + (pages and 2) + pages * _MORE_A_PAGE * _MORE_ROWS


def page_ends(number: int) -> list[int]:
    """Return the rows after which a page ends, the last one's left out."""
    return sorted({last_row(picture) for picture in range(1, number)} - {last_row(number)})


def _past_start(back: int) -> str:
    """Return the formula of the first day of a past season, blank where the record lacks days of it."""
    start = f"DATE(YEAR(Heat_from)-{back},MONTH(Heat_from),DAY(Heat_from))"
    days = f'COUNTIFS(Weather_dates,">="&{start},Weather_dates,"<"&{start}+{_DAYS_OF_HEAT})'
    known = f'IF({days}<{_DAYS_OF_HEAT - 10},"",{start})'
    return f'IF(OR(Season_climate="",NOT(ISNUMBER(Heat_from))),"",{known})'


def _draw(sheet: Worksheet) -> None:
    """Draw the season below the first picture of trees, on the same page."""
    row = PICTURES_ROW + 2 + _TREES_ROWS
    heat = charts.lines(charts.Rows(sheet, HEAT, "day"), [
        charts.Drawn("now", charts.WARM, 2.5),
        charts.Drawn("middle", charts.INK, 1.25, "dash"),
        charts.Drawn("least", charts.FAINT, 1, "sysDot"),
        charts.Drawn("most", charts.FAINT, 1, "dashDot"),
    ], by_date=True)  # fmt: skip
    charts.add_chart(
        sheet, heat, f"A{row}:C{_PICTURES_END}", "Heat so far against other seasons",
        "#,##0", along=look.DATE_SHORT,
    )  # fmt: skip
    frost = charts.lines(charts.Rows(sheet, FROST, "day"), [
        charts.Drawn("station", charts.HEAD, 2.25),
        charts.Drawn("position", charts.WARM, 1.5, "dash"),
    ], by_date=True)  # fmt: skip
    charts.add_chart(
        sheet, frost, f"D{row}:G{_PICTURES_END}", "Chance that the first frost has come",
        look.SHARE, along=look.DATE_SHORT,
    )  # fmt: skip


def _draw_trees(sheet: Worksheet, drawn: Table, number: int) -> None:
    """Draw the trees, so many to a picture: the first on the page of the season, the others on pages below it."""
    if number > 1:
        look.write_section(sheet, _PICTURES_END + 1, "More trees", LAST_COLUMN)
    for picture in range(number):
        rows = charts.Rows(sheet, drawn, "tag", picture * _SLOTS, _SLOTS)
        trees = charts.columns(rows, [
            charts.Drawn("base", hidden=True),
            charts.Drawn("wait", charts.FAINT, pattern="ltUpDiag"),
            charts.Drawn("pick", charts.WARM),
        ], stacked=True)  # fmt: skip
        across = charts.lines(charts.Rows(sheet, ACROSS, "frost_1"), [
            *(charts.Drawn(f"month_{month}", charts.GRID, 0.5, named=True) for month in range(_MONTHS)),
            charts.Drawn("frost_1", charts.INK, 1.25, "sysDot"),
            charts.Drawn("frost_5", charts.INK, 1.75, "dash"),
            charts.Drawn("frost_9", charts.INK, 1.25, "dashDot"),
        ])  # fmt: skip
        across.set_categories(rows.cells("tag"))
        trees += across
        top = PICTURES_ROW + 1 if not picture else _PICTURES_END + 3 + (picture - 1) * _MORE_ROWS
        bottom = PICTURES_ROW + _TREES_ROWS if not picture else top + _MORE_ROWS - 2
        lines = f"Trees {picture * TREES_DRAWN + 1} to {(picture + 1) * TREES_DRAWN}" if number > 1 else "Each tree"
        charts.add_chart(
            sheet, trees, f"A{top}:G{bottom}",
            f"{lines}: from cut to first ripe fig to last; first frost at the station",
            ";;;", height=(bottom - top + 1) * look.ROW_HEIGHT,
        )  # fmt: skip
