"""The LibreOffice of this machine, and the surroundings in which its programs find their own Python."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Iterator, Mapping, Sequence

from ...cells.errors import FileError

#: The oldest office in which the extension was tried; its Python is 3.8 on Windows and macOS.
OLDEST_OFFICE = "7.4"

_PATIENCE = 300  # seconds: the first start of an office on a slow machine
_NO_OFFICE = (
    f"No LibreOffice was found. Install LibreOffice {OLDEST_OFFICE} or newer with Calc, or put its program folder on "
    "the PATH; sheetfuncs install calc --build-only FILE makes the extension alone."
)
#: Where the system's own programs are: an office of the system wants the Python that lies there.
_SYSTEM_FOLDERS = ("/usr/bin", "/bin")


class CalcProblem(FileError):
    """What stands in the way of building or installing the extension, in one line."""


@dataclass(frozen=True)
class Office:
    """A LibreOffice: its folder of programs, and the two programs that we start."""

    program: Path
    unopkg: Path
    soffice: Path

    def run(self, program: Path, arguments: Sequence[str]) -> subprocess.CompletedProcess:
        """Run one of its programs to its end; raises :class:`CalcProblem` where it does not start or does not end."""
        try:
            return subprocess.run(
                [str(program), *arguments], capture_output=True, text=True, errors="replace", timeout=_PATIENCE,
                stdin=subprocess.DEVNULL, env=office_environment(),
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            line = f"{program} did not end within {_PATIENCE} s. Close LibreOffice and try again."
            raise CalcProblem(line) from None
        except OSError as fault:
            raise CalcProblem(f"{program} could not be started: {fault}") from None


def find_office(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Office:
    """Return the LibreOffice of this machine: the one on the PATH, then the standard folders, newest first.

    Raises :class:`CalcProblem` where there is none.
    """
    for folder in _folders(environment, platform):
        office = _office_in(folder)
        if office is not None:
            return office
    raise CalcProblem(_NO_OFFICE)


def office_environment(environment: Mapping[str, str] = os.environ) -> dict[str, str]:
    """Return an environment in which an office does not take another Python for its own.

    An office looks its Python up as any program does: the first on the PATH, with what PYTHONHOME and its like say.
    From an activated virtual environment it would load the parts of one version into another.
    """
    kept = {
        name: value
        for name, value in environment.items()
        if not name.startswith(("PYTHON", "VIRTUAL_ENV", "CONDA_", "__PYVENV"))
    }
    roots = [environment[name] for name in ("VIRTUAL_ENV", "CONDA_PREFIX") if environment.get(name)]
    folders = [folder for folder in environment.get("PATH", "").split(os.pathsep) if folder]
    folders = [folder for folder in folders if not _of_another_python(Path(folder), roots)]
    if os.name == "posix":
        folders = [*_SYSTEM_FOLDERS, *(folder for folder in folders if folder not in _SYSTEM_FOLDERS)]
    kept["PATH"] = os.pathsep.join(folders)
    return kept


def _of_another_python(folder: Path, roots: Sequence[str]) -> bool:
    """Return whether a folder of programs belongs to an environment of Python packages."""
    if any(folder == Path(root) or Path(root) in folder.parents for root in roots):
        return True
    return any((parent / name).exists() for parent in (folder, folder.parent) for name in ("pyvenv.cfg", "conda-meta"))


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
