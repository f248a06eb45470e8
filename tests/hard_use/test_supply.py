"""What the package rests on and what it is shipped as: licences, pinned ranges, files that are the same each time."""

from __future__ import annotations

import ast
import contextlib
import hashlib
import os
import re
import shutil
import subprocess
import sys
import zipfile
from importlib import metadata
from pathlib import Path

import pytest
from packaging.markers import Marker
from packaging.requirements import Requirement

from sheetfuncs.hosts.calc.build import build_extension

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib  # comes with pytest there

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]

#: Licences that let anyone use and pass on what rests on them, by words in their names.
ALLOWED = (
    "MIT", "BSD", "Apache", "ISC", "PSF", "Python Software Foundation", "MPL-2.0", "Mozilla Public License 2.0",
    "Zlib", "0BSD", "CC0", "Unlicense", "Public Domain",
)  # fmt: skip
#: Packages for tests alone, which nothing is shipped with.
TESTS_ONLY_ALLOWED = (*ALLOWED, "GPL")


def needed_by(names: list[str]) -> dict[str, metadata.Distribution]:
    """Return the installed distributions that some packages need, with all that those need, by name."""
    found: dict[str, metadata.Distribution] = {}
    waiting = list(names)
    while waiting:
        name = re.match(r"[\w.-]+", waiting.pop())[0].lower().replace("_", "-")  # type: ignore[index]
        if name in found:
            continue
        try:
            found[name] = metadata.distribution(name)
        except metadata.PackageNotFoundError:
            continue  # needed on another system, or with an extra that is not installed
        waiting += [line for line in found[name].requires or () if "extra ==" not in line]
    return found


def licence(distribution: metadata.Distribution) -> str:
    """Return what a distribution says of its licence, in one line."""
    facts = distribution.metadata
    classifiers = [line.rpartition("::")[2] for line in facts.get_all("Classifier") or () if "License ::" in line]
    parts = [facts.get("License-Expression") or "", *classifiers, (facts.get("License") or "").split("\n")[0][:80]]
    return "; ".join(part.strip() for part in parts if part and part.strip() not in ("", "UNKNOWN"))


def not_allowed(names: list[str], allowed: tuple[str, ...]) -> dict[str, str]:
    """Return the distributions whose licence is none of those allowed, with what they say."""
    words = re.compile("|".join(rf"(?<![A-Za-z]){re.escape(word)}" for word in allowed))
    found = {name: licence(one) for name, one in needed_by(names).items()}
    return {name: text for name, text in found.items() if not words.search(text)}


def test_what_is_shipped_rests_on_free_licences() -> None:
    names = PROJECT["dependencies"]
    assert len(needed_by(names)) >= len(names)
    assert not_allowed(names, ALLOWED) == {}


def test_extras_and_tests_rest_on_free_licences() -> None:
    extras = PROJECT["optional-dependencies"]
    assert not_allowed(extras["excel"], ALLOWED) == {}
    assert not_allowed(extras["test"], TESTS_ONLY_ALLOWED) == {}


def test_every_dependency_is_kept_below_its_next_great_version() -> None:
    for line in (*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["excel"]):
        is_data = line.startswith("tzdata")  # tables of time zones, of which the newest are the best
        assert is_data or re.fullmatch(r"[\w.-]+>=[\d.]+,<[\d.]+(; sys_platform == '\w+')?", line), line


#: All that the project asks for, whatever for.
ALL_WANTED = [*PROJECT["dependencies"], *(line for more in PROJECT["optional-dependencies"].values() for line in more)]


def locked() -> dict[str, list[tuple[str, str, list[str]]]]:
    """Return what CI's lock file holds by a package's name: version, marker and hashes of each line."""
    found: dict[str, list[tuple[str, str, list[str]]]] = {}
    text = (ROOT / ".ci" / "requirements.txt").read_text(encoding="utf-8").replace("\\\n", " ")
    for line in text.splitlines():
        if line and not line.startswith("#"):
            wanted, *hashes = re.split(r"\s+--hash=", line.strip())
            name, _, version = wanted.partition(";")[0].partition("==")
            found.setdefault(name, []).append((version.strip(), wanted.partition(";")[2].strip(), hashes))
    return found


def test_ci_installs_what_is_locked_by_hash() -> None:
    packages = locked()
    for name, lines in packages.items():
        assert re.fullmatch(r"[a-z0-9-]+", name), name
        for version, _, hashes in lines:
            assert re.fullmatch(r"[\d.]+(post\d+)?", version), (name, version)
            assert hashes, name
            assert all(re.fullmatch(r"sha256:[0-9a-f]{64}", one) for one in hashes), name
    for line in ALL_WANTED:
        wanted = Requirement(line)
        lines = packages[wanted.name.lower().replace("_", "-")]
        assert all(wanted.specifier.contains(version) for version, _, _ in lines), line
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "pip install -q --require-hashes -r .ci/requirements.txt" in run
    build = (ROOT / ".ci" / "build.txt").read_text(encoding="utf-8").split()[-1]
    assert build == f"setuptools=={packages['setuptools'][0][0]}"


@pytest.mark.parametrize("python", ["3.10", "3.11", "3.12", "3.13"])
@pytest.mark.parametrize("system", ["linux", "win32", "darwin"])
def test_the_lock_file_serves_every_python_and_holds_all_that_is_needed_with_one_version_each(
    python: str, system: str
) -> None:
    system_facts = {"python_version": python, "python_full_version": f"{python}.9", "sys_platform": system}
    held = {
        name: [version for version, marker, _ in lines if not marker or Marker(marker).evaluate(system_facts)]
        for name, lines in locked().items()
    }
    assert all(len(versions) <= 1 for versions in held.values()), held
    for name, distribution in needed_by(ALL_WANTED).items():
        if held.get(name) != [distribution.version]:  # not needed there, or another version with other needs
            continue
        for line in distribution.requires or ():
            needed = Requirement(line)
            is_needed = needed.marker is None or needed.marker.evaluate({**system_facts, "extra": ""})
            assert not is_needed or held.get(needed.name.lower().replace("_", "-")), (name, line)


def test_every_package_is_named_with_its_reason_and_its_licence() -> None:
    packages = (ROOT / ".ci" / "packages.md").read_text(encoding="utf-8")
    table, _, licences = packages.partition("## Licences")
    for line in ALL_WANTED:
        assert re.search(rf"(?<![\w-]){re.escape(Requirement(line).name)}(?![\w-])", table), line
    rows = re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", licences.partition("\n## ")[0], re.MULTILINE)
    licence_of = {name.strip(): kind for kind, names in rows[1:] for name in names.split(",")}
    assert set(licence_of) == set(locked())
    for name, kind in licence_of.items():
        with contextlib.suppress(metadata.PackageNotFoundError):  # one for another system
            assert kind.lower() in licence(metadata.distribution(name)).lower(), (name, kind)


def test_the_core_needs_the_standard_library_and_one_package() -> None:
    """What goes into an office program's own Python: season, cells and functions, and python-dateutil."""
    allowed = {"dateutil", *sys.stdlib_module_names}
    for folder in ("season", "cells", "functions"):
        for source in (ROOT / "sheetfuncs" / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
                names = [one.name for one in node.names] if isinstance(node, ast.Import) else []
                names += [node.module] if isinstance(node, ast.ImportFrom) and not node.level else []
                for name in names:
                    assert name.partition(".")[0] in allowed, (source.name, name)


def test_an_extension_is_the_same_each_time(tmp_path: Path) -> None:
    """Built in another process, at another time, under another clock and hash seed."""
    one = build_extension(tmp_path / "a.oxt")
    code = (
        "import sys, pathlib; from sheetfuncs.hosts.calc.build import build_extension; "
        "build_extension(pathlib.Path(sys.argv[1]))"
    )
    elsewhere = {**os.environ, "TZ": "Pacific/Auckland", "PYTHONHASHSEED": "7", "LC_ALL": "C"}
    subprocess.run([sys.executable, "-c", code, str(tmp_path / "b.oxt")], check=True, env=elsewhere, cwd=ROOT)
    assert one.read_bytes() == (tmp_path / "b.oxt").read_bytes()


def test_a_wheel_is_the_same_each_time(tmp_path: Path) -> None:
    """Built twice from copies of the sources in two folders, with one date for all files."""
    builds, digests = [], set()
    for folder_name, zone in (("one", "UTC"), ("another and longer", "Pacific/Auckland")):
        folder = tmp_path / folder_name
        shutil.copytree(ROOT / "sheetfuncs", folder / "sheetfuncs", ignore=shutil.ignore_patterns("__pycache__"))
        for name in ("pyproject.toml", "README.md"):
            shutil.copy(ROOT / name, folder)
        more = {"SOURCE_DATE_EPOCH": "1577836800", "TZ": zone, "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
        command = [sys.executable, "-m", "pip", "wheel", ".", "--no-deps", "-q", "-w", str(folder / "out")]
        build = subprocess.Popen(command, cwd=folder, env={**os.environ, **more}, stderr=subprocess.PIPE, text=True)
        builds.append((folder, build))
    for folder, build in builds:
        errors = build.communicate()[1]
        if build.returncode and os.environ.get("CI") is None and "No matching distribution" in errors:
            pytest.skip("setuptools cannot be fetched here, as there is no network")
        assert build.returncode == 0, errors
        (wheel,) = (folder / "out").iterdir()
        with zipfile.ZipFile(wheel) as archive:
            names = archive.namelist()
            assert archive.read("sheetfuncs/LICENSE") == (ROOT / "sheetfuncs" / "LICENSE").read_bytes()
            assert {"sheetfuncs/__init__.pyi", "sheetfuncs/py.typed"} <= set(names)
            facts = archive.read(next(name for name in names if name.endswith(".dist-info/METADATA"))).decode()
            assert "\nLicense-Expression: MIT\n" in facts
        in_source = {file.relative_to(ROOT).as_posix() for file in (ROOT / "sheetfuncs").rglob("*.py")}
        assert {name for name in names if name.endswith(".py")} == in_source
        digests.add((wheel.name, hashlib.sha256(wheel.read_bytes()).hexdigest()))
    assert len(digests) == 1, digests
