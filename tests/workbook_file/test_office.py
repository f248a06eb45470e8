"""A real LibreOffice opens the recalculated files and shows the values that were stored."""

from __future__ import annotations

import csv
import os
import shutil
import subprocess
from pathlib import Path

import pytest

from sheetfuncs.hosts.workbook_file import recalculate

from .books import by_hand, by_openpyxl, by_xlsxwriter
from .functions import FUNCTIONS

pytestmark = pytest.mark.office


@pytest.fixture(scope="module")
def profile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if shutil.which("soffice") is None:
        if os.environ.get("CI"):
            pytest.fail("CI must have LibreOffice: soffice is not on the path")
        pytest.skip("LibreOffice is not here: soffice is not on the path")
    return tmp_path_factory.mktemp("profile")


def shown(path: Path, profile: Path) -> list[list[list[str]]]:
    """Return what each worksheet shows, rows of texts."""
    out = path.parent / f"{path.stem}-csv"
    out.mkdir()
    options = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
    command = ["soffice", f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", options]
    subprocess.run([*command, "--outdir", str(out), str(path)], check=True, capture_output=True, timeout=180)
    files = sorted(out.iterdir(), key=lambda file: file.stat().st_mtime_ns)
    return [list(csv.reader(file.read_text(encoding="utf-8-sig").splitlines())) for file in files]


def test_openpyxl(tmp_path: Path, profile: Path) -> None:
    path = by_openpyxl(tmp_path / "book.xlsx")
    recalculate(path, functions=FUNCTIONS)
    trees, kinds = shown(path, profile)
    assert [row[3] for row in trees[1:7]] == ["2", "3", "4", "5", "6", "7"]
    assert trees[1][4] == "2026-07-05"
    assert trees[2][5] == "t3-über & <1>"
    assert trees[5][5] == 'Check: value is "t6", wanted a number'
    # Array formulas it evaluates itself on loading, whatever is stored, and it does not know this function.
    assert trees[0][7:10] == ["#NAME?"] * 3
    assert kinds[0][3] == "900"


@pytest.mark.parametrize("is_1904", [False, True])
def test_xlsxwriter(tmp_path: Path, profile: Path, is_1904: bool) -> None:
    path = by_xlsxwriter(tmp_path / "book.xlsx", is_1904)
    recalculate(path, functions=FUNCTIONS)
    plan, *_ = shown(path, profile)
    assert [row[2] for row in plan[1:6]] == [f"2026-07-0{day}" for day in range(2, 7)]
    assert [row[3] for row in plan[1:6]] == ["3", "6", "9", "12", "15"]
    assert [row[6] for row in plan[1:6]] == ["3", "6", "9", "12", "15"]


def test_cells_and_rows_that_were_added(tmp_path: Path, profile: Path) -> None:
    rows = (
        '<row r="1" spans="1:1"><c r="A1"><f t="array" ref="A1:B3">{1,2;3,4;5,6}*2</f></c><c r="D1"><v>7</v></c></row>'
        '<row r="5"><c r="A5"><v>1</v></c></row>'
    )
    path = by_hand(tmp_path / "book.xlsx", {"Plan": rows})
    recalculate(path, functions=FUNCTIONS)
    (plan,) = shown(path, profile)
    assert plan == [["2", "4", "", "7"], ["6", "8", "", ""], ["10", "12", "", ""], [""] * 4, ["1", "", "", ""]]


def test_a_file_that_the_office_saved(tmp_path: Path, profile: Path) -> None:
    """What LibreOffice writes is read, and what is stored in it is shown by it."""
    made = by_openpyxl(tmp_path / "made.xlsx")
    recalculate(made, functions=FUNCTIONS)
    folder = tmp_path / "saved"
    command = ["soffice", f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", "xlsx"]
    subprocess.run([*command, "--outdir", str(folder), str(made)], check=True, capture_output=True, timeout=180)
    path = folder / "made.xlsx"
    result = recalculate(path, functions=FUNCTIONS)
    assert (result.formulas, result.ours) == (23, 18)
    assert [row[3] for row in shown(path, profile)[0][1:7]] == ["2", "3", "4", "5", "6", "7"]
