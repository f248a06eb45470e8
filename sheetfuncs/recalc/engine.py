"""The engine that evaluates formulas, and all that is known about its ways; no other module speaks to it.

Its own commands for recalculating a file take no functions of ours and would write ``#NAME?`` over good
values, so they are never used. Its beta releases differ: keep to the pinned ones and run the tests.
"""

from __future__ import annotations

import hashlib
import marshal
import math
import sys
import threading
import weakref
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Callable, Iterable, Mapping, Sequence

import formualizer

from ..cells.dates import EPOCH_1904, to_serial
from ..cells.errors import CellFault
from ..functions.declare import Function
from ..xlsx.errors import WorkbookFileError
from ..xlsx.references import Area, cell_name, quoted_sheet, read_area
from .office_ways import EACH, NOT_A_NUMBER, helpers
from .ranges import RANGE_ARGUMENTS

#: Faults of the engine, not of the workbook.
CIRCLE, NO_ROOM = CellFault("#CIRC!"), CellFault("#SPILL!")
NOT_UNDERSTOOD = frozenset(map(CellFault, ("#N/IMPL!", "#ERROR!", "#CANCELLED!", "#NAME?")))

_FAULTS = {
    "Div": "#DIV/0!", "Na": "#N/A", "Name": "#NAME?", "Null": "#NULL!", "Num": "#NUM!", "Ref": "#REF!",
    "Value": "#VALUE!", "Spill": "#SPILL!", "Calc": "#CALC!", "Circ": "#CIRC!", "NImpl": "#N/IMPL!",
    "Error": "#ERROR!", "Cancelled": "#CANCELLED!",
}  # fmt: skip
_KINDS = {text: kind for kind, text in _FAULTS.items()}
#: The most cells that a function is applied to one by one.
MOST_EACH = 200_000
#: The most letters that a cell can hold.
LONGEST_TEXT = 32_767


@dataclass(frozen=True)
class Job:
    """A prepared copy of a workbook to evaluate.

    iteration : the workbook's settings for formulas that go round in a circle. every : after how many calls of our
    functions to report them. pieces : where the copy is to be evaluated piece by piece, the cells of each as (sheet,
    row, column).
    """

    copy: bytes
    epoch: date
    iteration: Mapping[str, str]
    every: int = sys.maxsize
    pieces: Sequence[Sequence[tuple[str, int, int]]] = ()


class Evaluation:
    """A workbook, evaluated once."""

    def __init__(
        self, job: Job, functions: Sequence[Function], on_calls: Callable[[int], None] = lambda count: None,
        on_piece: Callable[[int], None] = lambda number: None,
    ) -> None:  # fmt: skip
        """Load a prepared copy and evaluate all of it.

        on_calls : called with how many calls of our functions more are done. on_piece : called with the number of each
        piece before it is evaluated. Raises :class:`WorkbookFileError`, and whatever a function raised.
        """
        self._failure: BaseException | None = None
        self._lock = threading.Lock()
        self._on_calls, self._every, self._calls = on_calls, job.every, 0
        epoch = job.epoch
        try:
            self._book = formualizer.Workbook.from_bytes(job.copy, config=_config(epoch, job.iteration))
        except (RuntimeError, ValueError, OSError, formualizer.ExcelEvaluationError) as error:
            raise WorkbookFileError(f"the workbook is beyond this recalculation ({error})") from error
        self._book.set_temporal_egress("serial")
        callbacks = {name: self._guarded(helper) for name, helper in helpers(epoch).items()}
        callbacks[EACH] = self._guarded(lambda name, *arguments: _each(name, arguments, epoch))
        callbacks |= {function.worksheet_name: self._callback(function, epoch) for function in functions}
        for name, callback in callbacks.items():
            self._book.register_function(name, callback, allow_override_builtin=True)
        try:
            for number, piece in enumerate(job.pieces):
                on_piece(number)
                self._book.evaluate_cells(list(piece))
                self.values(piece)
            self._book.evaluate_all()
        except BaseException as error:  # a panic of the engine is no Exception
            passed_on = (KeyboardInterrupt, SystemExit, MemoryError, WorkbookFileError)
            if self._failure is None and isinstance(error, passed_on):
                raise
            if self._failure is None:
                raise WorkbookFileError(f"a formula is beyond this recalculation ({error})") from error
        if self._failure is not None:
            raise self._failure

    def _callback(self, function: Function, epoch: date) -> Callable[..., Any]:
        # Many rows call with the same arguments, such as the same long column.
        answers: dict[bytes, Any] = {}

        def answer(*cells: Any) -> Any:
            key = key_of(cells)
            if key not in answers:
                answers[key] = to_engine(function.in_cell([from_engine(cell) for cell in cells], epoch), epoch)
            return answers[key]

        return self._guarded(answer, is_ours=True)

    def _guarded(self, callback: Callable[..., Any], is_ours: bool = False) -> Callable[..., Any]:
        """Return a callback that keeps what goes wrong: the engine would turn it into #VALUE!, even Ctrl+C."""
        # The engine holds the callback; one that held the engine too would close a circle that is never freed.
        evaluation = weakref.ref(self)

        def guarded(*cells: Any) -> Any:
            found = evaluation()
            if found is None or found._failure is not None:
                return NOT_A_NUMBER
            try:
                if is_ours:
                    found._count()
                return callback(*cells)
            except BaseException as error:
                with found._lock:
                    found._failure = found._failure or error
                found._book.cancel()
                return NOT_A_NUMBER

        return guarded

    def _count(self) -> None:
        self._calls += 1
        if self._calls % self._every == 0:
            self._on_calls(self._every)

    def values(self, cells: Sequence[tuple[str, int, int]]) -> list[Any]:
        """Return what cells hold, each as (sheet, row, column).

        A number, text, truth value or :class:`CellFault`, ``None`` for blank. Raises :class:`WorkbookFileError` for a
        text that no cell can hold.
        """
        return [self._value(*cell) for cell in cells]

    def _value(self, sheet: str, row: int, column: int) -> Any:
        value = self._book.get_value(sheet, row, column)
        if isinstance(value, dict):
            return CellFault(_FAULTS.get(value.get("kind", ""), "#ERROR!"))
        if isinstance(value, float) and not math.isfinite(value):
            return CellFault("#NUM!")
        if isinstance(value, str) and len(value) > LONGEST_TEXT:
            raise WorkbookFileError(
                f"{sheet}!{cell_name(row, column)} comes to a text of {len(value):,} letters, wanted at most"
                f" {LONGEST_TEXT:,}, which is all that a cell can hold; nothing was written"
            )
        return value

    def area(self, sheet: str, name: str) -> Area | None:
        """Return the cells that a formula's answer fills, ``None`` where it fills one only."""
        role = self._book.inspect_cell(f"{quoted_sheet(sheet)}!{name}", include_values=False).cell.spill
        if role is None or not role.extent:
            return None
        return read_area(role.extent.rpartition("!")[2].replace("$", ""))


def _config(epoch: date, iteration: Mapping[str, str]) -> Any:
    settings = formualizer.EvaluationConfig()
    # Python answers one call at a time: a second thread only waits, and the engine takes six times as long.
    settings.enable_parallel = False
    settings.date_system = "1904" if epoch == EPOCH_1904 else "1900"
    if iteration:
        settings.cycle_policy = "iterate"
        settings.iterate_max_iterations = int(iteration.get("iterateCount", 100))
        settings.iterate_max_change = float(iteration.get("iterateDelta", 0.001))
    return formualizer.WorkbookConfig(eval_config=settings)


def unknown_functions(names: Iterable[str]) -> frozenset[str]:
    """Return those of some built-in functions' names that the engine does not know."""
    names = tuple(names)
    book = formualizer.Workbook()
    book.add_sheet("S")
    for row, name in enumerate(names, start=1):
        book.set_formula("S", row, 1, f"={name}()")
    book.evaluate_all()
    values = [book.get_value("S", row, 1) for row in range(1, len(names) + 1)]
    return frozenset(
        name for name, value in zip(names, values) if isinstance(value, dict) and value.get("kind") == "Name"
    )


def _each(name: str, arguments: Sequence[Any], epoch: date) -> Any:
    """Apply a function to every cell of the ranges that it is given where it takes single values.

    A single cell, row or column goes with every row or column of the others; what is missing in one is #N/A.
    """
    whole = RANGE_ARGUMENTS.get(name, frozenset())
    tables = [argument if isinstance(argument, list) else [[argument]] for argument in arguments]
    spread = [table for index, table in enumerate(tables) if index not in whole]
    rows, columns = max(map(len, spread)), max(len(table[0]) for table in spread)
    if rows * columns > MOST_EACH:
        raise WorkbookFileError(f"{name} is given {rows * columns} cells one by one, wanted at most {MOST_EACH}")
    book = formualizer.Workbook(config=_config(epoch, {}))
    for index, table in enumerate(tables):
        book.add_sheet(f"A{index}")
        book.set_values_batch(f"A{index}", 1, 1, [[_literal(cell) for cell in row] for row in table])

    def argument(index: int, row: int, column: int) -> str:
        table = tables[index]
        if index in whole:
            return f"A{index}!A1:{cell_name(len(table), len(table[0]))}"
        row, column = (1 if len(table) == 1 else row), (1 if len(table[0]) == 1 else column)
        return f"A{index}!{cell_name(row, column)}" if row <= len(table) and column <= len(table[0]) else "NA()"

    def formula(row: int, column: int) -> str:
        return f"={name}({','.join(argument(index, row, column) for index in range(len(tables)))})"

    across, down = range(1, columns + 1), range(1, rows + 1)
    book.add_sheet("Each")
    book.set_formulas_batch("Each", 1, 1, [[formula(row, column) for column in across] for row in down])
    book.set_temporal_egress("serial")
    book.evaluate_all()
    return [[book.get_value("Each", row, column) for column in across] for row in down]


def _literal(cell: Any) -> Any:
    return formualizer.LiteralValue.error(cell["kind"], None) if isinstance(cell, dict) else cell


# -- values, as the engine gives and takes them ------------------------------------------------------------------


def from_engine(cell: Any) -> Any:
    """Return a cell or a range as our functions take them."""
    if isinstance(cell, dict):
        return CellFault(_FAULTS.get(cell.get("kind", ""), "#ERROR!"))
    if isinstance(cell, list):
        rows = _without_blank_tail(cell)
        for row in rows:
            for index, part in enumerate(row):
                if type(part) is dict:
                    row[index] = from_engine(part)
        return rows
    return cell


def _without_blank_tail(rows: list[list[Any]]) -> list[list[Any]]:
    """Return a range without the blank rows at its end, of which whole columns and ranges kept ready have many.

    They mean nothing to our functions; two rows stay, so that a range stays one.
    """
    end = len(rows)
    while end > 2 and rows[end - 1].count(None) == len(rows[end - 1]):
        end -= 1
    return rows[:end]


def key_of(cells: Sequence[Any]) -> bytes:
    """Return what distinguishes calls; unlike equality, it distinguishes TRUE from 1."""
    # Version 2 writes equal values alike; later ones also write which objects are one.
    written = marshal.dumps(cells, 2)
    return written if len(written) < 256 else hashlib.blake2b(written).digest()


def to_engine(value: Any, epoch: date) -> Any:
    """Return an answer as the engine takes it; blank becomes an empty text, for ``None`` would show as 0."""
    if value is None:
        return ""
    if isinstance(value, float):
        return value if math.isfinite(value) else NOT_A_NUMBER
    if isinstance(value, datetime):
        return to_serial(value.date(), epoch)
    if isinstance(value, date):
        return to_serial(value, epoch)
    if isinstance(value, CellFault):
        return {"type": "Error", "kind": _KINDS.get(value.text, "Value")}
    if isinstance(value, (list, tuple)):
        if not value:  # a column without a line
            return ""
        return [[to_engine(part, epoch) for part in row] for row in value]
    return value
