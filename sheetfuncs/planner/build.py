"""Puts the sheets together into a workbook file, the same bytes each time."""

from __future__ import annotations

import os
import re
import tempfile
import zipfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any, Callable, Union

from openpyxl import Workbook
from openpyxl.workbook.properties import CalcProperties

from ..xlsx.archive import archive_of
from ..xlsx.files import write_file
from .font_order import with_fonts_in_order
from .invented import demo_contents
from .sheets import (
    log,
    look,
    looking_back,
    picking,
    place,
    positions,
    rounds,
    season,
    start,
    trees,
    varieties,
    weather,
    what_would_help,
)
from .sheets.contents import BLANK, Contents
from .sheets.layout import Page
from .sheets.writing import write_page

#: Writes the answers into a workbook file that holds formulas only.
Recalculate = Callable[[Path], object]
FilePath = Union[str, "os.PathLike[str]"]

#: The sheets in the order of the year, but for the first one, which leads through them.
SHEETS = (
    place, weather, positions, varieties, trees, rounds, season, picking, what_would_help, log, looking_back,
)  # fmt: skip

#: Rows of trees that a new workbook has ready.
READY_TREES = 100
DEMO_TREES = 32
TEMPLATE_FILE = "fig-trees.xlsx"
DEMO_FILE = "fig-trees-demo.xlsx"

_MADE = datetime(2026, 1, 1)
# The engine number of today's Excel: with an older one it would recalculate on opening, functions or none.
_CALCULATION_ENGINE = 191029


def build_template(
    path: FilePath,
    trees: int = READY_TREES,
    recalculate: Recalculate | None = None,
    settings: Mapping[str, Any] = MappingProxyType({}),
) -> Path:
    """Write the blank workbook.

    path : where to. trees : rows that are ready on *Trees*. recalculate : called with the path to write the
    answers; without it the cells hold formulas and no values. settings : what is typed already, by the settings' names.
    Returns the path.
    """
    return _build(Path(path), replace(BLANK, settings=settings), trees, recalculate)


def build_demo(path: FilePath, recalculate: Recalculate | None = None, trees: int = DEMO_TREES) -> Path:
    """Write the workbook filled with an invented holding and invented weather, marked so on every sheet.

    path, recalculate, trees : as for :func:`build_template`. Returns the path.
    """
    return _build(Path(path), demo_contents(), trees, recalculate)


def pages(rows: int, lines: int = 0) -> list[Page]:
    """Return the pages of the workbook, but for the first one, in their order.

    rows : of trees that are ready. lines : of the log that are there already.
    """
    return [log.page(rows, lines) if sheet is log else sheet.page(rows) for sheet in SHEETS]


def assemble(contents: Contents, rows: int, lines: int = 0) -> Workbook:
    """Return the workbook with its sheets in the order of the year; ``rows`` and ``lines`` as for :func:`pages`."""
    workbook = Workbook()
    workbook.remove(workbook.active)
    look.set_measure(workbook)
    made = pages(max(rows, len(contents.trees)), max(lines, len(contents.log)))
    write_page(workbook, start.page(made), contents)
    for page in made:
        write_page(workbook, page, contents)
    for sheet in workbook:
        look.protect(sheet)
    workbook.active = 0
    workbook.properties.creator = "sheetfuncs"
    workbook.properties.title = "When to tip each fig tree"
    workbook.properties.description = contents.banner or None
    workbook.properties.created = _MADE
    workbook.calculation = CalcProperties(calcId=_CALCULATION_ENGINE, fullCalcOnLoad=None)
    return workbook


def _build(path: Path, contents: Contents, rows: int, recalculate: Recalculate | None) -> Path:
    with tempfile.TemporaryDirectory(prefix="sheetfuncs-") as folder:
        made = Path(folder) / "made.xlsx"
        assemble(contents, rows).save(made)
        if recalculate is not None:
            recalculate(made)
        make_reproducible(made)
        write_file(made, path, made.read_bytes())
    return path


def make_reproducible(path: Path) -> None:
    """Take the time of the day out of a workbook file: out of its properties and out of its archive."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    stamp = _MADE.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
    core, styles = "docProps/core.xml", "xl/styles.xml"
    parts[core] = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>" + stamp, parts[core])
    parts[styles] = with_fonts_in_order(parts[styles])
    path.write_bytes(archive_of(parts))


__all__ = ["DEMO_FILE", "TEMPLATE_FILE", "assemble", "build_demo", "build_template", "make_reproducible"]
