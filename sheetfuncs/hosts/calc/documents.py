"""The office's open documents: formulas adapted when they come in, everything recalculated after a load.

Works on the office's own objects, handed in by the component; imports nothing of the office.
"""

from __future__ import annotations

import re
from contextlib import ExitStack, contextmanager, suppress
from datetime import date
from typing import Any, Callable, Iterable, Iterator, Sequence

from ...cells.dates import EPOCH_1900
from .columns import changed_column, fill
from .names import SERVICE, Known, adapt, is_one_cell, mentions_any

_FORMULAS = 16  # com.sun.star.sheet.CellFlags.FORMULA
_DATE, _NUMBER = 2, 16  # com.sun.star.util.NumberFormat
_WHOLE_CALL = re.compile(rf"\{{?={SERVICE}\.(?P<name>\w+)\([^()]*(?:\([^()]*(?:\([^()]*\)[^()]*)*\)[^()]*)*\)\}}?")
_MIXED_CALENDARS = (
    "Check: open books count days from different years, close one, then recalculate ({keys})"
)


class OpenDocuments:
    """The spreadsheets of this process that use the functions, and the calendar of each.

    Books of the 1900 and the 1904 calendar open together get a line: a function learns which book asks only by an
    argument that makes a call three times as dear.
    """

    def __init__(self, known: Known, keys: str, dated: Iterable[str] = ()) -> None:
        """known, keys : the functions, and the keys that recalculate. dated : the names of those that give dates."""
        self._known = known
        self._dated = frozenset(dated)
        self._mentioned = mentions_any(known)
        self._calendars: dict[str, date] = {}
        self._watched: set[str] = set()
        self._typed: set[str] = set()  # those in which one of the functions was typed or pasted since they were opened
        #: What a cell shows while documents of different calendars are open: Calc does not say which one calls.
        self.mixed_line = _MIXED_CALENDARS.format(keys=keys)
        #: Day 0 of every document that uses the functions; ``None`` where they differ.
        self.epoch: date | None = EPOCH_1900

    def opened(self, document: Any, listener: Any) -> None:
        """Adapt a document's formulas, recalculate it where it uses the functions, and watch what is typed."""
        identity = document.RuntimeUID
        if identity in self._watched:
            return
        self._watched.add(identity)
        document.addChangesListener(listener)
        document.getUndoManager().addUndoManagerListener(listener)
        with _unnoticed(document):
            uses = self._adapt_ranges(document, _formula_ranges(document.Sheets))
            uses = self._adapt_names(document) or uses
            if uses:
                self._remember(document)
                document.calculateAll()

    def changed(self, document: Any, ranges: Iterable[Any]) -> None:
        """Adapt the formulas that came into some ranges by typing or pasting."""
        formulas = list(_formula_ranges(ranges))
        if formulas:
            with _no_undo(document):
                uses = self._adapt_ranges(document, formulas)
                if uses:
                    self._format_dates(document, formulas)
            if uses:
                self._typed.add(document.RuntimeUID)
            if uses or document.RuntimeUID in self._calendars:
                self._remember(document)

    def stepped(self, document: Any) -> None:
        """Adapt the formulas that undoing or redoing brought back, anywhere: only what was typed comes unadapted."""
        if document.RuntimeUID in self._typed:
            self.changed(document, _each(document.Sheets))

    def closed(self, identity: str) -> None:
        """Forget a document, known by its ``RuntimeUID``."""
        self._watched.discard(identity)
        self._typed.discard(identity)
        self._calendars.pop(identity, None)
        self._set_epoch()

    def _remember(self, document: Any) -> None:
        day = document.NullDate
        self._calendars[document.RuntimeUID] = date(day.Year, day.Month, day.Day)
        self._set_epoch()

    def _set_epoch(self) -> None:
        days = set(self._calendars.values()) or {EPOCH_1900}
        self.epoch = days.pop() if len(days) == 1 else None

    def _adapt_ranges(self, document: Any, ranges: Iterable[Any]) -> bool:
        """Adapt the formulas of some ranges; returns whether one of our functions is among them."""
        names = _one_cell_names(document)
        uses = False
        with ExitStack() as unprotected:
            opened: set[str] = set()
            for one in ranges:
                for column, formulas in enumerate(zip(*one.getFormulaArray())):
                    adapted = changed_column(
                        formulas,
                        one.RangeAddress.StartRow + 1,
                        lambda text: adapt(text, self._known, names) if self._mentioned(text) else text,
                    )
                    uses = uses or any(f"{SERVICE}." in text for text in adapted)
                    done = -1  # the last row that an array has covered
                    for first, last in _changed_runs(formulas, adapted):
                        if first <= done:
                            continue
                        sheet = one.Spreadsheet
                        if sheet.Name not in opened:
                            opened.add(sheet.Name)
                            unprotected.enter_context(_unprotected(sheet))
                        rows = _put(one.getCellRangeByPosition(column, first, column, last), adapted[first : last + 1])
                        done = first + rows - 1
        return uses

    def _format_dates(self, document: Any, ranges: Iterable[Any]) -> None:
        """Show a date as one where a cell is nothing but a call that gives dates, and has no format of its own."""
        formats, language = document.NumberFormats, document.CharLocale
        general, as_date = formats.getStandardFormat(_NUMBER, language), formats.getStandardFormat(_DATE, language)
        for one in ranges:
            for row, formulas in enumerate(one.getFormulaArray()):
                for column, formula in enumerate(formulas):
                    if self._gives_date(formula):
                        cell = one.getCellByPosition(column, row)
                        if cell.NumberFormat in (0, general):
                            cell.NumberFormat = as_date

    def _gives_date(self, formula: str) -> bool:
        found = _WHOLE_CALL.fullmatch(formula)
        return bool(found) and found["name"] in self._dated

    def _adapt_names(self, document: Any) -> bool:
        """Adapt the formulas behind defined names."""
        uses = False
        names = _one_cell_names(document)
        for named in _named_ranges(document):
            content = named.Content
            adapted = adapt(content, self._known, names)
            uses = uses or f"{SERVICE}." in adapted
            if adapted != content:
                named.setContent(adapted)
        return uses


def _each(container: Any) -> Iterator[Any]:
    return (container.getByIndex(index) for index in range(container.getCount()))


def _named_ranges(document: Any) -> Iterator[Any]:
    """Return the defined names of a document and of its sheets."""
    for holder in (document, *_each(document.Sheets)):
        yield from _each(holder.NamedRanges)


def _formula_ranges(holders: Any) -> Iterator[Any]:
    """Return the ranges of formula cells in sheets or ranges."""
    for holder in _each(holders) if hasattr(holders, "getByIndex") else holders:
        yield from _each(holder.queryContentCells(_FORMULAS))


def _changed_runs(before: Sequence[str], after: Sequence[str]) -> Iterator[tuple[int, int]]:
    """Return the first and the last index of each run of changed formulas; a cell of an array is a run of its own."""
    first = None
    for index, (old, new) in enumerate(zip(before, after)):
        single = new.startswith("{")
        if first is not None and (single or old == new):
            yield first, index - 1
            first = None
        if old != new:
            if single:
                yield index, index
            elif first is None:
                first = index
    if first is not None:
        yield first, len(before) - 1


def _put(cells: Any, formulas: Sequence[str]) -> int:
    """Write formulas into a run of cells at once, as the office takes its time over each cell alone.

    An array formula goes into the whole of its array, when its first cell comes. Returns how many rows are done.
    """
    if not formulas[0].startswith("{"):
        try:
            if not fill(cells, formulas):
                cells.setFormulaArray(tuple((formula,) for formula in formulas))
        except Exception:  # a sheet with a password refuses whole ranges, but not what a component puts cell by cell
            for index, formula in enumerate(formulas):
                cells.getCellByPosition(0, index).setFormula(formula)
        return len(formulas)
    cursor = cells.Spreadsheet.createCursorByRange(cells)
    cursor.collapseToCurrentArray()
    array, own = cursor.RangeAddress, cells.RangeAddress
    if (array.StartColumn, array.StartRow) == (own.StartColumn, own.StartRow):
        cursor.setArrayFormula(formulas[0][1:-1])
    return array.EndRow - own.StartRow + 1


@contextmanager
def _unprotected(sheet: Any) -> Iterator[None]:
    """Take the protection off a sheet meanwhile, so that whole runs can be written; not where it has a password."""
    was_protected = sheet.isProtected()
    if was_protected:
        with suppress(Exception):  # what it says of a wrong password
            sheet.unprotect("")
    try:
        yield
    finally:
        if was_protected and not sheet.isProtected():
            sheet.protect("")


def _one_cell_names(document: Any) -> Callable[[str], bool]:
    """Return a test for the defined names of a document that stand for one cell; they are looked up once."""
    found: set[str] | None = None

    def is_one(name: str) -> bool:
        nonlocal found
        if found is None:
            found = {named.Name.upper() for named in _named_ranges(document) if is_one_cell(named.Content)}
        return name.upper() in found

    return is_one


@contextmanager
def _no_undo(document: Any) -> Iterator[None]:
    """Leave no step of ours among the user's steps to undo."""
    manager = document.getUndoManager()
    manager.lock()
    try:
        yield
    finally:
        manager.unlock()


@contextmanager
def _unnoticed(document: Any) -> Iterator[None]:
    """Work on a document without a repaint or a recalculation between, and without marking it as changed."""
    modified, automatic = document.isModified(), document.isAutomaticCalculationEnabled()
    document.lockControllers()
    document.enableAutomaticCalculation(False)
    try:
        with _no_undo(document):
            yield
    finally:
        document.enableAutomaticCalculation(automatic)
        document.unlockControllers()
        if not modified:
            document.setModified(False)
            for chart in _charts(document):  # a chart that was drawn with new values marks its document, too
                chart.setModified(False)


def _charts(document: Any) -> Iterator[Any]:
    for sheet in _each(document.Sheets):
        for holder in _each(sheet.Charts):
            if holder.EmbeddedObject is not None:
                yield holder.EmbeddedObject
