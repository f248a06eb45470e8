"""Finding the office of a machine, and the line when something stands in the way."""

from __future__ import annotations

import os
import re
import sys
import venv
from pathlib import Path

import pytest

from sheetfuncs.hosts.calc import programs
from sheetfuncs.hosts.calc.install import install, remove
from sheetfuncs.hosts.calc.programs import CalcProblem, find_office, office_environment

from .conftest import need_an_office


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
    monkeypatch.setattr(programs, "_newest", lambda root, name: sorted(root.glob(name)) if root != for_all else [])
    assert find_office({"PATH": ""}, "darwin").program == folder


def test_where_there_is_no_office_the_line_says_what_to_do() -> None:
    with pytest.raises(CalcProblem) as problem:
        find_office({"PATH": ""}, "win32")
    line = str(problem.value)
    assert line.startswith("Check: No LibreOffice was found. Install LibreOffice 7.4 or newer")
    assert "--build-only FILE" in line
    assert "\n" not in line


def test_the_environment_of_an_office_is_free_of_other_pythons(tmp_path: Path) -> None:
    for name, mark in (("venv", "pyvenv.cfg"), ("conda", "conda-meta"), ("left", "pyvenv.cfg")):
        (tmp_path / name / "bin").mkdir(parents=True)
        (tmp_path / name / mark).touch()
    folders = [str(tmp_path / name / "bin") for name in ("venv", "conda", "left", "own")]
    given = {
        "PATH": os.pathsep.join([*folders, "/usr/bin"]), "HOME": "/home/x", "VIRTUAL_ENV": str(tmp_path / "venv"),
        "PYTHONPATH": "/x", "PYTHONHOME": "/y", "CONDA_PREFIX": str(tmp_path / "conda"),
    }  # fmt: skip
    cleaned = office_environment(given)
    assert set(cleaned) == {"PATH", "HOME"}
    found = cleaned["PATH"].split(os.pathsep)
    assert folders[3] in found
    assert not set(folders[:3]) & set(found)
    if os.name == "posix":
        assert found.index("/usr/bin") < found.index(folders[3])


def a_foreign_python(folder: Path) -> None:
    """Make what an office takes for the parts of its Python, and cannot start with."""
    for minor in range(8, 20):
        (folder / "lib" / f"python3.{minor}" / "lib-dynload").mkdir(parents=True)
        (folder / "lib" / f"python3.{minor}" / "os.py").touch()
    (folder / "bin").mkdir()


@pytest.mark.office
@pytest.mark.skipif(os.name == "nt", reason="an office on Windows has its own Python and looks for no other")
def test_it_is_installed_from_an_activated_environment(
    extension: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    need_an_office()
    a_foreign_python(tmp_path / "other")
    venv.create(tmp_path / "venv", symlinks=True, with_pip=False)
    cfg = tmp_path / "venv" / "pyvenv.cfg"
    cfg.write_text(re.sub("(?m)^home = .*", f"home = {tmp_path / 'other' / 'bin'}", cfg.read_text()))
    monkeypatch.setenv("VIRTUAL_ENV", str(tmp_path / "venv"))
    monkeypatch.setenv("PATH", f"{tmp_path / 'venv' / 'bin'}{os.pathsep}{os.environ['PATH']}")
    settings = [
        f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}",
        f"-env:UNO_SHARED_PACKAGES_CACHE={(tmp_path / 'shared').as_uri()}",
    ]
    assert "Added the functions" in install(extension, settings)
    assert "Removed the functions" in remove(settings)
    # The same with the environment as it is: refused, and nothing of it stays.
    good, environments = programs.office_environment(), [dict(os.environ)]
    monkeypatch.setattr(programs, "office_environment", lambda: environments.pop() if environments else good)
    with pytest.raises(CalcProblem):
        install(extension, settings)
    assert "nothing to remove" in remove(settings)


@pytest.mark.skipif(os.name == "nt", reason="the stand-in for unopkg is a script")
@pytest.mark.parametrize(
    ("says", "wanted"),
    [
        ("cannot instantiate com.sun.star.loader.Python", "has no Python. Install it"),
        ("unopkg cannot be started. The lock file indicates it is already running.", "LibreOffice is open. Close it"),
        ("ERROR: Exception occurred: C++ code threw St9bad_alloc", "started with another Python than its own"),
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
