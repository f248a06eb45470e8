"""The climate of a command: from a weather file and rules, frost estimates, a position and a day, as options.

The options are those of the functions that make climates, read from their declarations.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from ..cells.errors import InputError
from ..cells.kinds import CLIMATE, CLIMATES_BY_LINE
from ..functions import all_functions
from ..functions.declare import Function, Parameter

_BY_NAME = {function.name: function for function in all_functions()}
_MAKE, _FROST = _BY_NAME["climate_of"], _BY_NAME["climate_with_frost"]
_AT, _UNTIL = _BY_NAME["climate_at"], _BY_NAME["climate_until"]


def option_name(parameter: str) -> str:
    """Return an argument's name as an option: ``--heat-need``."""
    return "--" + parameter.replace("_", "-")


def help_of(parameter: Parameter) -> str:
    """Return an argument's help with its default."""
    return parameter.help + (f" (default {parameter.default_text})" if parameter.default_text else "")


def metavar_of(parameter: Parameter) -> str:
    """Return what stands for a value in the help: ``COLUMN_OF_DATES``."""
    return parameter.kind.name.partition(",")[0].upper().replace(" ", "_")


def takes_climate(function: Function) -> bool:
    """Return whether a function's first argument is a climate."""
    return bool(function.parameters) and function.parameters[0].kind in (CLIMATE, CLIMATES_BY_LINE)


def climate_options(taken: Iterable[str]) -> list[click.Option]:
    """Return the options that make a climate, but those whose names are taken."""
    options = [
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
    ]
    for parameter in (*_MAKE.parameters[1:], *_AT.parameters[1:]):
        if parameter.name not in taken:
            options.append(
                click.Option(
                    [option_name(parameter.name), f"climate_{parameter.name}"],
                    metavar=metavar_of(parameter),
                    help=help_of(parameter),
                )
            )
    return options


def make_climate(given: dict[str, Any]) -> Any:
    """Return the climate that the given options describe; raises :class:`InputError`."""
    if given["weather_file"] is None:
        raise InputError("weather is blank, wanted --weather FILE with rows of date, low, high")
    from .read_once import weather_rows

    rows = weather_rows(given["weather_file"], _unit(given.get("climate_unit")))
    climate = _MAKE.in_python(rows, *(given.get(f"climate_{parameter.name}") for parameter in _MAKE.parameters[1:]))
    if given["known_until"]:
        climate = _UNTIL.in_python(climate, given["known_until"])
    if given["frost_estimates"]:
        climate = _FROST.in_python(climate, [_estimate(text) for text in given["frost_estimates"]])
    shifts = [given.get(f"climate_{parameter.name}") for parameter in _AT.parameters[1:]]
    return _AT.in_python(climate, *shifts) if any(shifts) else climate


def _unit(text: str | None) -> str | None:
    """Return the unit of an option; one that is none is left for the function to refuse."""
    word = (text or "C").strip().upper().lstrip("°").strip()
    return word if word in ("C", "F") else None


def _estimate(text: str) -> list[Any]:
    chance, separator, day = text.partition("=")
    return [chance, day] if separator else [0.5, text]
