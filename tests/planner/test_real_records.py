"""Real stations in the workbook: typed in as a user would, recalculated in the file, read back."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

import sheetfuncs
from sheetfuncs.planner import build_template
from sheetfuncs.planner.sheets import place, trees, weather
from sheetfuncs.planner.sheets import varieties as kinds
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from .. import records

TABLE = trees.table(12)
ROWS = [(kind, grown_in) for kind in ("early", "middle", "late") for grown_in in trees.GROWN_IN]


def answered(path: Path, record: tuple, season: int) -> dict[str, dict[str, Any]]:
    """Return the values of a blank workbook after a record in °F and six trees in the open were typed in."""
    workbook = openpyxl.load_workbook(build_template(path, trees=TABLE.rows))
    for row, values in enumerate(record, start=weather.DAYS.first_row):
        for column, value in enumerate(values, start=1):
            workbook["Weather"].cell(row, column, value)
    workbook["Place"][f"B{place.ROWS['Season_year']}"] = season
    workbook["Place"][f"B{place.ROWS['Unit']}"] = "F"
    workbook["Place"][f"B{place.ROWS['Day_today']}"] = date(season, 7, 15)
    for row, (kind, grown_in) in enumerate(ROWS, start=TABLE.first_row):
        for key, value in (("tag", f"T-{row}"), ("kind", kind), ("grown_in", grown_in), ("position", "open")):
            workbook["Trees"][f"{TABLE.letter(key)}{row}"] = value
    workbook.save(path)
    done = recalculate(path)
    assert done.errors == 0
    assert not done.checks
    return read_values(path)


def days(values: dict, key: str) -> list[date]:
    cells = [values["Trees"][f"{TABLE.letter(key)}{TABLE.first_row + number}"] for number in range(len(ROWS))]
    return [date(cell.year, cell.month, cell.day) for cell in cells]


#: The seasons of each that are typed in: ninety take a while.
RECORDS = {"chicago": records.chicago, "clemson": lambda: records.clemson(1930, 1960)}


@pytest.mark.parametrize(("name", "season"), [("chicago", 2016), ("clemson", 1961)])
def test_a_station_s_dates_are_those_of_the_functions(name: str, season: int, tmp_path: Path) -> None:
    record = RECORDS[name]()
    values = answered(tmp_path / "book.xlsx", record, season)
    climate = sheetfuncs.climate_of([list(row) for row in record], "F")
    needs = {line["name"]: line["need"] * 1.8 for line in kinds.STANDING}
    assert days(values, "latest") == [sheetfuncs.latest_prune_date(climate, season, needs[kind]) for kind, _ in ROWS]
    first = [date(season, 7, 15)] * len(ROWS)
    assert days(values, "assumed_cut") == first
    chances = [values["Trees"][f"{TABLE.letter('chance')}{TABLE.first_row + number}"] for number in range(len(ROWS))]
    expected = [sheetfuncs.ripen_chance(climate, cut, needs[kind]) for cut, (kind, _) in zip(first, ROWS)]
    assert chances == pytest.approx(expected)
    texts = {value for value in values["Place"].values() if isinstance(value, str)}
    note = sheetfuncs.climate_note(climate)
    # Rows as the sheet numbers them.
    as_sheet = re.sub(r"row (\d+) of the range", lambda row: f"row {int(row[1]) + weather.DAYS.heading_row}", note)
    assert as_sheet in texts
    if name == "clemson":
        assert any("1936-07-18" in line for line in texts), "the impossible low is named"
