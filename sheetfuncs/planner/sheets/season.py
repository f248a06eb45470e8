"""The sheet *Season*: this season so far, what moved since a day, and the season in pictures."""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

from . import look, positions, season_pictures, varieties
from .contents import Contents
from .layout import Answers, Page, Paper, Setting, Settings, Table, answer, words
from .rules import A_DATE
from .season_pictures import HEADING_ROW, LAST_COLUMN, NAME, last_row, pictures

SO_FAR_ROW = 11
#: Of a page in portrait: columns A to G fit its width, in a wide letter where the usual one is missing, too.
_SCALE = 59


def _by_hemisphere(month: int, southern_month: int) -> str:
    """Return the formula of the first of a month; in the south, of another one of the year before."""
    return (
        f'IF(ISNUMBER(Season_year),IF(Hemisphere="south",DATE(Season_year-1,{southern_month},1),'
        f'DATE(Season_year,{month},1)),"")'
    )


SETTINGS = Settings(5, "What to show", (
    Setting("Heat_from", "Heat counted from", _by_hemisphere(4, 10), "1 April, or 1 October in the south.",
            A_DATE, look.DATE_LONG),
    Setting("Compare_with", "Compare with what was known on", _by_hemisphere(6, 12),
            "On the morning of that day: no later day is used. 1 June, or 1 December in the south. Last dates move "
            "when days after them are known, or seasons join the record; ripe dates with every day after the cut.",
            A_DATE, look.DATE_LONG),
    Setting("Cut_compared", "Ripening compared for a cut on",
            'IF(COUNT(Tree_assumed_cuts)>0,MIN(Tree_assumed_cuts),"")',
            "The first cut, or assumed cut, on Trees.",
            A_DATE, look.DATE_LONG),
    Setting("Season_position", "Position", 'INDEX(Position_names,1)&""', "Where the figures of this sheet hold.",
            positions.CHOICE),
), note_end=LAST_COLUMN, letters_a_line=75)  # fmt: skip

_KNOWN = f"$B${SO_FAR_ROW + 1}"
_HEAT = f"$B${SO_FAR_ROW + 2}"
_MIDDLE = f"$B${SO_FAR_ROW + 3}"
_LAST_KNOWN = "IF(ISNUMBER(Day_today),MIN(Day_today,MAX(Weather_dates)+1),MAX(Weather_dates)+1)"
_SO_FAR = (
    ("Days known before",
     '=IF(OR(Season_climate="",NOT(ISNUMBER(Heat_from))),"",'
     f"MAX(Heat_from,MIN(Heat_from+240,IF(COUNT(Weather_dates)=0,N(Day_today),{_LAST_KNOWN}))))",
     look.DATE_LONG, "today, or the day after the last one on Weather"),
    ("Heat so far", f'=IF({_KNOWN}="","",HEAT_UNITS_BETWEEN(Season_climate,Heat_from,{_KNOWN}))', "#,##0",
     "heat units since the day above"),
    ("The middle season had it by",
     f'=IF(N({_HEAT})=0,"",HEAT_DATE(CLIMATE_UNTIL(Season_climate,Heat_from),Heat_from,{_HEAT},0.5))',
     look.DATE_LONG, "half of the past seasons had as much heat by the end of that day"),
    ("Days ahead of it, or behind",
     f'=IF(ISNUMBER({_MIDDLE}),{_MIDDLE}+1-{_KNOWN},"")', '0" ahead";0" behind";"as usual"', ""),
    ("Season's end, 1 in 2 earlier", '=IF(Season_climate="","",SEASON_END(Season_climate,Season_year,0.5))',
     look.DATE_LONG, "first freeze, or too cool for good, as known now"),
    ("Climate now", '=IF(COUNTIF(Position_names,Season_position)=0,"",'
     'INDEX(Position_climates,MATCH(Season_position,Position_names,0))&"")', look.PLAIN, "", "Season_climate"),
    ("Climate as known then", '=IF(OR(Season_climate="",NOT(ISNUMBER(Compare_with))),"",'
     "CLIMATE_UNTIL(Season_climate,Compare_with))", look.PLAIN, "", "Then_climate"),
)  # fmt: skip


def _if_kind(formula: str, *rests_on: str) -> str:
    known = "+".join((_of_kind("Kind_needs_shown"), *rests_on))
    return f'IF(OR({{kind}}="",Then_climate=""),"",IF(ISNUMBER({known}),{formula},""))'


def _of_kind(name: str) -> str:
    return f"INDEX({name},ROW()-ROW(Season_heading))"


def _latest(climate: str) -> str:
    need, lag, uncertainty = (_of_kind(name) for name in ("Kind_needs_shown", "Kind_lags", "Kind_uncertainties"))
    latest = f"LATEST_PRUNE_DATE({climate},Season_year,{need},Chance_wanted,{lag},{uncertainty})"
    return _if_kind(f'IFERROR(0+{latest},"none")', "Chance_wanted")


def _first_ripe(climate: str) -> str:
    need, lag, uncertainty = (_of_kind(name) for name in ("Kind_needs_shown", "Kind_lags", "Kind_uncertainties"))
    heat = _of_kind("Kind_picking_heats")
    window = f"RIPEN_WINDOW({climate},Cut_compared,{need},{heat},{lag},0.5,{uncertainty})"
    return _if_kind(f'IFERROR(0+INDEX({window},1,1),"too late")', "Cut_compared")


def _moved(then: str, now: str) -> str:
    return f'IF(AND(ISNUMBER({{{then}}}),ISNUMBER({{{now}}})),{{{now}}}-{{{then}}},"")'


_LATER = '0" later";0" earlier";"0"'
TABLE = Table(
    sheet=NAME,
    heading_row=HEADING_ROW,
    rows=varieties.ROWS,
    heading_name="Season_heading",
    checked=("latest_then", "ripe_moved"),
    columns=(
        words("kind", "Variety", 30, f'IFERROR({_of_kind("Kind_names")}&"","")'),
        answer("latest_then", "Last cut date as known then", 14, look.DATE_SHORT, _latest("Then_climate")),
        answer("latest_now", "Last cut date now", 14, look.DATE_SHORT, _latest("Season_climate")),
        answer("latest_moved", "Moved by days", 14, _LATER, _moved("latest_then", "latest_now")),
        answer("ripe_then", "First figs ripe as known then", 14, look.DATE_SHORT, _first_ripe("Then_climate")),
        answer("ripe_now", "First figs ripe now", 14, look.DATE_SHORT, _first_ripe("Season_climate")),
        answer("ripe_moved", "Moved by days", 14, _LATER, _moved("ripe_then", "ripe_now")),
    ),
)  # fmt: skip



def page(rows: int) -> Page:
    """Return the sheet, with pictures for so many trees."""
    number = pictures(rows)
    drawn = season_pictures.bars(rows)

    def more(sheet: Worksheet, contents: Contents) -> None:
        for row in (SO_FAR_ROW + 6, SO_FAR_ROW + 7):
            sheet.merge_cells(f"B{row}:D{row}")
        season_pictures.write_pictures(sheet, drawn, number)

    return Page(
        name=NAME,
        title="Season",
        purpose="How far this season has come, what that moved, and the season in pictures.",
        step="See how far the season has come, what moved, and each tree from cut to picking.",
        last_column=LAST_COLUMN,
        paper=Paper(last_row(number), landscape=False, scale=_SCALE,
                    breaks=tuple(season_pictures.page_ends(number))),
        settings=(SETTINGS,),
        tables=(TABLE, season_pictures.HEAT, season_pictures.FROST, drawn, season_pictures.ACROSS),
        sections={SO_FAR_ROW: "This season so far"},
        answers=(Answers(SO_FAR_ROW + 1, _SO_FAR),),
        more=more,
    )  # fmt: skip
