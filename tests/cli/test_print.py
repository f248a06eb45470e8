"""Pages as PDF: the right sheets and no other, through a real LibreOffice."""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
from pathlib import Path

import openpyxl
import pytest

from sheetfuncs.cells.errors import InputError
from sheetfuncs.hosts.calc.build import CalcProblem
from sheetfuncs.planner import pages
from sheetfuncs.planner.sheets import rounds, season, trees
from sheetfuncs.xlsx import read_sheet, read_values

from ..calc.office import what_is_missing

NO_PAGE = "'!$AMJ$1048576"


def page_texts(path: Path) -> list[str]:
    done = subprocess.run(["pdftotext", "-layout", str(path), "-"], check=True, capture_output=True, text=True)
    return done.stdout.split("\f")[:-1]


@pytest.fixture
def printed(filled: Path, run, tmp_path: Path) -> tuple[Path, Path]:
    before = filled.read_bytes()
    output = run("print", filled, "-o", tmp_path / "pages").output
    assert filled.read_bytes() == before
    paths = (tmp_path / "pages" / "demo-rounds.pdf", tmp_path / "pages" / "demo-season.pdf")
    assert output.splitlines() == [f"{path} is ready to print." for path in paths]
    assert sorted((tmp_path / "pages").iterdir()) == sorted(paths)
    return paths


@pytest.mark.office
@pytest.mark.skipif(bool(what_is_missing()) and not os.environ.get("CI"), reason=what_is_missing())
@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext to read the pages with")
def test_each_file_holds_its_sheet_and_nothing_else(printed, filled):
    names = openpyxl.load_workbook(filled, read_only=True).sheetnames
    for path, sheet in zip(printed, (rounds.NAME, season.NAME), strict=True):
        texts = page_texts(path)
        assert texts
        for number, text in enumerate(texts, start=1):
            # The foot of each page names its sheet, and counts the pages that are there.
            foot = text.rstrip().splitlines()[-1]
            assert foot.split()[0] == sheet
            assert re.search(rf"{number} ?/ ?{len(texts)}\b", foot)
        titles = {text.strip().splitlines()[0].strip() for text in texts}
        assert sheet in titles
        assert not titles & (set(names) - {sheet})
    rows = [row for text in page_texts(printed[0]) for row in text.splitlines()]
    listed = [row for row in rows if re.search(r"\b[PG]-\d\d\b", row)]
    cells = read_sheet(filled, rounds.NAME)
    table = rounds.table(1)
    tags = [cells.get(f"{table.letter('tag')}{row}") for row in range(table.first_row, table.first_row + 60)]
    tags = [tag for tag in tags if tag]
    assert [re.search(r"[PG]-\d\d", row)[0] for row in listed] == tags
    # Thirty trees and all pictures lie on one page; pictures of the lines that are only ready are not printed.
    assert len(page_texts(printed[1])) == 1


def test_only_one_sheet_keeps_its_print_range_and_rows_that_are_only_ready_are_left_out(filled):
    raw = filled.read_bytes()
    before = openpyxl.load_workbook(filled)
    made = openpyxl.load_workbook(io.BytesIO(pages.with_only(raw, rounds.NAME, "demo.xlsx", 20)))
    for sheet in made.worksheets:
        if sheet.title == rounds.NAME:
            assert sheet.print_area.endswith("$20")
            assert sheet.print_area.split(":")[0] == before[sheet.title].print_area.split(":")[0]
            assert sheet.print_title_rows == before[sheet.title].print_title_rows
        else:
            assert sheet.print_area.endswith(NO_PAGE)
            assert not sheet.print_title_rows
    assert made.sheetnames == before.sheetnames
    assert set(made.defined_names) == set(before.defined_names)
    longer = openpyxl.load_workbook(io.BytesIO(pages.with_only(raw, rounds.NAME, "demo.xlsx", 99999)))
    assert longer[rounds.NAME].print_area == before[rounds.NAME].print_area


def test_a_workbook_without_names_or_with_odd_ones_can_be_printed(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "Rounds"
    book.create_sheet("Tom's & Ann's")
    book.save(tmp_path / "own.xlsx")
    raw = (tmp_path / "own.xlsx").read_bytes()
    made = openpyxl.load_workbook(io.BytesIO(pages.with_only(raw, "Rounds", "own.xlsx")))
    assert made["Tom's & Ann's"].print_area.endswith(NO_PAGE)
    assert not made["Rounds"].print_area


@pytest.mark.usefixtures("answers_as_they_are")
def test_a_missing_sheet_or_folder_gets_one_line(filled, run, tmp_path):
    other = tmp_path / "other.xlsx"
    openpyxl.Workbook().save(other)
    with pytest.raises(InputError, match="has no sheet Rounds, wanted a workbook made by: sheetfuncs new"):
        pages.with_only(other.read_bytes(), "Rounds", other.name)
    if not what_is_missing():
        with pytest.raises(InputError, match="has no sheet Rounds"):
            run("print", other, "-o", tmp_path / "pages")
        with pytest.raises(InputError, match="is no folder"):
            run("print", filled, "-o", other)
        with pytest.raises(InputError, match="is not there"):
            run("print", tmp_path / "no.xlsx", "-o", tmp_path / "pages")
    assert not (tmp_path / "pages").exists()


def test_without_an_office_one_line_says_so(filled, run, tmp_path, monkeypatch):
    def none() -> None:
        raise CalcProblem("none here")

    monkeypatch.setattr(pages, "find_office", none)
    with pytest.raises(InputError, match=r"^Check: no LibreOffice was found, and it does the printing"):
        run("print", filled, "-o", tmp_path / "pages")
    assert not (tmp_path / "pages").exists()


@pytest.mark.usefixtures("answers_as_they_are")
def test_an_office_that_prints_nothing_leaves_no_file(filled, run, tmp_path, monkeypatch):
    program = tmp_path / "soffice"
    program.write_text("#!/bin/sh\necho no paper\n")
    program.chmod(0o755)
    monkeypatch.setattr(pages, "find_office", lambda: pages.Office(tmp_path, program, program))
    with pytest.raises(InputError, match="LibreOffice printed nothing: no paper"):
        run("print", filled, "-o", tmp_path / "pages")
    assert not (tmp_path / "pages").exists()
    assert trees.NAME in read_values(filled)
