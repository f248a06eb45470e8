"""Finding the office of a machine, and what is said when something stands in the way."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from sheetfuncs.hosts.calc import install as module
from sheetfuncs.hosts.calc.build import CalcProblem
from sheetfuncs.hosts.calc.install import find_office, install, remove


def _programs(folder: Path, *names: str, says: str = "", code: int = 0) -> Path:
    folder.mkdir(parents=True)
    for name in names:
        program = folder / name
        program.write_text(f"#!{sys.executable}\nimport sys\nsys.stderr.write({says!r})\nsys.exit({code})\n")
        program.chmod(0o755)
    return folder


def test_the_office_on_the_path_comes_first(tmp_path: Path) -> None:
    folder = _programs(tmp_path / "office" / "program", "soffice", "unopkg")
    (tmp_path / "bin").mkdir()
    os.symlink(folder / "soffice", tmp_path / "bin" / "soffice")
    office = find_office({"PATH": str(tmp_path / "bin")}, "linux")
    assert office.program == folder.resolve()
    assert office.unopkg == folder.resolve() / "unopkg"


def test_windows_is_searched_in_its_program_folders(tmp_path: Path) -> None:
    folder = _programs(tmp_path / "LibreOffice" / "program", "soffice.com", "soffice.exe", "unopkg.com", "unopkg.exe")
    office = find_office({"PATH": "", "ProgramFiles": str(tmp_path)}, "win32")
    assert (office.program, office.unopkg.name) == (folder, "unopkg.com")


def test_a_mac_is_searched_in_its_applications(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = _programs(tmp_path / "Applications" / "LibreOffice.app" / "Contents" / "MacOS", "soffice", "unopkg")
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    for_all = Path("/Applications")
    monkeypatch.setattr(module, "_newest", lambda root, pattern: sorted(root.glob(pattern)) if root != for_all else [])
    assert find_office({"PATH": ""}, "darwin").program == folder


def test_where_there_is_no_office_the_line_says_what_to_do() -> None:
    with pytest.raises(CalcProblem) as problem:
        find_office({"PATH": ""}, "win32")
    line = str(problem.value)
    assert line.startswith("No LibreOffice was found. Install LibreOffice 7.4 or newer")
    assert "--build-only FILE" in line
    assert "\n" not in line


@pytest.mark.skipif(os.name == "nt", reason="the stand-in for unopkg is a script")
@pytest.mark.parametrize(
    ("says", "wanted"),
    [
        ("cannot instantiate com.sun.star.loader.Python", "has no Python. Install it"),
        ("unopkg cannot be started. The lock file indicates it is already running.", "LibreOffice is open. Close it"),
        ("ERROR: a thing\n  that nobody foresaw", "did not take the extension: ERROR: a thing that nobody foresaw"),
        ("", "no reason given"),
    ],
)
def test_a_refusal_of_the_office_is_told_in_one_line(
    says: str, wanted: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = _programs(tmp_path / "program", "soffice", "unopkg", says=says, code=1)
    monkeypatch.setenv("PATH", str(folder))
    with pytest.raises(CalcProblem, match=wanted) as problem:
        install(tmp_path / "some.oxt")
    assert "\n" not in str(problem.value)


@pytest.mark.skipif(os.name == "nt", reason="the stand-in for unopkg is a script")
def test_removing_what_is_not_there_is_no_failure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    says = "ERROR: There is no such extension deployed: sheetfuncs.calc"
    monkeypatch.setenv("PATH", str(_programs(tmp_path / "program", "soffice", "unopkg", says=says, code=1)))
    assert "nothing to remove" in remove()
