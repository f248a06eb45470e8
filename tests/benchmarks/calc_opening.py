"""Opening the protected template in LibreOffice Calc, filled with 30, 300 and 1,000 trees, beside opening it plainly.

Plainly: in an office without the extension. Then a frost date is typed on Place, and the whole book calculated again.
The time is the office's processor time (from ``/proc``, so on Linux alone).
"""

from __future__ import annotations

import statistics
import tempfile
from dataclasses import replace
from pathlib import Path

from sheetfuncs.hosts.calc.build import build_extension
from sheetfuncs.planner.build import assemble
from sheetfuncs.planner.invented import demo_contents
from sheetfuncs.recalc import recalculate
from tests.calc.office import RunningOffice, what_is_missing

from .calc_making import office_time
from .measure import Ratio

TREES = (30, 300, 1_000)
ROUNDS = 3
#: Where the average first frost is typed, and dates for it: days of the 1900 calendar in October 2026.
FROST, DATES = "B13", (46_295, 46_300, 46_305, 46_297, 46_302)


def filled(path: Path, trees: int) -> Path:
    """Write the demo's book with so many trees, the invented ones again and again, and its answers."""
    contents = demo_contents()
    listed = [
        {**contents.trees[number % len(contents.trees)], "tag": f"T-{number + 1:04d}"} for number in range(trees)
    ]
    assemble(replace(contents, trees=tuple(listed)), trees).save(path)
    recalculate(path)
    return path


def _opening(office: RunningOffice, path: Path) -> float:
    """Return how long the office works to open a book [s]."""
    before = office_time(office.folder)
    document = office.open(path=str(path))
    taken = office_time(office.folder) - before
    office.close(document=document)
    return taken


def run() -> list[Ratio]:
    """Measure with two offices, in turn."""
    if what_is_missing():
        raise SystemExit(what_is_missing())
    ratios = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ours = RunningOffice(folder / "ours", build_extension(folder / "sheetfuncs.oxt"))
        plain = RunningOffice(folder / "plain")
        try:
            for trees in TREES:
                path = filled(folder / f"trees-{trees}.xlsx", trees)
                times = [(_opening(ours, path), _opening(plain, path)) for _ in range(ROUNDS)]
                mine, theirs = (statistics.median(column) for column in zip(*times))
                about = f"opening {trees:,} trees in Calc / without the functions"
                ratios.append(Ratio(about, mine, theirs, "at most 2"))
                document = ours.open(path=str(path))
                before = office_time(ours.folder)
                ours.edit(document=document, sheet="Place", address=FROST, values=DATES)
                edit = (office_time(ours.folder) - before) / len(DATES)
                ours.close(document=document)
                ratios.append(Ratio("  a typed frost date / the plain opening", edit, theirs, "under 1 s"))
        finally:
            ours.stop()
            plain.stop()
    return ratios
