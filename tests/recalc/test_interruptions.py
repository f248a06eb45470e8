"""Killed at any moment, the old file or the new one is there, whole; and the file keeps its mode and its place."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import WorkbookFileError, read_values

from .books import simple
from .functions import FUNCTIONS

# A process that kills itself at one of its calls while it recalculates.
_KILLED = """
import builtins, os, shutil, signal, sys
from pathlib import Path
from sheetfuncs.recalc import recalculate
from sheetfuncs.cells import swapping
from tests.recalc.functions import FUNCTIONS

moment = sys.argv[2]

def die(*_, **__):
    os.kill(os.getpid(), signal.SIGKILL)

class Half:
    def __init__(self, file): self.file = file
    def __enter__(self): return self
    def __exit__(self, *_): self.file.close()
    def write(self, content):
        self.file.write(content[: len(content) // 2])
        self.file.flush()
        die()

if moment == "half written":
    true_open = builtins.open
    swapping.open = lambda path, mode="r", *rest, **more: (
        Half(true_open(path, mode)) if mode == "xb" else true_open(path, mode, *rest, **more)
    )
elif moment == "written":
    os.fsync = die
elif moment == "before the swap":
    os.replace = die
elif moment == "after the swap":
    true_replace = os.replace
    def swap(*places):
        true_replace(*places)
        die()
    os.replace = swap
recalculate(Path(sys.argv[1]), functions=FUNCTIONS)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no signal that kills on this system")
@pytest.mark.parametrize(
    ("moment", "is_new"),
    [("half written", False), ("written", False), ("before the swap", False), ("after the swap", True)],
)
def test_killed(tmp_path: Path, moment: str, is_new: bool) -> None:
    path = simple(tmp_path / "book.xlsx", {"A1": 4, "A2": "=TWICE_OF(A1)"})
    before = path.read_bytes()
    done = subprocess.run([sys.executable, "-c", _KILLED, str(path), moment], capture_output=True, check=False)
    assert done.returncode == -signal.SIGKILL, done.stderr.decode()
    assert (path.read_bytes() != before) == is_new
    assert read_values(path)["Plan"].get("A2") == (8 if is_new else None)
    # What a killed process leaves behind is no hindrance.
    recalculate(path, functions=FUNCTIONS)
    assert read_values(path)["Plan"]["A2"] == 8


def test_a_failing_swap_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = simple(tmp_path / "book.xlsx", {"A1": "=TWICE_OF(4)"})
    before = path.read_bytes()

    def fail(*_: object) -> None:
        raise PermissionError(13, "in use")

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(WorkbookFileError, match="no permission to write"):
        recalculate(path, functions=FUNCTIONS)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_the_mode_stays(tmp_path: Path) -> None:
    path = simple(tmp_path / "book.xlsx", {"A1": "=TWICE_OF(4)"})
    path.chmod(0o640)
    recalculate(path, functions=FUNCTIONS)
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    path = simple(tmp_path / "far" / "book.xlsx", {"A1": "=TWICE_OF(4)"})
    link = tmp_path / "link.xlsx"
    link.symlink_to(path)
    recalculate(link, functions=FUNCTIONS)
    assert link.is_symlink()
    assert read_values(path)["Plan"]["A1"] == 8


def test_another_file_is_replaced_whole(tmp_path: Path) -> None:
    path = simple(tmp_path / "book.xlsx", {"A1": "=TWICE_OF(4)"})
    out = tmp_path / "out.xlsx"
    out.write_text("something old")
    before = path.read_bytes()
    assert recalculate(path, out, functions=FUNCTIONS).path == out
    assert path.read_bytes() == before
    assert read_values(out)["Plan"]["A1"] == 8
