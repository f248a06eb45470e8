"""Protected and foreign books in a real Calc, an office that is killed, functions that are removed."""

from __future__ import annotations

import hashlib
from pathlib import Path

import openpyxl
import pytest

from sheetfuncs.hosts.calc.install import remove
from sheetfuncs.recalc import recalculate

from ..conftest import need_an_office
from .office import RunningOffice
from .test_office_files import ANSWERS, DAYS, a_plan, answers_of, equal

pytestmark = pytest.mark.office


def test_a_protected_sheet_opens_alive_and_stays_protected(office: RunningOffice, tmp_path: Path) -> None:
    path = a_plan(tmp_path / "plan.xlsx")
    book = openpyxl.load_workbook(path)
    book["Plan"].protection.set_password("secret")
    book["Plan"].protection.enable()
    book.save(path)
    document = office.open(path=str(path))
    assert equal(office.get(document=document, sheet="Plan", address=ANSWERS), answers_of())
    assert office.is_protected(document=document, sheet="Plan")
    office.close(document=document)


def test_a_book_without_our_functions_is_left_alone(office: RunningOffice, tmp_path: Path) -> None:
    """Its formulas stay as they are, and volatile ones are not started by us."""
    book = openpyxl.Workbook()
    book.active["A1"] = "=SUM(B1:B2)"
    book.active["A2"] = '="LATEST_PRUNE_DATE("&B1&")"'
    book.active["A3"] = "=NOT_OURS(B1)"
    book.save(tmp_path / "other.xlsx")
    document = office.open(path=str(tmp_path / "other.xlsx"))
    assert office.formulas(document=document, sheet=0, address="A1:A3") == [
        ["=SUM(B1:B2)"],
        ['="LATEST_PRUNE_DATE("&B1&")"'],
        ["=not_ours(B1)"],
    ]
    assert not office.modified(document=document)
    office.close(document=document)


def test_killed_while_it_recalculates_the_file_is_whole(fresh_office: RunningOffice, tmp_path: Path) -> None:
    path = a_plan(tmp_path / "plan.xlsx")
    recalculate(path)
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    book = fresh_office.open(path=str(path))
    # Work for a while: 200 climates
    many = [[f"=SHEETFUNCS.CLIMATE_OF($Weather.$A$1:$C${len(DAYS)};\"C\";{8 + row / 1000})"] for row in range(200)]
    fresh_office.put(document=book, sheet="Plan", address="H1:H200", rows=many)
    assert fresh_office.kill_while_recalculating(document=book), "it was ready before it was killed"
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before

    again = RunningOffice(fresh_office.folder)
    try:
        book = again.open(path=str(path))
        assert equal(again.get(document=book, sheet="Plan", address=ANSWERS), answers_of())
    finally:
        again.stop()


def test_removed_the_functions_are_gone(extension: Path, tmp_path: Path) -> None:
    need_an_office()
    running = RunningOffice(tmp_path / "office", extension)
    assert "Added the functions" in running.lines_of_install[0]
    assert "LATEST_PRUNE_DATE" in running.functions()
    running.stop()
    assert "Removed the functions" in remove(running.settings)
    assert "nothing to remove" in remove(running.settings)
    running = RunningOffice(tmp_path / "office")
    try:
        assert "LATEST_PRUNE_DATE" not in running.functions()
    finally:
        running.stop()
