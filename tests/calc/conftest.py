"""One office for all tests of a run; where none can be started the tests say so, and in CI they fail."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Iterator

import pytest

from sheetfuncs.hosts.calc.build import build_extension

from .office import RunningOffice, what_is_missing


@pytest.fixture(scope="session")
def extension(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The built extension."""
    return build_extension(tmp_path_factory.mktemp("extension") / "sheetfuncs.oxt")


def need_an_office() -> None:
    missing = what_is_missing()
    if missing and os.environ.get("CI"):
        pytest.fail(f"CI must have LibreOffice: {missing}")
    if missing:
        pytest.skip(missing)


@pytest.fixture(scope="session")
def one_office(extension: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningOffice]:
    """The office that all tests share."""
    need_an_office()
    running = RunningOffice(tmp_path_factory.mktemp("office"), extension)
    yield running
    running.stop()


@pytest.fixture
def office(one_office: RunningOffice) -> Iterator[RunningOffice]:
    """A running office with the extension; what a test leaves open is closed."""
    yield one_office
    one_office.close_all()


@pytest.fixture
def fresh_office(extension: Path, tmp_path: Path) -> Iterator[RunningOffice]:
    """An office for one test alone, which may end it."""
    need_an_office()
    running = RunningOffice(tmp_path / "office", extension)
    yield running
    running.stop()


@pytest.fixture
def book(office: RunningOffice) -> Iterator[str]:
    """A new, empty document in the running office."""
    document = office.open()
    yield document
    office.close(document=document)
