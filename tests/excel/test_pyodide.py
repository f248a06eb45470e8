"""The core in Pyodide under Node gives the answers that it gives here: browsers' Python can carry it as it is."""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).with_name("pyodide")
PACKAGE = Path(__file__).parents[2] / "sheetfuncs"
CORE = ("__init__.py", "season", "cells", "functions")


def _not_here(reason: str) -> None:
    if os.environ.get("CI"):
        pytest.fail(f"CI must have Pyodide: {reason}")
    pytest.skip(reason)


@pytest.fixture(scope="module")
def runner() -> Path:
    """A folder with Pyodide and the script that starts it; it is kept for the next run."""
    for program in ("node", "npm"):
        if shutil.which(program) is None:
            _not_here(f"{program} is not installed")
    wanted = json.loads((HERE / "package.json").read_text())["dependencies"]["pyodide"]
    folder = Path(tempfile.gettempdir()) / f"sheetfuncs-pyodide-{wanted}"
    folder.mkdir(exist_ok=True)
    for name in ("package.json", "run.mjs"):
        shutil.copyfile(HERE / name, folder / name)
    if not (folder / "node_modules" / "pyodide" / "pyodide.asm.wasm").is_file():
        npm = [shutil.which("npm"), "install", "--no-audit", "--no-fund", "--no-save", "--ignore-scripts"]
        done = subprocess.run(npm, cwd=folder, capture_output=True, text=True, timeout=600)
        if done.returncode:
            _not_here(f"npm could not fetch Pyodide: {done.stderr.strip()[-200:]}")
    return folder


@pytest.fixture(scope="module")
def core(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the core alone, and the one library that it uses with what that needs."""
    folder = tmp_path_factory.mktemp("core")
    for name in CORE:
        _copy(PACKAGE / name, folder / "sheetfuncs" / name)
    for module in ("dateutil", "six"):
        found = importlib.util.find_spec(module)
        if found is not None and found.origin:
            origin = Path(found.origin)
            origin = origin.parent if found.submodule_search_locations else origin
            _copy(origin, folder / origin.name)
    return folder


def _copy(source: Path, target: Path) -> None:
    if source.is_dir():
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
    else:
        target.parent.mkdir(exist_ok=True)
        shutil.copyfile(source, target)


def _run(command: list[Any], **options: Any) -> dict[str, Any]:
    done = subprocess.run(
        [str(part) for part in command], capture_output=True, text=True, encoding="utf-8", timeout=600, **options
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def answers(runner: Path, core: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    """The answers of this Python and of Pyodide, from the same files."""
    environment = os.environ | {"PYTHONPATH": str(core), "PYTHONIOENCODING": "utf-8", "PYTHONDONTWRITEBYTECODE": "1"}
    ours = _run([sys.executable, HERE / "answers.py"], env=environment, cwd=core)
    theirs = _run([shutil.which("node"), "run.mjs", core, HERE / "answers.py"], cwd=runner)
    return ours, theirs


def test_pyodide_answers_every_function_as_this_python_does(answers):
    ours, theirs = answers
    assert theirs["platform"] == "emscripten"
    assert ours["platform"] == sys.platform
    assert len(ours["answers"]) > 25
    for name, lines in ours["answers"].items():
        assert theirs["answers"][name] == lines, name
    assert theirs["answers"] == ours["answers"]
    assert sum("Check:" in line for lines in theirs["answers"].values() for line in lines) > 100


def test_the_core_brings_no_host_along(answers):
    for of_one in answers:
        parts = {name.split(".")[1] for name in of_one["modules"] if "." in name}
        assert parts == {"season", "cells", "functions"}
