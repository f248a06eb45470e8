"""The filled workbook in a real Calc: with the functions the same answers, without them the stored ones."""

from __future__ import annotations

import csv
import os
import subprocess
from pathlib import Path

import pytest

from sheetfuncs.hosts.calc.build import build_extension
from sheetfuncs.hosts.calc.install import find_office, install
from sheetfuncs.planner import build_demo
from sheetfuncs.recalc import recalculate

from ..calc.office import what_is_missing

pytestmark = [
    pytest.mark.office,
    pytest.mark.skipif(bool(what_is_missing()) and not os.environ.get("CI"), reason=what_is_missing()),
]
# Comma, double quote, UTF-8, contents as shown, every sheet to a file of its own.
TABLES = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"


def sheets(book: Path, folder: Path, settings: list[str]) -> dict[str, list[list[str]]]:
    """Return what an office shows on each sheet of a workbook."""
    office = find_office()
    subprocess.run(
        [str(office.soffice), *settings, "--headless", "--convert-to", TABLES, "--outdir", str(folder), str(book)],
        check=True, capture_output=True, timeout=300,
    )  # fmt: skip
    shown = {}
    for path in folder.glob("*.csv"):
        with path.open(encoding="utf-8") as lines:
            shown[path.stem.rsplit("-", 1)[1]] = list(csv.reader(lines))
    return shown


def settings(folder: Path) -> list[str]:
    return [
        f"-env:UserInstallation={(folder / 'profile').as_uri()}",
        f"-env:UNO_SHARED_PACKAGES_CACHE={(folder / 'shared').as_uri()}",
    ]


@pytest.fixture(scope="module")
def without_functions(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[list[str]]]:
    folder = tmp_path_factory.mktemp("without")
    return sheets(build_demo(folder / "demo.xlsx", recalculate=recalculate), folder, settings(folder))


def test_calc_answers_as_the_headless_recalculation_does(without_functions: dict, tmp_path: Path) -> None:
    install(build_extension(tmp_path / "sheetfuncs.oxt"), settings(tmp_path))
    with_functions = sheets(build_demo(tmp_path / "demo.xlsx"), tmp_path, settings(tmp_path))  # formulas, no answers
    assert with_functions["Start"][5][1] == "Yes, they answer."
    assert with_functions["Trees"][6][11] == "Cut on 17 Jun."
    assert with_functions.keys() == without_functions.keys()
    for name in with_functions.keys() - {"Start"}:
        assert with_functions[name] == without_functions[name], name


def test_without_the_functions_the_stored_answers_stay_and_start_says_so(without_functions: dict) -> None:
    assert without_functions["Start"][5][1].startswith("No: this program does not know them yet.")
    assert without_functions["Trees"][6][11] == "Cut on 17 Jun."
    assert not any(cell.startswith("#NAME") for rows in without_functions.values() for row in rows for cell in row)
