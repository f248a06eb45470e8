"""Add the extension to the LibreOffice of this machine, and take it away again."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Iterator, Mapping, Sequence

from .build import IDENTIFIER, OLDEST_OFFICE, CalcProblem, build_extension

_PATIENCE = 300  # seconds: the first start of an office on a slow machine
_NO_OFFICE = (
    "No LibreOffice was found. Install LibreOffice {oldest} or newer with Calc, or put its program folder on the PATH; "
    "sheetfuncs install calc --build-only FILE makes the extension alone."
)
_ADDED = "Added the functions to {office} for {whom}. Now (re)start Calc and type =CLIMATE_OF("
_REMOVED = "Removed the functions from {office} for {whom}. They are gone when Calc starts again."
_NOT_THERE = "The functions were not installed in {office} for {whom}; nothing to remove."


@dataclass(frozen=True)
class Office:
    """A LibreOffice: its folder of programs, and the two programs that we start."""

    program: Path
    unopkg: Path
    soffice: Path


def find_office(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Office:
    """Return the LibreOffice of this machine: the one on the PATH, then the standard places, newest first.

    Raises :class:`CalcProblem` where there is none.
    """
    for folder in _folders(environment, platform):
        office = _office_in(folder)
        if office is not None:
            return office
    raise CalcProblem(_NO_OFFICE.format(oldest=OLDEST_OFFICE))


def install(extension: Path | None = None, settings: Sequence[str] = ()) -> str:
    """Build the extension and add it: for all users as root, else for this user.

    extension : a file that was built already. settings : further arguments for the office, such as ``-env:…``.
    Returns one line of what was done and what to do next. Raises :class:`CalcProblem`.
    """
    office = find_office()
    with tempfile.TemporaryDirectory() as folder:
        file = extension or build_extension(Path(folder) / "sheetfuncs.oxt")
        done = _unopkg(office, "add", ["--force", *_scope(), str(file)], settings)
    if done.returncode:
        raise CalcProblem(_reason(office, done))
    return _ADDED.format(office=office.program.parent, whom=_whom())


def remove(settings: Sequence[str] = ()) -> str:
    """Take the extension away; returns one line of what was done. Raises :class:`CalcProblem`."""
    office = find_office()
    done = _unopkg(office, "remove", [*_scope(), IDENTIFIER], settings)
    line = _REMOVED
    if done.returncode:
        if "no such extension" not in _said(done).lower():
            raise CalcProblem(_reason(office, done))
        line = _NOT_THERE
    return line.format(office=office.program.parent, whom=_whom())


def _folders(environment: Mapping[str, str], platform: str) -> Iterator[Path]:
    """Return the folders in which the programs of an office may be."""
    for name in ("soffice", "libreoffice", "unopkg"):
        found = shutil.which(name, path=environment.get("PATH", ""))
        if found:
            yield Path(found).resolve().parent
    if platform == "win32":
        for variable in ("ProgramW6432", "ProgramFiles", "ProgramFiles(x86)"):
            if environment.get(variable):
                yield from _newest(Path(environment[variable]), "LibreOffice*/program")
    elif platform == "darwin":
        for root in (Path("/Applications"), Path.home() / "Applications"):
            yield from _newest(root, "LibreOffice*.app/Contents/MacOS")
    else:
        yield from _newest(Path("/opt"), "libreoffice*/program")
        for library in ("lib", "lib64"):
            for root in (Path("/usr"), Path("/usr/local")):
                yield root / library / "libreoffice" / "program"


def _newest(root: Path, pattern: str) -> list[Path]:
    return sorted(root.glob(pattern), reverse=True) if root.is_dir() else []


def _office_in(folder: Path) -> Office | None:
    unopkg = _first(folder, ("unopkg.com", "unopkg", "unopkg.exe"))  # .com: the one that writes to a console
    soffice = _first(folder, ("soffice.com", "soffice", "soffice.exe"))
    return Office(folder, unopkg, soffice) if unopkg and soffice else None


def _first(folder: Path, names: Sequence[str]) -> Path | None:
    return next((folder / name for name in names if (folder / name).is_file()), None)


def _as_root() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _scope() -> list[str]:
    return ["--shared"] if _as_root() else []


def _whom() -> str:
    return "all users" if _as_root() else "this user"


def _unopkg(
    office: Office, what: str, arguments: Sequence[str], settings: Sequence[str]
) -> subprocess.CompletedProcess:
    command = [str(office.unopkg), what, *arguments, *settings]
    try:
        return subprocess.run(
            command, capture_output=True, text=True, errors="replace", timeout=_PATIENCE, stdin=subprocess.DEVNULL
        )
    except subprocess.TimeoutExpired:
        line = f"{office.unopkg} did not end within {_PATIENCE} s. Close LibreOffice and try again."
        raise CalcProblem(line) from None
    except OSError as fault:
        raise CalcProblem(f"{office.unopkg} could not be started: {fault}") from None


def _said(done: subprocess.CompletedProcess) -> str:
    return " ".join(f"{done.stderr} {done.stdout}".split())


def _reason(office: Office, done: subprocess.CompletedProcess) -> str:
    """Return why unopkg failed, and what helps, in one line."""
    said = _said(done)
    if "loader.Python" in said or "com.sun.star.comp.pyuno" in said:
        return (
            f"The LibreOffice in {office.program.parent} has no Python. Install it (on Debian and Ubuntu the package "
            "python3-uno), then try again."
        )
    if "lock" in said.lower() or "already running" in said.lower():
        return "LibreOffice is open. Close it, with its quickstarter, and try again."
    return f"LibreOffice did not take the extension: {said[-400:] or 'no reason given'}"
