"""The command line, called in this process."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from click.testing import CliRunner, Result

from sheetfuncs.cli.app import app


@pytest.fixture
def run() -> Callable[..., Result]:
    """Return a function that runs a command; a user's mistake is raised."""

    def command(*arguments: object) -> Result:
        result = CliRunner().invoke(app, [str(argument) for argument in arguments])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return command
