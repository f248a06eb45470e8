"""Commands killed at random moments: ``python -m tests.hard_use.killed --moments 300``.

Each command runs in a process of its own on a disk made slow, so that many moments fall into the writing, and is ended
by SIGKILL. Afterwards the book must be the old or the new one, byte for byte, and a further run must finish the work
and clear away what the killed one left. Ends with exit code 1 where that is not so.
"""

from __future__ import annotations

import argparse
import builtins
import os
import random
import shutil
import signal
import sys
import tempfile
import time
import zipfile
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import openpyxl

from sheetfuncs.cells import swapping
from sheetfuncs.cli import app, carry, weather  # noqa: F401 - loaded before the processes part
from sheetfuncs.functions.examples import VALLEY_NORMALS, valley_days
from sheetfuncs.planner import build_template
from sheetfuncs.planner.build import assemble
from sheetfuncs.planner.sheets.contents import BLANK
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import files, read_values

from ..shared import few_rows_ready

_SLICES = 200
#: About as long as a file that is written in so many slices takes [s].
_WRITING = 0.3
A_TREE = ({"tag": "A-1", "grown_in": "ground", "position": "open", "shoots": 9},)


@dataclass(frozen=True)
class Task:
    """A command, the book that it writes, and the book as it is before; ``None`` where it is not there."""

    arguments: list[str]
    book: Path
    before: bytes | None


def a_book(path: Path) -> Path:
    """Save a small book with a climate from normals and formulas that have no values yet."""
    book = openpyxl.Workbook()
    sheet = book.active
    for row in VALLEY_NORMALS:
        sheet.append(row)
    sheet["E1"], sheet["E2"] = "=CLIMATE_OF(A1:C12)", "=CLIMATE_WITH_FROST(E1,G1)"
    sheet["G1"] = 46305  # 2026-10-10
    for row in range(1, 101):
        sheet[f"I{row}"], sheet[f"J{row}"] = 900 + row * 3, f"=LATEST_PRUNE_DATE($E$2,2026,I{row},0.5)"
        sheet[f"K{row}"] = "a note of the grower " * 20 + str(random.Random(row).random())
    book.save(path)
    return path


def tasks(folder: Path, names: list[str]) -> dict[str, Task]:
    """Return the commands to kill, with the files that they need."""
    made = {}
    if "recalc" in names:
        book = a_book(folder / "plan.xlsx")
        made["recalc"] = Task(["recalc", str(book)], book, book.read_bytes())
    if "names" in names:
        book = a_book(folder / "names.xlsx")
        made["names"] = Task(["names", str(book), "--for", "calc"], book, book.read_bytes())
    if {"add-weather", "carry", "carry-into"} & set(names):
        station = folder / "station.csv"
        station.write_text("date,low,high\n" + "".join(f"{day},{low},{high}\n" for day, low, high in valley_days()))
        book = folder / "figs.xlsx"
        with few_rows_ready():
            build_template(book, trees=5, recalculate=recalculate)
        if "add-weather" in names:
            made["add-weather"] = Task(["add-weather", str(book), str(station), "--unit", "C"], book, book.read_bytes())
        if "carry" in names:
            old, new = folder / "old.xlsx", folder / "next.xlsx"
            shutil.copy(book, old)
            made["carry"] = Task(["carry", str(old), str(new)], new, None)
        if "carry-into" in names:
            old, new = folder / "last.xlsx", folder / "there.xlsx"
            assemble(replace(BLANK, trees=A_TREE), 5).save(old)
            shutil.copy(book, new)
            made["carry-into"] = Task(["carry", str(old), str(new)], new, new.read_bytes())
    return made


class _SlowFile:
    """A file that takes its time over each write."""

    def __init__(self, file: Any) -> None:
        self._file = file

    def __enter__(self) -> _SlowFile:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def write(self, content: bytes) -> None:
        step = max(len(content) // _SLICES, 1)
        for start in range(0, len(content), step):
            self._file.write(content[start : start + step])
            self._file.flush()
            time.sleep(0.001)


def _slow_open(path: Any, mode: str = "r", *rest: Any, **more: Any) -> Any:
    file = builtins.open(path, mode, *rest, **more)  # noqa: SIM115 - as open itself does
    return _SlowFile(file) if mode == "xb" else file


def start(arguments: list[str]) -> int:
    """Start a command in a process of its own and return the process's number."""
    child = os.fork()
    if child:
        return child
    code = 70
    try:
        silent = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(silent, stream)
        swapping.open = _slow_open  # type: ignore[attr-defined]
        sys.argv = ["sheetfuncs", *arguments]
        app.run()
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 70
    finally:
        os._exit(code)


def to_the_end(arguments: list[str]) -> None:
    """Run a command and wait for it; raises where it fails."""
    _, status = os.waitpid(start(arguments), 0)
    if status:
        raise AssertionError(f"{arguments} ended with {status}")


def kill_at_random(task: Task, moments: int, dice: random.Random) -> Counter[str]:
    """Kill a command at random moments and return what they fell into.

    Half of them come soon after a file begins to be written. Raises :class:`AssertionError` where something is lost.
    """
    seen: Counter[str] = Counter()
    _set_back(task)
    began = time.monotonic()
    to_the_end(task.arguments)
    lasts = time.monotonic() - began
    new = task.book.read_bytes()
    read_values(task.book)
    for _ in range(moments):
        _set_back(task)
        child = start(task.arguments)
        if dice.random() < 0.5:
            time.sleep(lasts * dice.random())
        else:
            end = time.monotonic() + 2 * lasts
            while not _leftovers(task) and time.monotonic() < end:
                time.sleep(0.005)
            time.sleep(dice.uniform(0, _WRITING))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        seen[_checked(task, new, is_killed=os.WIFSIGNALED(status))] += 1
        to_the_end(task.arguments)
        assert task.book.read_bytes() == new, "a further run did not finish the work"
        assert not _leftovers(task), "a further run left things behind"
    return seen


def _checked(task: Task, new: bytes, is_killed: bool) -> str:
    found = task.book.read_bytes() if task.book.exists() else None
    assert found in (task.before, new), "the book is neither the old nor the new one"
    kept = files.kept_as(task.book)
    if kept.exists():
        assert kept.read_bytes() == task.before, "the backup is not the old book"
    elif found == new and task.before is not None:
        raise AssertionError("the new book is there and the old one was not kept")
    if found is not None:
        with zipfile.ZipFile(task.book) as archive:
            assert archive.testzip() is None
    left = _leftovers(task)
    for file in left:  # as it will be when the next run comes, minutes later
        os.utime(file, (1, 1))
    if not is_killed:
        return "over before"
    if left:
        return "while writing"
    return "old book" if found == task.before else "new book"


def _leftovers(task: Task) -> list[Path]:
    return [file for file in task.book.parent.iterdir() if file.name.endswith(".part")]


def _set_back(task: Task) -> None:
    files.kept_as(task.book).unlink(missing_ok=True)
    task.book.unlink(missing_ok=True)
    if task.before is not None:
        task.book.write_bytes(task.before)


def main() -> int:
    """Kill each command so many times and print what the moments fell into."""
    parser = argparse.ArgumentParser(prog="python -m tests.hard_use.killed", description=__doc__.split("\n")[0])
    parser.add_argument("--moments", type=int, default=100, help="for each command")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--commands", nargs="+", default=["recalc", "add-weather", "names", "carry", "carry-into"])
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="sheetfuncs-killed-") as folder:
        for name, task in tasks(Path(folder), chosen.commands).items():
            seen = kill_at_random(task, chosen.moments, random.Random(f"{chosen.seed} {name}"))
            shown = ", ".join(f"{what} {count}" for what, count in sorted(seen.items()))
            print(f"{name}: killed at {chosen.moments} moments, nothing lost ({shown})", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
