"""What the check of a machine says: each missing step in one line, in the order in which to do it."""

from __future__ import annotations

import importlib.metadata
import importlib.util
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from sheetfuncs.hosts.excel.install import Step, check_excel

pytest.importorskip("xlwings", reason="xlwings is not installed")
XLWINGS = Path(importlib.util.find_spec("xlwings").origin).parent
VERSION = importlib.metadata.version("xlwings")
REAL = importlib.util.find_spec


class Registry:
    """A stand-in for ``winreg`` with or without Excel."""

    HKEY_CLASSES_ROOT = "classes"

    def __init__(self, excel: bool = True) -> None:
        self.excel = excel

    def OpenKey(self, root: str, path: str) -> Any:  # noqa: N802
        assert (root, path) == ("classes", r"Excel.Application\CurVer")
        if not self.excel:
            raise FileNotFoundError(path)
        return self

    def __enter__(self) -> str:
        return "key"

    def __exit__(self, *_: object) -> None:
        pass

    def QueryValueEx(self, key: str, name: str) -> tuple[str, int]:  # noqa: N802
        assert (key, name) == ("key", "")
        return "Excel.Application.16", 1


@pytest.fixture
def machine(tmp_path, monkeypatch) -> SimpleNamespace:
    """A Windows machine with everything in place; tests take something away."""
    python = tmp_path / "Scripts" / "python.exe"
    python.parent.mkdir()
    (tmp_path / f"xlwings64-{VERSION}.dll").touch()
    add_in = tmp_path / "Roaming" / "Microsoft" / "Excel" / "XLSTART" / "xlwings.xlam"
    add_in.parent.mkdir(parents=True)
    add_in.write_bytes((XLWINGS / "addin" / "xlwings.xlam").read_bytes())
    settings = tmp_path / ".xlwings" / "xlwings.conf"
    settings.parent.mkdir()
    settings.write_text(f'"INTERPRETER_WIN","{python}"\n')
    absent: set[str] = set()

    def find_spec(name: str) -> Any:
        return None if name in absent else REAL("xlwings" if name == "win32com" else name)

    monkeypatch.setitem(sys.modules, "winreg", Registry())
    monkeypatch.setattr(importlib.util, "find_spec", find_spec)

    def check() -> list[Step]:
        environment = {"APPDATA": str(tmp_path / "Roaming"), "USERPROFILE": str(tmp_path)}
        return check_excel("win32", environment, str(python))

    return SimpleNamespace(check=check, add_in=add_in, settings=settings, python=python, absent=absent, folder=tmp_path)


def to_do(steps: list[Step]) -> list[str]:
    """Return the lines of what is missing; all lines must be one line each."""
    assert all(step.line and "\n" not in step.line and len(step.line) < 200 for step in steps)
    return [step.line for step in steps if not step.done]


def test_nothing_is_missing(machine):
    steps = machine.check()
    assert to_do(steps) == []
    assert [step.line for step in steps] == [
        "Windows", "Excel 16", f"xlwings {VERSION}", "xlwings library beside Python", "xlwings add-in",
        "Excel uses this Python",
    ]  # fmt: skip


def test_excel_is_missing(machine, monkeypatch):
    monkeypatch.setitem(sys.modules, "winreg", Registry(excel=False))
    (line,) = to_do(machine.check())
    assert line.startswith("Excel was not found.")


@pytest.mark.parametrize("package", ["xlwings", "pywin32", "pyOpenVBA"])
def test_a_package_is_missing(machine, package):
    machine.absent.add({"pywin32": "win32com"}.get(package, package.lower()))
    (line,) = to_do(machine.check())
    assert line == f'{package} not installed for this Python. Run: pip install "sheetfuncs[excel]"'


def test_the_library_is_missing(machine):
    (machine.folder / f"xlwings64-{VERSION}.dll").unlink()
    (machine.folder / "xlwings64-0.1.0.dll").touch()
    (line,) = to_do(machine.check())
    assert line.startswith(f"xlwings64-{VERSION}.dll is not beside python.exe. Run in this Python: pip install")


def test_the_add_in_is_missing_or_old(machine):
    machine.add_in.write_bytes(b"an older one")
    assert "another version" in to_do(machine.check())[0]
    machine.add_in.unlink()
    (line,) = to_do(machine.check())
    assert line == "The xlwings add-in is missing in Excel. Close Excel, then run: xlwings addin install"


@pytest.mark.parametrize(
    ("settings", "says"),
    [
        ("", "Excel does not know which Python to use."),
        ('"INTERPRETER_WIN","C:\\other\\python.exe"', "Excel uses C:\\other\\python.exe."),
        ('"INTERPRETER_WIN","python"', "Excel uses python."),
    ],
)
def test_excel_uses_another_python(machine, settings, says):
    machine.settings.write_text(settings)
    (line,) = to_do(machine.check())
    assert line == f"{says} Run in this Python: xlwings config create --force"
    machine.settings.unlink()
    assert to_do(machine.check())


@pytest.mark.parametrize("written", ["{folder}/Scripts/pythonw.exe", "{folder}\\Scripts\\python.exe"])
def test_the_windowless_python_beside_this_one_will_do(machine, written):
    machine.settings.write_text(f'"interpreter_win","{written.format(folder=machine.folder).upper()}"')
    assert to_do(machine.check()) == []


def test_a_conda_environment_is_named(machine):
    machine.settings.write_text('"CONDA PATH","C:\\conda"\n"CONDA ENV","figs"\n')
    steps = machine.check()
    assert to_do(steps) == []
    assert "conda environment figs" in steps[-1].line


@pytest.mark.parametrize(("platform", "name"), [("darwin", "macOS"), ("linux", "Linux"), ("freebsd14", "freebsd14")])
def test_other_systems_are_told_what_works_there(platform, name):
    steps = check_excel(platform, {}, "/usr/bin/python3")
    assert to_do(steps) == [f"Excel runs Python functions on Windows only; this is {name}."]
    told = " ".join(step.line for step in steps)
    assert "sheetfuncs install calc" in told
    assert "sheetfuncs recalc" in told


def test_a_step_shows_whether_it_is_done():
    assert str(Step(True, "Excel 16")).split() == ["ok", "Excel", "16"]
    assert str(Step(False, "Run: x")).split() == ["to", "do", "Run:", "x"]
