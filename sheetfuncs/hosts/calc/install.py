"""Add the extension to the LibreOffice of this machine, and take it away again."""

from __future__ import annotations

import os
import subprocess
import tempfile
from pathlib import Path
from typing import Sequence

from .build import IDENTIFIER, build_extension
from .programs import CalcProblem, Office, find_office


def install(extension: Path | None = None, settings: Sequence[str] = ()) -> str:
    """Build the extension and add it: for all users as root, else for this user.

    extension : a file that was built already. settings : further arguments for the office, such as ``-env:…``.
    Returns one line of what was done and what to do next. Raises :class:`CalcProblem`; what was half done is taken
    back then.
    """
    office, (scope, whom) = find_office(), _scope()
    with tempfile.TemporaryDirectory() as folder:
        file = extension or build_extension(Path(folder) / "sheetfuncs.oxt")
        done = office.run(office.unopkg, ["add", "--force", *scope, str(file), *settings])
    if done.returncode:
        office.run(office.unopkg, ["remove", *scope, IDENTIFIER, *settings])
        raise CalcProblem(_reason(office, done))
    return f"Added the functions to {office.program.parent} for {whom}. Now (re)start Calc and type =CLIMATE_OF("


def remove(settings: Sequence[str] = ()) -> str:
    """Take the extension away; returns one line of what was done. Raises :class:`CalcProblem`."""
    office, (scope, whom) = find_office(), _scope()
    done = office.run(office.unopkg, ["remove", *scope, IDENTIFIER, *settings])
    where = f"{office.program.parent} for {whom}"
    if not done.returncode:
        return f"Removed the functions from {where}. They are gone when Calc starts again."
    if "no such extension" not in _output(done).lower():
        raise CalcProblem(_reason(office, done))
    return f"The functions were not installed in {where}; nothing to remove."


def _scope() -> tuple[list[str], str]:
    """Return the arguments that say for whom something is done, and that in words: as root for all users."""
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    return (["--shared"], "all users") if is_root else ([], "this user")


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
