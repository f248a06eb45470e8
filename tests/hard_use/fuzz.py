"""Arguments without end: ``python -m tests.hard_use.fuzz --seconds 600``.

Where atheris is installed (``pip install atheris``) the arguments are guided by the code that they reach; without it
hypothesis draws them, and what it drew is put together at random, many times for each draw. Each function has a
process of its own and an equal share of the time. What gets a wrong answer is printed, and the run ends with exit
code 1.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import importlib.util
import itertools
import random
import subprocess
import sys
import time
from datetime import date
from typing import Any, Iterator

#: Bytes of one input, from which the arguments are drawn.
LONGEST_INPUT = 4096
#: One input in so many is typed on the command line too, where each costs many times as much.
TYPED_ONE_IN = 4
_TRIED = "inputs tried, and typed:"


def main() -> int:
    """Share the time among all functions and print how many inputs each was given."""
    parser = argparse.ArgumentParser(prog="python -m tests.hard_use.fuzz", description=__doc__.split("\n")[0])
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--function", help="this one only, in this process")
    chosen = parser.parse_args()
    if chosen.function:
        _fuzz(chosen.function, chosen.seconds, chosen.seed)
        return 0
    from sheetfuncs.functions import all_functions

    names = [function.name for function in all_functions()]
    total, total_typed, failed = 0, 0, []
    for name in names:
        tried, typed, is_good = _in_a_process(name, chosen.seconds / len(names), chosen.seed)
        total, total_typed = total + tried, total_typed + typed
        failed += [] if is_good else [name]
        print(f"{name:<28}{tried:>9,}{typed:>9,}{'' if is_good else '  WRONG, see above'}", flush=True)
    way = "guided by atheris" if importlib.util.find_spec("atheris") else "recombined"
    print(f"{total:,} inputs, {total_typed:,} of them typed on the command line, {way}, seed {chosen.seed}")
    print(f"{len(failed)} of {len(names)} functions answered wrongly")
    return 1 if failed else 0


def _in_a_process(name: str, seconds: float, seed: int) -> tuple[int, int, bool]:
    command = [sys.executable, "-m", "tests.hard_use.fuzz", "--function", name, "--seconds", str(seconds)]
    command += ["--seed", str(seed)]
    done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
    if done.returncode:
        print(done.stderr[-4000:], flush=True)
    counts = [line.split(":")[1].split() for line in done.stdout.splitlines() if line.startswith(_TRIED)]
    tried, typed = counts[-1] if counts else (0, 0)
    return int(tried), int(typed), done.returncode == 0


def _fuzz(name: str, seconds: float, first_seed: int) -> None:
    """Ask one function until the time is over; raises, or ends the process, where an answer is wrong."""
    guide = importlib.import_module("atheris") if importlib.util.find_spec("atheris") else None
    with guide.instrument_imports(include=["sheetfuncs", "dateutil"]) if guide else contextlib.nullcontext():
        from hypothesis import HealthCheck, Phase, given, seed, settings
        from hypothesis import strategies as st

        from sheetfuncs.cells.dates import EPOCH_1900

        from .arguments import FUNCTIONS, arguments
        from .commands import WAYS, same_as_in_a_cell
        from .test_every_argument import EPOCHS, call

    tried = typed = 0

    def call_all(cells: list[Any], epoch: date) -> None:
        nonlocal tried, typed
        tried += 1
        call(name, cells, epoch)
        if tried % TYPED_ONE_IN == 0:
            typed += same_as_in_a_cell(FUNCTIONS[name], cells, WAYS[tried // TYPED_ONE_IN % len(WAYS)])

    drawn: list[list[Any]] = []

    @given(data=st.data(), epoch=EPOCHS)
    @settings(
        database=None, deadline=None, derandomize=False, suppress_health_check=list(HealthCheck), max_examples=100,
        phases=[Phase.generate, Phase.shrink],
    )  # fmt: skip
    def test(data: st.DataObject, epoch: date) -> None:
        cells = data.draw(arguments(name))
        drawn.append(cells)
        call_all(cells, epoch)

    def guided(content: bytes) -> None:
        test.hypothesis.fuzz_one_input(content)  # type: ignore[attr-defined]
        if tried % 10 == 0:
            print(_TRIED, tried, typed, flush=True)

    if guide is not None:
        limits = [f"-max_total_time={int(seconds)}", f"-max_len={LONGEST_INPUT}", f"-seed={first_seed}"]
        guide.Setup(["fuzz", *limits, "-len_control=0", "-timeout=120", "-rss_limit_mb=4096"], guided)
        guide.Fuzz()
    end = time.monotonic() + seconds
    for number in itertools.count(first_seed * 1_000_000):
        seed(number)(test)()
        for cells in _recombined(drawn[-3000:], random.Random(number)):
            try:
                call_all(cells, EPOCH_1900)
            except BaseException:
                print(repr(cells)[:2000], file=sys.stderr)
                raise
            if time.monotonic() > end:
                break
        print(_TRIED, tried, typed, flush=True)
        if time.monotonic() > end:
            break


def _recombined(drawn: list[list[Any]], dice: random.Random) -> Iterator[list[Any]]:
    """Go over calls whose arguments were drawn for the same places of others."""
    for _ in range(3000):
        cells = list(dice.choice(drawn))
        for at in range(len(cells)):
            other = dice.choice(drawn)
            if at < len(other) and dice.random() < 0.5:
                cells[at] = other[at]
        yield cells


if __name__ == "__main__":
    sys.exit(main())
