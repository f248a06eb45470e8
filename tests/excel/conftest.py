"""What the tests of the Excel host share."""

from __future__ import annotations

from typing import Iterator

import pytest

from .windows import Windows, windows


@pytest.fixture(scope="module")
def excel() -> Iterator[Windows]:
    """xlwings as on Windows, with Excel's side played by stand-ins."""
    pytest.importorskip("xlwings", reason="xlwings is not installed")
    with windows() as running:
        yield running
