"""A recalculation in an office without the functions: no line that is not so, and one with what to do."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook

from sheetfuncs.planner.sheets.start import LOADED

from .office import RunningOffice

pytestmark = pytest.mark.office


def test_start_passes_on_why_a_function_gives_no_answer(office: RunningOffice, tmp_path: Path) -> None:
    made = Workbook()
    made.active["A1"] = LOADED
    made.active["A2"] = LOADED.replace("DATE(2026,10,30)", '"soon"')
    made.save(tmp_path / "loaded.xlsx")
    document = office.open(path=str(tmp_path / "loaded.xlsx"))
    assert office.shown(document=document, sheet=0, address="A1:A2") == [
        ["Yes, they answer."], ['No: frost date is "soon", wanted a date such as 2026-07-01'],
    ]  # fmt: skip


def test_after_a_recalculation_no_line_is_untrue_and_one_names_what_to_do(
    plain_office: RunningOffice, demo_with_answers: Path
) -> None:
    document = plain_office.open(path=str(demo_with_answers))
    plain_office.recalculate(document=document, hard=True)

    def shown(sheet: str, area: str) -> list[list[str]]:
        return plain_office.shown(document=document, sheet=sheet, address=area)

    [[line]] = shown("Start", "A4")
    assert line.startswith("What is below is old or missing. To have answers: ")
    assert "sheetfuncs recalc BOOK" in line
    counted = {label: value for label, value in shown("Start", "A7:B40") if label}
    assert counted["Are the functions loaded?"].startswith("No: ")
    assert {counted[label] for label in ("Cut now", "Late", "Not this year", "Visits to come", "Next visit")} == {""}
    rounds = {row[0]: row[4] for row in shown("Rounds", "A10:E16") if row[0]}
    assert [rounds[label] for label in ("Trees in the rounds", "Visits", "Trees no day has room for")] == [""] * 3
    for sheet in plain_office.sheets(document=document):
        if sheet not in ("Start", "Weather"):
            assert shown(sheet, "A2")[0][0].startswith("The functions do not answer in this program"), sheet
