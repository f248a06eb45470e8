"""What this machine has of all that the functions need in Excel, and what is missing, one line each."""

from __future__ import annotations

import importlib.metadata
import importlib.util
import os
import re
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Iterator, Mapping

_ELSEWHERE = (
    "Here the same functions work in LibreOffice Calc (sheetfuncs install calc), on the command line and in Python.",
    "A workbook from Excel, .xlsx or .xlsm, recalculates here without Excel: sheetfuncs recalc BOOK",
)
_PIP = 'pip install "sheetfuncs[excel]"'


@dataclass(frozen=True)
class Step:
    """One thing that the functions need in Excel. line : what was found, or what to do."""

    done: bool
    line: str

    def __str__(self) -> str:
        return f"{'ok     ' if self.done else 'to do  '}{self.line}"


def check_excel(
    platform: str = sys.platform, environment: Mapping[str, str] = os.environ, python: str = sys.executable
) -> list[Step]:
    """Return what was found and what is to do, in the order in which to do it.

    Nothing is started or changed. platform, environment, python : of the machine in question.
    """
    if platform != "win32":
        where = {"darwin": "macOS", "linux": "Linux"}.get(platform, platform)
        first = f"Excel runs Python functions on Windows only; this is {where}."
        return [Step(False, first), *(Step(True, line) for line in _ELSEWHERE)]
    return list(_windows_steps(environment, python))


def _windows_steps(environment: Mapping[str, str], python: str) -> Iterator[Step]:
    yield Step(True, "Windows")
    yield _excel()
    missing = [name for name, module in _PACKAGES.items() if not _is_there(module)]
    if missing:
        yield Step(False, f"{' and '.join(missing)} not installed for this Python. Run: {_PIP}")
        return
    version = importlib.metadata.version("xlwings")
    yield Step(True, f"xlwings {version}")
    yield _library(Path(python), version)
    yield _add_in(environment)
    yield _interpreter(environment, python)


_PACKAGES = {"xlwings": "xlwings", "pywin32": "win32com", "pyOpenVBA": "pyopenvba"}


def _is_there(module: str) -> bool:
    try:
        return importlib.util.find_spec(module) is not None
    except (ImportError, ValueError):
        return False


def _excel() -> Step:
    import winreg

    try:
        with winreg.OpenKey(winreg.HKEY_CLASSES_ROOT, r"Excel.Application\CurVer") as key:  # type: ignore[attr-defined]
            version = str(winreg.QueryValueEx(key, "")[0]).rpartition(".")[2]  # type: ignore[attr-defined]
    except OSError:
        return Step(False, "Excel was not found. Install Excel for Windows (the desktop program, not the web page).")
    return Step(True, f"Excel {version}")


def _library(python: Path, version: str) -> Step:
    """Look for the library that Excel loads; it lies beside this Python or one folder up."""
    names = [f"xlwings{bits}-{version}.dll" for bits in (64, 32)]
    if any((folder / name).is_file() for folder in (python.parent, python.parent.parent) for name in names):
        return Step(True, "xlwings library beside Python")
    return Step(
        False,
        f"{names[0]} is not beside {python.name}. Run in this Python: pip install --force-reinstall xlwings",
    )


def _add_in(environment: Mapping[str, str]) -> Step:
    installed = Path(environment.get("APPDATA", ""), "Microsoft", "Excel", "XLSTART", "xlwings.xlam")
    own = _xlwings_folder() / "addin" / "xlwings.xlam"
    if not installed.is_file():
        return Step(False, "The xlwings add-in is missing in Excel. Close Excel, then run: xlwings addin install")
    if own.is_file() and own.read_bytes() != installed.read_bytes():
        return Step(False, "The xlwings add-in is of another version. Close Excel, then run: xlwings addin install")
    return Step(True, "xlwings add-in")


def _xlwings_folder() -> Path:
    found = importlib.util.find_spec("xlwings")
    return Path((found.submodule_search_locations or [""])[0] if found else "")


def _interpreter(environment: Mapping[str, str], python: str) -> Step:
    """Look whether the add-in's settings name this Python, or a conda environment, which may be this one."""
    settings = Path(environment.get("USERPROFILE", ""), ".xlwings", "xlwings.conf")
    try:
        stated = dict(re.findall(r'"([^"]*)"\s*,\s*"([^"]*)"', settings.read_text(encoding="utf-8", errors="replace")))
    except OSError:
        stated = {}
    stated = {key.upper(): value for key, value in stated.items()}
    if stated.get("CONDA ENV"):
        return Step(True, f"Excel uses the conda environment {stated['CONDA ENV']}; sheetfuncs must be in that one")
    named = stated.get("INTERPRETER_WIN", "")
    if _same_folder(named, python):
        return Step(True, "Excel uses this Python")
    asks = f"uses {named}" if named else "does not know which Python to use"
    return Step(False, f"Excel {asks}. Run in this Python: xlwings config create --force")


def _same_folder(one: str, other: str) -> bool:
    """Return whether two paths lie in one folder: python.exe and pythonw.exe do, and either will do."""
    folders = [path.replace("\\", "/").rpartition("/")[0].lower() for path in (one, other)]
    return bool(folders[0]) and folders[0] == folders[1]
