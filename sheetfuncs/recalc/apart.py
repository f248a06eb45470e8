"""Evaluation in a process of its own, so that no formula takes all memory or all time.

The engine cannot be stopped within a formula, and ends its process where memory fails it. So it works in another one
(:mod:`.process`), whose end is reported in a line. It starts while the workbook is still being read.

Only Linux holds it to its memory; Windows and macOS hold it to its time, and where the system ends it, a line says so.
A formula that takes too long is not named. Functions of another making, handed to
``recalculate(functions=…)``, are called in its caller's process, without limits.
"""

from __future__ import annotations

import sys
import time
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, Callable, Iterator, Sequence, Tuple

from ..functions.declare import Function
from ..xlsx.errors import WorkbookFileError
from ..xlsx.references import Area, cell_name
from .engine import Evaluation, Job
from .process import MEMORY, SECONDS, TOO_LONG, TOO_MUCH_MEMORY, EndedError, Limits, Process, limits_in_force

#: Into so many pieces the cells are parted, again and again, to find the one that takes too much; and for how long [s].
_PIECES, _LONGEST_SEARCH = 24, 60.0


#: What evaluates a workbook: given the job, the cells with formulas, and what is called with how many calls of our
#: functions more are done. Raises :class:`WorkbookFileError`, and whatever a function raised.
Evaluator = Callable[[Job, Sequence[Tuple[str, int, int]], Callable[[int], None]], "Evaluation | EvaluationApart"]


@contextmanager
def evaluator(name: str, functions: Sequence[Function], is_apart: bool) -> Iterator[Evaluator]:
    """Give what evaluates a workbook, in another process or in this one.

    name : the workbook's, for messages. functions : to be called; another process knows all of ours, and no other.
    """
    if is_apart and sys.executable:  # a program that Python is built into has none
        with Process(limits_in_force()) as process:
            yield lambda job, cells, on_calls: EvaluationApart(process, name, job, cells, on_calls)
    else:
        yield lambda job, cells, on_calls: Evaluation(job, functions, on_calls)


class EvaluationApart:
    """A workbook, evaluated in another process; read as :class:`.engine.Evaluation` is."""

    def __init__(
        self, process: Process, name: str, job: Job, cells: Sequence[tuple[str, int, int]],
        on_calls: Callable[[int], None],
    ) -> None:  # fmt: skip
        """Have the workbook evaluated, whose name is for messages."""
        self._process, self._name = process, name
        try:
            process.evaluate(job, on_calls)
        except EndedError as ended:
            process.end()
            cell = _find(job, cells, process.limits) if str(ended) == TOO_MUCH_MEMORY else None
            raise self._refusal(str(ended), cell) from None

    def values(self, cells: Sequence[tuple[str, int, int]]) -> list[Any]:
        """Return what cells hold."""
        return self._question("values", cells)

    def area(self, sheet: str, name: str) -> Area | None:
        """Return the cells that a formula's answer fills."""
        return self._question("area", sheet, name)

    def _question(self, question: str, *details: Any) -> Any:
        try:
            self._process.write((question, details))
            return self._process.read()[1]
        except EndedError as ended:
            raise self._refusal(str(ended), None) from None

    def _refusal(self, why: str, cell: tuple[str, int, int] | None) -> WorkbookFileError:
        where = f"{cell[0]}!{cell_name(*cell[1:])}" if cell else f"a formula of {self._name}"
        limits = self._process.limits
        if why == TOO_MUCH_MEMORY:
            return WorkbookFileError(
                f"{where} takes more than {limits.memory:g} GB of memory, nothing was written; wanted no text that"
                " doubles from cell to cell, and no long range multiplied with another. If it is right as it is:"
                f" {MEMORY}={limits.memory * 2:g} in the environment allows more"
            )
        if why == TOO_LONG:
            return WorkbookFileError(
                f"{where} was not done after {limits.seconds:g} seconds, nothing was written; wanted shorter ranges."
                f" If it is right as it is: {SECONDS}={limits.seconds * 4:g} in the environment allows more"
            )
        return WorkbookFileError(f"{where} is beyond this recalculation ({why}), nothing was written")


def _find(job: Job, cells: Sequence[tuple[str, int, int]], limits: Limits) -> tuple[str, int, int] | None:
    """Return the cell at which the evaluation of a workbook ends its process; ``None`` where it is not found soon.

    The cells are evaluated in pieces, and those of the piece at which it ended again, until one is left. Raises what is
    raised on the way: a text too long for a cell comes before one too long for the memory.
    """
    end = time.monotonic() + min(_LONGEST_SEARCH, limits.seconds)
    while len(cells) > 1:
        size = -(-len(cells) // _PIECES)
        pieces = [cells[start : start + size] for start in range(0, len(cells), size)]
        left = Limits(limits.memory, max(end - time.monotonic(), 0.1))
        at = _ends_at(replace(job, every=sys.maxsize, pieces=pieces), left)
        if at is None:
            return None
        cells = pieces[at]
    return cells[0] if cells else None


def _ends_at(job: Job, limits: Limits) -> int | None:
    """Return the piece at which a process ends that evaluates a workbook piece by piece."""
    begun: list[int] = []
    with Process(limits) as process:
        try:
            process.evaluate(job, on_piece=begun.append)
        except EndedError as ended:
            return begun[-1] if begun and str(ended) != TOO_LONG else None
    return None
