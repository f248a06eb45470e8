"""The workbooks as openpyxl reads them, and an engine that answers it, independent of the hosts."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from types import MappingProxyType
from typing import Any, Callable, Iterator, Mapping

import formualizer
import openpyxl
import pytest

from sheetfuncs.cells.climates import CLIMATES
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.functions import all_functions
from sheetfuncs.functions.declare import Function
from sheetfuncs.recalc.engine import key_of


def _to_engine(answer: Any) -> Any:
    if answer is None:
        return ""
    if isinstance(answer, date):
        return to_serial(answer)
    if isinstance(answer, list):
        return [[_to_engine(cell) for cell in row] for row in answer]
    return answer


def _row_and_column(address: str) -> tuple[int, int]:
    return openpyxl.utils.cell.coordinate_to_tuple(address.replace("$", ""))


#: What the functions answered so far, by name and cells: most cells of a book hold on when one is typed over.
_KNOWN: dict[tuple[str, bytes], Any] = {}


def _rows(answer: Any) -> list[list[Any]]:
    return answer if isinstance(answer, list) else [[answer]]


def _answer(function: Function, cells: tuple[Any, ...]) -> Any:
    """Call a function; a text may stand for a climate that is not held any more, and today goes on."""
    key = function.worksheet_name, key_of(cells)
    known = _KNOWN.get(key)
    texts = [cell for row in _rows(known) for cell in row if isinstance(cell, str)]
    if known is None or function.theme == "Today" or not all(map(CLIMATES.held, filter(None, texts))):
        known = _KNOWN[key] = _to_engine(function.in_cell(list(cells)))
    return known


class Answers:
    """The answers of a workbook file, with some cells typed over."""

    def __init__(self, path: Path, typed: Mapping[tuple[str, str], Any] = MappingProxyType({})) -> None:
        self._engine = formualizer.Workbook.from_path(str(path))
        for (sheet, address), value in typed.items():
            self._engine.set_value(sheet, *_row_and_column(address), value)
        for function in all_functions():
            self._engine.register_function(
                function.worksheet_name,
                lambda *cells, function=function: _answer(function, cells),
                min_args=0,
                max_args=len(function.parameters),
            )
        with CLIMATES.keeping_all():
            self._engine.evaluate_all()

    def at(self, sheet: str, address: str) -> Any:
        """Return the value of a cell; an error as its name in capitals."""
        value = self._engine.get_value(sheet, *_row_and_column(address))
        return f"#{value['kind']}".upper() if isinstance(value, dict) else value

    def day(self, sheet: str, address: str) -> Any:
        """Return the date in a cell; anything else as it is."""
        value = self.at(sheet, address)
        if isinstance(value, datetime):
            return value.date()
        return date(1899, 12, 30) + timedelta(days=int(value)) if isinstance(value, (int, float)) else value


@pytest.fixture(scope="session", autouse=True)
def _today() -> Iterator[None]:
    """Let the computer's date be a day of the demonstration."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SHEETFUNCS_TODAY", "2026-06-22")
        yield


@pytest.fixture(scope="session")
def blank(blank_path: Path) -> openpyxl.Workbook:
    return openpyxl.load_workbook(blank_path)


@pytest.fixture(scope="session")
def demo(demo_path: Path) -> openpyxl.Workbook:
    return openpyxl.load_workbook(demo_path)


@pytest.fixture(scope="session")
def demo_answers(demo_path: Path) -> Answers:
    return Answers(demo_path)


@pytest.fixture
def answer(demo_path: Path) -> Callable[[dict[tuple[str, str], Any]], Answers]:
    """Return a function that types values into the filled workbook and answers it."""
    return lambda typed: Answers(demo_path, typed)
