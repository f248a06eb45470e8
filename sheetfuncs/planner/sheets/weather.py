"""The sheet *Weather*: the station's daily record, or twelve monthly means where there is none."""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

from . import look
from .contents import Contents
from .layout import Answers, Column, Page, Paper, Role, Table, entry
from .rules import A_DATE, A_TEMPERATURE
from .writing import allow, define, write_headings

NAME = "Weather"

_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

#: 40,000 days are 109 years; an empty row costs next to nothing.
DAYS = Table(
    sheet=NAME,
    heading_row=8,
    rows=40_000,
    named_by=("day",),
    columns=(
        entry("day", "Date", 13, A_DATE, look.DATE_SORTABLE),
        entry("low", "Low", 9, A_TEMPERATURE, look.TENTHS),
        entry("high", "High", 13, A_TEMPERATURE, look.TENTHS),
    ),
)
MONTHS = Table(
    sheet=NAME,
    heading_row=DAYS.heading_row,
    rows=len(_MONTHS),
    first_column=5,
    names={"Weather_month_lows": "low"},
    filled=lambda contents: [{"month": month, "number": number} for number, month in enumerate(_MONTHS, start=1)],
    columns=(
        Column("month", "Month", 12, Role.TEXT),
        Column("number", "Number", 8, Role.TEXT, align="center"),
        entry("low", "Low", 9, A_TEMPERATURE, look.TENTHS),
        entry("high", "High", 9, A_TEMPERATURE, look.TENTHS),
    ),
)
LAST_COLUMN = "J"

#: Where the record comes from; ``sheetfuncs add-weather`` writes it, and brings what is new from there the next time.
ORIGIN = (
    ("Weather_source", "Source", look.PLAIN),
    ("Weather_station", "Station", look.PLAIN),
    ("Weather_where", "Where", look.PLAIN),
    ("Weather_licence", "Licence", look.PLAIN),
    ("Weather_fetched", "Last fetched", look.DATE_LONG),
)
_ORIGIN_FIRST = MONTHS.last_row + 2

_SUMMARY = (
    ("Days with a low", "=COUNT(Weather_lows)", look.PLAIN, ""),
    ("First day", '=IF(COUNT(Weather_dates)=0,"",MIN(Weather_dates))', look.DATE_LONG, ""),
    ("Last day", '=IF(COUNT(Weather_dates)=0,"",MAX(Weather_dates))', look.DATE_LONG, ""),
)
_NOTES = (
    "Days may be missing: up to three in a row are filled",
    "by a straight line, a season with a longer hole in its",
    "growing part is left out, and Place says so.",
    "Impossible values are not used, and Place says so.",
    "",
    "Monthly means are the second choice: they hold no",
    "frost and no odd years, so they need typed frost",
    "dates on Place.",
    "",
    "In print only this top part comes out.",
)


def page(rows: int) -> Page:
    """Return the sheet. Its days are no table to write: their columns carry the looks of the rows still empty."""
    return Page(
        name=NAME,
        title="Weather",
        purpose="Paste the station's days below: date, low, high, one row a day, oldest or newest first; three seasons "
        "at least, thirty are better.",
        step="Paste the station's daily lows and highs, or the twelve monthly means; add days as they come.",
        last_column=LAST_COLUMN,
        # The days of a long record fill a hundred pages; the top says what is there.
        paper=Paper(_ORIGIN_FIRST + len(ORIGIN), landscape=False),
        tables=(MONTHS,),
        widths={"D": 3, "I": 3, "J": 46},
        freeze=f"A{DAYS.first_row}",
        answers=(Answers(4, _SUMMARY, "C"),),
        more=_write_more,
    )


def _write_more(sheet: Worksheet, contents: Contents) -> None:
    names = {"Weather_days": ("day", "high"), "Weather_dates": ("day",), "Weather_lows": ("low",),
             "Weather_highs": ("high",)}  # fmt: skip
    for name, keys in names.items():
        define(sheet, name, DAYS.cells(*keys, sheet=False))
    define(sheet, "Weather_months", MONTHS.cells("number", "high", sheet=False))
    # From the sheet's first row, so that the functions number rows as the sheet does.
    define(sheet, "Weather_rows", DAYS.cells("day", "high", sheet=False, from_top=True))
    define(sheet, "Weather_month_rows", MONTHS.cells("number", "high", sheet=False, from_top=True))
    sheet[f"E{MONTHS.heading_row - 1}"].value = "or monthly means"
    _write_days(sheet, contents)
    for row, line in enumerate(_NOTES, start=DAYS.first_row):
        look.write_text(sheet, f"J{row}", line, look.NOTE_FONT)
    _write_origin(sheet)


def _write_days(sheet: Worksheet, contents: Contents) -> None:
    write_headings(sheet, DAYS)
    for column in DAYS.columns:
        letter = DAYS.letter(column.key)
        look.dress(sheet.column_dimensions[letter], column.role, column.number_format, column.align)
        allow(sheet, column.rule, DAYS.cells(column.key, sheet=False).replace("$", ""))
        for row in range(1, DAYS.heading_row - 1):
            if not sheet[f"{letter}{row}"].has_style:
                sheet[f"{letter}{row}"].font = look.NOTE_FONT  # else the column's looks would show above the record
    sheet[f"A{DAYS.heading_row - 1}"].value = "daily record: you type or paste"
    for row, day in enumerate(contents.weather, start=DAYS.first_row):
        for number, (column, value) in enumerate(zip(DAYS.columns, day), start=1):
            cell = sheet.cell(row, number, value)
            if row == DAYS.first_row:
                look.dress(cell, column.role, column.number_format, column.align)
            else:
                look.dress_like(cell, sheet.cell(DAYS.first_row, number))


def _write_origin(sheet: Worksheet) -> None:
    look.dress_group(sheet[f"E{_ORIGIN_FIRST - 1}"], Role.ENTRY)
    sheet[f"E{_ORIGIN_FIRST - 1}"].value = "where the daily record comes from"
    for row, (name, label, number_format) in enumerate(ORIGIN, start=_ORIGIN_FIRST):
        look.write_text(sheet, f"E{row}", label)
        sheet.merge_cells(f"F{row}:J{row}")
        for letter in "FGHIJ":
            look.dress(sheet[f"{letter}{row}"], Role.ENTRY, number_format, "left")
        define(sheet, name, f"$F${row}")
