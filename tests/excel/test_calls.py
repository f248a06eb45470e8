"""Calls through xlwings' own conversion give what the functions give: values, dates, ``Check:`` lines, shapes."""

from __future__ import annotations

import subprocess
import sys
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import pytest

from sheetfuncs.cells.dates import EPOCH_1900, EPOCH_1904, to_serial
from sheetfuncs.cells.errors import CellFault
from sheetfuncs.functions.declare import WHOLE_COLUMN, Function
from sheetfuncs.functions.examples import valley_days

from .samples import FUNCTIONS, NAMES, sample
from .windows import MISSING, MODULE, FakeBook, FakeRange, com_time

NOT_AVAILABLE = -2146826246
BY_NAME = {function.worksheet_name: function for function in FUNCTIONS}
every_function = pytest.mark.parametrize("function", FUNCTIONS, ids=NAMES)


def as_com(cell: Any, dates: str = "datetime") -> Any:
    """Return a cell as Excel hands it to Python."""
    if isinstance(cell, CellFault):
        return NOT_AVAILABLE
    if isinstance(cell, date):
        return com_time(datetime(cell.year, cell.month, cell.day)) if dates == "datetime" else to_serial(cell)
    return float(cell) if type(cell) is int else cell


def as_range(cells: Any, dates: str = "datetime") -> FakeRange:
    """Return cells as a range; a single one as a range of one cell."""
    rows = cells if isinstance(cells, list) else [[cells]]
    return FakeRange([[as_com(cell, dates) for cell in row] for row in rows])


def as_constant(cells: Any, dates: str = "float") -> Any:
    """Return cells as Excel passes what no range holds: a computed value, an array constant."""
    if not isinstance(cells, list):
        return as_com(cells, dates)
    rows = tuple(tuple(as_com(cell, dates) for cell in row) for row in cells)
    return rows[0] if len(rows) == 1 else rows


def plain(answer: Any) -> Any:
    """Return what Excel was given in the form of the declarations: dates, ``None`` for blank, rows."""
    if isinstance(answer, datetime):
        assert (answer.hour, answer.minute, answer.utcoffset().total_seconds()) == (0, 0, 0)
        return answer.date()
    if isinstance(answer, list):
        return [[plain(cell) for cell in row] for row in (answer if isinstance(answer[0], list) else [answer])]
    assert answer is not None, "Excel shows nothing as 0"
    return None if answer == "" else answer


def wanted_of(function: Function, cells: Any) -> Any:
    """Return the declaration's own answer, one row of one cell as that cell."""
    answer = function.in_cell(list(cells))
    return answer[0][0] if isinstance(answer, list) and len(answer) == 1 and len(answer[0]) == 1 else answer


@every_function
@pytest.mark.parametrize("dates", ["datetime", "float"])
def test_ranges_and_computed_values_give_the_same_as_the_declaration(excel, function, dates):
    cells = sample(function)
    wanted = wanted_of(function, cells)
    assert wanted is not None
    assert not str(wanted).startswith("Check:")
    assert plain(excel.call(function.worksheet_name, *(as_range(cell, dates) for cell in cells))) == wanted
    assert plain(excel.call(function.worksheet_name, *(as_constant(cell, dates) for cell in cells))) == wanted


@every_function
def test_left_out_arguments_and_blank_cells_are_blank(excel, function):
    cells = sample(function)
    rest = len(function.parameters) - len(cells)
    wanted = wanted_of(function, cells)
    assert plain(excel.call(function.worksheet_name, *map(as_range, cells), *[MISSING] * rest)) == wanted
    assert plain(excel.call(function.worksheet_name, *map(as_range, cells), *[FakeRange([[None]])] * rest)) == wanted
    nothing = len(function.parameters)
    for blank in (MISSING, FakeRange([[None]]), FakeRange([[""]])):
        assert plain(excel.call(function.worksheet_name, *[blank] * nothing)) == wanted_of(function, [None] * nothing)
    blanks = [[[None], [None]]] * nothing
    assert plain(excel.call(function.worksheet_name, *map(as_range, blanks))) == wanted_of(function, blanks)


@every_function
def test_every_bad_argument_gives_the_declaration_s_own_line(excel, function):
    cells = list(sample(function))
    for index in range(len(cells)):
        for bad in (None, CellFault("#N/A"), "Check: nothing", True, 1e300, "\N{SNOWMAN}"):
            given = [*cells[:index], bad, *cells[index + 1 :]]
            wanted = wanted_of(function, given)
            answers = [
                excel.call(function.worksheet_name, *map(as_range, given)),
                excel.call(function.worksheet_name, *map(as_constant, given)),
            ]
            assert [plain(answer) for answer in answers] == [wanted, wanted], (function.parameters[index].name, bad)
        if function.parameters[index].required:
            line = str(wanted_of(function, [*cells[:index], CellFault("#N/A"), *cells[index + 1 :]]))
            assert line.startswith("Check:")


@every_function
def test_one_call_answers_a_whole_column(excel, function):
    cells = sample(function)
    single = [not parameter.kind.many for parameter in function.parameters[: len(cells)]]
    if not any(single) or function.shape == "column":
        pytest.skip("takes columns by itself")
    wanted = wanted_of(function, cells)
    line = wanted[0] if isinstance(wanted, list) else [wanted]
    columns = [FakeRange([[as_com(cell)]] * 3) if one else as_range(cell) for cell, one in zip(cells, single)]
    assert plain(excel.call(function.worksheet_name, *columns)) == [line] * 3
    for index, one in enumerate(single):
        if one:
            mixed = [as_range(cell) for cell in cells]
            mixed[index] = columns[index]
            assert plain(excel.call(function.worksheet_name, *mixed)) == [line] * 3
            if function.shape == "cell":
                mixed[index] = FakeRange([[as_com(cells[index])] * 3])
                assert plain(excel.call(function.worksheet_name, *mixed)) == [line] * 3


def test_a_column_s_answer_is_as_long_as_the_column_and_blank_where_it_is_blank(excel):
    days = FakeRange([[com_time(datetime(2026, 10, 30))], [None], ["soon"], [NOT_AVAILABLE], [None], [None]])
    lasting = FakeRange([[90.0], [None], [90.0], [90.0], [None], [None]])
    assert plain(excel.call("LATEST_PRUNE_DATE_BY_DAYS", days, lasting, 14.0)) == [
        [date(2026, 7, 18)],
        [None],
        ['Check: frost date is "soon", wanted a date such as 2026-07-01'],
        ["Check: frost date is an error (#N/A), wanted a date such as 2026-07-01"],
        [None],
        [None],
    ]


def test_a_row_s_answer_over_a_column_is_as_wide_in_its_blank_lines(excel):
    function = BY_NAME["RIPEN_WINDOW"]
    climate, cut, need = sample(function)
    answer = excel.call("RIPEN_WINDOW", climate, FakeRange([[as_com(cut)], [None], [None]]), need)
    assert plain(answer) == [list(wanted_of(function, sample(function))[0]), [None] * 3, [None] * 3]


def test_columns_of_different_lengths_and_a_table_for_one_value_say_so(excel):
    table = FakeRange([[1.0, 2.0], [3.0, 4.0]])
    assert excel.call("HEAT_UNITS_DAY", table, 20.0, 8.0) == "Check: low has 2 columns, wanted one column or one row"


def test_a_whole_sheet_column_is_answered_as_far_as_it_is_filled(excel):
    rows = [[10.0], [12.0]] + [[None]] * (WHOLE_COLUMN - 2)
    assert excel.call("HEAT_UNITS_DAY", FakeRange(rows), 20.0, 8.0) == [[7.0], [8.0]]
    assert excel.call("CROP_WEIGHT", *[FakeRange([[None]] * WHOLE_COLUMN)] * 3) == ""


def test_money_and_error_codes_of_newer_excels_are_read(excel):
    assert excel.call("CROP_WEIGHT", 8.0, FakeRange([[Decimal("12")]]), 45.0) == pytest.approx(4.32)
    for code, text in ((-2146826243, "#SPILL!"), (-2146826238, "#CALC!"), (-2146826230, "#ERROR!")):
        for given in (code, FakeRange([[code]])):
            assert f"an error ({text})" in excel.call("CROP_WEIGHT", given, 12.0, 45.0)


def test_numbers_above_all_stay_numbers(excel):
    from sheetfuncs.hosts.excel.values import from_excel

    for number in (0, 2042, -2146826246.0, True, 1e9):
        assert from_excel(number) == number
        assert type(from_excel(number)) is type(number)


def test_a_workbook_of_the_1904_calendar_is_read_and_answered_in_it(excel):
    book = FakeBook(date_1904=True)
    day = date(2026, 10, 30)
    serial = to_serial(day, EPOCH_1904)
    for given in (serial, FakeRange([[serial]]), FakeRange([[as_com(day)]])):
        answer = excel.call("LATEST_PRUNE_DATE_BY_DAYS", given, 90.0, 14.0, book=book)
        assert answer == to_serial(date(2026, 7, 18), EPOCH_1904)
    answer = excel.call("LATEST_PRUNE_DATE_BY_DAYS", to_serial(day, EPOCH_1900), 90.0, 14.0)
    assert plain(answer) == date(2026, 7, 18)


def test_a_record_of_ten_years_gives_the_climate_that_other_hosts_give(excel):
    days = [list(row) for row in valley_days()]
    wanted = BY_NAME["CLIMATE_OF"].in_cell([[[to_serial(day), low, high] for day, low, high in days]])
    headed = [["date", "low", "high"], *days, [None] * 3]
    for rows, dates in ((days, "datetime"), (days, "float"), (headed, "datetime")):
        assert excel.call("CLIMATE_OF", as_range(rows, dates)) == wanted
    assert excel.call("CLIMATE_NOTE", wanted).startswith("10 seasons 2016–2025; 3,653 days")


def test_type_hints_do_not_get_between(excel):
    for name in NAMES:
        function = getattr(excel.functions, name)
        assert not function.__annotations__
        assert "convert" not in function.__xlfunc__["ret"]["options"]
        assert all("convert" not in argument["options"] for argument in function.__xlfunc__["args"])


def test_the_module_that_excel_waits_for_needs_no_workbook_engine():
    heavy = "('formualizer', 'openpyxl', 'click')"
    script = f"import sys, {MODULE}; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
