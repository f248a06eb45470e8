"""Builds the shipped workbooks, with their answers: ``python -m sheetfuncs.planner.shipped_books [FOLDER]``."""

from __future__ import annotations

import sys
from pathlib import Path

from ..recalc import recalculate
from . import DEMO_FILE, TEMPLATE_FILE, build_demo, build_template

FOLDER = Path(__file__).resolve().parents[2] / "workbook_templates"


def main(folder: Path = FOLDER) -> None:
    """Build both workbooks into a folder, with their answers."""
    folder.mkdir(parents=True, exist_ok=True)
    for path in (
        build_template(folder / TEMPLATE_FILE, recalculate=recalculate),
        build_demo(folder / DEMO_FILE, recalculate=recalculate),
    ):
        print(f"{path.name}  {path.stat().st_size / 1024:,.0f} KiB")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
