"""Answers of several cells in a real Calc, and what happens when something is typed."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import openpyxl
import pytest

from .expected import expected_cell, plain
from .office import RunningOffice
from .test_office_functions import FUNCTIONS_BY_NAME, _as_typed, _serial, put_weather, the_climate

pytestmark = pytest.mark.office


# -- answers of several cells -----------------------------------------------------------------------------


def test_rows_and_columns_come_out_as_array_formulas(office: RunningOffice, book: str) -> None:
    put_weather(office, book)
    cuts = [[_serial(2026, 6, day)] for day in (1, 10, 20)] + [[None], [None]]
    office.put(document=book, sheet=0, address="A1:A5", rows=_as_typed(cuts))
    window = "=SHEETFUNCS.RIPEN_WINDOW($Weather.$E$1;A1:A5;1150)"
    office.put_array(document=book, sheet=0, address="C1:E5", formula=window)
    rows = FUNCTIONS_BY_NAME["ripen_window"].in_cell([the_climate(), cuts[:3], 1150.0])
    assert office.get(document=book, sheet=0, address="C1:E3") == [[plain(cell) for cell in row] for row in rows]
    assert office.get(document=book, sheet=0, address="C4:E5") == [["", "", ""], ["", "", ""]]
    chance = "=SHEETFUNCS.RIPEN_CHANCE($Weather.$E$1;A1:A5;1150)"
    office.put_array(document=book, sheet=0, address="G1:G5", formula=chance)
    column = FUNCTIONS_BY_NAME["ripen_chance"].in_cell([the_climate(), cuts[:3], 1150.0])
    assert office.get(document=book, sheet=0, address="G1:G5") == [*column, [""], [""]]


def test_an_answer_works_inside_the_office_s_own_functions(office: RunningOffice, book: str) -> None:
    call = f"SHEETFUNCS.LATEST_PRUNE_DATE_BY_DAYS({_serial(2026, 9, 20)};75;0)"
    blank, asks = "SHEETFUNCS.LATEST_PRUNE_DATE_BY_DAYS(Z1;Z2)", 'SHEETFUNCS.LATEST_PRUNE_DATE_BY_DAYS("x";75)'
    wanted = {
        f"={call}+1": _serial(2026, 7, 8),
        f"=TEXT({call};\"YYYY-MM-DD\")": "2026-07-07",
        f"=MONTH({call})": 7.0,
        f"=IF({call}>{_serial(2026, 7, 1)};\"late\";\"early\")": "late",
        f"=MAX({call};0)": _serial(2026, 7, 7),
        f"=ISNUMBER({call})+0": 1.0,
        f"=IF({blank}=\"\";\"nothing\";\"something\")": "nothing",
        f"=LEFT({asks};6)": "Check:",
        f"=IFERROR({asks};\"an error\")": expected_cell(FUNCTIONS_BY_NAME["latest_prune_date_by_days"], ["x", 75.0]),
    }
    office.paste(document=book, address=f"A1:A{len(wanted)}", rows=[[formula] for formula in wanted])
    shown = office.get(document=book, sheet=0, address=f"A1:A{len(wanted)}")
    assert {formula: value for formula, [value] in zip(wanted, shown)} == wanted


# -- live -------------------------------------------------------------------------------------------------


def test_a_typed_frost_date_moves_every_tree(office: RunningOffice, book: str) -> None:
    put_weather(office, book)
    office.put(document=book, sheet=0, address="A1", rows=[[_serial(2026, 10, 10)]])
    office.put(document=book, sheet=0, address="A2", rows=[["=SHEETFUNCS.CLIMATE_WITH_FROST($Weather.E1;A1)"]])
    needs = [1100.0, 1150.0, 1200.0]
    formulas = [[f"=SHEETFUNCS.LATEST_PRUNE_DATE($A$2;2026;{need};0.5)"] for need in needs]
    office.put(document=book, sheet=0, address="B1:B3", rows=formulas)
    for day in (_serial(2026, 10, 10), _serial(2026, 9, 28)):
        office.put(document=book, sheet=0, address="A1", rows=[[day]])
        climate = FUNCTIONS_BY_NAME["climate_with_frost"].in_cell([the_climate(), day])
        latest = FUNCTIONS_BY_NAME["latest_prune_date"]
        wanted = [[expected_cell(latest, [climate, 2026.0, need, 0.5])] for need in needs]
        assert office.get(document=book, sheet=0, address="A2") == [[climate]]
        assert office.get(document=book, sheet=0, address="B1:B3") == wanted
        dates = office.get(document=book, sheet=0, address="B1:B3")
    assert all(isinstance(one, float) for [one] in dates)


def test_what_is_typed_is_mended_and_can_be_undone(office: RunningOffice) -> None:
    document = office.open(hidden=False)
    try:
        office.put(document=document, sheet=0, address="A1:A3", rows=[[20.0], [""], [8.0]])
        office.type(document=document, address="B1", text="=heat_units_day(A2;A1;A3)")
        adapted = "=SHEETFUNCS.HEAT_UNITS_DAY(A2:A2;A1:A1;A3:A3)"
        assert office.formulas(document=document, sheet=0, address="B1") == [[adapted]]
        line = expected_cell(FUNCTIONS_BY_NAME["heat_units_day"], [None, 20.0, 8.0])
        assert line.startswith("Check: low is blank")
        assert office.get(document=document, sheet=0, address="B1") == [[line]]
        office.dispatch(document=document, command=".uno:Undo")
        assert office.formulas(document=document, sheet=0, address="B1") == [[""]]
        office.dispatch(document=document, command=".uno:Redo")
        assert office.formulas(document=document, sheet=0, address="B1") == [[adapted]]
        office.dispatch(document=document, command=".uno:GoToCell", ToPoint="B1")
        office.dispatch(document=document, command=".uno:Copy")
        office.dispatch(document=document, command=".uno:GoToCell", ToPoint="C2")
        office.dispatch(document=document, command=".uno:Paste")
        assert office.formulas(document=document, sheet=0, address="C2") == [
            ["=SHEETFUNCS.HEAT_UNITS_DAY(B3:B3;B2:B2;B4:B4)"]
        ]
    finally:
        office.close(document=document)


def test_a_hidden_column_is_filled_down_and_stays_hidden(office: RunningOffice, tmp_path: Path) -> None:
    made = openpyxl.Workbook()
    for row in range(1, 31):
        made.active.append([46325 + row, f"=LATEST_PRUNE_DATE_BY_DAYS(A{row},90,$D$1)"])
    made.active.column_dimensions["B"].hidden = True
    made.save(tmp_path / "hidden.xlsx")
    document = office.open(path=str(tmp_path / "hidden.xlsx"))
    formulas = office.formulas(document=document, sheet=0, address="B1:B30")
    assert formulas == [[f"=SHEETFUNCS.LATEST_PRUNE_DATE_BY_DAYS(A{row};90;$D$1)"] for row in range(1, 31)]
    office.save(document=document, path=str(tmp_path / "saved.xlsx"))
    columns = openpyxl.load_workbook(tmp_path / "saved.xlsx").active.column_dimensions
    assert [columns[letter].hidden for letter in "AB"] == [False, True]


@pytest.mark.parametrize(
    ("command", "selected", "how"),
    [(".uno:FillDown", "B1:B3", {}), (".uno:AutoFill", "B1", {"EndCell": "B3"})],
)
def test_what_is_filled_down_keeps_its_blanks(
    office: RunningOffice, command: str, selected: str, how: dict[str, str]
) -> None:
    document = office.open(hidden=False)
    try:
        office.put(document=document, sheet=0, address="A1:A5", rows=[[2.0], [20.0], [8.0], [""], [5.0]])
        office.type(document=document, address="B1", text="=heat_units_day(A1;A2;A3)")
        office.dispatch(document=document, command=".uno:GoToCell", ToPoint=selected)
        office.dispatch(document=document, command=command, **how)
        assert office.formulas(document=document, sheet=0, address="B1:B3") == [
            [f"=SHEETFUNCS.HEAT_UNITS_DAY(A{row}:A{row};A{row + 1}:A{row + 1};A{row + 2}:A{row + 2})"]
            for row in (1, 2, 3)
        ]
        [[number], [second], [third]] = office.get(document=document, sheet=0, address="B1:B3")
        assert isinstance(number, float)
        assert second.startswith("Check: base is blank")
        assert third.startswith("Check: high is blank")
    finally:
        office.close(document=document)


def test_a_name_or_a_table_cell_that_is_blank_is_a_blank(office: RunningOffice, book: str) -> None:
    """A blank lag means 10 days, also where the formula says ``lag``."""
    put_weather(office, book)
    office.name(document=book, name="lag", content="$Sheet1.$D$1")
    formula = "=latest_prune_date($Weather.$E$1;2026;1150;0.5;lag)"
    office.paste(document=book, address="A1", rows=[[formula]])
    latest = FUNCTIONS_BY_NAME["latest_prune_date"]
    for lag in (None, 0.0, 10.0, 20.0):
        office.put(document=book, sheet=0, address="D1", rows=[["" if lag is None else lag]])
        wanted = expected_cell(latest, [the_climate(), 2026.0, 1150.0, 0.5, lag])
        assert office.get(document=book, sheet=0, address="A1") == [[wanted]]


def test_a_date_that_is_typed_looks_like_one(office: RunningOffice) -> None:
    document = office.open(hidden=False)
    try:
        office.put(document=document, sheet=0, address="A1", rows=[[_serial(2026, 6, 1)]])
        wanted = FUNCTIONS_BY_NAME["latest_prune_date_by_days"].in_cell([date(2026, 9, 20), 75])
        office.type(document=document, address="B1", text="=latest_prune_date_by_days(DATE(2026;9;20);75)")
        office.type(document=document, address="B2", text="=latest_prune_date_by_days(DATE(2026;9;20);75)+0")
        office.type(document=document, address="B3", text="=heat_units_day(10;20;5)")
        [[shown], [plain_sum], [heat]] = office.shown(document=document, sheet=0, address="B1:B3")
        assert not shown.isdigit()
        assert f"{wanted:%y}" in shown
        assert f"{wanted:%d}" in shown
        assert float(plain_sum) == _serial(wanted.year, wanted.month, wanted.day)
        assert float(heat) == FUNCTIONS_BY_NAME["heat_units_day"].in_cell([10, 20, 5])
    finally:
        office.close(document=document)
