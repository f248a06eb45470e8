"""The command ``sheetfuncs`` and its sub-commands."""

from __future__ import annotations

import sys

import click

from ...cells.errors import InputError
from ...functions import all_functions
from . import books
from .explain import explain
from .function_commands import function_command

#: What a script can tell by: a value was wrong or missing; the command itself was wrong (click's own).
EXIT_CHECK, EXIT_USAGE = 1, 2


class Commands(click.Group):
    """All sub-commands; a function's is made when it is asked for."""

    def list_commands(self, context: click.Context) -> list[str]:
        """Return the work on books first, then the functions in the order of their themes."""
        return [*self.commands, *(function.command_name for function in all_functions())]

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        """Return a command by name; worksheet and Python names of functions are understood too."""
        plain = name.lower().replace("_", "-")
        if plain in self.commands:
            return self.commands[plain]
        for function in all_functions():
            if function.command_name == plain:
                return function_command(function)
        return None

    def format_commands(self, context: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands: books first, then the functions by theme."""
        sections: dict[str, list[tuple[str, str]]] = {}
        for command in self.commands.values():
            title = "Reference" if command.name == "explain" else "Workbooks"
            sections.setdefault(title, []).append((command.name or "", command.get_short_help_str(200)))
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


for _command in (*books.COMMANDS, explain):
    app.add_command(_command)


def run() -> None:
    """Run the command line; a user's mistake ends it with one line and exit code 1."""
    try:
        app.main(standalone_mode=False)
    except InputError as error:
        click.echo(error.line, err=True)
        sys.exit(EXIT_CHECK)
    except click.exceptions.Abort:
        click.echo("Stopped.", err=True)
        sys.exit(EXIT_CHECK)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
