"""The extension file: complete, reproducible, and fit for the Python of an old office."""

from __future__ import annotations

import ast
import os
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
import zipfile
from pathlib import Path
from types import SimpleNamespace

import pytest

from sheetfuncs import all_functions
from sheetfuncs.hosts.calc import build
from sheetfuncs.hosts.calc.build import CalcProblem, build_extension
from sheetfuncs.hosts.calc.declarations import CATEGORY, CATEGORY_SHOWN

OLDEST_PYTHON = (3, 8)
OOR = "{http://openoffice.org/2001/registry}"


def test_the_same_sources_give_the_same_bytes(extension: Path, tmp_path: Path) -> None:
    again = build_extension(tmp_path / "deep" / "again.oxt")
    assert again.read_bytes() == extension.read_bytes()
    assert [path.name for path in again.parent.iterdir()] == ["again.oxt"]


def test_it_carries_what_it_lists(extension: Path) -> None:
    with zipfile.ZipFile(extension) as archive:
        names = archive.namelist()
        assert names == sorted(names)
        manifest = ElementTree.fromstring(archive.read("META-INF/manifest.xml"))
        for entry in manifest:
            assert entry.attrib["{http://openoffice.org/2001/manifest}full-path"] in names
        for name in names:
            if name.endswith((".xml", ".xcu")):
                ElementTree.fromstring(archive.read(name))
    assert not [name for name in names if {"planner", "cli", "recalc", "xlsx", "weather"} & set(name.split("/"))]
    assert {"licences/python-dateutil.txt", "licences/six.txt"} <= set(names)


def test_the_configuration_names_every_function_and_argument(extension: Path) -> None:
    with zipfile.ZipFile(extension) as archive:
        tree = ElementTree.fromstring(archive.read("functions.xcu"))
    nodes = tree.findall(f".//node[@{OOR}name='AddInFunctions']/node")
    functions = all_functions()
    assert [node.attrib[f"{OOR}name"] for node in nodes] == [function.worksheet_name for function in functions]
    for node, function in zip(nodes, functions):
        texts = {
            prop.attrib[f"{OOR}name"]: prop.find("value").text for prop in node.findall("prop")
        }
        assert texts == {
            "DisplayName": function.worksheet_name,
            "Description": function.summary,
            "Category": CATEGORY,
            "CategoryDisplayName": CATEGORY_SHOWN,
            "CompatibilityName": function.worksheet_name,
        }
        arguments = node.findall(f"node[@{OOR}name='Parameters']/node")
        assert [one.find("prop/value").text for one in arguments] == [one.name for one in function.parameters]


def test_what_it_carries_is_syntax_for_the_oldest_python(extension: Path) -> None:
    with zipfile.ZipFile(extension) as archive:
        sources = [name for name in archive.namelist() if name.endswith(".py")]
        assert len(sources) > 30
        for name in sources:
            ast.parse(archive.read(name), name, feature_version=OLDEST_PYTHON)


def test_the_other_half_is_syntax_for_the_oldest_python() -> None:
    for source in Path(build.__file__).parent.glob("*.py"):
        ast.parse(source.read_bytes(), str(source), feature_version=OLDEST_PYTHON)


def _answer_on(python: str, extension: Path, tmp_path: Path) -> str:
    """Return what a function of the carried package answers on another Python, with nothing else on its path."""
    with zipfile.ZipFile(extension) as archive:
        archive.extractall(tmp_path)
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from sheetfuncs.functions import all_functions\n"
        "from sheetfuncs.hosts.calc import columns, declarations, documents, names, values\n"
        "from sheetfuncs.cells.dates import EPOCH_1900\n"
        "known = {f.worksheet_name: f for f in all_functions()}\n"
        "print(len(known), values.answer(known['LATEST_PRUNE_DATE_BY_DAYS'], ('20 Sept 2026', 75.0, None), EPOCH_1900))"
    )
    run = subprocess.run(
        [python, "-I", "-S", "-c", code, str(tmp_path / "pythonpath")],
        capture_output=True, text=True, env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    return run.stdout.strip()


@pytest.mark.parametrize("python", [sys.executable, "python3.8"])
def test_the_carried_package_needs_nothing_else(python: str, extension: Path, tmp_path: Path) -> None:
    if not shutil.which(python) or subprocess.run([python, "-c", ""], capture_output=True).returncode:
        pytest.skip(f"no {python} here")
    assert _answer_on(python, extension, tmp_path) == f"{len(all_functions())} ((46210.0,),)"


def test_a_date_reader_for_newer_pythons_only_is_refused(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(build, "_distribution", lambda name: SimpleNamespace(version="4.0.0", files=()))
    with pytest.raises(CalcProblem, match=r'found here: python-dateutil 4.0.0. Run: pip install "python-dateutil'):
        build_extension(tmp_path / "x.oxt")
    assert not list(tmp_path.iterdir())
