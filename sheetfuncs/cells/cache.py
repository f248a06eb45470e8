"""What would take long to make again, kept in the user's cache folder: plain numbers and texts, nothing that runs."""

from __future__ import annotations

import json
import os
import stat
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any, Mapping

from .swapping import make_room, swap_in

#: Raised when the form of the files changes; those of another form are ignored.
FORMAT = 1
#: All files together, and one of them, at most [bytes].
MOST_BYTES, LARGEST = 64 * 2**20, 16 * 2**20
#: Names another folder, or "off" for none.
VARIABLE = "SHEETFUNCS_CACHE"


def user_folder(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Path | None:
    """Return the folder for this user's cache, whether or not it is there; ``None`` where there is to be none."""
    named = environment.get(VARIABLE, "").strip()
    if named:
        return None if named.lower() == "off" else Path(named)
    home = environment.get("USERPROFILE" if platform == "win32" else "HOME")
    if platform == "win32":
        base = environment.get("LOCALAPPDATA") or (home and f"{home}/AppData/Local")
    elif platform == "darwin":
        base = home and f"{home}/Library/Caches"
    else:
        base = environment.get("XDG_CACHE_HOME") or (home and f"{home}/.cache")
    return Path(base) / "sheetfuncs" if base else None


class Cache:
    """Values under names, in files of one folder that several processes may use at once.

    A value is what JSON holds. Whatever goes wrong (no room, no rights, a file that is damaged or not ours), nothing
    is kept or found, and no error is raised. The files used longest ago go first.
    """

    def __init__(self, folder: Path | None, most_bytes: int = MOST_BYTES) -> None:
        self._folder, self._most = folder, most_bytes

    def read(self, name: str) -> Any:
        """Return the value of a name; ``None`` where there is none."""
        if self._folder is None:
            return None
        path = self._path(name)
        try:
            facts = path.stat()
            if not stat.S_ISREG(facts.st_mode) or facts.st_size > LARGEST:
                return None
            held = json.loads(path.read_text(encoding="utf-8"))
            os.utime(path)
        except (OSError, ValueError, RecursionError):
            return None
        is_ours = isinstance(held, dict) and (held.get("format"), held.get("name")) == (FORMAT, name)
        return held.get("value") if is_ours else None

    def write(self, name: str, value: Any) -> None:
        """Keep a value; one that is too large is not kept."""
        if self._folder is None:
            return
        text = json.dumps({"format": FORMAT, "name": name, "value": value}, separators=(",", ":"))
        if len(text) > min(LARGEST, self._most):
            return
        with suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            swap_in(self._path(name), text.encode())
            make_room((file for file in self._folder.iterdir() if file.suffix in (".json", ".part")), self._most)

    def _path(self, name: str) -> Path:
        assert self._folder is not None
        if not name.isalnum():
            raise ValueError(f"{name!r} is no name of letters and digits")
        return self._folder / f"{name}.json"
