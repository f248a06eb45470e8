"""A call as a grower would type it: the same arguments on the command line, and the same answer or line there."""

from __future__ import annotations

import csv
import io
import json
import sys
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any
from unittest.mock import patch

from sheetfuncs.cells.dates import EPOCH_1900
from sheetfuncs.cells.kinds import Kind
from sheetfuncs.cli import app, read_once, show
from sheetfuncs.cli.function_commands import option_name, takes_climate
from sheetfuncs.functions.declare import Function
from sheetfuncs.functions.examples import VALLEY_NORMALS, valley_days

_FOLDER = tempfile.TemporaryDirectory(prefix="sheetfuncs-commands-")
#: Reading a file is not what is tried here: it is read once.
_rows_of = lru_cache(maxsize=None)(read_once.weather_rows)


@lru_cache(maxsize=None)
def _file(name: str) -> str:
    rows = valley_days() if name == "valley" else VALLEY_NORMALS
    path = Path(_FOLDER.name) / f"{name}.csv"
    with path.open("w", newline="") as file:
        csv.writer(file).writerows([("date" if name == "valley" else "month", "low", "high"), *rows])
    return str(path)


#: The options that make a climate, after its file: recorded, moved, typed, cut short, normals.
WAYS: tuple[tuple[str, ...], ...] = (
    ("valley",),
    ("valley", "--frost", "2026-10-10"),
    ("valley", "--until", "2022-07-01"),
    ("normals",),
    ("normals", "--frost", "2026-10-10"),
    ("valley", "--warmer-high", "8", "--warmer-low", "8"),
)


def typed(cell: Any, kind: Kind) -> str | None:
    """Return what stands for a cell on a command line, ``None`` for what nobody can type there.

    A number typed where a date belongs is a number there, and a cell's day number a date; so the other way round.
    """
    if isinstance(cell, str):
        return None if "\0" in cell or any("\ud800" <= letter <= "\udfff" for letter in cell) else cell
    if isinstance(cell, (bool, datetime)) or not isinstance(cell, (int, float, date)):
        return None
    if isinstance(cell, date) or "date" in kind.name:
        return cell.isoformat() if isinstance(cell, date) and "date" in kind.name else None
    if cell != 0 and not 1e-4 <= abs(cell) < 1e15:
        return None
    return repr(int(cell)) if cell == int(cell) else repr(cell)


def _typed_column(cells: Any, kind: Kind) -> str | None:
    if not isinstance(cells, (list, tuple)):
        text = typed(cells, kind)
        return None if text is None or "," in text or not text.strip() else text
    parts = []
    for row in cells:
        if not isinstance(row, (list, tuple)) or len(row) != 1:
            return None
        part = "" if row[0] is None else typed(row[0], kind)
        if part is None or "," in part:
            return None
        parts.append(part)
    return ",".join(parts) if parts else None


def options_of(function: Function, cells: list[Any]) -> list[str] | None:
    """Return a call's arguments as options, without the climate; ``None`` where they cannot be typed."""
    skipped = 1 if takes_climate(function) or function.name == "climate_of" else 0
    if len(cells) > len(function.parameters):
        return None
    options = []
    for parameter, cell in list(zip(function.parameters, cells))[skipped:]:
        if cell is None:
            continue
        text = (_typed_column if parameter.kind.many else typed)(cell, parameter.kind)
        if text is None:
            return None
        options.append(f"{option_name(parameter.name)}={text}")
    return options


def run(arguments: list[str]) -> tuple[int, str, str]:
    """Run a command in this process and return its exit code and what it wrote."""
    out, err = io.StringIO(), io.StringIO()
    argv = patch.object(sys, "argv", ["sheetfuncs", *arguments])
    with argv, redirect_stdout(out), redirect_stderr(err), patch.object(read_once, "weather_rows", _rows_of):
        try:
            app.run()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1
    return code, out.getvalue(), err.getvalue()


@lru_cache(maxsize=None)
def _climate(way: tuple[str, ...]) -> str:
    code, out, err = run(["climate-of", "--weather", _file(way[0]), *way[1:]])
    assert code == 0, err
    return out.strip()


def same_as_in_a_cell(function: Function, cells: list[Any], way: tuple[str, ...]) -> bool:
    """Type a call, its climate made in one of the ways, and compare with the cell; return whether it can be typed.

    Raises :class:`AssertionError` where the answers differ, or where a mistake is more than one line.
    """
    options = options_of(function, cells)
    if options is None:
        return False
    cells = list(cells)
    weather: list[str] = []
    if function.name in ("climate_of", "climate_at"):  # whose arguments are among these options
        way = way[:1]
    if takes_climate(function):
        weather, cells[:1] = ["--weather", _file(way[0]), *way[1:]], [_climate(way)]
    elif function.name == "climate_of":
        weather, cells[:1] = ["--weather", _file("valley")], [[list(row) for row in valley_days()]]
    call = [function.command_name, *weather, *options, "--json"]
    code, out, err = run(call)
    wanted = function.in_cell(cells, EPOCH_1900)
    if show.is_check(wanted):
        # What is typed is a text, which a line may quote.
        assert (code, out, err.replace('"', "")) == (1, "", wanted.replace('"', "") + "\n"), (call, code, err, wanted)
    else:
        assert code == 0, (call, code, out, err, wanted)
        assert out == show.as_json(function, wanted) + "\n", (call, out, wanted)
        assert isinstance(json.loads(out), dict)
    return True
