"""The workbook around the formulas: names, drop-downs, print, the marks of an invented one, the bytes."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import openpyxl
import pytest
from openpyxl.styles.numbers import is_date_format
from openpyxl.utils.cell import range_boundaries

from sheetfuncs.planner import build_demo, build_template
from sheetfuncs.planner.build import READY_TREES, pages
from sheetfuncs.planner.sheets import look, place, trees, weather
from sheetfuncs.planner.sheets.layout import Role

SHEETS = [
    "Start", "Place", "Weather", "Positions", "Varieties", "Trees", "Rounds", "Season", "Picking",
    "What would help", "Log", "Looking back",
]  # fmt: skip
BOTH = pytest.mark.parametrize("which", ["blank", "demo"])


@pytest.fixture
def book(which: str, request: pytest.FixtureRequest) -> openpyxl.Workbook:
    return request.getfixturevalue(which)


@BOTH
def test_the_sheets_come_in_the_order_of_the_year(book: openpyxl.Workbook) -> None:
    assert book.sheetnames == SHEETS
    assert book.active.title == "Start"


@BOTH
def test_opening_does_not_force_a_recalculation(which: str, request: pytest.FixtureRequest) -> None:
    with zipfile.ZipFile(request.getfixturevalue(f"{which}_path")) as archive:
        calculation = re.search(r"<calcPr[^>]*>", archive.read("xl/workbook.xml").decode()).group()
    assert "fullCalcOnLoad" not in calculation
    assert 'calcId="191029"' in calculation


@BOTH
def test_names_lead_to_cells_of_the_book(book: openpyxl.Workbook) -> None:
    for name, defined in book.defined_names.items():
        ((sheet, cells),) = defined.destinations
        assert sheet in book.sheetnames, name
        left, top, right, bottom = range_boundaries(cells)
        assert 1 <= left <= right <= 60, name
        assert 1 <= top <= bottom <= 50_000, name
        assert not re.fullmatch(r"[A-Za-z]{1,3}\d+|[RrCc]", name), f"{name} reads like a cell"


def test_room_for_fifty_years_of_days(blank: openpyxl.Workbook) -> None:
    ((_, cells),) = blank.defined_names["Weather_days"].destinations
    _, top, _, bottom = range_boundaries(cells)
    assert top == weather.DAYS.first_row
    assert bottom - top + 1 >= 50 * 366


@BOTH
def test_drop_downs_list_words_or_ranges_that_hold_some(book: openpyxl.Workbook) -> None:
    lists = [rule for sheet in book for rule in sheet.data_validations.dataValidation if rule.type == "list"]
    assert len(lists) >= 9
    for rule in lists:
        if rule.formula1.startswith('"'):
            assert len(rule.formula1) <= 255
            continue
        ((sheet, cells),) = book.defined_names[rule.formula1].destinations
        left, top, right, _ = range_boundaries(cells)
        assert left == right
        # Tags are the user's own: a blank workbook has none yet.
        assert book[sheet].cell(top, left).value or sheet == "Trees"


def test_the_columns_that_need_one_have_a_drop_down(blank: openpyxl.Workbook) -> None:
    table = trees.table(READY_TREES)
    rules = {str(rule.sqref): rule for rule in blank["Trees"].data_validations.dataValidation}
    for key, word in (
        ("kind", "Kind_names"),
        ("grown_in", "container,ground"),
        ("position", "Position_names"),
        ("buds", "yes,no"),
    ):
        assert word in rules[table.cells(key, sheet=False).replace("$", "")].formula1
    heat = {str(rule.sqref): rule.formula1 for rule in blank["Place"].data_validations.dataValidation}
    assert heat[f"B{place.ROWS['Heat_method']}"] == '"sine,mean"'
    assert heat[f"B{place.ROWS['Heat_cutoff']}"] == '"stays level,counts against,stops"'


def test_two_hundred_rows_are_ready(blank: openpyxl.Workbook) -> None:
    sheet, table = blank["Trees"], trees.table(READY_TREES)
    for column in table.columns:
        for row in (table.first_row, table.last_row):
            value = sheet[f"{table.letter(column.key)}{row}"].value
            assert (value is None) if column.role is Role.ENTRY else value.startswith("=")
    assert sheet.cell(table.last_row + 1, 10).value is None


def test_a_row_refers_to_itself_and_to_names_only(blank: openpyxl.Workbook) -> None:
    """So that rows can be sorted, filtered and copied."""
    table = trees.table(READY_TREES)
    for row in blank["Trees"].iter_rows(min_row=table.first_row, max_row=table.last_row):
        for cell in row:
            if isinstance(cell.value, str):
                references = re.findall(r"\$?[A-Z]{1,2}\$?\d+", re.sub(r'"[^"]*"', "", cell.value))
                assert {re.sub(r"\D", "", reference) for reference in references} <= {str(cell.row)}
                assert "!" not in cell.value


@BOTH
def test_entries_are_open_and_answers_are_not(book: openpyxl.Workbook) -> None:
    for sheet in book:
        for row in sheet.iter_rows(max_row=60):
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith("="):
                    assert cell.protection.locked, f"{sheet.title}!{cell.coordinate}"
    table = trees.table(40)
    for column in table.columns:
        cell = book["Trees"][f"{table.letter(column.key)}{table.first_row}"]
        assert cell.protection.locked is (column.role is not Role.ENTRY)


@BOTH
def test_entries_look_different_from_answers(book: openpyxl.Workbook) -> None:
    table = trees.table(40)
    fills = {
        role: {
            book["Trees"][f"{table.letter(column.key)}{table.first_row}"].fill.fgColor.rgb
            for column in table.columns
            if column.role is role
        }
        for role in (Role.ENTRY, Role.ANSWER, Role.WORKING)
    }
    assert all(len(colours) == 1 for colours in fills.values())
    assert len(set().union(*fills.values())) == 3


@BOTH
def test_dates_and_shares_carry_their_formats(book: openpyxl.Workbook) -> None:
    table, sheet = trees.table(40), book["Trees"]
    for key in ("counted_on", "cut_on", "latest", "assumed_cut", "first_ripe", "middle_ripe", "last_ripe"):
        assert is_date_format(sheet[f"{table.letter(key)}{table.first_row}"].number_format), key
    for key in ("chance", "share"):
        shown = sheet[f"{table.letter(key)}{table.first_row}"].number_format
        assert shown == '[>0.99]"over 99 %";[<0.01]"under 1 %";0%', "never a bare 0 or 100 %"
    assert book["Weather"].column_dimensions["A"].number_format == "yyyy-mm-dd"


@BOTH
def test_headings_stay_in_sight_on_screen_and_paper(book: openpyxl.Workbook) -> None:
    assert all(sheet.freeze_panes for sheet in book)
    for sheet in book:
        if sheet.title == "Season":  # has pages of its own
            continue
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.page_setup.fitToWidth == sheet.page_setup.fitToHeight == 1
        assert sheet.print_area
    for name in ("Positions", "Varieties", "Trees"):
        assert book[name].print_title_rows == "$6:$6"
        assert book[name].page_setup.orientation == "landscape"
    assert book["Trees"].auto_filter.ref.startswith("A7:"), "its buttons leave the headings their room"
    assert [cell.value for cell in book["Trees"][6]] == [cell.value for cell in book["Trees"][7]]


def test_marks_do_not_rest_on_colour(blank: openpyxl.Workbook) -> None:
    rules = [rule for cells in blank["Trees"].conditional_formatting for rule in cells.rules]
    assert rules
    for rule in rules:
        assert rule.dxf.border.top.style, "every mark has a frame"
        words = re.findall(r'"([^"]*)"', rule.formula[0])
        assert words, "every mark goes with a word"
    assert sum(bool(rule.dxf.font and rule.dxf.font.b) for rule in rules) >= 2


def test_the_line_about_functions_that_do_not_answer_is_dark_on_its_colour(blank: openpyxl.Workbook) -> None:
    for sheet in blank.worksheets[1:]:
        if sheet.title == "Weather":  # where functions do not answer, all that it shows is true
            continue
        [rule] = [rule for cells in sheet.conditional_formatting if "A2" in cells for rule in cells.rules]
        assert rule.dxf.font.color.rgb == look.INK, sheet.title


def test_the_invented_workbook_says_so_on_every_sheet(demo: openpyxl.Workbook, blank: openpyxl.Workbook) -> None:
    for sheet in demo:
        assert sheet["A3"].value.startswith("INVENTED"), sheet.title
        assert "Invented" in sheet.oddFooter.center.text
    assert "INVENTED" in demo.properties.description
    for sheet in blank:
        assert sheet["A3"].value is None
        assert not sheet.oddFooter.center.text


def test_the_blank_workbook_holds_no_one_s_data(blank: openpyxl.Workbook) -> None:
    assert [cell.value for cell in blank["Weather"]["A"][8:]].count(None) == len(blank["Weather"]["A"][8:])
    table = trees.table(READY_TREES)
    assert all(blank["Trees"].cell(row, 1).value is None for row in range(table.first_row, table.last_row + 1))
    assert blank["Place"]["B6"].value is None


def test_what_start_says_of_each_sheet_fits_its_line() -> None:
    assert all(0 < len(page.step) <= 110 for page in pages(1))


def test_the_cautions_are_there(blank: openpyxl.Workbook) -> None:
    text = " ".join(str(cell.value) for row in blank["Start"].iter_rows() for cell in row if cell.value)
    for word in ("sap", "sunlight", "Gloves".lower(), "disinfect", "Ladders", "label", "estimates", "extension"):
        assert word in text


def test_figures_stand_beside_their_source(blank: openpyxl.Workbook) -> None:
    for name in ("Varieties", "Positions"):
        sheet = blank[name]
        last = next(cell.column for cell in sheet[6] if cell.value == "Where the table's figures come from")
        for row in range(7, 7 + 3):
            assert len(sheet.cell(row, last).value) > 5
    notes = " ".join(str(cell.value) for cell in blank["Place"]["D"] if cell.value)
    for word in ("common practice, no source", "judgement", "Souza et al. 2009"):
        assert word in notes


def test_built_twice_the_bytes_are_the_same(tmp_path: Path, blank_path: Path, demo_path: Path) -> None:
    assert build_template(tmp_path / "again.xlsx").read_bytes() == blank_path.read_bytes()
    assert build_demo(tmp_path / "again.xlsx").read_bytes() == demo_path.read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == ["again.xlsx"]


def test_a_failing_recalculation_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    path.write_bytes(b"the old one")

    def fails(beside: Path) -> None:
        raise OSError("no room")

    with pytest.raises(OSError, match="no room"):
        build_template(path, trees=3, recalculate=fails)
    assert path.read_bytes() == b"the old one"
    assert [entry.name for entry in tmp_path.iterdir()] == ["book.xlsx"]


def test_the_number_of_trees_is_free(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(build_template(tmp_path / "few.xlsx", trees=12))
    table = trees.table(12)
    letter = table.letter("latest")
    assert book["Trees"][f"{letter}{table.last_row}"].value.startswith("=")
    assert book["Trees"][f"{letter}{table.last_row + 1}"].value is None
