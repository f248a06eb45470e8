"""Making a climate from 18,000 days in LibreOffice Calc, beside a function that is handed the same cells.

The time is the office's processor time over several turns (from ``/proc``, so on Linux alone).
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from sheetfuncs.hosts.calc.build import build_extension
from tests.calc.office import RunningOffice, what_is_missing

from .calc import _build_floor
from .making import cells
from .measure import Ratio

TURNS = 12


def office_time(folder: Path) -> float:
    """Return the processor time of the office whose profile lies in a folder [s]."""
    ticks = 0
    for process in Path("/proc").glob("[0-9]*"):
        try:
            command = (process / "cmdline").read_text()
            if "soffice.bin" in command and str(folder) in command:
                fields = (process / "stat").read_text().rpartition(")")[2].split()
                ticks += int(fields[11]) + int(fields[12])
        except OSError:  # it has ended meanwhile
            continue
    return ticks / os.sysconf("SC_CLK_TCK")


def run() -> list[Ratio]:
    """Measure in one office process."""
    if what_is_missing():
        raise SystemExit(what_is_missing())
    rows = [["" if cell is None else cell for cell in row] for row in cells()]
    weather = f"A1:C{len(rows)}"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        office = RunningOffice(folder, build_extension(folder / "sheetfuncs.oxt"), _build_floor(folder / "floor.oxt"))
        try:
            book = office.open()
            office.put(document=book, sheet=0, address=weather, rows=rows)
            calls = f'SHEETFUNCS.CLIMATE_OF({weather};"F";45+$F$1)', f"FLOOR.CONSTANT({weather};$F$2;0;0;0)"
            for row, call in enumerate(calls, start=1):
                office.put(document=book, sheet=0, address=f"E{row}", rows=[[f"={call}"]])
                [[answer]] = office.get(document=book, sheet=0, address=f"E{row}")
                assert not str(answer).startswith(("Check:", "{")), answer
            taken = [0.0, 0.0]
            for turn in range(1, TURNS):
                for number in (0, 1):
                    row, before = number + 1, office_time(folder)
                    office.timed_change(
                        document=book, sheet=0, address=f"F{row}", values=[turn / 100], watched=f"E{row}"
                    )
                    taken[number] += (office_time(folder) - before) / (TURNS - 1)
        finally:
            office.stop()
    about = f"CLIMATE_OF of {len(rows):,} days in Calc / a function that is handed the same cells"
    making = Ratio("  the making alone", taken[0] - taken[1], taken[1], "at most 3")
    return [Ratio(about, taken[0], taken[1]), making]
