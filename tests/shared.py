"""Files that are made once for a run, and shared by all its processes."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from sheetfuncs.planner import build
from sheetfuncs.planner.build import DEMO_TREES, assemble, make_reproducible
from sheetfuncs.planner.invented import demo_contents
from sheetfuncs.planner.sheets import log
from sheetfuncs.recalc import recalculate

#: The demo's seasons that a small filled book keeps: a recalculation takes half of the whole demo's time.
SMALL_FROM = 2013


def shared_folder(factory: pytest.TempPathFactory) -> Path:
    """Return the folder that all processes of a run share."""
    base = factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "shared"
    folder.mkdir(exist_ok=True)
    return folder


def shared_file(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """Return a file that the first process to ask for it makes; the others wait for it. Nobody may change it."""
    folder = shared_folder(factory)
    path, being_made = folder / name, folder / f"{name}.being made"
    while not path.exists():
        try:
            being_made.mkdir()
        except FileExistsError:
            time.sleep(0.05)
            continue
        try:
            if not path.exists():
                beside = being_made / name
                make(beside)
                beside.rename(path)
        finally:
            being_made.rmdir()
    return path


@contextmanager
def few_rows_ready() -> Iterator[None]:
    """Make new workbooks with few rows ready: the usual hundreds only take time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(build, "READY_TREES", 6)
        patch.setattr(log, "_FEWEST", 60)
        patch.setattr(log, "_YEARS", 2)
        yield


def small_demo(path: Path, answers: bool = True) -> None:
    """Write the demo with its trees, its log with few lines more, and its last seasons only."""
    whole = demo_contents()
    kept = tuple(day for day in whole.weather if day[0].year >= SMALL_FROM)
    with few_rows_ready():
        assemble(replace(whole, weather=kept), DEMO_TREES).save(path)
    if answers:
        recalculate(path)
    make_reproducible(path)
