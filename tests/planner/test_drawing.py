"""Sorted inputs, guarded answers, and pictures that draw what the cells say."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.cell import range_boundaries

from sheetfuncs.planner.build import DEMO_TREES, READY_TREES
from sheetfuncs.planner.invented import TREES, demo_contents
from sheetfuncs.planner.sheets import (
    flush,
    log,
    looking_back,
    picking,
    season,
    season_pictures,
)
from sheetfuncs.planner.sheets import varieties as kinds
from sheetfuncs.planner.sheets.layout import Role, quoted

from .conftest import Answers
from .test_answers import at_position, cell, climate, learned, setting  # noqa: F401 - climate is a fixture
from .test_year import DRAWN, LIST, TABLE, TAGS, Typed, at_midnight, column

# -- sorting, guarding, drawing --------------------------------------------------------------------------------


def test_sorted_inputs_keep_every_tree_s_answers(answer: Typed, demo_answers: Answers) -> None:
    """The coloured columns of two rows are exchanged: each tree has the answers it had, in its new row."""
    one, other = TAGS.index("P-06"), TAGS.index("G-04")
    typed: dict = {}
    for here, there in ((one, other), (other, one)):
        for entry in TABLE.columns:
            if entry.role is Role.ENTRY:
                value = TREES[there].get(entry.key)
                at = "Trees", f"{TABLE.letter(entry.key)}{TABLE.first_row + here}"
                typed[at] = at_midnight(value) if isinstance(value, date) else value
    book = answer(typed)
    answers = [one for one in TABLE.columns if one.formula and one.key != "visit_key"]
    for tag, row in (("P-06", other), ("G-04", one), ("P-01", TAGS.index("P-01"))):
        for shown in answers:
            now = book.at("Trees", f"{TABLE.letter(shown.key)}{TABLE.first_row + row}")
            assert now == demo_answers.at("Trees", cell(shown.key, tag)), f"{tag} {shown.heading}"
    pairs = [
        sorted(zip(column(each, LIST, "tag"), column(each, LIST, "day"))) for each in (book, demo_answers)
    ]
    assert pairs[0] == pairs[1]


@pytest.mark.parametrize("which", ["blank", "demo"])
def test_answers_are_guarded_without_a_password(which: str, request: pytest.FixtureRequest) -> None:
    book = request.getfixturevalue(which)
    for sheet in book:
        guard = sheet.protection
        assert guard.sheet, sheet.title
        assert guard.password is None
        for allowed in ("sort", "autoFilter", "insertRows", "deleteRows", "formatCells", "formatColumns"):
            assert getattr(guard, allowed) is False, f"{sheet.title}: {allowed} is forbidden"
    for table in (TABLE, kinds.TABLE, flush.TABLE, log.TABLE):
        for one in table.columns:
            locked = book[table.sheet][f"{table.letter(one.key)}{table.first_row}"].protection.locked
            assert locked is (one.role is not Role.ENTRY), f"{table.sheet}: {one.heading}"


def references(chart: Any) -> list[str]:
    found = []
    for part in chart._charts:
        for series in part.series:
            found += [series.val.numRef.f, series.tx.strRef.f]
            found.append((series.cat.numRef or series.cat.strRef).f)
    return found


@pytest.mark.parametrize("which", ["blank", "demo"])
def test_charts_draw_cells_that_are_there(which: str, request: pytest.FixtureRequest) -> None:
    book = openpyxl.load_workbook(request.getfixturevalue(f"{which}_path"))
    drawn = {sheet.title: sheet._charts for sheet in book if sheet._charts}
    lines = {"blank": READY_TREES, "demo": DEMO_TREES}[which]
    pictures, bars = season.pictures(lines), season_pictures.bars(lines)
    assert {name: len(charts) for name, charts in drawn.items()} == {
        "Season": 2 + pictures, "Picking": 1, "Looking back": 1,
    }  # fmt: skip
    in_parts = [
        replace(bars, heading_row=bars.heading_row + picture * (DRAWN + 1), rows=DRAWN + 1)
        for picture in range(pictures)
    ]
    whole = {
        "Season": [*in_parts, season_pictures.ACROSS, season_pictures.HEAT, season_pictures.FROST],
        "Picking": [picking.TABLE],
        "Looking back": [looking_back.PROMISES],
    }
    rows = {(table.sheet, table.first_row, table.last_row) for tables in whole.values() for table in tables}
    for charts in drawn.values():
        for chart in charts:
            for reference in references(chart):
                sheet, cells = reference.rsplit("!", 1)
                name = sheet.strip("'")
                left, top, right, bottom = range_boundaries(cells)
                assert left == right
                if top == bottom:
                    assert isinstance(book[name].cell(top, left).value, str), reference
                    continue
                assert any(name == of and top == first and bottom <= last for of, first, last in rows), reference
                if name == "Season":
                    assert any((name, top, bottom) == one for one in rows), reference
                assert all(str(book[name].cell(row, left).value).startswith("=") for row in range(top, bottom + 1))


def test_the_weeks_that_are_drawn_hold_all_kilograms(demo: openpyxl.Workbook, demo_answers: Answers) -> None:
    [chart] = demo["Picking"]._charts
    *_, last = range_boundaries(chart.series[0].val.numRef.f.rsplit("!", 1)[1])
    kilograms = column(demo_answers, picking.TABLE, "kilograms")
    assert sum(kilograms[: last - picking.TABLE.heading_row]) == pytest.approx(sum(kilograms))


def test_lines_of_a_chart_differ_in_more_than_colour(demo_path: Path) -> None:
    for sheet in openpyxl.load_workbook(demo_path):
        for chart in sheet._charts:
            looks = [
                (series.graphicalProperties.line.prstDash, series.graphicalProperties.line.w)
                for part in chart._charts
                for series in part.series
                if part.tagname == "lineChart" and series.dLbls is None  # the months' lines carry their names
            ]
            assert len(set(looks)) == len(looks)


def test_a_chart_has_no_picture_of_old_values(demo_path: Path) -> None:
    """Nothing is stored beside the cells: what is drawn is what they hold."""
    import zipfile

    with zipfile.ZipFile(demo_path) as archive:
        charts = [name for name in archive.namelist() if re.match(r"xl/charts/chart\d+\.xml", name)]
        assert len(charts) == 4 + season.pictures(DEMO_TREES)
        assert not any(b"numCache" in archive.read(name) for name in charts)


def test_every_picture_of_the_season_lies_whole_on_one_page(blank: openpyxl.Workbook) -> None:
    sheet = blank["Season"]
    ends = [mark.id for mark in sheet.row_breaks.brk]
    *_, last = range_boundaries(sheet.print_area.rsplit("!", 1)[-1])
    assert last == season.last_row(season.pictures(READY_TREES))
    assert not sheet.sheet_properties.pageSetUpPr.fitToPage, "fitted pages pass over the breaks"
    pages = list(zip([0, *ends], [*ends, last]))
    for first, end in pages:
        height = sum(sheet.row_dimensions[row].height or 15 for row in range(first + 1, end + 1))
        assert height * sheet.page_setup.scale / 100 <= 29.7 / 2.54 * 72 - 1.1 * 72, "a page of A4 less its margins"
    for chart in sheet._charts:
        top, bottom = chart.anchor._from.row, chart.anchor.to.row
        assert sum(first <= top and bottom <= end for first, end in pages) == 1
        assert (chart.anchor._from.col, chart.anchor.to.col) in {(0, 7), (0, 3), (3, 7)}
    width = sum(7 * sheet.column_dimensions[letter].width + 5 for letter in "ABCDEFG") * 2.54 / 96
    assert width * sheet.page_setup.scale / 100 <= 21 - 0.8 * 2.54


@pytest.mark.parametrize("which", ["blank", "demo"])
def test_widths_are_counted_in_the_letters_of_the_sheets(which: str, request: pytest.FixtureRequest) -> None:
    book = openpyxl.load_workbook(request.getfixturevalue(f"{which}_path"))
    assert book._fonts[0].name == book._named_styles["Normal"].font.name == "Arial"
    assert book._fonts[0].sz == 10


def test_a_sheet_s_name_with_a_space_is_quoted() -> None:
    assert quoted("What would help") == "'What would help'"
    assert flush.TABLE.cells("says").startswith("'What would help'!$")
    assert demo_contents().hard_cuts
