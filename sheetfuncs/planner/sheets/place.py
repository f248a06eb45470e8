"""The sheet *Place*: the season, your own frost dates, the rules of the place, and what the record says."""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

from ...functions.weather_cells import WITHIN
from ...season.climate import FIRST_LEAF_HEAT
from . import look
from .contents import Contents
from .layout import Page, Paper, Role, Setting, Settings
from .rules import A_DATE, A_TEMPERATURE, LONGEST_FOUND, default, number_between, one_of, whole_between
from .writing import allow, define, write_note

NAME = "Place"
LAST_COLUMN = "E"
FROST_ROWS = 5

_SEASON_ROW = 6
_SEASON_TYPED = f"$B${_SEASON_ROW}"


def by_unit(celsius: float) -> str:
    """Return the formula of a temperature in the workbook's unit."""
    return f'IF(Unit="F",{celsius * 1.8 + 32:g},{celsius:g})'


def in_words(day: str) -> str:
    """Return the formula of a day as a text such as 7 Oct, in every language of a program."""
    return f'DAY({day})&" "&MID("JanFebMarAprMayJunJulAugSepOctNovDec",3*MONTH({day})-2,3)'


def _usual(days: str) -> str:
    """Return the formula of the day from which one usually cuts here, blank where it is not known."""
    return f'IF(Climate_in_use="","",IFERROR(0+USUAL_CUT_FROM(Climate_in_use,Season_year,{days}),""))'


def _not_before(label: str) -> str:
    """Return the formula of a first date: one left over from another season is named, not used."""
    return (
        'IF({typed}="",{default},IF(NOT(ISNUMBER({typed})),"Check: the first date for ' + label + ' is "&LEFT({typed},'
        f'{LONGEST_FOUND})&", wanted a date",'
        'IF(Season_middle="","",IF(ABS({typed}-Season_middle)>200,'
        f'"Check: the first date for {label} lies outside the season",{{typed}}))))'
    )


_AS_TYPED = 'IF({typed}="",{default},{typed})'

THE_SEASON = Settings(_SEASON_ROW - 1, "The season", (
    Setting("Season_year", "Season",
            'IF(ISNUMBER(Day_today),YEAR(Day_today+IF(Hemisphere="south",184,0)),"")',
            "The year in which the season's autumn falls. Blank: this year's.",
            whole_between(1900, 2150, "a year such as 2026"), look.WHOLE),
    Setting("Day_today", "Today", "TODAY_OR()",
            "Blank: the computer's date. Type a day to see the answers of that day.", A_DATE, look.DATE_LONG, (
                f'IF({{typed}}="",{{default}},IF(AND(ISNUMBER({{typed}}),ISNUMBER({_SEASON_TYPED})),'
                f'IF(ABS({{typed}}-DATE({_SEASON_TYPED},7,1))>366,"Check: today lies outside the season",'
                '{typed}),TODAY_OR({typed})))')),
    Setting("Chance_wanted", "Chance you want, at least", default("latest_prune_date", "chance"),
            "80 %: cut on the last date, the first figs ripen in 4 seasons of 5. Lower is bolder.",
            number_between(0.01, 1, "a share such as 80% or 0.8"), look.SHARE),
    Setting("Leaves_wanted", "Leaves on a shoot, at least", default("ready_to_prune_from", "leaves_wanted"),
            "Shoots are ready with 5 to 6 leaves or more and fig buds to be seen (common practice, no source).",
            whole_between(1, 40, "a whole number such as 6"), look.WHOLE),
    Setting("Days_a_leaf", "Days from one leaf to the next", default("ready_to_prune_from", "days_per_leaf"),
            "Shoots with fewer leaves are ready later by these days a leaf. 3.7: from 7 leaves on 7 June to 17 on "
            "14 July (Miyagi Prefecture, 2017).",
            number_between(0.5, 60, "days such as 3.7"), look.TENTHS),
))  # fmt: skip
FROSTS = Settings(THE_SEASON.row + len(THE_SEASON.lines) + 2, "First frost, if you know it better", (
    Setting("Frost_one_date", "One date, 1 in 2 earlier", '""',
            "Your average first frost; once typed it is in use, with a spread of 12 days (judgement). Day and month "
            "count, the year does not.", A_DATE, look.DATE_LONG, of_season=False),
))  # fmt: skip
_FROST_FIRST = FROSTS.row + 2
_FROST_LAST = FROSTS.row + 1 + FROST_ROWS
FIRST_DATES = Settings(_FROST_LAST + 3, "Not before", (
    Setting("Container_from", "Containers: not before", _usual(default("usual_cut_from", "days_before_freeze")),
            "Blank: the usual date in such a place, a hint: 123 days before the average first freeze, 1 July where "
            "that comes on 1 November (common practice, no source). Typed, nothing is cut before it.",
            A_DATE, look.DATE_LONG, _not_before("containers")),
    Setting("Ground_from", "In the ground: not before", _usual("109"),
            "Two weeks later, since a tree in the ground grows on (common practice, no source).", A_DATE,
            look.DATE_LONG, _not_before("the ground")),
))  # fmt: skip
RECORD = Settings(FIRST_DATES.row + len(FIRST_DATES.lines) + 2, "The record, and what ends the season", (
    Setting("Weather_in_use", "Weather to use",
            'IF(COUNT(Weather_lows)>0,"daily",IF(COUNT(Weather_month_lows)>0,"monthly",""))',
            "daily or monthly, from the sheet Weather. Blank: the daily record where there is one.",
            one_of("daily", "monthly")),
    Setting("Seasons_used", "Rest on the last seasons only", '""',
            "Blank: on all complete seasons. The note on the record, below, says how far its years have shifted; "
            "fewer seasons are nearer to now, but show less of what can happen.",
            whole_between(3, 300, "a whole number of seasons such as 20"), look.WHOLE),
    Setting("Unit", "Unit of temperature", default("climate_of", "unit"),
            "C or F, of the weather and of everything typed on these sheets.", one_of("C", "F")),
    Setting("Hemisphere", "Hemisphere", '"north"', "north or south.", one_of("north", "south")),
    Setting("Frost_at", "Frost at or below", default("climate_of", "frost_at"),
            "A day whose low is this or lower ends the season.", A_TEMPERATURE, look.TENTHS),
    Setting("Stall_at", "Too cool below", default("climate_of", "stall_at"),
            "After the last week whose mean is this or more, figs make no progress, frost or no frost. 12 °C: common "
            "practice and judgement, no source; the word off switches it off.", None, look.TENTHS),
))  # fmt: skip
_SAYS = RECORD.row + len(RECORD.lines) + 2
#: Label, function, climate: three dates each, for these chances.
CHANCES = (0.1, 0.5, 0.9)
_DATES = (
    ("First frost of the record, chance of an earlier one", "FIRST_FROST", "Climate_of_record"),
    ("First frost in use, chance of an earlier one", "FIRST_FROST", "Climate_in_use"),
    ("Season's end in use, chance of an earlier one", "SEASON_END", "Climate_in_use"),
    ("Last frost in spring, chance of a later one", "LAST_FROST", "Climate_of_record"),
)
LAST_ROW = _SAYS + 4 + len(_DATES)
HEAT = Settings(LAST_ROW + 2, "How heat is counted: seldom changed. Unhide the rows below to do so", (
    Setting("Heat_base", "Base", default("climate_of", "base"),
            "Nothing ripens below. 8 °C (Souza et al. 2009, Rev. Bras. Frutic. 31(2)). The heat needs on Varieties "
            "belong to it: change both or neither.", A_TEMPERATURE, look.TENTHS),
    Setting("Heat_ceiling", "Ceiling", default("climate_of", "ceiling"),
            "More heat than this adds nothing. 36 °C (Souza et al. 2009).", A_TEMPERATURE, look.TENTHS),
    Setting("Heat_method", "The heat of a day by", default("climate_of", "method"),
            "a sine through its low and high, or their mean; heat needs belong to their method.",
            one_of("sine", "mean"), formula=_AS_TYPED),
    Setting("Heat_cutoff", "Above the ceiling, heat", default("climate_of", "cutoff"),
            "stays level: neither helps nor harms. counts against: is taken off again. stops: nothing grows meanwhile.",
            one_of("stays level", "counts against", "stops"), formula=_AS_TYPED),
), folded=True)  # fmt: skip
BLOCKS = (THE_SEASON, FROSTS, FIRST_DATES, RECORD, HEAT)
#: The row of every setting by its name.
ROWS = {line.name: block.row_of(line.name) for block in BLOCKS for line in block.lines}

_FROST_CHANCES = f"$B${_FROST_FIRST}:$B${_FROST_LAST}"
_FROST_CELLS = f"{NAME}!$B${_FROST_FIRST}:$C${_FROST_LAST}"
_FROST_TYPED = f"{NAME}!$C${_FROST_FIRST}:$C${_FROST_LAST}"


def _rows_of_the_sheet(line: str) -> str:
    """Return the formula of a line about rows of weather that were handed over from the sheet's first row on."""
    return f'SUBSTITUTE({line},"{WITHIN}","")'


_RULES = "Unit,Heat_base,Heat_ceiling,Frost_at,Stall_at,Heat_method,Heat_cutoff,Hemisphere,Seasons_used"
#: No place has a high of more than 60 °C; a whole record in °F has highs above 55.
_CLIMATE_OF_RECORD = (
    f'=IF(COUNTIF({RECORD.cells},"Check:*")+COUNTIF({HEAT.cells},"Check:*")>0,"",'
    'IF(AND(Weather_in_use="daily",Unit="C",MAX(Weather_highs)>60),'
    '"Check: a high of "&MAX(Weather_highs)&" on Weather is no °C, choose F as the unit",'
    'IF(AND(Weather_in_use="daily",Unit="F",MAX(Weather_highs)<55),'
    '"Check: the highest high on Weather is "&MAX(Weather_highs)&", that is no °F, choose C as the unit",'
    f'IF(Weather_in_use="daily",{_rows_of_the_sheet(f"CLIMATE_OF(Weather_rows,{_RULES})")},'
    f'IF(Weather_in_use="monthly",{_rows_of_the_sheet(f"CLIMATE_OF(Weather_month_rows,{_RULES})")},"")))))'
)
_FROST_ROWS_WRONG = (
    f"OR(COUNTA({_FROST_CHANCES})<>COUNT({_FROST_TYPED}),COUNT({_FROST_CHANCES})<>COUNTA({_FROST_TYPED}),"
    f"MAX({_FROST_CHANCES})>=1)"
)
_CLIMATE_IN_USE = (
    f'=IF(OR(Climate_of_record="",LEFT(Frost_one_date,6)="Check:",{_FROST_ROWS_WRONG}),"",'
    'IF(Frost_one_date<>"",CLIMATE_WITH_FROST(Climate_of_record,Frost_one_date),'
    f"IF(COUNTA({_FROST_TYPED})>0,CLIMATE_WITH_FROST(Climate_of_record,{_FROST_CELLS}),"
    'IF(Weather_in_use="monthly","Check: monthly means hold no frosts, type your average first frost above",'
    "Climate_of_record))))"
)
_END, _FROST = (f"{name}(Climate_in_use,Season_year,0.5)" for name in ("SEASON_END", "FIRST_FROST"))
_FROSTS_SAY = (
    f'=IF({_FROST_ROWS_WRONG},"Check: a row lacks its chance such as 10 %, or its date, or one of them is neither",'
    f'IF(AND(Frost_one_date="",COUNTA({_FROST_TYPED})=0),"",'
    f'IF(AND(Frost_one_date<>"",COUNTA({_FROST_TYPED})>0),"Your one date is in use, the rows below it are not.",'
    '"Your frost dates are in use.")&IF(Climate_in_use="","",IF(ISNUMBER(' + _END + "),IF(ISNUMBER(" + _FROST + "),"
    f'IF({_FROST}-{_END}>2," But weeks too cool end half of the seasons by "&{in_words(_END)}&": a later frost moves '
    'little.",""),""),""))))'
)
#: What is looked up on *Trees*: the day after which nothing can have been seen; a month before shoots have leaves, a
#: start under cover allowed for (judgement); and how many lines of this sheet say Check.
_KNOWN = (
    ("Seen_until", f'=IF($B${THE_SEASON.row_of("Day_today")}="",N(Day_today),999999)', look.DATE_LONG),
    ("Cut_from", '=IF(OR(Climate_in_use="",Season_middle=""),"",IFERROR(HEAT_DATE(Climate_in_use,Season_middle-181,'
     f'{FIRST_LEAF_HEAT:g}*IF(Unit="F",1.8,1),0.5)-30,""))', look.DATE_LONG),
    ("Place_checks", f'=COUNTIF({THE_SEASON.cells},"Check:*")+COUNTIF({FIRST_DATES.cells},"Check:*")', look.WHOLE),
)
_SEASON_OVER = (
    '=IF(AND(ISNUMBER(Season_year),ISNUMBER(Day_today)),IF(Day_today-DATE(Season_year,7,1)>300,"Mind: season "'
    '&Season_year&" is over. Carry this workbook into a new one: sheetfuncs carry","")'
    ',"")'
)


def page(rows: int) -> Page:
    """Return the sheet."""
    return Page(
        name=NAME,
        title="Place",
        purpose="Type in the coloured cells what differs from the usual; what stands beside them is in use.",
        step="Type the chance you want, and your average first frost if you know it better than the record.",
        last_column=LAST_COLUMN,
        paper=Paper(LAST_ROW, landscape=False),
        settings=BLOCKS,
        widths={"A": 44, "B": 15, "C": 15, "D": 15, "E": 62, "F": 20},
        checked=(f"A{_FROST_LAST + 1}", f"B{_SAYS + 1}:B{_SAYS + 3}"),
        more=_write_more,
    )


def _write_more(sheet: Worksheet, contents: Contents) -> None:
    look.write_text(sheet, "A4", _SEASON_OVER, look.BOLD_FONT)
    _write_frost_rows(sheet, contents)
    _write_what_the_record_says(sheet)
    # A climate that asks for something is named once, here; elsewhere there is none then.
    for row, name in ((_SAYS + 1, "Climate_of_record"), (_SAYS + 3, "Climate_in_use")):
        cell = sheet[f"F{row}"]
        look.dress(cell, Role.WORKING)
        cell.value = f'=IF(OR(LEFT($B${row},6)="Check:",NOT(ISNUMBER(Season_year))),"",$B${row})'
        define(sheet, name, f"$F${row}")
    sheet.column_dimensions["F"].hidden = True
    look.dress(sheet[f"F{_SEASON_ROW}"], Role.WORKING, look.DATE_LONG)
    sheet[f"F{_SEASON_ROW}"].value = '=IF(ISNUMBER(Season_year),DATE(Season_year,IF(Hemisphere="south",1,7),1),"")'
    define(sheet, "Season_middle", f"$F${_SEASON_ROW}")
    for row, (name, formula, number_format) in enumerate(_KNOWN, start=_SEASON_ROW + 1):
        look.dress(sheet[f"F{row}"], Role.WORKING, number_format)
        sheet[f"F{row}"].value = formula
        define(sheet, name, f"$F${row}")
    for name in ("Container", "Ground"):
        define(sheet, f"{name}_ban", f"$B${ROWS[f'{name}_from']}")
    look.mark(sheet, f"D{_SEASON_ROW}:E{_FROST_LAST}", f'LEFT($C{_SEASON_ROW},6)="Check:"', "check")


def _write_frost_rows(sheet: Worksheet, contents: Contents) -> None:
    for number in range(FROST_ROWS):
        row = _FROST_FIRST + number
        if number == 0:
            look.write_text(sheet, f"A{row}", "Or rows of chance of an earlier frost, and date")
        for letter, number_format in (("B", look.SHARE), ("C", look.DATE_LONG)):
            look.dress(sheet[f"{letter}{row}"], Role.ENTRY, number_format)
        if number < len(contents.frost_rows):
            sheet[f"B{row}"].value, sheet[f"C{row}"].value = contents.frost_rows[number]
        note = "0.1 and 2 October: in one year of ten the first frost comes before that day." if number == 0 else ""
        write_note(sheet, row, note, FROSTS)
    allow(sheet, number_between(0.001, 0.999, "a share such as 10% or 0.1"), f"B{_FROST_FIRST}:B{_FROST_LAST}")
    allow(sheet, A_DATE, f"C{_FROST_FIRST}:C{_FROST_LAST}")
    look.write_text(sheet, f"A{_FROST_LAST + 1}", _FROSTS_SAY, look.BOLD_FONT)


def _write_what_the_record_says(sheet: Worksheet) -> None:
    look.write_section(sheet, _SAYS, "What the record says", LAST_COLUMN)
    note = '=IF(Climate_of_record="","",' + _rows_of_the_sheet("CLIMATE_NOTE(Climate_of_record)") + ")"
    for row, label, formula in (
        (_SAYS + 1, "Climate of the record", _CLIMATE_OF_RECORD),
        (_SAYS + 2, "Note on the record", note),
        (_SAYS + 3, "Climate with the frost dates in use", _CLIMATE_IN_USE),
    ):
        look.write_text(sheet, f"A{row}", label)
        sheet.merge_cells(f"B{row}:E{row}")
        for letter in "BCDE":
            look.dress(sheet[f"{letter}{row}"], Role.ANSWER, wrap=True)
        sheet[f"B{row}"].value = formula
    for row in range(_SAYS + 1, LAST_ROW + 1):
        sheet.row_dimensions[row].height = look.ROW_HEIGHT
    sheet.row_dimensions[_SAYS + 2].height = 2.5 * look.ROW_HEIGHT
    for letter, chance in zip("BCD", CHANCES):
        cell = sheet[f"{letter}{_SAYS + 4}"]
        cell.value = chance
        look.dress(cell, Role.WORKING, look.SHARE)
    look.write_text(sheet, f"A{_SAYS + 4}", "Dates by chance", look.BOLD_FONT)
    for row, (label, function, climate) in enumerate(_DATES, start=_SAYS + 5):
        look.write_text(sheet, f"A{row}", label)
        for letter in "BCD":
            cell = sheet[f"{letter}{row}"]
            look.dress(cell, Role.ANSWER, look.DATE_LONG)
            cell.value = f'=IF({climate}="","",{function}({climate},Season_year,{letter}${_SAYS + 4}))'
