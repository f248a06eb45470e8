"""Writes a declared page into a workbook."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import column_index_from_string, get_column_letter
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from . import look
from .contents import Contents
from .layout import Answers, Lines, Page, Role, Settings, Table, quoted
from .rules import Rule

#: Name of the cell on *Start* that says whether the functions answer.
FUNCTIONS_SAY = "Functions_say"
_SILENT = "The functions do not answer in this program: these are old answers, or none. See Start."


def write_page(workbook: Workbook, page: Page, contents: Contents) -> None:
    """Write a sheet: top, settings, tables, names, marks, and how it prints."""
    sheet = workbook.create_sheet(page.name)
    purpose = page.purpose
    # The sheet that leads through the others says it itself. Where there are no answers, nothing may hang on the
    # functions: what does is worked out when a book is opened, and with it the climate made from all of Weather.
    if page.step and page.checks():
        purpose = f'=IF(LEFT({FUNCTIONS_SAY},2)="No","{_SILENT}","{purpose}")'
        look.mark(sheet, f"A2:{page.last_column}2", f'LEFT({FUNCTIONS_SAY},2)="No"', "silent")
    look.write_top(sheet, page.title, purpose, contents.banner, page.last_column)
    for settings in page.settings:
        write_settings(sheet, settings, contents)
    for table in page.tables:
        write_table(sheet, table, table.filled(contents) if table.filled else ())
    for answers in page.answers:
        write_answers(sheet, answers)
    for row, title in page.sections.items():
        look.write_section(sheet, row, title, page.last_column)
    for letter, width in page.widths.items():
        sheet.column_dimensions[letter].width = width
    for row, line in page.notes.items():
        look.write_text(sheet, f"A{row}", line, look.NOTE_FONT)
    if page.lead:
        look.write_text(sheet, "A4", page.lead, look.BOLD_FONT)
    if page.more:
        page.more(sheet, contents)
    for cells in page.checks():
        look.mark_checks(sheet, cells.rpartition("!")[2].replace("$", ""))
    sheet.freeze_panes = page.freeze
    look.set_up_print(sheet, contents.banner, page.paper, page.last_column)


def define(sheet: Worksheet, name: str, cells: str) -> None:
    """Give cells of a sheet a name that formulas can use on every sheet."""
    sheet.parent.defined_names[name] = DefinedName(name, attr_text=f"{quoted(sheet.title)}!{cells}")


def write_table(sheet: Worksheet, table: Table, lines: Lines = ()) -> None:
    """Write headings, ready rows, formulas and validations of a table, the given lines into it, and its names."""
    write_headings(sheet, table)
    for number in range(table.rows):
        line = lines[number] if number < len(lines) else {}
        _write_row(sheet, table, table.first_row + number, line)
    for column in table.columns:
        cells = table.cells(column.key, sheet=False).replace("$", "")
        if column.rule:
            allow(sheet, column.rule, cells)
        if column.array:
            first = cells.partition(":")[0]
            sheet[first].value = ArrayFormula(cells, table.formula(column, table.first_row))
    for name, key in table.names.items():
        define(sheet, name, table.cells(key, sheet=False, from_top=table.from_top))
    if table.heading_name:
        first = get_column_letter(table.first_column)
        define(sheet, table.heading_name, f"${first}${table.heading_row}")


def write_headings(sheet: Worksheet, table: Table) -> None:
    """Write the headings of a table, who fills its columns above them, and the columns' widths."""
    before = None
    for column in table.columns:
        letter = table.letter(column.key)
        dimension = sheet.column_dimensions[letter]
        dimension.width = column.width
        if column.role is Role.WORKING:
            dimension.hidden = True
        group = sheet[f"{letter}{table.shown_row - 1}"]
        look.dress_group(group, column.role)
        if column.role is not before:
            group.value = column.role.value
        before = column.role
        for row in range(table.shown_row, table.heading_row + 1):
            heading = sheet[f"{letter}{row}"]
            heading.value = column.heading
            look.dress_heading(heading, column.align, is_shown=row == table.shown_row)
    sheet.row_dimensions[table.shown_row].height = 38
    if table.filter_to:
        first, last = get_column_letter(table.first_column), table.letter(table.filter_to)
        sheet.auto_filter.ref = f"{first}{table.heading_row}:{last}{table.last_row}"


def _write_row(sheet: Worksheet, table: Table, row: int, line: Mapping[str, Any]) -> None:
    sheet.row_dimensions[row].height = table.row_height or look.ROW_HEIGHT
    for number, column in enumerate(table.columns, start=table.first_column):
        cell = sheet.cell(row, number)
        if row == table.first_row:
            look.dress(cell, column.role, column.number_format, column.align, column.wrap, column.shrink)
        else:
            look.dress_like(cell, sheet.cell(table.first_row, number))
        if column.array:
            continue
        cell.value = table.formula(column, row) if column.formula else line.get(column.key)


def merged(standing: Sequence[Mapping[str, Any]], own: Mapping[str, Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the standing lines with a user's own figures put over them by name, new names at the end."""
    known = [line["name"] for line in standing]
    lines = [{**line, **own.get(line["name"], {})} for line in standing]
    return lines + [{"name": name, **figures} for name, figures in own.items() if name not in known]


def allow(sheet: Worksheet, rule: Rule, cells: str) -> None:
    """Let cells be filled by a rule only."""
    validation = rule.validation()
    validation.add(cells)
    sheet.add_data_validation(validation)


def write_settings(sheet: Worksheet, block: Settings, contents: Contents) -> None:
    """Write settings under a title, one a row, and name the cells in use."""
    look.write_section(sheet, block.row, block.title, block.note_end)
    for letter, text in ((block.typed, Role.ENTRY.value), (block.used, "in use")):
        look.write_text(sheet, f"{letter}{block.row}", text, look.NOTE_FONT, indent=1)
        sheet[f"{letter}{block.row}"].border = look.SECTION_LINE
    for row, setting in enumerate(block.lines, start=block.row + 1):
        look.write_text(sheet, f"A{row}", setting.label)
        typed, used = sheet[f"{block.typed}{row}"], sheet[f"{block.used}{row}"]
        look.dress(typed, Role.ENTRY, setting.number_format)
        typed.value = contents.settings.get(setting.name)
        look.dress(used, Role.ANSWER, setting.number_format)
        used.value = "=" + setting.in_use(f"${block.typed}${row}")
        write_note(sheet, row, setting.note, block, may_ask="Check:" in used.value)
        if setting.rule:
            allow(sheet, setting.rule, f"{block.typed}{row}")
        define(sheet, setting.name, f"${block.used}${row}")
        if block.folded:
            sheet.row_dimensions[row].hidden, sheet.row_dimensions[row].outline_level = True, 1


def write_note(sheet: Worksheet, row: int, note: str, block: Settings, may_ask: bool = False) -> None:
    """Write what a setting means beside it; a line that asks for something takes the note's place."""
    sheet.merge_cells(f"{block.note}{row}:{block.note_end}{row}")
    used = f"${block.used}${row}"
    shown = f'=IF(LEFT({used},6)="Check:",MID({used},8,99),"{note}")' if may_ask else note
    look.write_text(sheet, f"{block.note}{row}", shown, look.NOTE_FONT, wrap=True, indent=1)
    # A merged cell does not grow by itself.
    sheet.row_dimensions[row].height = max(look.ROW_HEIGHT, 5 + 12 * (1 + len(note) // block.letters_a_line))


def if_known(count: str) -> str:
    """Return the formula of a count of answers; where the functions do not answer it is blank: none would be wrong."""
    return f'=IF(ISNUMBER(SUM(Tree_advice)),{count},"")'


def write_answers(sheet: Worksheet, answers: Answers) -> None:
    """Write answers one a row, and name those that have a name."""
    column, last = answers.column, answers.last or answers.column
    beside = get_column_letter(column_index_from_string(last) + 1)
    for row, (label, formula, number_format, note, *names) in enumerate(answers.lines, start=answers.row):
        look.write_text(sheet, f"A{row}", label)
        sheet[f"{column}{row}"].value = formula
        for cell in sheet[f"{column}{row}:{last}{row}"][0]:
            look.dress(cell, Role.ANSWER, number_format, "center", shrink=bool(answers.last))
        if answers.last:
            sheet.merge_cells(f"{column}{row}:{last}{row}")
        look.write_text(sheet, f"{beside}{row}", note, look.NOTE_FONT, indent=1)
        sheet.row_dimensions[row].height = look.ROW_HEIGHT
        for name in names:
            define(sheet, name, f"${column}${row}")
