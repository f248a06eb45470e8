"""``sheetfuncs carry``: last year's workbook into a new one."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..cells.errors import FileError
from ..functions.arguments import count_text
from .books import of_kind, refuse_other_kinds
from .show import backup_option, naming_the_copy, say, waiting

if TYPE_CHECKING:
    from ..planner.made_book import MadeBook
    from ..planner.transfer import Transfer
    from ..xlsx.files import Backup

_BOOK = click.Path(path_type=Path)
#: Rows of trees that a new workbook has ready beyond those of the old one.
_MORE_TREES = 20


@click.command()
@click.argument("old", type=_BOOK)
@click.argument("new", type=_BOOK)
@click.option(
    "--season",
    type=click.IntRange(1900, 2150),
    metavar="YEAR",
    help="The new workbook's, where none is typed there; else the one after OLD's.",
)
@backup_option("a NEW that is there")
@click.option("--dry-run", is_flag=True, help="Only say what would be done.")
def carry(old: Path, new: Path, season: int | None, backup: Backup, dry_run: bool) -> None:
    """Carry last year's workbook into a new one: settings, positions, kinds, trees, log and weather.

    NEW is made where it is not there; else only blank cells to type in are filled, and nothing is typed over. What was
    seen of a tree last season becomes a line of the log. What does not fit is listed, one line each; OLD stays as
    it is. Doing it twice changes nothing.
    """
    from ..planner.made_book import MadeBook
    from ..recalc import recalculate
    from ..xlsx.files import check_target, same_file_state, write_file

    _refuse_one_file(old, new)
    made = not new.exists()
    if made:
        refuse_other_kinds(new)
    check_target(new, new)
    state = None if made else same_file_state(new)
    with tempfile.TemporaryDirectory(prefix="sheetfuncs-") as folder:
        # Under its own name, since messages name it.
        beside = Path(folder) / (f"{new.stem}.xlsx" if made else new.name)
        with waiting(f"Reading {old.name}"):
            before = MadeBook(old)
            if made:
                _make(beside, before)
            else:
                shutil.copyfile(new, beside)
            done = _carry_into(before, beside, season, made)
        with waiting(f"Recalculating {new.name}"):
            recalculate(beside)
            content = of_kind(beside, new).read_bytes()
        if not dry_run and made:
            if new.exists():
                raise FileError(f"{new.name} was made by another program meanwhile, nothing was written")
            write_file(beside, new, content)
        elif not dry_run and content != new.read_bytes():
            with naming_the_copy(new, backup=backup):
                write_file(new, new, content, state, backup)
    _describe(done, before, old, new, made, dry_run)


def _refuse_one_file(old: Path, new: Path) -> None:
    if not old.is_file():
        raise FileError(f"{old.name} is not there, wanted last year's workbook")
    if new.exists() and old.samefile(new):
        raise FileError(f"{old.name} and {new.name} are one file, wanted two")


def _make(path: Path, before: MadeBook) -> None:
    """Write a blank workbook with room for the trees of the old one, marked as invented where that one is."""
    from ..planner.build import READY_TREES, assemble, make_reproducible
    from ..planner.carrying import rows_needed
    from ..planner.sheets.contents import BLANK

    trees, lines = rows_needed(before)
    assemble(replace(BLANK, banner=before.banner), max(READY_TREES, trees + _MORE_TREES), lines).save(path)
    make_reproducible(path)


def _carry_into(before: MadeBook, path: Path, season: int | None, made: bool) -> Transfer:
    from ..planner.carrying import plan_carry
    from ..planner.made_book import MadeBook
    from ..recalc.stale import without_stale_values
    from ..xlsx.inputs import open_book, with_cells

    done = plan_carry(before, MadeBook(path), season)
    content = with_cells(open_book(path), done.blocks)
    if not made:  # one that was just made holds no value yet
        written: dict[str, list[tuple[int, int]]] = {}
        for block in done.blocks:
            written.setdefault(block.sheet, []).extend(block.cells)
        content = without_stale_values(content, path.name, written)
    path.write_bytes(content)
    return done


def _describe(done: Transfer, before: MadeBook, old: Path, new: Path, made: bool, dry_run: bool) -> None:
    """Say what was carried, what in another form, and what was not."""
    for sheet, count in done.counts.items():
        say(f"{sheet}: {count_text(count, 'cell')}")
    for title, lines in (("Carried in another form", done.moved), (f"Not carried, still in {old.name}", done.left)):
        if lines:
            say(f"{title}:")
        for line in lines:
            say(f"  {line}")
    if before.banner:
        say(before.banner)
    if dry_run:
        say(f"Dry run: {new} {'was not made' if made else 'is as it was'}.")
    elif done.blocks or made:
        say(f"{old} was carried into {new}, which is recalculated.")
    else:
        say(f"{new} has all of this already.")
