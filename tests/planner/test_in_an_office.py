"""The filled workbook in a real Calc: with the functions the same answers, without them the stored ones."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from ..calc.office import RunningOffice

pytestmark = pytest.mark.office


def sheets(book: Path, folder: Path, office: RunningOffice) -> dict[str, list[list[str]]]:
    """Return what an office shows on each sheet of a workbook."""
    office.convert(book, folder / "csv" / "demo.csv")
    shown = {}
    for path in (folder / "csv").iterdir():
        with path.open(encoding="utf-8") as lines:
            shown[path.stem.rsplit("-", 1)[1]] = list(csv.reader(lines))
    return shown


@pytest.fixture
def without_functions(
    demo_with_answers: Path, plain_office: RunningOffice, tmp_path: Path
) -> dict[str, list[list[str]]]:
    return sheets(demo_with_answers, tmp_path / "without", plain_office)


def test_calc_answers_as_the_headless_recalculation_does(
    without_functions: dict, demo_path: Path, office: RunningOffice, tmp_path: Path
) -> None:
    with_functions = sheets(demo_path, tmp_path, office)  # formulas, no answers
    assert with_functions["Start"][5][1] == "Yes, they answer."
    assert with_functions["Trees"][6][11] == "Cut on 17 Jun."
    assert with_functions.keys() == without_functions.keys()
    for name in with_functions.keys() - {"Start"}:
        assert with_functions[name] == without_functions[name], name


def test_without_the_functions_the_stored_answers_stay_and_start_says_so(without_functions: dict) -> None:
    assert without_functions["Start"][5][1].startswith("No: this program does not know them yet.")
    assert without_functions["Trees"][6][11] == "Cut on 17 Jun."
    assert not any(cell.startswith("#NAME") for rows in without_functions.values() for row in rows for cell in row)
