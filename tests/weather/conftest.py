"""A blank workbook, made once, and the command run on it."""

from __future__ import annotations

import shutil

import pytest
from click.testing import CliRunner

from sheetfuncs import InputError
from sheetfuncs.cli.weather import add_weather
from sheetfuncs.planner import build_template
from sheetfuncs.recalc import recalculate

from ..shared import few_rows_ready


@pytest.fixture(scope="session")
def blank_book(tmp_path_factory):
    with few_rows_ready():
        return build_template(tmp_path_factory.mktemp("book") / "blank.xlsx", trees=2, recalculate=recalculate)


@pytest.fixture
def book(blank_book, tmp_path):
    return shutil.copy(blank_book, tmp_path / "figs.xlsx")


@pytest.fixture
def add(book):
    """Return what adds files to the workbook and gives what is printed, or the one line in which it ends."""

    def run(*arguments):
        result = CliRunner().invoke(add_weather, [str(book), *map(str, arguments)])
        if isinstance(result.exception, InputError):
            line = str(result.exception)
            assert "\n" not in line
            assert line.startswith("Check: ")
            return line
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result.output

    return run
