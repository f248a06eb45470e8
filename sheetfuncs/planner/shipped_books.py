"""Builds the shipped workbooks, with their answers: ``python -m sheetfuncs.planner.shipped_books [FOLDER]``."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from ..functions.today import DAY_OF_THE_COMPUTER
from ..recalc import recalculate
from . import DEMO_FILE, TEMPLATE_FILE, build_demo, build_template
from .invented import TODAY

FOLDER = Path(__file__).resolve().parents[2] / "workbook_templates"


def main(folder: Path = FOLDER) -> None:
    """Build both workbooks into a folder, with their answers."""
    folder.mkdir(parents=True, exist_ok=True)
    os.environ[DAY_OF_THE_COMPUTER] = TODAY.isoformat()  # the same answers whenever they are built
    for path in (
        build_template(folder / TEMPLATE_FILE, recalculate=recalculate),
        build_demo(folder / DEMO_FILE, recalculate=recalculate),
    ):
        print(f"{path.name}  {path.stat().st_size / 1024:,.0f} KiB")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
