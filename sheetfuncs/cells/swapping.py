"""Files written so that at every moment the old or the new one is there, whole; and folders that do not grow."""

from __future__ import annotations

import os
import re
import secrets
import shutil
import time
from contextlib import suppress
from pathlib import Path
from typing import Callable, Iterable

#: No run takes so long to write a file [s].
_SURELY_OVER = 600


def swap_in(path: Path, content: bytes, like: Path | None = None, check: Callable[[], None] = lambda: None) -> None:
    """Put a file in place in one step: written beside it and swapped in; where that fails, nothing is left behind.

    like : the file whose mode and owner it gets; it is then made to last through a power cut.
    check : called just before the swap; what it raises leaves the file as it was.
    """
    start = f".{path.name[:80]}."
    _clear_away(path.parent, start)
    beside = path.with_name(f"{start}{secrets.token_hex(6)}.part")
    try:
        with open(beside, "xb") as file:
            file.write(content)
            if like is not None:
                file.flush()
                os.fsync(file.fileno())
        if like is not None:
            shutil.copymode(like, beside)
            _copy_owner(like, beside)
        check()
        os.replace(beside, path)
    finally:
        with suppress(FileNotFoundError):
            beside.unlink()
    if like is not None:
        _sync_folder(path.parent)


def _clear_away(folder: Path, start: str) -> None:
    """Take away what runs that were killed have left: half a file each, which nobody has written to for long."""
    left = re.compile(re.escape(start) + r"[0-9a-f]{12}\.part")
    for file in folder.iterdir():
        if left.fullmatch(file.name):
            with suppress(OSError):
                if time.time() - file.stat().st_mtime > _SURELY_OVER:
                    file.unlink()


def _copy_owner(like: Path, beside: Path) -> None:
    facts = like.stat()
    if hasattr(os, "chown") and (facts.st_uid, facts.st_gid) != (beside.stat().st_uid, beside.stat().st_gid):
        with suppress(OSError):  # only the superuser can give a file away
            os.chown(beside, facts.st_uid, facts.st_gid)


def _sync_folder(folder: Path) -> None:
    """Make the swap last, where the system knows how."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def make_room(files: Iterable[Path], most_bytes: int) -> None:
    """Let files go until the others hold no more than so much, those used longest ago first."""
    held = []
    for file in files:
        with suppress(OSError):  # another process was quicker
            facts = file.stat()
            held.append((facts.st_mtime_ns, facts.st_size, file))
    too_much = sum(size for _, size, _ in held) - most_bytes
    for _, size, file in sorted(held):
        if too_much <= 0:
            return
        too_much -= size
        with suppress(OSError):
            file.unlink()
