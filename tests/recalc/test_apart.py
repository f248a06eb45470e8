"""Evaluation in a process of its own: the same answers, and an end to formulas that take too much."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sheetfuncs.cells.errors import InputError
from sheetfuncs.functions import all_functions
from sheetfuncs.recalc import process, recalculate
from sheetfuncs.recalc.process import MEMORY, SECONDS, Limits, Process, limits_in_force
from sheetfuncs.xlsx import WorkbookFileError, read_values

from .books import by_hand, simple

ROOT = Path(__file__).resolve().parents[2]
only_linux = pytest.mark.skipif(sys.platform != "linux", reason="only Linux holds a process to its memory")

COPY, PYTHON = pytest.param("a copy", marks=only_linux), "a Python of its own"
TOO_LONG = "comes to a text of"
TOO_MUCH = "takes more than 1 GB of memory, nothing was written"
#: Formulas of column A, from its first row on, and how the line about them begins.
GREEDY = {
    "a text doubled": (['"xx"', *(f"A{row}&A{row}" for row in range(1, 40))], f"Plan!A15 {TOO_LONG} 32,768 letters"),
    "a text doubled, not for long": (['"xx"', *(f"A{row}&A{row}" for row in range(1, 18))], f"Plan!A15 {TOO_LONG}"),
    "a text trebled": (
        ['"xx"', *(f"CONCATENATE(A{row},A{row},A{row})" for row in range(1, 40))], f"Plan!A10 {TOO_LONG}",
    ),
    "a text put into itself": (
        ['"xx"', *(f"REPLACE(A{row},1,0,A{row})" for row in range(1, 40))], f"Plan!A15 {TOO_LONG}",
    ),
    "letters exchanged for many": (
        ['REPT("x",32000)', *(f'SUBSTITUTE(A{row},"x","{"x" * 1000}")' for row in range(1, 5))], f"Plan!A2 {TOO_LONG}",
    ),
    "within one formula": (['SUBSTITUTE(SUBSTITUTE(REPT("x",30000),"x",REPT("y",30000)),"y","yyy")'], "Plan!A1 "),
    "a column multiplied with itself": (
        ["1+1", "2+2", "SUMPRODUCT(B1:B1048576*TRANSPOSE(B1:B1048576))"], f"Plan!A3 {TOO_MUCH}",
    ),
    "a column compared with itself": (["SUMPRODUCT(--(B1:B1048576=TRANSPOSE(B1:B1048576)))"], f"Plan!A1 {TOO_MUCH}"),
}  # fmt: skip


def column(formulas: list[str]) -> str:
    rows = (
        f'<row r="{row}"><c r="A{row}"><f>{formula.replace("&", "&amp;")}</f></c></row>'
        for row, formula in enumerate(formulas, start=1)
    )
    return "".join(rows)


@pytest.fixture
def _started(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Start the other process in one way; as a copy, too, where these tests brought threads along."""
    monkeypatch.setattr(process, "can_be_a_copy", lambda: request.param == "a copy")


both_ways = pytest.mark.parametrize("_started", [COPY, PYTHON], indirect=True)


@only_linux
@pytest.mark.parametrize("_started", ["a copy"], indirect=True)
@pytest.mark.usefixtures("_started")
@pytest.mark.parametrize("kind", GREEDY)
def test_formulas_that_would_take_all_memory(tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(MEMORY, "1")
    formulas, wanted = GREEDY[kind]
    path = by_hand(tmp_path / "book.xlsx", {"Plan": column(formulas)})
    before = path.read_bytes()
    with pytest.raises(WorkbookFileError) as refused:
        recalculate(path)
    assert refused.value.line.startswith(f"Check: {wanted}")
    assert "\n" not in refused.value.line
    assert TOO_MUCH not in refused.value.line or f"{MEMORY}=2 in the environment allows more" in refused.value.line
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("many", [2, 100])
def test_names_that_double_one_another(tmp_path: Path, many: int) -> None:
    longer = "".join(
        f'<definedName name="n_{at}">{"&amp;".join([f"n_{at + 1}"] * many)}</definedName>' for at in range(40)
    )
    names = f'<definedNames>{longer}<definedName name="n_40">"xx"</definedName></definedNames>'
    path = by_hand(tmp_path / "book.xlsx", {"Plan": column(["1+1", "n_0"])}, names=names)
    (refused,) = recalculate(path).refused
    assert (refused.cell, refused.why[:19]) == ("A2", "uses names of names")


@only_linux
def test_more_memory_where_it_is_allowed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = by_hand(tmp_path / "book.xlsx", {"Plan": column(["SUM(SEQUENCE(3000,1000)+SEQUENCE(3000,1000))"])})
    monkeypatch.setenv(MEMORY, "0.5")
    with pytest.raises(WorkbookFileError, match=r"takes more than 0.5 GB of memory"):
        recalculate(path)
    monkeypatch.setenv(MEMORY, "2")
    assert recalculate(path).changed[0].after == 3_000_000 * 3_000_001


def test_formulas_that_take_all_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    formula = "SUM(SEQUENCE(9000,1000)*SEQUENCE(9000,1000)+SEQUENCE(9000,1000))"
    path = by_hand(tmp_path / "book.xlsx", {"Plan": column([formula] * 40)})
    before = path.read_bytes()
    monkeypatch.setenv(SECONDS, "2")
    with pytest.raises(WorkbookFileError, match=r"^Check: a formula of book.xlsx was not done after 2 seconds"):
        recalculate(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("text", ["much", "0.1", "-3", "nan", "1e9"])
def test_limits_that_are_none(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(MEMORY, text)
    with pytest.raises(InputError, match=rf"{MEMORY} is '{text}', wanted a number of GB from 0.5 to 100000"):
        limits_in_force()


def test_limits_that_are_set(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(MEMORY, "")
    monkeypatch.setenv(SECONDS, "900")
    assert limits_in_force() == Limits(Limits().memory, 900)


@both_ways
@pytest.mark.usefixtures("_started")
def test_both_processes_answer_the_same(tmp_path: Path) -> None:
    cells: dict[str, object] = {
        "A1": '=HEAT_UNITS_DAY(10,25,8,36,"average")', "A2": '=HEAT_UNITS_DAY("warm",25)', "A3": "=1/0",
        "A4": '="é "&A1', "A5": "=A1>3", "A6": "=LATEST_PRUNE_DATE_BY_DAYS(DATE(2026,10,30),90)",
        "A7": "=NA()", "A8": '=""', "A9": "=B9",
        **{f"C{row}": f"=HEAT_UNITS_DAY({row},40)" for row in range(1, 301)},
    }  # fmt: skip
    path = simple(tmp_path / "book.xlsx", cells)
    steps: list[tuple[int, int]] = []
    one = recalculate(path, tmp_path / "apart.xlsx", progress=lambda *step: steps.append(step))
    other = recalculate(path, tmp_path / "here.xlsx", functions=all_functions())
    assert (tmp_path / "apart.xlsx").read_bytes() == (tmp_path / "here.xlsx").read_bytes()
    assert (one.changed, one.checks, one.errors) == (other.changed, other.checks, other.errors)
    assert read_values(tmp_path / "apart.xlsx")["Plan"]["A1"] == 9.5
    assert steps == sorted(steps)
    assert steps[-1] == (303, 303)
    assert 50 < len(steps) < 150


@both_ways
@pytest.mark.usefixtures("_started")
def test_what_goes_wrong_in_the_other_process_is_raised_in_this_one() -> None:
    with Process(Limits()) as other:
        other.write("no job")
        with pytest.raises(AttributeError, match="'str' object") as failed:
            other.read()
    assert "process.py" in str(failed.value.__cause__)


@both_ways
@pytest.mark.usefixtures("_started")
@pytest.mark.parametrize(
    ("end", "reason"),
    [("os.abort()", r"with -?\d+\)"), ("os._exit(3)", r"with 3\)"), ("1 / 0", r"with 1: ZeroDivisionError")],
)
def test_an_engine_that_ends_for_no_known_reason(
    tmp_path: Path, end: str, reason: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = simple(tmp_path / "book.xlsx", {"A1": "=1+1"})
    before = path.read_bytes()
    monkeypatch.setattr(process, "_START", f"import os; {end}")
    monkeypatch.setattr(process, "serve", lambda *_: eval(end))
    with pytest.raises(WorkbookFileError, match=rf"^Check: a formula of book.xlsx is beyond .* ended {reason}"):
        recalculate(path)
    assert path.read_bytes() == before


_MAY_BE_COPIED = """
import os, threading
from sheetfuncs.recalc.process import can_be_a_copy

alone = can_be_a_copy()
waits = threading.Event()
threading.Thread(target=waits.wait).start()
print(alone, can_be_a_copy())
waits.set()
threading.enumerate()[-1].join()
os.close(0)
print(can_be_a_copy())
"""


@only_linux
def test_a_process_with_threads_or_without_an_input_is_not_copied() -> None:
    done = subprocess.run([sys.executable, "-c", _MAY_BE_COPIED], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["True", "False", "False"]


# -- no process is left ----------------------------------------------------------------------------------------

# A shell's background work ignores the interrupt, and what it starts inherits that.
_PRINTS_NUMBER = """
import os, signal, subprocess, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from sheetfuncs.cli import main
from sheetfuncs.recalc import process

class Printing(subprocess.Popen):
    def __init__(self, *rest, **more):
        super().__init__(*rest, **more)
        print(self.pid, flush=True)

fork = os.fork

def printing():
    number = fork()
    if number:
        print(number, flush=True)
    return number

subprocess.Popen, os.fork = Printing, printing
if "a copy" not in sys.argv.pop():
    process.can_be_a_copy = lambda: False
main()
"""


@pytest.mark.skipif(os.name != "posix", reason="other signals on this system")
@pytest.mark.parametrize(("sent", "code"), [(signal.SIGKILL, -signal.SIGKILL), (signal.SIGINT, 1)])
@pytest.mark.parametrize("started", [COPY, PYTHON])
def test_a_command_that_is_ended_takes_the_other_process_with_it(
    tmp_path: Path, sent: int, code: int, started: str
) -> None:
    formula = "SUM(SEQUENCE(9000,1000)*SEQUENCE(9000,1000)+SEQUENCE(9000,1000))"
    path = by_hand(tmp_path / "book.xlsx", {"Plan": column([formula] * 90)})
    before = path.read_bytes()
    command = subprocess.Popen(
        [sys.executable, "-c", _PRINTS_NUMBER, "recalc", str(path), started], cwd=ROOT,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    other = int(command.stdout.readline())
    time.sleep(1)
    command.send_signal(sent)
    errors = command.communicate(timeout=60)[1]
    assert command.returncode == code
    assert "Traceback" not in errors
    for _ in range(300):
        if not _is_running(other):
            break
        time.sleep(0.1)
    assert not _is_running(other)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def _is_running(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    stat = Path(f"/proc/{number}/stat")
    return not (stat.exists() and stat.read_text().rpartition(")")[2].split()[0] == "Z")
