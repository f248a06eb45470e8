"""Offices and documents of the tests in Calc."""

from __future__ import annotations

from pathlib import Path
from typing import Iterator

import pytest

from ..conftest import need_an_office
from .office import RunningOffice


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
