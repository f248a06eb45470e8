"""Recalculating a workbook file in place, without an office program: the whole course in order."""

from __future__ import annotations

import gc
from contextlib import contextmanager
from pathlib import Path
from typing import Callable, Iterator, Sequence

from ..cells.climates import CLIMATES
from ..functions import all_functions
from ..functions.declare import Function
from ..xlsx.files import Backup, check_target
from ..xlsx.inputs import open_book
from ..xlsx.workbook import Book
from .apart import Evaluator, evaluator
from .engine import Job
from .outcome import Outcome, Recalculated
from .plan import Plan
from .prepare import copy_for_engine
from .reading import Formulas
from .spelling import spell

#: Called with how many calls of our functions are done, and how many there are.
Progress = Callable[[int, int], None]


def recalculate(
    path: Path | str,
    out: Path | str | None = None,
    functions: Sequence[Function] | None = None,
    progress: Progress | None = None,
    backup: Backup = "never",
) -> Recalculated:
    """Evaluate the formulas of a workbook that are ours to write and store their values in it, or in ``out``.

    Ours to write are cells that call a function of ours, depend on one that does, feed one that does, or have no stored
    value. All other formulas keep their values. Where this recalculation is known to differ from office programs, a
    cell is refused: it keeps its value, and so does what depends on it where that value no longer holds.

    Formulas, formats, pictures, charts and everything else stay byte for byte; only stored values change.
    An existing file ``out`` is replaced.

    The formulas are evaluated in a process of its own, which is ended where they take more memory or time than
    :class:`.process.Limits` allow.

    path : a workbook saved as .xlsx or .xlsm. functions : other functions than all of ours; they are called in this
    process, and nothing limits it.
    progress : called as it goes, see :data:`Progress`.
    backup : whether a file that is written over is kept as it was,
    ``book.xlsx`` as ``book.before.xlsx``: "never", "first" (where none is kept yet), "always".
    Raises :class:`WorkbookFileError`, an :class:`~sheetfuncs.cells.errors.InputError`, in one line, where the
    file cannot be read or written or holds a formula beyond this recalculation; then nothing is written.
    """
    opened = open_book(path)
    target = opened.path if out is None else Path(out)
    check_target(opened.path, target)
    ours = all_functions() if functions is None else functions
    is_apart = functions is None
    with _without_collecting(), CLIMATES.keeping_all(), evaluator(opened.path.name, ours, is_apart) as evaluate:
        result, content = _recalculated(opened.book, target, ours, evaluate, progress)
    opened.write(content, target, backup)
    return result


@contextmanager
def _without_collecting() -> Iterator[None]:
    """Switch the search for garbage off: a workbook's many cells are none, and it takes a tenth of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _recalculated(
    book: Book, target: Path, functions: Sequence[Function], evaluate: Evaluator, progress: Progress | None
) -> tuple[Recalculated, bytes]:
    formulas = Formulas(book, functions)
    plan = Plan(formulas)
    spell(formulas, functions, book.shared_strings)
    plan.refuse_without_value(book.shared_strings)
    total, done = sum(planned.ours for planned in plan.evaluated), 0

    def on_calls(count: int) -> None:
        nonlocal done
        done += count
        if progress is not None and done < total:
            progress(done, total)

    # About a hundred reports in all.
    job = Job(copy_for_engine(book, plan.sheets), book.epoch, book.iterates, max(total // 100, 1))
    evaluation = evaluate(job, [planned.at for planned in plan.evaluated], on_calls)
    if progress is not None:
        progress(total, total)  # calls in a branch that IF does not take are never made, so the count would stop short
    return Outcome(book, plan, evaluation).written(target)
