"""Add the extension to the LibreOffice of this machine, and take it away again."""

from __future__ import annotations

import os
import subprocess
import tempfile
from pathlib import Path
from typing import Sequence

from .build import IDENTIFIER, build_extension
from .programs import CalcProblem, Office, find_office

_ADDED = "Added the functions to {office} for {whom}. Now (re)start Calc and type =CLIMATE_OF("
_REMOVED = "Removed the functions from {office} for {whom}. They are gone when Calc starts again."
_NOT_THERE = "The functions were not installed in {office} for {whom}; nothing to remove."


def install(extension: Path | None = None, settings: Sequence[str] = ()) -> str:
    """Build the extension and add it: for all users as root, else for this user.

    extension : a file that was built already. settings : further arguments for the office, such as ``-env:…``.
    Returns one line of what was done and what to do next. Raises :class:`CalcProblem`; what was half done is taken
    back then.
    """
    office = find_office()
    with tempfile.TemporaryDirectory() as folder:
        file = extension or build_extension(Path(folder) / "sheetfuncs.oxt")
        done = office.run(office.unopkg, ["add", "--force", *_scope(), str(file), *settings])
    if done.returncode:
        office.run(office.unopkg, ["remove", *_scope(), IDENTIFIER, *settings])
        raise CalcProblem(_reason(office, done))
    return _ADDED.format(office=office.program.parent, whom=_whom())


def remove(settings: Sequence[str] = ()) -> str:
    """Take the extension away; returns one line of what was done. Raises :class:`CalcProblem`."""
    office = find_office()
    done = office.run(office.unopkg, ["remove", *_scope(), IDENTIFIER, *settings])
    line = _REMOVED
    if done.returncode:
        if "no such extension" not in _output(done).lower():
            raise CalcProblem(_reason(office, done))
        line = _NOT_THERE
    return line.format(office=office.program.parent, whom=_whom())


def _as_root() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _scope() -> list[str]:
    return ["--shared"] if _as_root() else []


def _whom() -> str:
    return "all users" if _as_root() else "this user"


def _output(done: subprocess.CompletedProcess) -> str:
    return " ".join(f"{done.stderr} {done.stdout}".split())


def _reason(office: Office, done: subprocess.CompletedProcess) -> str:
    """Return why unopkg failed, and what helps, in one line."""
    output = _output(done)
    if "loader.Python" in output or "com.sun.star.comp.pyuno" in output:
        return (
            f"The LibreOffice in {office.program.parent} has no Python. Install it (on Debian and Ubuntu the package "
            "python3-uno), then try again."
        )
    if "bad_al" in output:
        return (
            f"The LibreOffice in {office.program.parent} was started with another Python than its own. Try again from "
            "a shell without a virtual environment and without PYTHONHOME or PYTHONPATH."
        )
    if "lock" in output.lower() or "already running" in output.lower():
        return "LibreOffice is open. Close it, with its quickstarter, and try again."
    return f"LibreOffice did not take the extension: {output[-400:] or 'no reason given'}"
