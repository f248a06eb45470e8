"""The workbooks in the repository are what the code builds, answers included."""

from __future__ import annotations

import zipfile
from pathlib import Path
from xml.etree.ElementTree import canonicalize

import openpyxl
import pytest
from openpyxl.worksheet.formula import ArrayFormula

from sheetfuncs.planner import DEMO_FILE, TEMPLATE_FILE, build_template
from sheetfuncs.recalc import recalculate

FOLDER = Path(__file__).resolve().parents[2] / "workbook_templates"
BUILDER = "docProps/app.xml"  # names the version of the library that wrote the file

SHIPPED = pytest.mark.parametrize("name", [TEMPLATE_FILE, DEMO_FILE], ids=["blank", "demo"])


@pytest.fixture(scope="module")
def rebuilt(tmp_path_factory: pytest.TempPathFactory, demo_with_answers: Path) -> dict[str, Path]:
    blank = tmp_path_factory.mktemp("rebuilt") / TEMPLATE_FILE
    return {TEMPLATE_FILE: build_template(blank, recalculate=recalculate), DEMO_FILE: demo_with_answers}


def _contents(path: Path, answers: bool) -> dict:
    workbook = openpyxl.load_workbook(path, data_only=answers)
    return {
        (sheet.title, cell.coordinate): cell.value.text if isinstance(cell.value, ArrayFormula) else cell.value
        for sheet in workbook
        for cell in sheet._cells.values()  # its rows would hold all blank ones, too
        if cell.value is not None
    }


@SHIPPED
@pytest.mark.parametrize("answers", [False, True], ids=["formulas", "answers"])
def test_cells_are_those_of_a_rebuild(name: str, answers: bool, rebuilt: dict[str, Path]) -> None:
    shipped, made = (_contents(path, answers) for path in (FOLDER / name, rebuilt[name]))
    assert shipped.keys() == made.keys(), "run: python -m sheetfuncs.planner.shipped_books"
    for at, value in shipped.items():
        # The last digits of a sine differ from one machine to the next.
        wanted = pytest.approx(made[at]) if isinstance(value, float) else made[at]
        assert value == wanted, f"{at}: run python -m sheetfuncs.planner.shipped_books"


@SHIPPED
def test_parts_are_those_of_a_rebuild_by_the_same_library(name: str, rebuilt: dict[str, Path]) -> None:
    with zipfile.ZipFile(FOLDER / name) as shipped, zipfile.ZipFile(rebuilt[name]) as made:
        if shipped.read(BUILDER) != made.read(BUILDER):
            pytest.skip("built by another version of openpyxl")
        assert shipped.namelist() == made.namelist()
        for part in shipped.namelist():
            if not part.startswith("xl/worksheets/"):
                parts = _plain(shipped.read(part)), _plain(made.read(part))
                assert parts[0] == parts[1], f"{part}: run python -m sheetfuncs.planner.shipped_books"


def _plain(xml: bytes) -> str:
    """Return a part's XML in its canonical form: with another XML library installed it is spelled another way."""
    return canonicalize(xml.decode("utf-8"))


def test_a_viewer_without_the_functions_sees_the_answers() -> None:
    answers = _contents(FOLDER / DEMO_FILE, answers=True)
    assert "Yes, they answer." in [value for (sheet, _), value in answers.items() if sheet == "Start"]
    assert any("cut on 17 jun" in str(value).lower() for (sheet, _), value in answers.items() if sheet == "Trees")
    assert not any(isinstance(value, str) and value.startswith("#") for value in answers.values())
