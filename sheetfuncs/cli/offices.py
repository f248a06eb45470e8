"""``sheetfuncs install`` and ``remove``: the functions in Calc, and what Excel still needs."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import click

from ..cells.errors import FileError
from .show import say, waiting


@click.group()
def install() -> None:
    """Put the functions into a spreadsheet program."""


@install.command("calc", short_help="Add the functions to LibreOffice Calc.")
@click.option(
    "--build-only", type=click.Path(path_type=Path), metavar="FILE", help="Only write the extension into this file."
)
def install_calc(build_only: Path | None) -> None:
    """Add the functions to LibreOffice Calc, for this user (as root: for all)."""
    from ..hosts.calc import install as calc

    if build_only is not None:
        _write_extension(build_only)
        say(f"{build_only} is the extension: open it with LibreOffice to add it.")
        return
    with waiting("Adding the functions to LibreOffice"):
        done = calc.install()
    say(done)


def _write_extension(path: Path) -> None:
    """Write the extension in one step; a file that is no extension of ours is left alone."""
    from ..hosts.calc.build import build_extension, is_extension
    from ..xlsx.files import check_target, write_file

    if path.suffix.lower() != ".oxt":
        raise FileError(f"{path.name}: the file name must end in .oxt")
    check_target(path, path)
    if path.exists() and not is_extension(path):
        raise FileError(f"{path.name} is there already and was not made here, wanted another name")
    with tempfile.TemporaryDirectory(prefix="sheetfuncs-") as folder:
        made = build_extension(Path(folder) / "made.oxt")
        write_file(made, path, made.read_bytes())


@install.command("excel", short_help="Say what Excel still needs for the functions.")
@click.argument("book", type=click.Path(path_type=Path), required=False)
@click.pass_context
def install_excel(context: click.Context, book: Path | None) -> None:
    """Look through what Excel needs for the functions, and say each missing step.

    With BOOK, a macro workbook (.xlsm) made with sheetfuncs: have it start the Python of this computer, with the
    functions of this version.
    """
    from ..hosts.excel.book import renew_macro_book
    from ..hosts.excel.install import check_excel, to_run

    steps = check_excel()
    for step in steps:
        say(str(step))
    if not all(step.done for step in steps):
        context.exit(1)
    if book is not None:
        renew_macro_book(book)
        say(f"{book} starts this Python now.")
        return
    example = Path.cwd() / "fig-trees.xlsm"
    say(f"""Now make a workbook and open it in Excel. {to_run(sys.executable, f'sheetfuncs new "{example}"')}""")


@click.group()
def remove() -> None:
    """Take the functions out of a spreadsheet program."""


@remove.command("calc")
def remove_calc() -> None:
    """Take the functions out of LibreOffice Calc."""
    from ..hosts.calc import install as calc

    say(calc.remove())
