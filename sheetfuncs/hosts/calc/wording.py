"""The words of the function wizard where they differ from the declaration's."""

from __future__ import annotations

from ...functions.declare import Parameter


def argument_help(parameter: Parameter) -> str:
    """Return the help of an argument with what a blank means, as the function wizard shows it."""
    if parameter.required:
        return parameter.help
    default = f"blank: {parameter.default_text}" if parameter.default_text else "may be blank"
    return f"{parameter.help} ({default})"
