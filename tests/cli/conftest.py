"""Real workbooks for the commands: the filled one, built once."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sheetfuncs.cli.app import app
from sheetfuncs.planner import build_demo
from sheetfuncs.recalc import recalculate


@pytest.fixture(scope="session")
def filled_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_demo(tmp_path_factory.mktemp("filled") / "demo.xlsx", recalculate=recalculate)


@pytest.fixture
def filled(filled_once: Path, tmp_path: Path) -> Path:
    """Return a filled workbook that a test may change."""
    return Path(shutil.copy(filled_once, tmp_path / "demo.xlsx"))


@pytest.fixture
def run() -> Callable[..., Result]:
    """Return a function that runs a command; a user's mistake is raised."""

    def command(*arguments: object) -> Result:
        result = CliRunner().invoke(app, [str(argument) for argument in arguments])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return command
