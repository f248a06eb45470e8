"""One sub-command for each declared function."""

from __future__ import annotations

from typing import Any

import click

from ..cells.errors import InputError
from ..cells.kinds import is_blank
from ..functions.declare import Function
from . import show
from .climate_options import climate_options, help_of, make_climate, metavar_of, option_name, takes_climate


def function_command(function: Function) -> click.Command:
    """Return the sub-command of a function: its arguments in order or by name, its climate from options."""
    own = function.parameters[1:] if takes_climate(function) else function.parameters
    weather = function.name == "climate_of"
    if weather:
        own = ()
    parameters: list[click.Parameter] = [
        click.Argument(["values"], nargs=-1, type=click.UNPROCESSED, metavar=" ".join(_usage(p) for p in own) or "")
    ]
    parameters += [
        click.Option(
            [option_name(p.name), f"own_{p.name}"],
            metavar=metavar_of(p),
            help=help_of(p) + (" (values set apart by commas)" if p.kind.many else ""),
        )
        for p in own
    ]
    if takes_climate(function) or weather:
        parameters += climate_options({p.name for p in own})
    parameters.append(click.Option(["--json", "as_json"], is_flag=True, help="Answer as one JSON object."))

    def run(values: tuple[str, ...], as_json: bool, **given: Any) -> None:
        unknown = [value for value in values if value.startswith("--")]
        if unknown:
            raise click.NoSuchOption(unknown[0])
        cells = _in_order(own, values, {p.name: given[f"own_{p.name}"] for p in own})
        if weather:
            answer: Any = make_climate(given)
            cells = [answer]
            answer = str(answer)
        else:
            if takes_climate(function):
                cells.insert(0, make_climate(given))
            answer = function.in_cell(cells)
        if show.is_check(answer):
            raise InputError(answer)
        if answer is None:
            click.echo("No answer: there is no such day, or no argument was given.", err=True)
        click.echo(show.as_json(function, answer) if as_json else show.plain(function, answer))

    return click.Command(
        function.command_name,
        params=parameters,
        callback=run,
        help=_help(function),
        short_help=function.summary,
        context_settings={"ignore_unknown_options": True},
    )


def _usage(parameter: Any) -> str:
    return parameter.name.upper() if parameter.required else f"[{parameter.name.upper()}]"


def _in_order(own: tuple, values: tuple[str, ...], named: dict[str, Any]) -> list[Any]:
    """Return the arguments in the function's order: those given by name where they belong, the others in turn."""
    waiting = list(values)
    cells: list[Any] = []
    for parameter in own:
        value = named[parameter.name]
        if value is None and waiting:
            value = waiting.pop(0)
        if parameter.kind.many and value is not None:
            value = [None if is_blank(part) else part for part in value.split(",")]
        cells.append(value)
    if waiting:
        raise click.UsageError(f"too many arguments: {' '.join(waiting)}")
    return cells


def _help(function: Function) -> str:
    """Return the declared help for click, paragraphs kept, without the Python example."""
    text = function.doc.split("\nExamples\n")[0].rstrip()
    return text + f"\n\nIn a worksheet: {function.signature_text()}"
