"""The functions in a real Calc: what it lists, and what its cells show, against the declarations."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import Any

import pytest

from sheetfuncs import all_functions
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.functions.declare import Function, Parameter
from sheetfuncs.functions.examples import valley_days
from sheetfuncs.hosts.calc.declarations import argument_help

from .expected import expected_cell, same
from .office import RunningOffice

pytestmark = pytest.mark.office

FUNCTIONS = all_functions()
FUNCTIONS_BY_NAME = {function.name: function for function in FUNCTIONS}
ADD_IN = 11  # com.sun.star.sheet.FunctionCategory.ADDINS
WEATHER = [[to_serial(day), low, high] for day, low, high in valley_days()[: 7 * 365 + 2]]
WEATHER_RANGE = f"$Weather.$A$1:$C${len(WEATHER)}"
ESTIMATES = [[0.1, to_serial(date(2026, 9, 25))], [0.5, to_serial(date(2026, 10, 10))]]
COLUMNS = max(len(function.parameters) for function in FUNCTIONS)
TRUE, FALSE, NOT_AVAILABLE = "=TRUE()", "=FALSE()", "=NA()"


def _serial(year: int, month: int, day: int) -> float:
    return to_serial(date(year, month, day))


#: A fitting value for each kind; a name that needs another has its own.
FITTING = {
    "date": _serial(2026, 6, 15), "season": 2026.0, "chance": 0.5, "heat units": 1150.0, "days": 12.0, "count": 7.0,
    "temperature": 9.0, "temperature change": 1.5, "temperature or off": 30.0, "share": 0.7, "number": 3.0,
    "grams": 45.0, "kilograms": 2.0, "yes or no": "yes", "method": "sine", "cut-off": "horizontal", "unit": "C",
    "hemisphere": "north", "rule": "normal", "text": "words", "seasons": 3.0, "minutes": 300.0,
    "look": "early", "name": "brown", "weekdays": "Mon-Sat", "container or ground": "container", "lines": 4.0,
    "edition": 1.0,
    "column of name": [["wall"], ["tunnel"], ["hollow"]],
    "rows of date, low, high": WEATHER, "one date, or rows of chance and date": ESTIMATES,
    "column of date": [[_serial(2026, 6, 1)], [_serial(2026, 6, 8)], [_serial(2026, 6, 20)]],
    "column of heat units": [[1150.0], [1200.0], [1300.0]],
    "column of kilograms": [[1.0], [2.5], [0.5]], "column of number": [[5.0], [5.0], [9.0]],
    "column of minutes": [[20.0], [35.0], [10.0]],
    "column of names, blanks allowed": [["brown"], ["brown"], ["white"]],
}  # fmt: skip
FITTING_BY_NAME = {
    "high": 24.0, "ceiling": 36.0, "next_low": 10.0, "frost_at": 0.0, "stall_at": 12.0, "base": 8.0,
    "end": _serial(2026, 8, 1), "frost_date": _serial(2026, 10, 10), "latest_set_date": _serial(2026, 7, 1),
    "latest_date": _serial(2026, 6, 25), "ready_from": _serial(2026, 6, 10), "days_per_leaf": 3.7,
    "days_per_node": 3.7, "lag_days": 10.0, "limit": -2.0, "at": -1.0, "kept_share": 0.9,
    "earliest": _serial(2026, 6, 1), "latest": _serial(2026, 7, 10), "season_end": _serial(2026, 10, 20),
    "cut_on": None, "need_spread": 0.06,
    "column latest": [[_serial(2026, 6, 20)], [_serial(2026, 6, 25)], [_serial(2026, 7, 9)]],
    "cut_dates": [[_serial(2018, 6, 1)], [_serial(2018, 6, 8)], [_serial(2018, 6, 20)]],
    "seen_dates": [[_serial(2018, 6, 11)], [None], [_serial(2018, 7, 2)]],
    "ripe_dates": [[_serial(2018, 9, 1)], [_serial(2018, 9, 8)], [_serial(2018, 9, 20)]],
}  # fmt: skip

#: What a user may have in a cell: values, and formulas with what they give.
ODD = {
    "a blank": None,
    "an empty text": ("=\"\"", ""),
    "spaces": "   ",
    "words": "next week",
    "a number as text": "'12",
    "a date as text": "'2026-06-20",
    "a doubtful date": "'4/5/2026",
    "a date": _serial(2026, 7, 1),
    "zero": 0.0,
    "minus five": -5.0,
    "a fraction": 0.25,
    "a year": 2026.0,
    "a large number": 123456789.0,
    "true": (TRUE, True),
    "false": (FALSE, False),
    "a line that asks": "Check: no date yet",
}


@lru_cache(maxsize=1)
def the_climate() -> str:
    """Return the text of the climate, made in this process from the same rows as in the office."""
    text = FUNCTIONS_BY_NAME["climate_of"].in_cell([WEATHER])
    assert "Check" not in text
    return text


def fitting(parameter: Parameter) -> Any:
    """Return a value that an argument takes."""
    for name in (f"column {parameter.name}", parameter.name):
        if name in FITTING_BY_NAME and isinstance(FITTING_BY_NAME[name], list) == parameter.kind.many:
            return FITTING_BY_NAME[name]
    if parameter.kind.name in ("climate", "climate, or column of climates"):
        return the_climate()
    assert parameter.kind.name in FITTING, f"{parameter.name}: say what fits a {parameter.kind.name}"
    return FITTING[parameter.kind.name]


class Sheet:
    """Lines of arguments in cells, a formula for each line, and what each must show."""

    def __init__(self) -> None:
        self.cells: list[list[Any]] = []
        self.formulas: list[str] = []
        self.wanted: list[Any] = []
        self.about: list[str] = []

    def add(self, about: str, function: Function, arguments: list[tuple[Any, str | None, Any]]) -> None:
        """Add a line: for each argument what its cell holds, its own text in the formula, and its value."""
        row = len(self.cells) + 1
        own = [f"{chr(66 + index)}{row}" for index in range(len(arguments))]
        texts = [cell if text is None else text for cell, (_, text, _) in zip(own, arguments)]
        while texts and texts[-1] == "":
            texts.pop()
        self.cells.append([cell for cell, _, _ in arguments] + [None] * (COLUMNS - len(arguments)))
        self.formulas.append(f"={function.worksheet_name}({';'.join(texts)})")
        self.wanted.append(expected_cell(function, [value for _, _, value in arguments]))
        self.about.append(f"{function.worksheet_name}, {about}")

    def check(self, office: RunningOffice, book: str, pasted: bool = True) -> None:
        """Put all lines into the office, read the answers, and compare."""
        size = len(self.cells)
        put_weather(office, book)
        office.put(document=book, sheet=0, address=f"B1:{chr(65 + COLUMNS)}{size}", rows=_as_typed(self.cells))
        lines = [[text] for text in self.formulas]
        if pasted:  # as a user puts them
            office.paste(document=book, address=f"A1:A{size}", rows=lines)
        else:
            office.put(document=book, sheet=0, address=f"A1:A{size}", rows=lines)
        shown = office.get(document=book, sheet=0, address=f"A1:A{size}")
        wrong = [
            f"{about}: shows {value!r}, wanted {wanted!r}"
            for about, [value], wanted in zip(self.about, shown, self.wanted)
            if not same(value, wanted)
        ]
        assert not wrong, f"{len(wrong)} of {size}:\n" + "\n".join(wrong[:25])


def put_weather(office: RunningOffice, book: str) -> None:
    """Put the record on a sheet of its own, and the climate into the process of the office."""
    office.add_sheet(document=book, name="Weather")
    office.put(document=book, sheet="Weather", address=f"A1:C{len(WEATHER)}", rows=WEATHER)
    office.put(document=book, sheet="Weather", address="E1", rows=[[f"=SHEETFUNCS.CLIMATE_OF({WEATHER_RANGE})"]])
    assert office.get(document=book, sheet="Weather", address="E1") == [[the_climate()]]
    office.put(document=book, sheet="Weather", address="G1:H2", rows=ESTIMATES)


def _as_typed(rows: list[list[Any]]) -> list[list[Any]]:
    return [["" if cell is None else cell for cell in row] for row in rows]


def argument(parameter: Parameter) -> tuple[Any, str | None, Any]:
    """Return a fitting argument as :meth:`Sheet.add` takes it; ranges stand in the formula as arrays."""
    value = fitting(parameter)
    if value is WEATHER:
        return None, WEATHER_RANGE, WEATHER
    if isinstance(value, list):
        return None, "{" + "|".join(";".join(map(_in_an_array, row)) for row in value) + "}", value
    return value, None, value


def _in_an_array(cell: Any) -> str:
    return f"{cell:g}" if isinstance(cell, float) else f'"{cell or ""}"'


# -- what Calc lists --------------------------------------------------------------------------------------


def test_calc_lists_every_function_with_its_help(office: RunningOffice) -> None:
    listed = office.functions()
    for function in FUNCTIONS:
        about = listed[function.worksheet_name]
        assert about["category"] == ADD_IN
        assert about["help"] == function.summary
        assert about["arguments"] == [
            [parameter.name, argument_help(parameter), not parameter.required] for parameter in function.parameters
        ]


def test_the_help_of_an_argument_tells_what_a_blank_means() -> None:
    function = FUNCTIONS_BY_NAME["latest_prune_date"]
    helps = {parameter.name: argument_help(parameter) for parameter in function.parameters}
    assert helps["chance"].endswith("(blank: 0.8)")
    assert "blank" not in helps["season"]


# -- what its cells show ----------------------------------------------------------------------------------


def test_fitting_arguments_give_the_same_answers(office: RunningOffice, book: str) -> None:
    sheet = Sheet()
    for function in FUNCTIONS:
        arguments = [argument(parameter) for parameter in function.parameters]
        if function.name == "look_back_on":  # on a season that is over
            arguments[1] = (2021.0, None, 2021.0)
        sheet.add("all arguments", function, arguments)
        for one, parameter in zip(range(len(arguments)), function.parameters):
            if not parameter.required:
                arguments[one] = (None, "", None)
        sheet.add("the required arguments", function, arguments)
    sheet.check(office, book)
    failed = [about for about, wanted in zip(sheet.about, sheet.wanted) if str(wanted).startswith("Check:")]
    assert not [about for about in failed if about.endswith("all arguments")], f"no fitting arguments for {failed}"


def test_every_odd_cell_in_every_argument_gives_the_same_line(office: RunningOffice, book: str) -> None:
    sheet = Sheet()
    for function in FUNCTIONS:
        good = [argument(parameter) for parameter in function.parameters]
        for index, parameter in enumerate(function.parameters):
            for about, odd in ODD.items():
                cell, value = odd if isinstance(odd, tuple) else (odd, odd)
                if isinstance(value, str) and value.startswith("'"):
                    value = value[1:]
                arguments = [*good[:index], (cell, None, value), *good[index + 1:]]
                sheet.add(f"{about} for {parameter.name}", function, arguments)
            # Left out between two semicolons; an argument that is needed Calc itself asks for.
            if parameter.required:
                continue
            sheet.add(f"nothing for {parameter.name}", function, [*good[:index], (None, "", None), *good[index + 1:]])
    assert len(sheet.cells) > 1500
    sheet.check(office, book)


def test_typed_values_are_read_like_cells(office: RunningOffice, book: str) -> None:
    """A 0 typed into the formula is a 0, not a blank."""
    sheet = Sheet()
    for function in FUNCTIONS:
        good = [argument(parameter) for parameter in function.parameters]
        for index, parameter in enumerate(function.parameters):
            for text, value in (("0", 0.0), ('"words"', "words"), ("2-4", -2.0), ('""', "")):
                arguments = [*good[:index], (None, text, value), *good[index + 1:]]
                sheet.add(f"{text} for {parameter.name}", function, arguments)
    sheet.check(office, book)


def test_a_range_where_one_cell_is_wanted_gives_a_line_or_a_column(office: RunningOffice, book: str) -> None:
    sheet = Sheet()
    for function in FUNCTIONS:
        good = [argument(parameter) for parameter in function.parameters]
        for index, parameter in enumerate(function.parameters):
            for text, value in (
                ("{1;2;3|4;5;6}", [[1.0, 2.0, 3.0], [4.0, 5.0, 6.0]]),
                ("$Weather.$M$1:$N$9", [[None, None]] * 9),
                ("$Weather.$G$1:$G$2", [[0.1], [0.5]]),
                ("$Weather.$G$1:$G$500", [[0.1], [0.5], *[[None]] * 498]),
            ):
                arguments = [*good[:index], (None, text, value), *good[index + 1:]]
                sheet.add(f"{text} for {parameter.name}", function, arguments)
    sheet.check(office, book)


def test_a_whole_column_is_read_to_its_last_filled_cell(office: RunningOffice, book: str) -> None:
    """A million rows each: a few, as the tall column above goes through every argument."""
    sheet = Sheet()
    places = (("latest_prune_date", 0), ("latest_prune_date", 3), ("heat_units_day", 4), ("picking_by_week", 2))
    for name, index in places:
        function = FUNCTIONS_BY_NAME[name]
        good = [argument(parameter) for parameter in function.parameters]
        column = (None, "$Weather.$G$1:$G$1048576", [[0.1], [0.5], *[[None]] * 70_000])
        arguments = [*good[:index], column, *good[index + 1 :]]
        sheet.add(f"a whole column for argument {index + 1}", function, arguments)
    sheet.check(office, book, pasted=False)


def test_whole_columns_of_weather_give_the_same_climate(office: RunningOffice, book: str) -> None:
    put_weather(office, book)
    office.put(document=book, sheet=0, address="A1", rows=[["=SHEETFUNCS.CLIMATE_OF($Weather.$A$1:$C$1048576)"]])
    assert office.get(document=book, sheet=0, address="A1") == [[the_climate()]]


def test_an_error_in_any_argument_stays_an_error(office: RunningOffice, book: str) -> None:
    """Calc does not call a function with an error: the error goes on, as it does through Calc's own functions."""
    put_weather(office, book)
    office.put(document=book, sheet=0, address="B1", rows=[[NOT_AVAILABLE]])
    lines, about = [], []
    for function in FUNCTIONS:
        good = [argument(parameter) for parameter in function.parameters]
        texts = [text or (f'"{value}"' if isinstance(value, str) else f"{value or 0:g}") for value, text, _ in good]
        for index, parameter in enumerate(function.parameters):
            wrong = [*texts[:index], "B1", *texts[index + 1:]]
            lines.append([f"={function.worksheet_name}({';'.join(wrong)})"])
            about.append(f"{function.worksheet_name}, {parameter.name}")
    office.paste(document=book, address=f"A1:A{len(lines)}", rows=lines)
    shown = office.get(document=book, sheet=0, address=f"A1:A{len(lines)}")
    for where, [value] in zip(about, shown):
        assert isinstance(value, dict), f"{where}: {value!r}"
        # a range with an error in it is an error in the list of arguments for Calc
        assert value["shown"] in ("#N/A", "Err:504"), f"{where}: {value}"
