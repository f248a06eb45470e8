"""A 0 where 0 is no value, and TRUE where a number is wanted: one line, the same in every host."""

from __future__ import annotations

import itertools
import math
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner

import sheetfuncs
from sheetfuncs.cells.dates import EPOCH_1900, to_serial
from sheetfuncs.cli.app import app
from sheetfuncs.cli.function_commands import option_name
from sheetfuncs.functions.declare import Function
from sheetfuncs.functions.examples import VALLEY_NORMALS
from sheetfuncs.hosts.calc.names import reads_zero_as_blank
from sheetfuncs.hosts.calc.values import answer as in_calc
from sheetfuncs.hosts.excel.values import in_excel
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_sheet

from .hard_use.arguments import FUNCTIONS, again_on_the_shelf
from .hard_use.test_every_argument import good

#: Kinds that a TRUE fits: words of any sort, and yes or no.
_TAKES_TRUE = {"yes or no", "text", "name"}


def _cases() -> list[tuple[str, str, Any]]:
    return [
        (function.name, parameter.name, odd)
        for function, odd in itertools.product(FUNCTIONS.values(), (0.0, True))
        for parameter in function.parameters
        if not parameter.kind.many
        and (parameter.kind.zero_is_no_value if odd is not True else parameter.kind.name not in _TAKES_TRUE)
    ]


CASES = _cases()


@pytest.fixture(autouse=True)
def _climates_are_held() -> None:
    """Make the climates again that other tests have pushed off the shelf."""
    again_on_the_shelf()


def _call(function: Function, name: str, odd: Any) -> list[Any]:
    return [odd if parameter.name == name else good(parameter) for parameter in function.parameters]


def _line(name: str, cells: list[Any]) -> str:
    with pytest.raises(sheetfuncs.InputError) as caught:
        getattr(sheetfuncs, name)(*cells)
    return str(caught.value)


def test_every_kind_of_argument_is_among_them() -> None:
    names = {name for _, name, odd in CASES if odd == 0.0 and odd is not True}
    assert {"chance", "season", "heat_need", "cut_date", "method", "climate", "unit", "last_seasons"} <= names
    assert len(CASES) > 150


@pytest.mark.parametrize(("name", "parameter", "odd"), CASES)
def test_the_line_is_the_same_in_python_calc_and_excel(name: str, parameter: str, odd: Any) -> None:
    function = FUNCTIONS[name]
    cells = _call(function, parameter, odd)
    line = _line(name, cells)
    shown = "TRUE" if odd is True else "0"
    declared = next(one for one in function.parameters if one.name == parameter)
    assert line.startswith(f"Check: {declared.label} is {shown}, wanted ")
    assert in_excel(function, cells) == line
    if odd is not True:  # which Calc hands over as 1
        in_one_cell = in_calc(function, [_for_calc(cell) for cell in cells], EPOCH_1900)[0][0]
        if reads_zero_as_blank(declared):
            wanted = declared.kind.name
            assert in_one_cell in ("", f"Check: {declared.label} is blank, wanted {wanted}"), "0 is a blank cell there"
        else:
            assert in_one_cell == line


def _for_calc(cell: Any) -> Any:
    if isinstance(cell, list):
        return tuple(tuple(map(_for_calc, row)) for row in cell)
    return "" if cell is None else to_serial(cell) if hasattr(cell, "year") else cell


def test_the_command_line_says_the_same(tmp_path: Path) -> None:
    """Each case as a command of its own, its climate made from monthly normals."""
    weather = tmp_path / "normals.csv"
    weather.write_text("\n".join(["month,low,high", *(",".join(map(str, row)) for row in VALLEY_NORMALS)]))
    climate = ["--weather", str(weather), "--frost", "2025-10-10"]
    count = 0
    for name, parameter, odd in CASES:
        function = FUNCTIONS[name]
        if parameter == "climate" or name == "climate_of":  # which come from files and options of their own
            continue
        cells = _call(function, parameter, odd)
        options = climate if function.parameters[0].name == "climate" else []
        for one, cell in zip(function.parameters, cells):
            if one.name != "climate" and cell is not None:
                options = [*options, option_name(one.name), _typed(cell)]
        error = CliRunner().invoke(app, [function.command_name, *options]).exception
        assert str(error) == _line(name, cells), (name, parameter, odd)
        count += 1
    assert count > 140


def _typed(cell: Any) -> str:
    if isinstance(cell, list):
        return ",".join(_typed(row[0]) for row in cell)
    return "" if cell is None else f"{cell:g}" if type(cell) is float else str(cell)


def test_a_recalculated_file_shows_the_same(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    normals = book.create_sheet("Normals")
    for row in VALLEY_NORMALS:
        normals.append(row)
    normals["E1"] = "=CLIMATE_WITH_FROST(CLIMATE_OF(A1:C12),DATE(2025,10,10))"
    for row, (name, parameter, odd) in enumerate(CASES, start=1):
        texts = []
        for index, cell in enumerate(_call(FUNCTIONS[name], parameter, odd)):
            if FUNCTIONS[name].parameters[index].name == "climate" and cell is not odd:
                texts.append("Normals!E1")
                continue
            rows = cell if isinstance(cell, list) else [[cell]]
            if FUNCTIONS[name].parameters[index].name == "weather":
                texts.append("Normals!A1:C12")
                continue
            for down, [one] in enumerate(rows):
                sheet.cell(row, 2 + 2 * index + down, one)
            first, last = sheet.cell(row, 2 + 2 * index), sheet.cell(row, 1 + 2 * index + len(rows))
            texts.append(f"{first.coordinate}:{last.coordinate}" if len(rows) > 1 else first.coordinate)
        sheet.cell(row, 1, f"=INDEX({name.upper()}({','.join(texts)}),1,1)")
    path = tmp_path / "book.xlsx"
    book.save(path)
    recalculate(path)
    shown = read_sheet(path, sheet.title)
    for row, (name, parameter, odd) in enumerate(CASES, start=1):
        assert shown[f"A{row}"] == _line(name, _call(FUNCTIONS[name], parameter, odd)), (name, parameter, odd)


def test_a_nought_has_no_sign() -> None:
    assert math.copysign(1, FUNCTIONS["crop_weight"].in_cell([0.0, -0.0, 0.0, 0.0])) == 1
