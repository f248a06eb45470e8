"""Texts of a hostile book never become formulas, here or in what is made of it."""

from __future__ import annotations

import shutil
import zipfile
from pathlib import Path

import click.testing
import openpyxl
import pytest

from sheetfuncs.cli.app import app

from ..recalc.books import by_hand
from .test_hostile import attempt, one

# -- texts -----------------------------------------------------------------------------------------------------

TEXTS = ("=1+1", "=cmd|' /C calc'!A0", "+1", "-1+1", "@SUM(1)", "\t=1+1", '=WEBSERVICE("http://x/")', "{=1}", "'=1")


def test_texts_never_become_formulas(tmp_path: Path) -> None:
    """Whatever a text starts with, an answer that is a text is stored as one."""
    cells = "".join(
        f'<row r="{row}"><c r="A{row}" t="inlineStr"><is><t xml:space="preserve">{text}</t></is></c>'
        f'<c r="B{row}"><f>A{row}&amp;""</f></c><c r="C{row}"><f>CLIMATE_NOTE(A{row})</f></c></row>'
        for row, text in enumerate(TEXTS, start=1)
    )
    path = by_hand(tmp_path / "book.xlsx", {"Plan": cells})
    assert attempt(path) == "done"
    sheet = openpyxl.load_workbook(path)["Plan"]
    values = openpyxl.load_workbook(path, data_only=True)["Plan"]
    for row, text in enumerate(TEXTS, start=1):
        assert sheet[f"B{row}"].value == f'=A{row}&""'
        assert values[f"B{row}"].value == text
        assert values[f"C{row}"].value.startswith("Check: climate is ")
        with zipfile.ZipFile(path) as archive:
            assert f'<c r="B{row}" t="str">'.encode() in archive.read("xl/worksheets/sheet1.xml")


@pytest.mark.usefixtures("few_rows")
def test_texts_carried_into_the_next_year_stay_texts(tmp_path: Path) -> None:
    command = click.testing.CliRunner()
    old, new = tmp_path / "old.xlsx", tmp_path / "new.xlsx"
    assert command.invoke(app, ["new", str(old), "--trees", "6"]).exit_code == 0
    book = openpyxl.load_workbook(old)
    sheet = book["Trees"]
    head = next(row for row in sheet.iter_rows() if sum(isinstance(cell.value, str) for cell in row) >= 5)
    for offset, text in enumerate(TEXTS[:4], start=1):
        cell = sheet.cell(head[0].row + offset, head[0].column)
        cell.value = text
        cell.data_type = "s"
    book.save(old)
    result = command.invoke(app, ["carry", str(old), str(new)], catch_exceptions=False, standalone_mode=False)
    assert new.exists(), result.output
    carried = openpyxl.load_workbook(new)["Trees"]
    found = {cell.value: cell.data_type for row in carried.iter_rows() for cell in row if cell.value in TEXTS}
    assert found, result.output
    assert set(found.values()) <= {"s", "inlineStr"}, found


def test_the_folder_of_a_hostile_book_stays_clean(tmp_path: Path) -> None:
    path = by_hand(tmp_path / "book.xlsx", {"Plan": one('WEBSERVICE("http://127.0.0.1:9/")')})
    shutil.copy(path, tmp_path / "same.xlsx")
    result = click.testing.CliRunner().invoke(app, ["recalc", str(path)], standalone_mode=False)
    assert "Plan!A1 keeps its value: it calls WEBSERVICE" in result.output
    assert {file.name for file in tmp_path.iterdir()} == {"book.xlsx", "same.xlsx"}
    assert path.read_bytes() == (tmp_path / "same.xlsx").read_bytes()
