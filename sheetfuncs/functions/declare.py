"""How a worksheet function is declared: once, for every host.

A function is a plain Python function whose signature gives the names, the order and the defaults, and whose
docstring gives the help; the decorator adds the kind of each argument and the words a user sees. Everything
that a host needs is read from the resulting :class:`Function`.
"""

from __future__ import annotations

import functools
import inspect
import itertools
from dataclasses import dataclass
from datetime import date
from typing import Any, Callable, Iterator, Mapping, Sequence

from ..cells.climates import CLIMATES
from ..cells.dates import EPOCH_1900
from ..cells.errors import CHECK, InputError
from ..cells.kinds import CLIMATE, CLIMATES_BY_LINE, DATE, Cell, Kind, Rows, as_column, as_rows, is_blank, is_check
from ..season.errors import Unanswerable
from .arguments import REQUIRED, USUAL, in_the_climate_s_unit
from .arguments import Argument as Argument
from .arguments import InCelsius as InCelsius
from .arguments import Parameter as Parameter
from .frames import as_cells, common_index, has_index, in_the_form_of
from .help import docstring, signature

#: A range of so many rows is a whole column of a sheet: its blank end is no part of the answer.
WHOLE_COLUMN = 65_536
#: What a range comes as.
_RANGES = frozenset((list, tuple))


@dataclass(frozen=True)
class Function:
    """One declared worksheet function.

    shape : ``"cell"``, ``"row"`` or ``"table"`` (both with ``headings``), or ``"column"``.
    none_line : what a cell of a row shows where its answer is ``None``; without it the cell stays blank.
    """

    name: str
    theme: str
    parameters: tuple[Parameter, ...]
    result: Kind
    shape: str
    headings: tuple[str, ...]
    none_line: str
    doc: str
    compute: Callable[..., Any]

    @property
    def worksheet_name(self) -> str:
        """The name in a worksheet: ``LATEST_PRUNE_DATE``."""
        return self.name.upper()

    @property
    def command_name(self) -> str:
        """The name on the command line: ``latest-prune-date``."""
        return self.name.replace("_", "-")

    @property
    def summary(self) -> str:
        """The first line of the help."""
        return self.doc.split("\n", 1)[0]

    @property
    def answer_text(self) -> str:
        """What kind of answer it gives."""
        if self.shape == "row":
            return f"{self.result.name}: {', '.join(self.headings)}"
        return f"list of {self.result.name}, one a line" if self.shape == "column" else self.result.name

    def signature_text(self) -> str:
        """The worksheet name with its arguments, optional ones in brackets with their defaults."""
        shown = []
        for parameter in self.parameters:
            default = f"={parameter.default_text}" if parameter.default_text else ""
            shown.append(parameter.name if parameter.required else f"[{parameter.name}{default}]")
        return f"{self.worksheet_name}({', '.join(shown)})"

    def in_cell(self, cells: Sequence[Any], epoch: date = EPOCH_1900) -> Any:
        """Answer a cell: never raises for a user's input.

        cells : the arguments by position, as hosts hand them over (see :mod:`sheetfuncs.cells.kinds`).
        Returns a date, number, text or ``None`` (blank), or a list of rows where the answer has a shape or
        where single arguments were given as columns.
        """
        try:
            columns = self._columns(cells)
            if not columns:
                return self._shown(self._value(cells, epoch))
        except InputError as error:
            return error.line
        return [row for line in self._lines(cells, columns) for row in self._row_of(line, epoch)] or None

    def in_python(self, *arguments: Any, **named: Any) -> Any:
        """Answer a script: values in, values out; raises :class:`InputError`.

        A column in gives a column out, in the same form; a line of it that is refused does not stop the others.
        """
        bound = self.python_signature.bind_partial(*arguments, **named).arguments
        given: list[Any] = [bound.get(parameter.name) for parameter in self.parameters]
        cells = [as_cells(argument) for argument in given]
        sources = [
            one if has_index(one) and not parameter.kind.many else None
            for one, parameter in zip(given, self.parameters)
        ]
        columns = self._columns(cells, sources)
        if not columns:
            answer = self._value(cells, EPOCH_1900)
            if self.shape != "column" or answer is None:
                return answer
            index = common_index([one for one in given if has_index(one) and len(one) == len(answer)])
            return in_the_form_of(index, answer, (), self.name, self.result is DATE)
        answers: list[Any] = []
        for number, line in enumerate(self._lines(cells, columns), start=1):
            try:
                answers.append(None if line is None else self._value(line, EPOCH_1900))
            except InputError as error:
                answers.append(InputError(f"line {number}: {str(error)[len(CHECK) :]}"))
        return in_the_form_of(common_index(sources), answers, self.headings, self.name, self.result is DATE)

    # -- reading ------------------------------------------------------------------------------------------

    def _columns(self, cells: Sequence[Any], sources: Sequence[Any] = ()) -> dict[int, list[Any]]:
        """Return the single arguments that came as columns, by their index; each wants one answer a line.

        sources : for each argument the column of a script, which is one however short; else ``None``.
        """
        if len(cells) > len(self.parameters):
            raise InputError(f"{self.worksheet_name} takes {len(self.parameters)} arguments, not {len(cells)}")
        if _RANGES.isdisjoint(map(type, cells)):
            return {}
        columns: dict[int, list[Any]] = {}
        for index, (cell, parameter) in enumerate(zip(cells, self.parameters)):
            if isinstance(cell, (list, tuple)) and not parameter.kind.many:
                is_column = bool(sources) and sources[index] is not None
                flat = as_column(cell, parameter.label, trim=len(cell) >= WHOLE_COLUMN and not is_column)
                if len(flat) > 1 or len(cell) >= WHOLE_COLUMN or is_column:
                    columns[index] = flat
        return columns

    def _lines(self, cells: Sequence[Any], columns: Mapping[int, list[Any]]) -> Iterator[list[Any] | None]:
        """Go through the arguments line by line; ``None`` for a line in which all columns are blank."""
        for line in range(max(len(column) for column in columns.values())):
            picked = list(cells)
            for index, column in columns.items():
                picked[index] = column[line] if line < len(column) else None
            blank = all(self.parameters[index].kind.blank(picked[index]) for index in columns)
            yield None if blank else picked

    def _value(self, cells: Sequence[Any], epoch: date) -> Any:
        values: list[Any] = []
        missing = []
        for parameter, cell in itertools.zip_longest(self.parameters, cells):
            kind = parameter.kind
            if type(cell) is not float:  # most cells hold a number
                if not kind.many and isinstance(cell, (list, tuple)):
                    cell = next((one for row in as_rows(cell) for one in row), None)
                if is_check(cell) and not kind.takes_checks:
                    raise InputError(cell)
                if kind.takes_blank and is_blank(cell):
                    values.append(None)
                    continue
                if kind.blank(cell):
                    if parameter.default is REQUIRED:
                        missing.append(parameter)
                    values.append(parameter.default)
                    continue
            values.append(kind.read(cell, parameter.label, epoch))
        if missing or () in values:
            # A column without a value is as good as none.
            empty = sum(one.required and one.kind.many and value == () for one, value in zip(self.parameters, values))
            required = sum(parameter.required and not parameter.kind.takes_blank for parameter in self.parameters)
            if len(missing) + empty == required > 0:
                return None
        if missing:
            raise InputError(f"{missing[0].label} is blank, wanted {missing[0].kind.name}")
        try:
            return self.compute(*(in_the_climate_s_unit(values) if self._has_celsius else values))
        except Unanswerable as reason:
            raise InputError(str(reason)) from None

    @functools.cached_property
    def python_signature(self) -> inspect.Signature:
        """The signature that a script sees."""
        return signature(self.parameters, self.compute)

    @functools.cached_property
    def _has_celsius(self) -> bool:
        of_climate = self.parameters[0].kind in (CLIMATE, CLIMATES_BY_LINE)
        return of_climate and any(isinstance(parameter.default, InCelsius) for parameter in self.parameters)

    # -- showing ------------------------------------------------------------------------------------------

    def _shown(self, value: Any) -> Any:
        if value is None:
            return None
        if self.shape == "row":
            return [[self._shown_one(part) for part in value]]
        if self.shape == "column":
            return [[self._shown_one(part)] for part in value]
        if self.shape == "table":
            return [[self._shown_one(part) for part in row] for row in value]
        return self._shown_one(value)

    def _shown_one(self, value: Any) -> Cell:
        if self.result is CLIMATE:
            return CLIMATES.put(value)
        if value is None and self.none_line:
            return CHECK + self.none_line
        shown: Cell = value.line if isinstance(value, InputError) else value
        return shown

    def _row_of(self, line: Sequence[Any] | None, epoch: date) -> Rows:
        try:
            shown = None if line is None else self._shown(self._value(line, epoch))
        except InputError as error:
            shown = error.line
        if isinstance(shown, list):
            return shown[:1]
        return [[shown] + [None] * (max(len(self.headings), 1) - 1)]


def declared(
    result: Kind,
    shape: str = "cell",
    headings: tuple[str, ...] = (),
    none_line: str = "",
    **arguments: Argument,
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Declare a worksheet function; the decorated name becomes its Python face. Its theme is its module's name.

    arguments : those that are not the usual ones of their names. The face carries the declaration as
    ``face.declaration``.
    """

    def declare(compute: Callable[..., Any]) -> Callable[..., Any]:
        own = inspect.signature(compute).parameters
        unknown = set(arguments) - set(own)
        if unknown:
            raise TypeError(f"{compute.__name__}() has no argument {min(unknown)!r}")
        known = {**USUAL, **arguments}
        parameters = tuple(
            Parameter(name, known[name].kind, known[name].help, name.replace("_", " "), parameter.default)
            for name, parameter in own.items()
        )
        doc = inspect.cleandoc(compute.__doc__ or "")
        theme = compute.__module__.rpartition(".")[2].replace("_", " ").capitalize()
        declaration = Function(compute.__name__, theme, parameters, result, shape, headings, none_line, doc, compute)

        @functools.wraps(compute)
        def face(*positional: Any, **named: Any) -> Any:
            return declaration.in_python(*positional, **named)

        face.declaration = declaration  # type: ignore[attr-defined]
        face.__signature__ = declaration.python_signature  # type: ignore[attr-defined]
        face.__doc__ = docstring(doc, parameters, declaration.answer_text)
        return face

    return declare
