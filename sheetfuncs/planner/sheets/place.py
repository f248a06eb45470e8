"""The sheet *Place*: the rules of the place, the frost dates in use, and what the record says."""

from __future__ import annotations

from dataclasses import dataclass

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from ...season.degree_days import CUTOFFS, METHODS
from . import look
from .contents import Contents
from .layout import A_DATE, Role, Setting, number_between, one_of, whole_between
from .writing import allow, define, write_note, write_settings

NAME = "Place"
LAST_COLUMN = "E"
FROST_ROWS = 5

_TEMPERATURE = number_between(-150, 150, "a temperature")


def by_unit(celsius: float) -> str:
    """Return the formula of a default temperature in the place's unit."""
    return f'IF(Unit="F",{celsius * 1.8 + 32:g},{celsius:g})'


def _not_before(label: str, default: str) -> str:
    """Return the formula of a first date: one left over from another season is told, not used."""
    return (
        'IF({typed}="",{default},IF(ISNUMBER(Season_year),IF(ABS({typed}-({default}))>200,'
        f'"Check: the first date for {label} lies outside the season",{{typed}}),{{typed}}))'
    )


def _first_of_july(days_later: int = 0) -> str:
    """Return the formula of 1 July, or 1 January in the south, and some days."""
    later = f"+{days_later}" if days_later else ""
    return f'IF(ISNUMBER(Season_year),DATE(Season_year,IF(Hemisphere="south",1,7),1){later},"")'


@dataclass(frozen=True)
class Section:
    """Settings under one title."""

    title: str
    settings: tuple[Setting, ...]


SECTIONS = (
    Section("The season", (
        Setting("Season_year", "Season", '"Check: season is blank, wanted the year of its autumn, such as 2026"',
                "Must be typed: the year in which the season's autumn falls.",
                whole_between(1900, 2150, "a year such as 2026"), look.WHOLE),
        Setting("Day_today", "Today", '""',
                "The day the answers are meant for. Blank: each tree is reckoned from the first date of its footing.",
                A_DATE, look.DATE_LONG, formula=(
                    'IF({typed}="",{default},IF(ISNUMBER(Season_year),IF(ABS({typed}-DATE(Season_year,7,1))>366,'
                    '"Check: today lies outside the season",{typed}),{typed}))')),
        Setting("Chance_wanted", "Chance you want, at least", "0.8",
                "80 %: a cut on the last date would have ripened the first figs in 4 seasons of 5. Lower is bolder.",
                number_between(0.01, 1, "a share such as 80% or 0.8"), look.SHARE),
        Setting("Leaves_wanted", "Leaves on a shoot, at least", "6",
                "Shoots are ready with 5 to 6 leaves or more and fig buds to be seen (common practice, no source).",
                whole_between(1, 40, "a whole number such as 6"), look.WHOLE),
        Setting("Days_a_leaf", "Days from one leaf to the next", "3.7",
                "Shoots with fewer leaves are ready later by these days a leaf. 3.7: from 7 leaves on 7 June to 17 on "
                "14 July (Miyagi Prefecture, 2017).",
                number_between(0.5, 60, "days such as 3.7"), look.TENTHS),
    )),
    Section("Not before", (
        Setting("Container_from", "Containers: not before", _first_of_july(),
                "A tree in a container stops growing when it is cut. About 1 July, or 1 January in the south "
                "(common practice, no source).", A_DATE, look.DATE_LONG,
                formula=_not_before("containers", "{default}")),
        Setting("Ground_from", "In the ground: not before", _first_of_july(14),
                "A tree in the ground grows on and is cut about two weeks after the containers "
                "(common practice, no source).", A_DATE, look.DATE_LONG,
                formula=_not_before("the ground", "{default}")),
    )),
    Section("The record, and how heat is counted", (
        Setting("Weather_in_use", "Weather to use",
                'IF(COUNT(Weather_lows)>0,"daily",IF(COUNT(Weather_month_lows)>0,"monthly",""))',
                "daily or monthly, from the sheet Weather. Blank: the daily record where there is one.",
                one_of("daily", "monthly")),
        Setting("Seasons_used", "Rest on the last seasons only", '""',
                "Blank: on all complete seasons. The note on the record, below, tells how far it has drifted; "
                "fewer seasons are nearer to now, but show less of what can happen.",
                whole_between(3, 300, "a whole number of seasons such as 20"), look.WHOLE),
        Setting("Unit", "Unit of temperature", '"C"', "C or F, of the weather and of everything typed on these sheets.",
                one_of("C", "F")),
        Setting("Hemisphere", "Hemisphere", '"north"', "north or south.", one_of("north", "south")),
        Setting("Heat_base", "Base", by_unit(8),
                "Nothing ripens below. 8 °C (Souza et al. 2009, Rev. Bras. Frutic. 31(2)). The heat needs on Kinds "
                "belong to it: change both or neither.", _TEMPERATURE, look.TENTHS),
        Setting("Heat_ceiling", "Ceiling", by_unit(36), "More heat than this adds nothing. 36 °C (Souza et al. 2009).",
                _TEMPERATURE, look.TENTHS),
        Setting("Heat_method", "Method", '"sine"',
                "How a day's heat is made from its low and high; heat needs belong to their method as well.",
                one_of(*METHODS)),
        Setting("Heat_cutoff", "Cut-off at the ceiling", '"horizontal"',
                "horizontal: heat above the ceiling neither helps nor harms. intermediate: it is taken off again. "
                "vertical: nothing grows meanwhile.", one_of(*CUTOFFS)),
    )),
    Section("Frost and the season's end", (
        Setting("Frost_at", "Frost at or below", by_unit(0), "A day whose low is this or lower ends the season.",
                _TEMPERATURE, look.TENTHS),
        Setting("Stall_at", "Stall below", by_unit(12),
                "Mean of 7 days under which figs stand still, frost or no frost; the word off switches it off. 12 °C: "
                "judgement, from figs that never ripened with nights at 13 °C (Yahata & Nogata 2000).",
                None, look.TENTHS),
        Setting("Frost_source", "First frost dates from", '"record"',
                "record: the first frosts of the record. typed: your own, below. Changing one moves every tree.",
                one_of("record", "typed")),
        Setting("Frost_one_date", "Typed: one date, 1 in 2 earlier", '""',
                "Your average first frost; it is taken with a spread of 12 days (judgement). "
                "Day and month count, the year does not.", A_DATE, look.DATE_LONG),
    )),
)  # fmt: skip

_FIRST_ROW = 6


def _rows_of_settings() -> dict[str, int]:
    """Return the row of every setting by its name."""
    rows, row = {}, _FIRST_ROW
    for section in SECTIONS:
        for setting in section.settings:
            rows[setting.name] = row
            row += 1
        row += 2
    return rows


ROWS = _rows_of_settings()
_FROST_FIRST = ROWS["Frost_one_date"] + 1
_FROST_LAST = ROWS["Frost_one_date"] + FROST_ROWS
_FROST_CELLS = f"{NAME}!$B${_FROST_FIRST}:$C${_FROST_LAST}"
_FROST_TYPED = f"{NAME}!$C${_FROST_FIRST}:$C${_FROST_LAST}"
_SAYS = _FROST_LAST + 2

_RULES = "Unit,Heat_base,Heat_ceiling,Frost_at,Stall_at,Heat_method,Heat_cutoff,Hemisphere,Seasons_used"
_CLIMATE_OF_RECORD = (
    f'=IF(Weather_in_use="daily",CLIMATE_OF(Weather_days,{_RULES}),'
    f'IF(Weather_in_use="monthly",CLIMATE_OF(Weather_months,{_RULES}),""))'
)
_CLIMATE_IN_USE = (
    '=IF(Climate_of_record="","",IF(Frost_source<>"typed",Climate_of_record,'
    'IF(Frost_one_date<>"",CLIMATE_WITH_FROST(Climate_of_record,Frost_one_date),'
    f'IF(COUNTA({_FROST_TYPED})=0,"Check: frost dates are to be typed, but none is there",'
    f"CLIMATE_WITH_FROST(Climate_of_record,{_FROST_CELLS})))))"
)
_NOT_IN_USE = (
    f'=IF(AND(Frost_source="record",OR(Frost_one_date<>"",COUNTA({_FROST_TYPED})>0)),'
    '"Mind: dates are typed, but the record\'s frosts are in use. Choose typed above to use them.",'
    f'IF(AND(Frost_one_date<>"",COUNTA({_FROST_TYPED})>0),'
    '"Mind: the one date is in use, the rows of chance and date are not.",""))'
)
#: Label, function, climate: three dates each, for these chances.
CHANCES = (0.1, 0.5, 0.9)
_DATES = (
    ("First frost of the record, chance of an earlier one", "FIRST_FROST", "Climate_of_record"),
    ("First frost in use, chance of an earlier one", "FIRST_FROST", "Climate_in_use"),
    ("Season's end in use, chance of an earlier one", "SEASON_END", "Climate_in_use"),
    ("Last frost in spring, chance of a later one", "LAST_FROST", "Climate_of_record"),
)
LAST_ROW = _SAYS + 4 + len(_DATES)
CHECKED = f"{NAME}!$B${_FIRST_ROW}:$C${LAST_ROW}"


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    look.write_top(
        sheet,
        "Place",
        "Type in the coloured cells what differs from the usual; what stands beside them is in use.",
        contents.banner,
        LAST_COLUMN,
    )
    for letter, width in (("A", 44), ("B", 15), ("C", 15), ("D", 15), ("E", 62)):
        sheet.column_dimensions[letter].width = width
    for section in SECTIONS:
        row = ROWS[section.settings[0].name] - 1
        write_settings(workbook, sheet, row, section.title, section.settings, contents)
    _write_frost_rows(sheet, contents)
    _write_what_the_record_says(sheet)
    define(workbook, "Climate_of_record", f"{NAME}!$B${_SAYS + 1}")
    define(workbook, "Climate_in_use", f"{NAME}!$B${_SAYS + 3}")
    look.mark_checks(sheet, f"B{_FIRST_ROW}:C{LAST_ROW}")
    look.mark(sheet, f"D{_FIRST_ROW}:E{_FROST_LAST}", f'LEFT($C{_FIRST_ROW},6)="Check:"', "check")
    sheet.freeze_panes = "A4"
    look.set_up_print(sheet, contents.banner, f"A1:{LAST_COLUMN}{LAST_ROW}", landscape=False, one_page=True)


def _write_frost_rows(sheet: Worksheet, contents: Contents) -> None:
    for number in range(FROST_ROWS):
        row = _FROST_FIRST + number
        if number == 0:
            look.write_text(sheet, f"A{row}", "Typed: or rows of chance of an earlier frost, and date")
            write_note(sheet, row, "For example 10% 2 Oct, 50% 18 Oct, 90% 4 Nov, as frost tables print them.")
        else:
            sheet.row_dimensions[row].height = look.ROW_HEIGHT
        chance, day = sheet[f"B{row}"], sheet[f"C{row}"]
        look.dress(chance, Role.ENTRY, look.SHARE)
        look.dress(day, Role.ENTRY, look.DATE_LONG)
        if number < len(contents.frost_rows):
            chance.value, day.value = contents.frost_rows[number]
    allow(sheet, number_between(0.001, 0.999, "a share such as 10% or 0.1"), f"B{_FROST_FIRST}:B{_FROST_LAST}")
    allow(sheet, A_DATE, f"C{_FROST_FIRST}:C{_FROST_LAST}")
    look.write_text(sheet, f"A{_FROST_LAST + 1}", _NOT_IN_USE, look.BOLD_FONT)


def _write_what_the_record_says(sheet: Worksheet) -> None:
    look.write_section(sheet, _SAYS, "What the record says", LAST_COLUMN)
    for row, label, formula in (
        (_SAYS + 1, "Climate of the record", _CLIMATE_OF_RECORD),
        (
            _SAYS + 2,
            "Note on the record (rows from its first day)",
            '=IF(Climate_of_record="","",CLIMATE_NOTE(Climate_of_record))',
        ),
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
