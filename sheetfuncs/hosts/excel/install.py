"""What this machine has of all that the functions need in Excel, and what is missing, one line each.

Nothing is installed into Excel and no settings file is written: a macro workbook names the Python that it starts.
"""

from __future__ import annotations

import ctypes
import importlib.metadata
import importlib.util
import platform
import re
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Iterator

from .project import NEEDS

_ELSEWHERE = (
    "The same functions work in LibreOffice Calc (sheetfuncs install calc), on the command line and in Python.",
    "A workbook from Excel, .xlsx or .xlsm, recalculates without Excel: sheetfuncs recalc BOOK",
)
#: Windows' name for the encoding that this system's older programs take, xlwings' library among them.
_CODE_PAGE = "mbcs"
_PACKAGES = {"xlwings": "xlwings", "pywin32": "win32com", "pyOpenVBA": "pyopenvba"}


@dataclass(frozen=True)
class Step:
    """One thing that the functions need in Excel. line : what was found, or what to do."""

    done: bool
    line: str

    def __str__(self) -> str:
        return f"{'ok     ' if self.done else 'to do  '}{self.line}"


@dataclass(frozen=True)
class Machine:
    """A machine and its Python. folder, behind : its environment's folder, and that of the Python behind it."""

    system: str = sys.platform
    processor: str = platform.machine()
    bits: int = 64 if sys.maxsize > 2**32 else 32
    python: str = sys.executable
    folder: str = sys.prefix
    behind: str = sys.base_prefix


def check_excel(machine: Machine | None = None) -> list[Step]:
    """Return what was found and what is to do, in the order in which to do it; nothing is started or changed."""
    machine = machine or Machine()
    if machine.system != "win32":
        where = {"darwin": "macOS", "linux": "Linux"}.get(machine.system, machine.system)
        first = f"Excel runs Python functions on Windows only; this is {where}."
        return [Step(False, first), *(Step(True, line) for line in _ELSEWHERE)]
    return list(_windows_steps(machine))


def _windows_steps(machine: Machine) -> Iterator[Step]:
    if machine.processor.upper() not in ("AMD64", "X86_64") or machine.bits != 64:
        has = f"this one has {machine.bits} bits on {machine.processor}"
        yield Step(False, f"Python of 64 bits on an x86-64 processor is wanted, {has}. Install one from python.org")
        return
    yield Step(True, f"Windows, Python of {machine.bits} bits")
    if "WindowsApps" in machine.behind + machine.python:
        yield Step(False, "Excel cannot start a Python from the Microsoft Store. Install one from python.org")
        return
    if machine.folder == machine.behind and not Path(machine.folder, "conda-meta").is_dir():
        command = to_run(machine.python, f'venv "{Path.home() / "fig"}"')
        yield Step(True, f"This Python serves everything on this machine; one of its own is safer. {command}")
    yield _excel()
    missing = [name for name, module in _PACKAGES.items() if not _is_there(module)]
    if missing:
        yield Step(False, f'{" and ".join(missing)} not installed. {to_run(machine.python, NEEDS)}')
        return
    yield _library(machine)
    python = python_to_start(machine)
    if not _is_in_code_page(python):
        command = to_run(machine.python, r"venv C:\fig")
        yield Step(False, f"Excel cannot start {python}, for its letters. Make one in another folder. {command}")
        return
    yield Step(True, f"A macro workbook made here starts {python}")


def to_run(python: str, module: str) -> str:
    """Return what to type to run a module of a Python, in the Command Prompt or in PowerShell."""
    is_plain = re.fullmatch(r"[\w.:\\/~-]+", python)
    return f"Run: {python} -m {module}" if is_plain else f'Run (PowerShell: with & before it): "{python}" -m {module}'


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


def _library(machine: Machine) -> Step:
    """Look for the library that the macros load: it lies beside this Python or one folder up."""
    version = importlib.metadata.version("xlwings")
    folder = Path(machine.python).parent
    if any((one / f"xlwings64-{version}.dll").is_file() for one in (folder, folder.parent)):
        return Step(True, f"xlwings {version} with its library")
    command = to_run(machine.python, f"pip install --force-reinstall --no-deps xlwings=={version}")
    return Step(False, f"xlwings64-{version}.dll is not beside {machine.python}. {command}")


def _is_in_code_page(text: str) -> bool:
    try:
        return text.isascii() or bool(text.encode(_CODE_PAGE))
    except UnicodeEncodeError:
        return False


def python_to_start(machine: Machine | None = None) -> str:
    """Return the Python that a macro workbook made here starts; blank where Excel can start none.

    The library takes letters of the system's code page only, so a path with others is given by its short names.
    """
    machine = machine or Machine()
    if machine.system != "win32":
        return ""
    if machine.python.isascii():
        return machine.python
    short = ctypes.create_unicode_buffer(1024)
    length = ctypes.windll.kernel32.GetShortPathNameW(machine.python, short, len(short))  # type: ignore[attr-defined]
    return short.value if length else machine.python
