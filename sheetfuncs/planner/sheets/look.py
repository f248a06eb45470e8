"""How the workbook looks: its colours, cell styles, conditional formats and print set-up.

A colour never says something alone: what is late is also bold and framed, what comes soon is also framed, and
the words of the advice say it too, so that a black-and-white print and an eye that confuses red and green lose
nothing. Late is orange and soon is blue, a pair that most eyes distinguish.
"""

from __future__ import annotations

from copy import copy
from functools import lru_cache

from openpyxl import Workbook
from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side
from openpyxl.utils.indexed_list import IndexedList
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from .layout import Paper, Role

FONT = "Arial"
INK = "FF26323A"
FAINT = "FF6B7780"
PAPER = "FFFFFFFF"
HEAD = "FF34505E"
BAND = "FFE4EAEC"
LINE = "FFBEC8CC"
ENTRY = "FFFFF4D6"
ENTRY_LINE = "FFD8C48C"
LATE = "FFF3B173"
SOON = "FFCFE2F2"
STRONG_LINE = "FF26323A"

DATE_SHORT = "d mmm"
DATE_LONG = "d mmm yyyy"
DATE_SORTABLE = "yyyy-mm-dd"
SHARE = "0%"
#: Never a bare 0 or 100 %.
CHANCE = '[>0.99]"over 99 %";[<0.01]"under 1 %";0%'
WHOLE = "0"
TENTHS = "0.0"
PLAIN = "General"
TEXT = "@"

A4 = 9
ROW_HEIGHT = 17


@lru_cache(maxsize=None)
def _font(size: float = 10, bold: bool = False, italic: bool = False, colour: str = INK) -> Font:
    return Font(name=FONT, size=size, bold=bold, italic=italic, color=colour)


def set_measure(workbook: Workbook) -> None:
    """Make the sheets' own letters the measure of the columns' widths, which are counted in the workbook's font.

    Programs without that font measure by another one: columns of one file were a third wider in one than in the next.
    """
    workbook._fonts = IndexedList([BODY_FONT])
    workbook._named_styles["Normal"].font = BODY_FONT


# What is the same is one object: the workbook compares each with all that it knows.


@lru_cache(maxsize=None)
def _fill(colour: str) -> PatternFill:
    return PatternFill("solid", fgColor=colour)


@lru_cache(maxsize=None)
def _frame(colour: str, style: str = "thin") -> Border:
    side = Side(style=style, color=colour)
    return Border(left=side, right=side, top=side, bottom=side)


@lru_cache(maxsize=None)
def _aligned(align: str = "left", wrap: bool = False, indent: int = 1, shrink: bool = False) -> Alignment:
    return Alignment(
        horizontal=align,
        vertical="center",
        wrap_text=wrap,
        shrink_to_fit=shrink,
        indent=indent if align == "left" else 0,
    )


TITLE_FONT = _font(16, bold=True, colour=HEAD)
PURPOSE_FONT = _font(10, colour=FAINT)
SECTION_FONT = _font(11, bold=True, colour=HEAD)
BODY_FONT = _font()
BOLD_FONT = _font(bold=True)
#: Of answers that are whole sentences: two lines hold the longest advice.
SENTENCE_FONT = _font(9)
NOTE_FONT = _font(9, colour=FAINT)
LINK_FONT = Font(name=FONT, size=10, bold=True, color=HEAD, underline="single")
HEADING_FONT = _font(9, bold=True, colour=PAPER)
HIDDEN_FONT = _font(9, colour=HEAD)
GROUP_FONT = _font(9, bold=True, colour=HEAD)
BANNER_FONT = _font(10, bold=True)

SECTION_LINE = Border(bottom=Side(style="medium", color=HEAD))

#: Font, fill and frame of what each one fills.
_LOOKS = {
    Role.ENTRY: (BODY_FONT, _fill(ENTRY), _frame(ENTRY_LINE)),
    Role.ANSWER: (BODY_FONT, _fill(PAPER), _frame(LINE)),
    Role.WORKING: (NOTE_FONT, _fill(BAND), _frame(LINE)),
    Role.TEXT: (NOTE_FONT, _fill(PAPER), _frame(LINE)),
}
_STRONG, _PLAIN = _frame(STRONG_LINE), _frame(LINE)
#: Font, colour and frame of what is marked.
_MARKS = {
    "check": (Font(bold=True, italic=True), None, _STRONG),
    "late": (Font(bold=True), LATE, _STRONG),
    "soon": (Font(), SOON, _PLAIN),
    "silent": (Font(bold=True, color=INK), LATE, Border(top=_STRONG.top, bottom=_STRONG.bottom)),
    "part": (Font(bold=True), BAND, _PLAIN),
}


def dress(
    cell, role: Role, number_format: str = PLAIN, align: str = "left", wrap: bool = False, shrink: bool = False
) -> None:
    """Give a cell, or the style of a whole column, the looks of its role.

    shrink : a line that is too long is written smaller instead of being cut off.
    """
    cell.font, cell.fill, cell.border = _LOOKS[role]
    if wrap and role is Role.ANSWER:
        cell.font = SENTENCE_FONT
    cell.number_format = number_format
    cell.alignment = _aligned(align, wrap, shrink=shrink)
    cell.protection = Protection(locked=role is not Role.ENTRY)


def dress_like(cell, model) -> None:
    """Give a cell the looks of another one of its workbook; much quicker than dressing it afresh."""
    cell._style = copy(model._style)


def dress_heading(cell, align: str = "left", is_shown: bool = True) -> None:
    """Give a cell the looks of a column's heading, or of the button below it, whose text is not seen."""
    cell.font = HEADING_FONT if is_shown else HIDDEN_FONT
    cell.fill = _fill(HEAD)
    cell.border = _frame(PAPER if is_shown else HEAD)
    cell.alignment = _aligned(align, wrap=is_shown, shrink=not is_shown)


def dress_group(cell, role: Role) -> None:
    """Give a cell the looks of the line above the headings that says who fills the columns."""
    cell.font = GROUP_FONT
    cell.fill = _fill(ENTRY if role is Role.ENTRY else BAND)
    cell.alignment = _aligned()


def write_text(
    sheet: Worksheet,
    address: str,
    text: object,
    font: Font = BODY_FONT,
    wrap: bool = False,
    align: str = "left",
    indent: int = 0,
) -> None:
    """Write a line of text, or a formula that gives one, outside any table."""
    cell = sheet[address]
    cell.value = text
    cell.font = font
    cell.alignment = _aligned(align, wrap, indent=indent)


def write_section(sheet: Worksheet, row: int, title: str, last_column: str) -> None:
    """Write a section's title with a line under it from column A to ``last_column``."""
    write_text(sheet, f"A{row}", title, SECTION_FONT)
    for line in sheet[f"A{row}:{last_column}{row}"]:
        for cell in line:
            cell.border = SECTION_LINE
    sheet.row_dimensions[row].height = 20


def write_top(sheet: Worksheet, title: str, purpose: str, banner: str, last_column: str) -> None:
    """Write the first three rows: title, purpose, and the line that marks an invented workbook."""
    write_text(sheet, "A1", title, TITLE_FONT)
    write_text(sheet, "A2", purpose, PURPOSE_FONT)
    sheet.row_dimensions[1].height = 26
    sheet.row_dimensions[2].height = 16
    sheet.row_dimensions[3].height = 18 if banner else 6
    if banner:
        for line in sheet[f"A3:{last_column}3"]:
            for cell in line:
                cell.fill = _fill(BAND)
                cell.border = Border(
                    top=Side(style="medium", color=STRONG_LINE), bottom=Side(style="medium", color=STRONG_LINE)
                )
        write_text(sheet, "A3", banner, BANNER_FONT)


def mark(sheet: Worksheet, cells: str, when: str, how: str) -> None:
    """Mark cells by a condition.

    how : ``"check"``, ``"late"``, ``"soon"``, ``"part"``, where something begins, or ``"silent"``, a line over several.
    """
    font, colour, border = _MARKS[how]
    fill = PatternFill(bgColor=colour, fill_type="solid") if colour else None
    rule = FormulaRule(formula=[when], font=font if font.b else None, fill=fill, border=border, stopIfTrue=True)
    sheet.conditional_formatting.add(cells, rule)


def mark_checks(sheet: Worksheet, cells: str) -> None:
    """Mark every cell of a range that says ``Check:``."""
    first = cells.split(":", 1)[0].replace("$", "")
    mark(sheet, cells, f'LEFT({first},6)="Check:"', "check")


def set_up_print(sheet: Worksheet, banner: str, paper: Paper, last_column: str) -> None:
    """Set paper, margins, pages across, repeated headings, and what stands at the foot of each page."""
    sheet.page_setup.orientation = "landscape" if paper.landscape else "portrait"
    sheet.page_setup.paperSize = A4
    if paper.scale is None:
        sheet.page_setup.fitToWidth = sheet.page_setup.fitToHeight = 1
    sheet.page_setup.scale = paper.scale
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=paper.scale is None)
    sheet.page_margins.left = sheet.page_margins.right = 0.4
    sheet.page_margins.top, sheet.page_margins.bottom = 0.5, 0.6
    sheet.print_options.horizontalCentered = True
    sheet.print_area = f"A1:{last_column}{paper.last_row}"
    if paper.heading_row:
        sheet.print_title_rows = f"{paper.heading_row}:{paper.heading_row}"
    for row in paper.breaks:
        sheet.row_breaks.append(Break(id=row))
    sheet.oddFooter.left.text = "&A"
    sheet.oddFooter.center.text = "Invented, for trying out" if banner else ""
    sheet.oddFooter.right.text = "&P / &N"
    for part in (sheet.oddFooter.left, sheet.oddFooter.center, sheet.oddFooter.right):
        part.size = 8
    sheet.sheet_view.showGridLines = False
    sheet.sheet_view.zoomScale = 100


def dress_as_marked(cell, how: str) -> None:
    """Give a cell of the legend the looks that :func:`mark` gives by condition."""
    font, colour, cell.border = _MARKS[how]
    cell.font = _font(bold=bool(font.b), italic=bool(font.i))
    if colour:
        cell.fill = _fill(colour)


def protect(sheet: Worksheet) -> None:
    """Guard the answers against being typed over by accident: no password, and all else stays allowed."""
    guard = sheet.protection
    guard.sheet = True
    # In the file a 0 allows.
    guard.formatCells = guard.formatColumns = guard.formatRows = False
    guard.insertRows = guard.deleteRows = guard.insertHyperlinks = False
    guard.sort = guard.autoFilter = False
    guard.objects = guard.scenarios = False
