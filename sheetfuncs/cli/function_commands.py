"""One sub-command for each declared function; its climate from a weather file and options.

The options of the climate are the arguments of the functions that make climates, read from their declarations.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import click

from ..cells.errors import InputError
from ..cells.kinds import CLIMATE, CLIMATES_BY_LINE, is_blank
from ..functions import all_functions
from ..functions.declare import Function, Parameter
from . import show

_BY_NAME = {function.name: function for function in all_functions()}
_MAKE, _FROST = _BY_NAME["climate_of"], _BY_NAME["climate_with_frost"]
_AT, _UNTIL = _BY_NAME["climate_at"], _BY_NAME["climate_until"]


def help_text(function: Function) -> str:
    """Return a function's help in words: without Python's marks and examples, a paragraph or source a line."""
    text = function.doc.partition("\nExamples\n")[0].rstrip().replace("``", "")
    return re.sub(r"(?<!\n)\n(?!\n|Formula|Source)", " ", text)


def function_command(function: Function) -> click.Command:
    """Return the sub-command of a function: its arguments in order or by name, its climate from options."""
    makes, takes = function is _MAKE, takes_climate(function)
    own = () if makes else function.parameters[takes:]
    usage = " ".join(p.name.upper() if p.required else f"[{p.name.upper()}]" for p in own)
    parameters: list[click.Parameter] = [
        click.Argument(["values"], nargs=-1, type=click.UNPROCESSED, metavar=usage),
        *(_option(p, "own", " (values set apart by commas)" if p.kind.many else "") for p in own),
        *(climate_options({p.name for p in own}) if makes or takes else ()),
        click.Option(["--json", "as_json"], is_flag=True, help="Answer as one JSON object."),
    ]

    def run(values: tuple[str, ...], as_json: bool, **given: Any) -> None:
        for value in values:
            if value.startswith("--"):
                raise click.NoSuchOption(value)
        cells = _in_order(own, values, given)
        if makes:
            answer: Any = str(make_climate(given))
        else:
            answer = function.in_cell([make_climate(given), *cells] if takes else cells)
        if show.is_check(answer):
            raise InputError(answer)
        if answer is None:
            click.echo("No answer: there is no such day, or no argument was given.", err=True)
        click.echo(show.as_json(function, answer) if as_json else show.plain(function, answer))

    return click.Command(
        function.command_name,
        params=parameters,
        callback=run,
        help=f"{help_text(function)}\n\nIn a worksheet: {function.signature_text()}",
        short_help=function.summary,
        context_settings={"ignore_unknown_options": True},
    )


def _in_order(own: Iterable[Parameter], values: Sequence[str], given: dict[str, Any]) -> list[Any]:
    """Return the arguments in the function's order: those given by name where they belong, the others in turn."""
    waiting = list(values)
    cells: list[Any] = []
    for parameter in own:
        value = given[f"own_{parameter.name}"]
        if value is None and waiting:
            value = waiting.pop(0)
        if parameter.kind.many and value is not None:
            value = [None if is_blank(part) else part for part in value.split(",")]
        cells.append(value)
    if waiting:
        raise click.UsageError(f"too many arguments: {' '.join(waiting)}")
    return cells


# -- options ---------------------------------------------------------------------------------------------------


def option_name(parameter: str) -> str:
    """Return an argument's name as an option: ``--heat-need``."""
    return "--" + parameter.replace("_", "-")


def _option(parameter: Parameter, of: str, more: str = "") -> click.Option:
    """Return an argument as an option. of : whose it is, which keeps names apart that two functions have."""
    default = f" (default {parameter.default_text})" if parameter.default_text else ""
    metavar = parameter.kind.name.partition(",")[0].upper().replace(" ", "_")
    names = [option_name(parameter.name), f"{of}_{parameter.name}"]
    return click.Option(names, metavar=metavar, help=parameter.help + default + more)


def takes_climate(function: Function) -> bool:
    """Return whether a function's first argument is a climate."""
    return function.parameters[0].kind in (CLIMATE, CLIMATES_BY_LINE)


def climate_options(taken: Iterable[str]) -> list[click.Option]:
    """Return the options that make a climate, but those whose names are taken."""
    return [
        click.Option(
            ["--weather", "weather_file"],
            type=click.Path(path_type=Path),
            metavar="FILE",
            help="Text file with rows of date, low, high (or 12 rows of month, low, high).",
        ),
        click.Option(
            ["--frost", "frost_estimates"],
            multiple=True,
            metavar="[CHANCE=]DATE",
            help="First freeze as you estimate it; again for more: --frost 0.1=2026-10-05 --frost 0.9=2026-11-01",
        ),
        click.Option(["--until", "known_until"], metavar="DATE", help="Look as on that morning: days before it only."),
        *(_option(p, "climate") for p in (*_MAKE.parameters[1:], *_AT.parameters[1:]) if p.name not in taken),
    ]


def make_climate(given: dict[str, Any]) -> Any:
    """Return the climate that the given options describe; raises :class:`InputError`."""
    if given["weather_file"] is None:
        raise InputError("weather is blank, wanted --weather FILE with rows of date, low, high")
    from .read_once import weather_rows

    rules, shifts = ([given.get(f"climate_{p.name}") for p in one.parameters[1:]] for one in (_MAKE, _AT))
    unit = (given.get("climate_unit") or "C").strip().upper().lstrip("°").strip()
    # One that is no unit is left for the function to refuse.
    climate = _MAKE.in_python(weather_rows(given["weather_file"], unit if unit in ("C", "F") else None), *rules)
    if given["known_until"]:
        climate = _UNTIL.in_python(climate, given["known_until"])
    if given["frost_estimates"]:
        typed = (text.rpartition("=") for text in given["frost_estimates"])
        climate = _FROST.in_python(climate, [[chance if equals else 0.5, day] for chance, equals, day in typed])
    return _AT.in_python(climate, *shifts) if any(shifts) else climate
