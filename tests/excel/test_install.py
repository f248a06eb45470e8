"""What the check of a machine says: each missing step in one line, with a command that runs as it stands."""

from __future__ import annotations

import ctypes
import importlib.metadata
import importlib.util
import sys
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from click.testing import CliRunner

from sheetfuncs.cli import offices
from sheetfuncs.hosts.excel import install
from sheetfuncs.hosts.excel.book import make_macro_book
from sheetfuncs.hosts.excel.install import Machine, Step, check_excel, python_to_start, to_run
from sheetfuncs.hosts.excel.vba import SETTINGS_SHEET
from sheetfuncs.xlsx import read_sheet

pytest.importorskip("xlwings", reason="xlwings is not installed")
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
def windows(tmp_path, monkeypatch) -> SimpleNamespace:
    """A Windows machine with everything in place, its Python in an environment; tests take something away."""
    python = tmp_path / "Scripts" / "python.exe"
    python.parent.mkdir()
    library = tmp_path / f"xlwings64-{VERSION}.dll"
    library.touch()
    absent: set[str] = set()

    def find_spec(name: str) -> Any:
        return None if name in absent else REAL("xlwings" if name == "win32com" else name)

    monkeypatch.setitem(sys.modules, "winreg", Registry())
    monkeypatch.setattr(importlib.util, "find_spec", find_spec)
    machine = Machine("win32", "AMD64", 64, str(python), str(tmp_path), "C:\\Python312")
    return SimpleNamespace(machine=machine, library=library, python=python, absent=absent)


def to_do(steps: list[Step]) -> list[str]:
    """Return the lines of what is missing; all lines must be one line each."""
    assert all(step.line and "\n" not in step.line for step in steps)
    return [step.line for step in steps if not step.done]


def test_nothing_is_missing(windows):
    assert [(step.done, step.line) for step in check_excel(windows.machine)] == [
        (True, "Windows, Python of 64 bits"),
        (True, "Excel 16"),
        (True, f"xlwings {VERSION} with its library"),
        (True, f"A macro workbook made here starts {windows.python}"),
    ]


@pytest.mark.parametrize(("processor", "bits"), [("ARM64", 64), ("AMD64", 32), ("x86", 32)])
def test_another_python_is_refused_before_anything_else_is_looked_at(windows, monkeypatch, processor, bits):
    monkeypatch.setitem(sys.modules, "winreg", None)
    (step,) = check_excel(replace(windows.machine, processor=processor, bits=bits))
    assert str(step) == (
        "to do  Python of 64 bits on an x86-64 processor is wanted, "
        f"this one has {bits} bits on {processor}. Install one from python.org"
    )


def test_a_python_from_the_store_is_refused(windows):
    store = r"C:\Program Files\WindowsApps\PythonSoftwareFoundation.Python.3.12"
    (line,) = to_do(check_excel(replace(windows.machine, behind=store)))
    assert line == "Excel cannot start a Python from the Microsoft Store. Install one from python.org"


def test_an_environment_is_advised_where_there_is_none(windows, tmp_path):
    machine = replace(windows.machine, behind=windows.machine.folder)
    (advice,) = [step for step in check_excel(machine) if "safer" in step.line]
    assert advice.done
    assert f'Run: {windows.python} -m venv "' in advice.line
    (tmp_path / "conda-meta").mkdir()
    assert not [step for step in check_excel(machine) if "safer" in step.line]


def test_excel_is_missing(windows, monkeypatch):
    monkeypatch.setitem(sys.modules, "winreg", Registry(excel=False))
    (line,) = to_do(check_excel(windows.machine))
    assert line.startswith("Excel was not found.")


@pytest.mark.parametrize("package", ["xlwings", "pywin32", "pyOpenVBA"])
def test_a_package_is_missing(windows, package):
    windows.absent.add({"pywin32": "win32com"}.get(package, package.lower()))
    (line,) = to_do(check_excel(windows.machine))
    command = f'{windows.python} -m pip install "pyopenvba>=6.5,<6.6" "xlwings>=0.33,<1"'
    assert line == f"{package} not installed. Run: {command}"


def test_the_library_is_missing(windows):
    windows.library.rename(windows.library.with_name("xlwings64-0.1.0.dll"))
    (line,) = to_do(check_excel(windows.machine))
    command = f'{windows.python} -m pip install --force-reinstall --no-deps xlwings=={VERSION}'
    assert line == f"xlwings64-{VERSION}.dll is not beside {windows.python}. Run: {command}"


def test_a_path_with_letters_of_another_script_is_given_by_its_short_names(windows, monkeypatch):
    def short_name(path: str, buffer: Any, size: int) -> int:
        assert path == r"C:\Users\Ђорђе\python.exe"
        buffer.value = r"C:\Users\5D~1\python.exe"
        return len(buffer.value) if found else 0

    library = SimpleNamespace(kernel32=SimpleNamespace(GetShortPathNameW=short_name))
    monkeypatch.setattr(ctypes, "windll", library, raising=False)
    machine = replace(windows.machine, python=r"C:\Users\Ђорђе\python.exe")
    found = True
    assert python_to_start(machine) == r"C:\Users\5D~1\python.exe"
    found = False
    assert python_to_start(machine) == machine.python
    assert python_to_start(windows.machine) == str(windows.python)
    assert python_to_start(replace(machine, system="linux")) == ""


def test_a_path_that_the_system_s_code_page_lacks_is_refused_before_excel_fails_on_it(windows, monkeypatch):
    library = SimpleNamespace(kernel32=SimpleNamespace(GetShortPathNameW=lambda path, buffer, size: 0))
    monkeypatch.setattr(ctypes, "windll", library, raising=False)
    for page, python, is_startable in [
        ("cp1252", "Žofia", True), ("cp1252", "Ђорђе", False), ("cp1251", "Ђорђе", True), ("cp1251", "Zoë", False),
    ]:  # fmt: skip
        monkeypatch.setattr(install, "_CODE_PAGE", page)
        folder = windows.library.parent / python
        (folder / "Scripts").mkdir(parents=True, exist_ok=True)
        windows.library.with_name(python).joinpath(windows.library.name).touch()
        at = str(folder / "Scripts" / "python.exe")
        lines = to_do(check_excel(replace(windows.machine, python=at)))
        if is_startable:
            assert lines == []
        else:
            (line,) = lines
            assert line.startswith(f"Excel cannot start {at}, for its letters.")
            assert line.endswith(r"-m venv C:\fig")


@pytest.mark.parametrize(
    ("python", "line"),
    [
        (r"C:\fig\Scripts\python.exe", r"Run: C:\fig\Scripts\python.exe -m venv"),
        (r"C:\Users\Žofia\p.exe", r"Run: C:\Users\Žofia\p.exe -m venv"),
        (r"C:\Ann Bo\p.exe", r'Run (PowerShell: with & before it): "C:\Ann Bo\p.exe" -m venv'),
        (r"C:\A&B\p.exe", r'Run (PowerShell: with & before it): "C:\A&B\p.exe" -m venv'),
    ],
)
def test_a_command_runs_as_it_stands_in_both_command_windows(python, line):
    assert to_run(python, "venv") == line


@pytest.mark.parametrize(("system", "name"), [("darwin", "macOS"), ("linux", "Linux"), ("freebsd14", "freebsd14")])
def test_other_systems_hear_what_works_there(windows, system, name):
    steps = check_excel(replace(windows.machine, system=system))
    assert to_do(steps) == [f"Excel runs Python functions on Windows only; this is {name}."]
    lines = " ".join(step.line for step in steps)
    assert "sheetfuncs install calc" in lines
    assert "sheetfuncs recalc" in lines


def test_the_command_says_the_next_step_in_full(windows, monkeypatch, tmp_path):
    monkeypatch.setattr(install, "Machine", lambda: windows.machine)
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(offices.install, ["excel"])
    assert done.exit_code == 0
    command = f'{sys.executable} -m sheetfuncs new "{tmp_path / "fig-trees.xlsm"}"'
    assert done.output.splitlines()[-1] == f"Now make a workbook and open it in Excel. Run: {command}"
    windows.library.unlink()
    assert CliRunner().invoke(offices.install, ["excel"]).exit_code == 1


def test_a_workbook_from_another_computer_is_made_to_start_this_python(windows, monkeypatch, plain, tmp_path):
    monkeypatch.setattr(install, "Machine", lambda: replace(windows.machine, python="C:\\other\\python.exe"))
    path = make_macro_book(plain, tmp_path / "garden.xlsm")
    monkeypatch.setattr(install, "Machine", lambda: windows.machine)
    done = CliRunner().invoke(offices.install, ["excel", str(path)])
    assert (done.exit_code, done.output.splitlines()[-1]) == (0, f"{path} starts this Python now.")
    settings = read_sheet(path, SETTINGS_SHEET)
    assert [settings[cell] for cell in ("A3", "B3")] == ["INTERPRETER_WIN", str(windows.python)]
    windows.library.unlink()
    before = path.read_bytes()
    assert CliRunner().invoke(offices.install, ["excel", str(path)]).exit_code == 1
    assert path.read_bytes() == before
