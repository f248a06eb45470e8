"""Reading a workbook file, and writing one so that at every moment the old or the new one is there, whole."""

from __future__ import annotations

import errno
import os
import stat
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Iterator, Literal

from ..cells.swapping import swap_in
from .errors import WorkbookFileError
from .package import MOST_UNPACKED

_FULL = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)}
#: What office programs put beside a workbook that is open in them, before and after its name.
_LOCKS = ((".~lock.", "#"), ("~$", ""))

#: When a file is kept as it was: never, where none is kept yet, or each time.
Backup = Literal["never", "first", "always"]


def read_file(path: Path) -> bytes:
    """Return a file's bytes; raises :class:`WorkbookFileError` in one line where that cannot be."""
    with _one_line(path, "read"):
        if path.is_dir():
            raise WorkbookFileError(f"{path} is a folder, wanted a workbook file")
        if not stat.S_ISREG(path.stat().st_mode):
            raise WorkbookFileError(f"{path} is no file, wanted a workbook file")
        if path.stat().st_size > MOST_UNPACKED:
            raise WorkbookFileError(f"{path} is larger than {MOST_UNPACKED // 2**20} MB")
        return path.read_bytes()


def check_target(source: Path, target: Path) -> None:
    """Raise :class:`WorkbookFileError` where a file could not be written: before the work, not after it."""
    with _one_line(target, "write"):
        if target.is_dir():
            raise WorkbookFileError(f"{target} is a folder, wanted a file to write")
        if target.suffix.lower() != source.suffix.lower():
            raise WorkbookFileError(f"{target.name} must end in {source.suffix or 'nothing'}, as {source.name} does")
        with suppress(FileNotFoundError):
            target.stat()  # a name that is too long, links in a circle
        folder = real_path(target).parent
        if not folder.is_dir():
            raise WorkbookFileError(f"the folder {folder} is not there")
        _refuse_open(target)
        if not os.access(folder, os.W_OK) or (target.exists() and not os.access(target, os.W_OK)):
            raise PermissionError(errno.EACCES, "no permission")


def _refuse_open(target: Path) -> None:
    real = real_path(target)
    for before, after in _LOCKS:
        lock = real.with_name(before + real.name + after)
        if lock.exists():
            raise WorkbookFileError(
                f"{target.name} is open in an office program; close it there first"
                f" (if it is not open, delete the file {lock.name} beside it)"
            )


def write_file(
    source: Path,
    target: Path,
    content: bytes,
    state: tuple[int, int, int] | None = None,
    backup: Backup = "never",
) -> None:
    """Put a file in place in one step, with the mode of the source.

    state : the state in which the source was read; where it is another one by now, nothing is written.
    backup : whether a target that is there is kept as it was, see :func:`kept_as`.
    Raises :class:`WorkbookFileError`.
    """
    with _one_line(target, "write"):
        real = real_path(target)  # a link stays a link
        _refuse_open(target)  # once more, as the work takes a while
        _refuse_changed(source, state)
        if backup != "never" and real.exists():
            before = kept_as(real, backup)
            if not before.exists():
                swap_in(before, real.read_bytes(), like=real)
        swap_in(real, content, like=source, check=lambda: _refuse_changed(source, state))


def kept_as(path: Path, backup: Backup = "first") -> Path:
    """Return where a file is kept as it was before it was written into: ``plan.xlsx`` as ``plan.before.xlsx``.

    backup : with "always", what bears that name stays, too: the next is ``plan.before-2.xlsx``.
    """
    real = real_path(path)
    kept, number = real.with_name(f"{real.stem}.before{real.suffix}"), 1
    while backup == "always" and os.path.lexists(kept):
        number += 1
        kept = real.with_name(f"{real.stem}.before-{number}{real.suffix}")
    return kept


def real_path(path: Path) -> Path:
    """Return what a path leads to; of links in a circle the path itself, which then cannot be opened."""
    return Path(os.path.realpath(path))


def _refuse_changed(source: Path, state: tuple[int, int, int] | None) -> None:
    if state is not None and same_file_state(source) != state:
        raise WorkbookFileError(f"{source.name} was changed by another program meanwhile, nothing was written")


def same_file_state(path: Path) -> tuple[int, int, int]:
    """Return what changes when a file is written by someone else."""
    with _one_line(path, "read"):
        facts = path.stat()
        return facts.st_mtime_ns, facts.st_size, facts.st_ino


@contextmanager
def _one_line(path: Path, doing: str) -> Iterator[None]:
    """Turn what the system says into one line for the user."""
    try:
        yield
    except FileNotFoundError as error:
        raise WorkbookFileError(f"{path} is not there") from error
    except PermissionError as error:
        hint = "; is it open in an office program?" if os.name == "nt" else ""
        raise WorkbookFileError(f"no permission to {doing} {path}{hint}") from error
    except OSError as error:
        if error.errno in _FULL:
            raise WorkbookFileError(f"no room on the disk to {doing} {path}, nothing was changed") from error
        if error.errno == errno.EROFS:
            raise WorkbookFileError(f"no permission to {doing} {path}, the disk is read-only") from error
        done = {"write": "written"}.get(doing, doing)
        raise WorkbookFileError(f"{path} cannot be {done}: {error.strerror or error}") from error
