"""The sheet *Looking back*: what it would have answered in past seasons, what came, and how often the promise held."""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

from . import charts, look, positions, varieties
from .contents import Contents
from .layout import Answers, Page, Paper, Setting, Settings, Table, answer, words, working
from .rules import number_between

NAME = "Looking back"
LAST_COLUMN = "N"
#: A record of 109 years fits the sheet *Weather*; the first five seasons are not looked back on.
PAST_ROWS = 105
_RESTS_ROW, _PROMISES_ROW = 10, 17
#: Days of the rule of thumb in temperate and in cool places (common practice, no source).
THUMBS = (90, 120)
_NOTES_ROW = _PROMISES_ROW + 4 + 9
_PICTURE_ROW, _PICTURE_ROWS = _NOTES_ROW + 6, 18
_PAST_ROW = _PICTURE_ROW + _PICTURE_ROWS + 2

PICKS = Settings(5, "What to look back on", (
    Setting("Look_position", "Position", 'INDEX(Position_names,1)&""', "Where the tree would have stood.",
            positions.CHOICE),
    Setting("Look_kind", "Variety", 'INDEX(Kind_names,1)&""', "Its heat need in use, from Varieties.",
            varieties.CHOICE),
    Setting("Look_chance", "Chance promised, season by season", 'IF(ISNUMBER(Chance_wanted),Chance_wanted,"")',
            "Of the dates at the bottom of this sheet. Blank: the chance on Place.",
            number_between(0.01, 1, "a share such as 80% or 0.8"), look.SHARE),
), note_end=LAST_COLUMN, letters_a_line=115)  # fmt: skip


def _of_kind(*answers: str) -> str:
    return f'=IF(Look_climate="","",IFERROR(0+{varieties.of_kind("Look_kind", *answers)},""))'


_AT = "MATCH(Look_position,Position_names,0)"
_RESTS = (
    ("Climate there", f'=IF(OR(Climate_of_record="",COUNTIF(Position_names,Look_position)=0),"",'
     f"CLIMATE_AT(Climate_of_record,INDEX(Position_highs,{_AT}),INDEX(Position_lows,{_AT})))", look.PLAIN,
     "with the record's own frosts: typed ones were not known then", "Look_climate"),
    ("Heat need", _of_kind("Kind_needs", "Look_position"), "#,##0",
     "in use today; what came is worked out with it too: whether it is right, only Log can show", "Look_need"),
    ("Not known of it, ±", _of_kind("Kind_uncertainties", "Look_position", "Pair_uncertainties"), look.SHARE,
     "as a share of it", "Look_uncertainty"),
    ("Days from cut to visible figs", _of_kind("Kind_lags"), look.WHOLE, "", "Look_lag"),
    ("Seasons looked back on", '=IF(OR(Look_climate="",NOT(ISNUMBER(Look_need))),"",'
     "COUNT(SEASONS_TO_LOOK_BACK_ON(Look_climate,Look_need,Look_lag)))", look.WHOLE,
     "complete, and with five complete ones or more before them (judgement: fewer promise nothing)", "Look_count"),
)  # fmt: skip


def _if_count(formula: str) -> str:
    return f'IF(N(Look_count)=0,"",{formula})'


def _kept(number: int) -> str:
    """Return the formula of one part of how a promise was kept; blank but for the count where no date was given."""
    part = f"INDEX(PROMISE_KEPT(Look_climate,Look_need,{{promised}},{{look}},Look_lag,Look_uncertainty),1,{number})"
    return _if_count(part if number == 1 else f'IF(N({{seasons}})=0,"",{part})')


def _against(number: int, of_days: int = 0, thumb: int = THUMBS[0]) -> str:
    """Return the formula of one part of the comparison; ``of_days`` : the share lost that must be below 1 for it."""
    call = f"AGAINST_RULE_OF_THUMB(Look_climate,Look_need,{{promised}},{{look}},Look_lag,{thumb},Look_uncertainty)"
    part = f"INDEX({call},1,{number})"
    if of_days:
        part = f'IF(INDEX({call},1,{of_days})=1,"all lost",{part})'
    return _if_count(f'IF(N(INDEX({call},1,1))=0,"",{part})')


_LINE = "(ROW()-ROW(Promise_heading))"
PROMISES = Table(
    sheet=NAME,
    heading_row=_PROMISES_ROW + 2,
    rows=9,
    heading_name="Promise_heading",
    columns=(
        words("given_on", "Given on", 34, _if_count(
            f'IF(Hemisphere="south",IF({_LINE}<4,"1 December",IF({_LINE}<7,"1 January","1 February")),'
            f'IF({_LINE}<4,"1 June",IF({_LINE}<7,"1 July","1 August")))')),
        answer("promised", "Chance promised", 12, look.SHARE,
            _if_count(f"IF(MOD({_LINE},3)=1,0.5,IF(MOD({_LINE},3)=2,0.8,0.9))")),
        answer("seasons", "Seasons with a date", 12, look.WHOLE, _kept(1)),
        answer("held", "in which it held", 12, look.WHOLE, _kept(2)),
        answer("share", "held", 12, look.SHARE, _kept(3)),
        answer("low", "95 % interval from", 12, look.SHARE, _kept(4)),
        answer("high", "to", 12, look.SHARE, _kept(5)),
        answer("expected", "to be expected", 12, look.SHARE, _kept(6)),
        answer("lost", "Seasons lost by these dates", 12, look.SHARE, _against(2)),
        answer("given_away", "days given away where not", 12, look.TENTHS, _against(3, 2)),
        *(column for thumb in THUMBS for column in (
            answer(f"rule_{thumb}_lost", f"Seasons lost by the freeze less {thumb} days", 12, look.SHARE,
                _against(5, thumb=thumb)),
            answer(f"rule_{thumb}_given_away", "days given away where not", 12, look.TENTHS, _against(6, 5, thumb)),
        )),
        working("look", "When", _if_count(f'IF({_LINE}<4,"early",IF({_LINE}<7,"middle","late"))')),
        working("name", "Name", _if_count('{given_on}&": "&100*{promised}&" %"')),
        working("below", "from 0", _if_count("{low}"), look.SHARE),
        working("between", "what chance alone may do (95 % interval)",
            _if_count('IF(ISNUMBER({low}),{high}-{low},"")'), look.SHARE),
        working("drawn_promised", "promised", _if_count("{promised}"), look.SHARE),
        working("drawn_share", "held", _if_count("{share}"), look.SHARE),
    ),
)  # fmt: skip

_NOTES = (
    "A date held where figs of a cut on it would have ripened before that season's end. Interval: Clopper & Pearson "
    "1934, Biometrika 26:404–413.",
    "To be expected: looking back takes the heat need as true; a promise that allows for a need that is not known "
    "exactly holds more often then.",
    "The freeze less 90 days, less 120: the average first freeze known then, less these (common practice in temperate "
    "and in cool places, no source), judged on the same seasons.",
    "All of them, ours too, are judged with the heat need taken as true. Days given away: mean days from the date to "
    "the season's true last one, where figs ripened.",
)


def _of_season(number: int) -> str:
    return f"INDEX(LOOK_BACK_ON(Look_climate,{{season}},Look_need,Look_chance,Look_lag,Look_uncertainty),1,{number})"


def _if_season(formula: str) -> str:
    return f'IF({{season}}="","",{formula})'


def _given(number: int) -> str:
    return _if_season(f'IF(N({_of_season(number)})=0,"no cut",{_of_season(number)})')


def _spare(number: int, date_key: str) -> str:
    return _if_season(
        f'IF(ISNUMBER({{{date_key}}}),IF(ISNUMBER({{true_last}}),{_of_season(number)},"no cut ripened"),"")'
    )


def _came(number: int) -> str:
    return _if_season(f'IF(N({_of_season(number)})=0,"none",{_of_season(number)})')


def _given_on(north: str, south: str) -> str:
    return f'=IF(Hemisphere="south","Last date given on {south}","Last date given on {north}")'


_SPARE = '0" to spare";0" too late";"to the day"'
_PAST_LINE = "(ROW()-ROW(Past_heading))"
PAST = Table(
    sheet=NAME,
    heading_row=_PAST_ROW + 2,
    rows=PAST_ROWS,
    heading_name="Past_heading",
    columns=(
        answer("season", "Season", 34, look.WHOLE,
            f'IF(OR({_PAST_LINE}>N(Look_count),NOT(ISNUMBER(Look_chance))),"",'
            f"INDEX(SEASONS_TO_LOOK_BACK_ON(Look_climate,Look_need,Look_lag),Look_count+1-{_PAST_LINE}))",
            align="left"),
        answer("known", "Seasons known then", 12, look.WHOLE, _if_season(_of_season(1))),
        answer("early", _given_on("1 June", "1 December"), 12, look.DATE_SHORT, _given(2)),
        answer("early_spare", "what came of it [days]", 12, _SPARE, _spare(3, "early")),
        answer("middle", _given_on("1 July", "1 January"), 12, look.DATE_SHORT, _given(4)),
        answer("middle_spare", "what came of it [days]", 12, _SPARE, _spare(5, "middle")),
        answer("late", _given_on("1 August", "1 February"), 12, look.DATE_SHORT, _given(6)),
        answer("late_spare", "what came of it [days]", 12, _SPARE, _spare(7, "late")),
        answer("true_last", "True last date", 12, look.DATE_SHORT, _came(8)),
        answer("end", "Season's end", 12, look.DATE_SHORT, _came(9)),
    ),
)  # fmt: skip


def _percent(cell: str) -> str:
    return f'"&ROUND(100*{cell},0)&" %'


def _leading_line() -> str:
    """Return the formula of one sentence: what held, beside the rules of thumb, or why nothing is looked back on."""
    row = PROMISES.first_row + 1  # given early, at a chance of 0.8
    at = {key: f"${letter}${row}" for key, letter in PROMISES.letters.items()}
    rules = ", ".join(f"{_percent(at[f'rule_{thumb}_lost'])} by the freeze less {thumb} days" for thumb in THUMBS)
    return (
        '=IF(Look_climate="","",IF(NOT(ISNUMBER(Look_need)),"See Varieties.",IF(N(Look_count)>0,'
        f'IF(N({at["seasons"]})=0,"No cut had a chance of 80 % in "&Look_count&" seasons looked back on.",'
        f'"Of "&{at["seasons"]}&" seasons, 80 % promised on "&{at["given_on"]}&" held in "&{at["held"]}&'
        f'" ({_percent(at["share"])}; chance alone gives {_percent(at["low"])} to {_percent(at["high"])}). Lost: '
        f'{_percent(at["lost"])} by these dates, {rules}."),"Nothing to look back on: "&'
        'MID(INDEX(SEASONS_TO_LOOK_BACK_ON(Look_climate,Look_need,Look_lag),1,1),8,99)&".")))'
    )


def page(rows: int) -> Page:
    """Return the sheet."""
    return Page(
        name=NAME,
        title="Looking back",
        purpose="What this workbook would have answered in past seasons with only what was known then, what came, and "
        "whether the promised chances held.",
        step="See whether the chances held in past seasons, and what a rule of thumb would have cost.",
        last_column=LAST_COLUMN,
        paper=Paper(PAST.first_row + 30, landscape=False),
        settings=(PICKS,),
        tables=(PROMISES, PAST),
        notes=dict(enumerate(_NOTES, start=_NOTES_ROW)),
        sections={
            _RESTS_ROW: "What it rests on",
            _PROMISES_ROW: "Did the promised chances hold, and against rules of thumb?",
            _PICTURE_ROW - 1: "Promised and held, in a picture",
            _PAST_ROW: "Season by season, the last one first",
        },
        answers=(Answers(_RESTS_ROW + 1, _RESTS, "B", "C"),),
        more=_write_more,
    )


def _write_more(sheet: Worksheet, contents: Contents) -> None:
    sheet.merge_cells("A4:L4")  # as far as a narrow screen shows
    look.write_text(sheet, "A4", _leading_line(), look.BOLD_FONT, wrap=True)
    sheet.row_dimensions[4].height = 2 * look.ROW_HEIGHT
    _draw(sheet)
    for key in ("early_spare", "middle_spare", "late_spare"):
        first = f"{PAST.letter(key)}{PAST.first_row}"
        look.mark(sheet, PAST.cells(key, sheet=False), f'OR(N({first})<0,{first}="no cut ripened")', "late")


def _draw(sheet: Worksheet) -> None:
    rows = charts.Rows(sheet, PROMISES, "name")
    chart = charts.columns(rows, [
        charts.Drawn("below", hidden=True), charts.Drawn("between", charts.FAINT, pattern="ltUpDiag"),
    ], stacked=True)  # fmt: skip
    chart += charts.lines(rows, [
        charts.Drawn("drawn_promised", charts.INK, 1.0, marker="dash", size=16),
        charts.Drawn("drawn_share", charts.WARM, 1.5, marker="diamond", size=10),
    ])  # fmt: skip
    charts.add_chart(
        sheet, chart, f"A{_PICTURE_ROW}:{LAST_COLUMN}{_PICTURE_ROW + _PICTURE_ROWS - 1}",
        "Chance promised, share of past seasons in which it held", look.SHARE,
    )  # fmt: skip
    for row in range(_PICTURE_ROW, _PICTURE_ROW + _PICTURE_ROWS):
        sheet.row_dimensions[row].height = look.ROW_HEIGHT
