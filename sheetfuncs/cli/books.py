"""The work on workbook files: a new one, the demo, recalculating one in place, and the names of its functions."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..cells.errors import FileError
from .show import BACKUP, json_text, naming_the_copy, say, waiting

if TYPE_CHECKING:
    from ..xlsx.files import Backup

_BOOK = click.Path(path_type=Path)
_OUT = click.option("-o", "--out", type=_BOOK, metavar="OUT", help="Write here and leave BOOK as it is.")


def _refuse_to_overwrite(path: Path, replace: bool) -> None:
    if path.exists() and not replace:
        raise FileError(f"{path.name} is there already, wanted another name or --replace")


def refuse_other_kinds(book: Path) -> None:
    """Raise :class:`FileError` where a workbook's name is none for a plain or a macro workbook."""
    if book.suffix.lower() not in (".xlsx", ".xlsm"):
        raise FileError(f"{book.name}: the file name must end in .xlsx or .xlsm")


def of_kind(made: Path, wanted: Path) -> Path:
    """Return a workbook of the kind that a name stands for: a plain one as it is, or a macro one made of it."""
    if made.suffix.lower() == wanted.suffix.lower():
        return made
    from ..hosts.excel.book import make_macro_book

    return make_macro_book(made, made.with_suffix(wanted.suffix.lower()))


def _build(build: Callable[..., object], book: Path) -> None:
    """Build a workbook with its answers, a macro one by way of a plain one; a book of that name is kept."""
    from ..recalc import recalculate
    from ..xlsx.files import check_target, write_file

    refuse_other_kinds(book)
    check_target(book, book)
    with tempfile.TemporaryDirectory(prefix="sheetfuncs-") as folder:
        plain = Path(folder) / "plain.xlsx"
        build(plain, recalculate)
        made = of_kind(plain, book)
        with naming_the_copy(book):
            write_file(made, book, made.read_bytes(), backup="first")


@click.command()
@click.argument("book", type=_BOOK, default=Path("fig-trees.xlsx"))
@click.option("--trees", type=click.IntRange(1, 5000), help="Rows that are ready; else 100.")
@click.option("--unit", type=click.Choice(["C", "F"], case_sensitive=False), help="Unit of temperature; else C.")
@click.option("--frost", metavar="DATE", help="Your average first frost, where you know it better than the record.")
@click.option("--chance", metavar="SHARE", help="Chance you want, such as 70%; else 80%.")
@click.option("--season", type=click.IntRange(1900, 2150), metavar="YEAR", help="Else this year's.")
@click.option("--replace", is_flag=True, help="Write over a file of that name.")
def new(
    book: Path, trees: int | None, unit: str | None, frost: str | None, chance: str | None, season: int | None,
    replace: bool,
) -> None:  # fmt: skip
    """Make a new, blank workbook to fill in: .xlsx, or .xlsm for the functions in Excel."""
    from ..cells.dates import EPOCH_1900, read_date
    from ..cells.kinds import CHANCE
    from ..planner.build import READY_TREES, build_template

    typed = {
        "Unit": unit and unit.upper(),
        "Frost_one_date": frost and read_date(frost, "frost"),
        "Chance_wanted": chance and CHANCE.read(chance, "chance", EPOCH_1900),
        "Season_year": season,
    }
    settings = {name: value for name, value in typed.items() if value}
    _refuse_to_overwrite(book, replace)
    with waiting("Making the workbook"):
        _build(lambda path, recalculate: build_template(path, trees or READY_TREES, recalculate, settings), book)
    say(f"{book} is ready: its sheet Start says what to fill in. Then:")
    say(f"sheetfuncs add-weather {book} --near LATITUDE,LONGITUDE")
    say(f"sheetfuncs recalc {book}")


@click.command()
@click.argument("book", type=_BOOK, default=Path("fig-trees-demo.xlsx"))
@click.option("--replace", is_flag=True, help="Write over a file of that name.")
def demo(book: Path, replace: bool) -> None:
    """Make a filled workbook of an invented holding, and print its trees."""
    from ..planner import build_demo
    from .trees import print_trees

    _refuse_to_overwrite(book, replace)
    with waiting("Inventing a holding and 22 seasons of weather, and calculating"):
        _build(lambda path, recalculate: build_demo(path, recalculate=recalculate), book)
    print_trees(book)
    click.echo()
    say(f"Holding and weather are invented. The workbook: {book}")
    say(f"Change a cell on its sheet Place, such as the frost date, then: sheetfuncs recalc {book}")


@click.command()
@click.argument("book", type=_BOOK)
@_OUT
@BACKUP
@click.option("--cells", is_flag=True, help="List every cell that changed.")
@click.option("--json", "as_json", is_flag=True, help="Answer as one JSON object.")
def recalc(book: Path, out: Path | None, backup: Backup, cells: bool, as_json: bool) -> None:
    """Recalculate a workbook file in place, without any office program.

    Written are only the values of cells that call the functions, depend on them, feed them or have no value yet; every
    other part of the file stays as it is, byte for byte. A cell that an office program could answer in another way
    keeps its value and is named. Where the work takes more than 3 GB of memory or 5 minutes it is refused;
    SHEETFUNCS_MEMORY_GB and SHEETFUNCS_SECONDS in the environment allow more.
    """
    from ..recalc import recalculate
    from .trees import print_trees

    with naming_the_copy(out or book, as_json, backup), waiting(f"Recalculating {book.name}"):
        done = recalculate(book, out, backup=backup)
    if as_json:
        click.echo(json_text(asdict(done)))
        return
    for change in done.changed if cells else ():
        before, after = ("blank" if value in (None, "") else value for value in (change.before, change.after))
        say(f"{change.sheet}!{change.cell}: {before} → {after}")
    for check in done.checks:
        say(f"{check.sheet}!{check.cell}  {check.text}")
    for cell in done.refused:
        say(f"{cell.sheet}!{cell.cell} keeps its value: it {cell.why}")
    print_trees(out or book)
    counts = f"{done.recalculated:,} of {done.formulas:,} formulas recalculated, {len(done.changed):,} changed"
    refused = f", {len(done.refused):,} refused" if done.refused else ""
    say(f"{out or book}: {counts}, {done.left_alone:,} left alone{refused}, {len(done.checks):,} say Check.")


@click.command()
@click.argument("book", type=_BOOK)
@click.option("--for", "host", type=click.Choice(["excel", "calc"]), required=True, help="Whose names to write.")
@_OUT
@BACKUP
def names(book: Path, host: str, out: Path | None, backup: Backup) -> None:
    """Write the functions' names as a program knows them.

    Calc 7.4 saves them into .xlsx files with a prefix that Excel does not know; this turns them back.
    """
    from ..recalc import rename_functions

    with naming_the_copy(out or book, backup=backup), waiting(f"Going through {book.name}"):
        renamed = rename_functions(book, host, out, backup=backup)
    say(f"{out or book}: {renamed:,} formulas now have the names that {host.capitalize()} knows.")
