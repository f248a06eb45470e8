"""The command line, called in this process."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sheetfuncs.cli.app import app
from sheetfuncs.planner import build

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


@pytest.fixture(autouse=True)
def _room_for_few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make new workbooks with few rows ready: the usual hundred only take time."""
    monkeypatch.setattr(build, "READY_TREES", 6)


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return small(tmp_path / "2026.xlsx")


@pytest.fixture
def new(tmp_path: Path) -> Path:
    return tmp_path / "2027.xlsx"
