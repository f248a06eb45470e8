"""Memory of a process that recalculates a book with ever new frost dates: ``python -m tests.hard_use.memory``.

Prints the memory [MiB] after every tenth of 200 recalculations (or ``--times``), and at last that after half of them,
after all, and how many climates are held. Each recalculation makes five climates that were not there before.
"""

from __future__ import annotations

import argparse
import tempfile
from datetime import date, timedelta
from pathlib import Path

from sheetfuncs.cells.climates import CLIMATES
from sheetfuncs.functions import all_functions
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx.inputs import open_book, write_cells
from sheetfuncs.xlsx.references import Area

from .test_threads_and_books import a_place


def used() -> float:
    """Return the memory that this process has in use [MiB]."""
    line = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmRSS"))
    return int(line.split()[1]) / 1024


def main(path: Path, times: int) -> None:
    """Recalculate, and print the memory."""
    noted = {}
    for number in range(1, times + 1):
        # Each time another record and another frost, so that no climate comes twice.
        day = date(2026, 9, 1) + timedelta(days=number % 100)
        serial = float((day - date(1899, 12, 30)).days)
        cells = {(1, 7): serial, (1, 1): 42370.0, (1, 2): -5 - number / 100}
        write_cells(open_book(path), "Sheet", Area(1, 1, 1, 7), cells)
        # In this process, as a program with functions of its own has it; otherwise each has a process of its own.
        assert recalculate(path, functions=all_functions()).changed
        if number % (times // 10) == 0:
            noted[number] = used()
            print(number, round(noted[number], 1), flush=True)
    print(noted[times // 2], noted[times], len(CLIMATES._things))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.hard_use.memory")
    parser.add_argument("--times", type=int, default=200, help="a multiple of ten")
    with tempfile.TemporaryDirectory(prefix="sheetfuncs-memory-") as folder:
        main(a_place(Path(folder) / "place.xlsx", 0, date(2026, 10, 1), trees=3), parser.parse_args().times)
