"""The command ``sheetfuncs`` and its sub-commands."""

from __future__ import annotations

import contextlib
import errno
import importlib
import io
import os
import sys

import click

from ..cells.errors import FileError, InputError
from ..functions import all_functions
from .show import say

#: Exit codes: a value was wrong or missing; the command itself was wrong (click's own).
EXIT_CHECK, EXIT_USAGE = 1, 2


#: The commands that are no functions, each with the module that holds it and the section it is listed in.
MODULES = {
    "new": ("books", "Workbooks"),
    "demo": ("books", "Workbooks"),
    "recalc": ("books", "Workbooks"),
    "stations": ("archive", "Workbooks"),
    "add-weather": ("weather", "Workbooks"),
    "names": ("books", "Workbooks"),
    "carry": ("carry", "Workbooks"),
    "week": ("handouts", "Calendar and pages"),
    "calendar": ("handouts", "Calendar and pages"),
    "print": ("handouts", "Calendar and pages"),
    "install": ("offices", "Spreadsheet programs"),
    "remove": ("offices", "Spreadsheet programs"),
    "lookback": ("lookback", "Looking back"),
    "explain": ("explain", "Reference"),
}


class Commands(click.Group):
    """All sub-commands; each is loaded or made when it is needed, so that the others cost nothing."""

    def list_commands(self, context: click.Context) -> list[str]:
        """Return the work on books first, then the functions in the order of their themes."""
        return [*MODULES, *(function.command_name for function in all_functions())]

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        """Return a command by name; worksheet and Python names of functions are understood too."""
        plain = name.lower().replace("_", "-")
        if plain in MODULES:
            module = importlib.import_module(f".{MODULES[plain][0]}", __package__)
            held = (one for one in vars(module).values() if isinstance(one, click.Command))
            return next(command for command in held if command.name == plain)
        for function in all_functions():
            if function.command_name == plain:
                from .function_commands import function_command

                return function_command(function)
        return None

    def format_commands(self, context: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands by section, the functions by theme."""
        sections: dict[str, list[tuple[str, str]]] = {}
        for name, (_, title) in MODULES.items():
            command = self.get_command(context, name)
            sections.setdefault(title, []).append((name, command.get_short_help_str(200) if command else ""))
        for function in all_functions():
            sections.setdefault(function.theme, []).append((function.command_name, function.summary))
        for title, rows in sections.items():
            with formatter.section(title):
                formatter.write_dl(rows)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="sheetfuncs", message="sheetfuncs %(version)s")
def app() -> None:
    """Plan the summer pruning of fig trees in a short season: which tree, by which date, at what risk.

    Every worksheet function is a command here; dates are given as 2026-07-01, chances as 0.8 or 80%.
    """


def run() -> None:
    """Run the command line; a user's mistake ends it with one line and exit code 1."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a file or a pipe may lack a sign such as · or →
            stream.reconfigure(errors="replace")
    try:
        app.main(standalone_mode=False)
    except InputError as error:
        say(str(error), err=True)
        sys.exit(EXIT_CHECK)
    except click.exceptions.Abort:
        say("Stopped.", err=True)
        sys.exit(EXIT_CHECK)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except OSError as error:
        _refused_by_the_system(error)
        sys.exit(EXIT_CHECK)


def _refused_by_the_system(error: OSError) -> None:
    """Say in one line what the system would not do."""
    if error.filename is not None:
        line = f"{error.filename}: {error.strerror}"
    elif error.errno == errno.ENOENT:
        line = "the folder in which this was started is not there any more"
    else:
        line = f"what this says could not be written: {error.strerror or error}"
        # What is still waiting to be written would fail once more when Python ends.
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    with contextlib.suppress(OSError):
        say(str(FileError(line)), err=True)
