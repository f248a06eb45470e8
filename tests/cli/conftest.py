"""The command line, called in this process."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sheetfuncs import recalc
from sheetfuncs.cli.app import app

from ..shared import few_rows_ready, shared_file
from .carried import small


@pytest.fixture
def run() -> Callable[..., Result]:
    """Return a function that runs a command; a user's mistake is raised."""

    def command(*arguments: object) -> Result:
        result = CliRunner().invoke(app, [str(argument) for argument in arguments])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return command


@pytest.fixture(scope="package", autouse=True)
def _room_for_few() -> Iterator[None]:
    with few_rows_ready():
        yield


@pytest.fixture
def answers_as_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no command recalculate: for tests that read what is typed, and those of a workbook with its answers."""
    monkeypatch.setattr(recalc, "recalculate", lambda path: None)


@pytest.fixture(scope="package")
def small_book(tmp_path_factory: pytest.TempPathFactory, _room_for_few: None) -> Path:
    return shared_file(tmp_path_factory, "small.xlsx", small)


@pytest.fixture
def old(small_book: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(small_book, tmp_path / "2026.xlsx"))


@pytest.fixture
def new(tmp_path: Path) -> Path:
    return tmp_path / "2027.xlsx"
