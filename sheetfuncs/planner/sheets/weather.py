"""The sheet *Weather*: the station's daily record, or twelve monthly means where there is none."""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from . import look
from .contents import Contents
from .layout import A_DATE, Column, Role, Table, number_between
from .writing import define

NAME = "Weather"

_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_TEMPERATURE = number_between(-150, 150, "a temperature")

#: 40,000 days are 109 years; an empty row costs next to nothing.
DAYS = Table(
    sheet=NAME,
    heading_row=8,
    rows=40_000,
    columns=(
        Column("day", "Date", 13, Role.ENTRY, look.DATE_SORTABLE, rule=A_DATE, align="center"),
        Column("low", "Low", 9, Role.ENTRY, look.TENTHS, rule=_TEMPERATURE, align="center"),
        Column("high", "High", 9, Role.ENTRY, look.TENTHS, rule=_TEMPERATURE, align="center"),
    ),
)
_NORMALS_FIRST = DAYS.first_row
_NORMALS_LAST = DAYS.first_row + 11
NORMALS = f"{NAME}!$F${_NORMALS_FIRST}:$H${_NORMALS_LAST}"
LAST_COLUMN = "J"

#: Where the record comes from; ``sheetfuncs add-weather`` writes it, and brings what is new from there the next time.
ORIGIN = (
    ("Weather_source", "Source", look.PLAIN),
    ("Weather_station", "Station", look.PLAIN),
    ("Weather_where", "Where", look.PLAIN),
    ("Weather_licence", "Licence", look.PLAIN),
    ("Weather_fetched", "Last fetched", look.DATE_LONG),
)
_ORIGIN_FIRST = _NORMALS_LAST + 2

_SUMMARY = (
    ("Days with a low", "=COUNT({low})", look.PLAIN),
    ("First day", '=IF(COUNT({day})=0,"",MIN({day}))', look.DATE_LONG),
    ("Last day", '=IF(COUNT({day})=0,"",MAX({day}))', look.DATE_LONG),
)


def write(workbook: Workbook, contents: Contents) -> None:
    """Write the sheet."""
    sheet = workbook.create_sheet(NAME)
    look.write_top(
        sheet,
        "Weather",
        "Paste the station's days below: date, low, high, one row a day, oldest or newest first; three seasons at "
        "least, thirty are better.",
        contents.banner,
        LAST_COLUMN,
    )
    _write_summary(sheet)
    _write_days(sheet, contents)
    _write_normals(sheet)
    _write_origin(workbook, sheet)
    define(workbook, "Weather_days", DAYS.cells("day", "high"))
    define(workbook, "Weather_dates", DAYS.cells("day"))
    define(workbook, "Weather_lows", DAYS.cells("low"))
    define(workbook, "Weather_months", NORMALS)
    define(workbook, "Weather_month_lows", NORMALS.replace("$F$", "$G$").replace("$H$", "$G$"))
    sheet.freeze_panes = f"A{DAYS.first_row}"
    # The days of a long record fill a hundred pages; the top tells what is there.
    look.set_up_print(sheet, contents.banner, f"A1:{LAST_COLUMN}{_ORIGIN_FIRST + len(ORIGIN)}", landscape=False)


def _write_summary(sheet: Worksheet) -> None:
    for row, (label, formula, number_format) in enumerate(_SUMMARY, start=4):
        look.write_text(sheet, f"A{row}", label)
        cell = sheet[f"C{row}"]
        look.dress(cell, Role.ANSWER, number_format, "center")
        cell.value = formula.format_map({key: DAYS.cells(key, sheet=False) for key in ("day", "low")})


def _write_days(sheet: Worksheet, contents: Contents) -> None:
    """Write the record; the columns themselves carry the looks of the rows that are still empty."""
    for column, width in zip(DAYS.columns, (13, 9, 13)):
        letter = DAYS.letter(column.key)
        dimension = sheet.column_dimensions[letter]
        dimension.width = width
        look.dress(dimension, column.role, column.number_format, column.align)
        look.dress_group(sheet[f"{letter}{DAYS.heading_row - 1}"], column.role)
        heading = sheet[f"{letter}{DAYS.heading_row}"]
        heading.value = column.heading
        look.dress_heading(heading, column.align)
        validation = column.rule.validation()
        validation.add(DAYS.cells(column.key, sheet=False).replace("$", ""))
        sheet.add_data_validation(validation)
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


def _write_normals(sheet: Worksheet) -> None:
    for letter, width in (("D", 3), ("E", 12), ("F", 8), ("G", 9), ("H", 9), ("I", 3), ("J", 46)):
        sheet.column_dimensions[letter].width = width
    for letter in "EFGH":
        look.dress_group(sheet[f"{letter}{DAYS.heading_row - 1}"], Role.ENTRY)
    sheet[f"E{DAYS.heading_row - 1}"].value = "or monthly means: you type"
    for letter, heading in zip("EFGH", ("Month", "Number", "Low", "High")):
        cell = sheet[f"{letter}{DAYS.heading_row}"]
        cell.value = heading
        look.dress_heading(cell, "left" if letter == "E" else "center")
    for number, month in enumerate(_MONTHS, start=1):
        row = DAYS.heading_row + number
        for letter, value, role in (
            ("E", month, Role.TEXT), ("F", number, Role.TEXT), ("G", None, Role.ENTRY), ("H", None, Role.ENTRY),
        ):  # fmt: skip
            cell = sheet[f"{letter}{row}"]
            number_format = look.TENTHS if role is Role.ENTRY else look.PLAIN
            look.dress(cell, role, number_format, "left" if letter == "E" else "center")
            cell.value = value
    validation = _TEMPERATURE.validation()
    validation.add(f"G{_NORMALS_FIRST}:H{_NORMALS_LAST}")
    sheet.add_data_validation(validation)
    for row, line in enumerate(_NOTES, start=DAYS.first_row):
        look.write_text(sheet, f"J{row}", line, look.NOTE_FONT)


def _write_origin(workbook: Workbook, sheet: Worksheet) -> None:
    look.dress_group(sheet[f"E{_ORIGIN_FIRST - 1}"], Role.ENTRY)
    sheet[f"E{_ORIGIN_FIRST - 1}"].value = "where the daily record comes from"
    for row, (name, label, number_format) in enumerate(ORIGIN, start=_ORIGIN_FIRST):
        look.write_text(sheet, f"E{row}", label)
        sheet.merge_cells(f"F{row}:J{row}")
        for letter in "FGHIJ":
            look.dress(sheet[f"{letter}{row}"], Role.ENTRY, number_format, "left")
        define(workbook, name, f"{NAME}!$F${row}")


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
