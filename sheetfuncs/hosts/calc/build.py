"""Make the Calc extension (.oxt) from the declarations; no compiler and no SDK is needed."""

from __future__ import annotations

import importlib.util
import zipfile
from importlib import metadata
from pathlib import Path
from typing import Iterator

from ...functions import all_functions
from ...xlsx.archive import archive_of
from . import declarations
from .programs import OLDEST_OFFICE, CalcProblem

IDENTIFIER = "sheetfuncs.calc"

_HERE = Path(__file__).resolve().parent
_PACKAGE = _HERE.parents[1]
_CARRIED = ("season", "cells", "functions")
_CARRIED_FROM_HERE = ("columns.py", "declarations.py", "documents.py", "names.py", "values.py")

_MANIFEST = """<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">
 <manifest:file-entry manifest:full-path="functions.idl"
  manifest:media-type="application/vnd.sun.star.uno-typelibrary;type=RDB"/>
 <manifest:file-entry manifest:full-path="component.py"
  manifest:media-type="application/vnd.sun.star.uno-component;type=Python"/>
 <manifest:file-entry manifest:full-path="functions.xcu"
  manifest:media-type="application/vnd.sun.star.configuration-data"/>
 <manifest:file-entry manifest:full-path="jobs.xcu"
  manifest:media-type="application/vnd.sun.star.configuration-data"/>
</manifest:manifest>
"""

#: Starts a job for every document opened or made: the first event comes with a window and without one, the second with
#: a window only. The job is named as in component.py, which only the office can import.
_JOBS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:component-data xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema"
 oor:name="Jobs" oor:package="org.openoffice.Office">
 <node oor:name="Jobs"><node oor:name="sheetfuncs.calc.Opened" oor:op="replace">
  <prop oor:name="Service"><value>sheetfuncs.calc.Opened</value></prop></node></node>
 <node oor:name="Events">
  <node oor:name="onDocumentAdded" oor:op="fuse"><node oor:name="JobList">
   <node oor:name="sheetfuncs.calc.Opened" oor:op="replace"/></node></node>
  <node oor:name="onDocumentOpened" oor:op="fuse"><node oor:name="JobList">
   <node oor:name="sheetfuncs.calc.Opened" oor:op="replace"/></node></node>
 </node>
</oor:component-data>
"""

_DESCRIPTION = """<?xml version="1.0" encoding="UTF-8"?>
<description xmlns="http://openoffice.org/extensions/description/2006"
 xmlns:lo="http://libreoffice.org/extensions/description/2011">
 <identifier value="{identifier}"/>
 <version value="{version}"/>
 <display-name><name lang="en">Worksheet functions for the summer pruning of fig trees</name></display-name>
 <dependencies>
  <lo:LibreOffice-minimal-version value="{oldest}" name="LibreOffice {oldest}"/>
 </dependencies>
</description>
"""

_PACKAGE_DOC = '"""{}"""\n'


def is_extension(path: Path) -> bool:
    """Return whether a file is an extension that was made here."""
    try:
        with zipfile.ZipFile(path) as archive:
            return f'<identifier value="{IDENTIFIER}"/>'.encode() in archive.read("description.xml")
    except (OSError, KeyError, zipfile.BadZipFile):
        return False


def build_extension(path: Path) -> Path:
    """Make the extension file; the same sources give the same bytes.

    path : the .oxt to write; replaced where it is there. Returns the path. Raises :class:`CalcProblem` where the Python
    packages to carry along do not fit.
    """
    parts = dict(_parts())
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(archive_of({name: parts[name] for name in sorted(parts)}, is_packed=False))
    return path


def version() -> str:
    """Return the version of the package as an office reads it: numbers and points."""
    try:
        found = metadata.version("sheetfuncs")
    except metadata.PackageNotFoundError:  # a source tree that was not installed
        return "0"
    return ".".join(part for part in found.split(".") if part.isdigit()) or "0"


def _parts() -> Iterator[tuple[str, bytes]]:
    texts = {
        "META-INF/manifest.xml": _MANIFEST,
        "description.xml": _DESCRIPTION.format(identifier=IDENTIFIER, version=version(), oldest=OLDEST_OFFICE),
        "functions.idl": declarations.types_text(all_functions()),
        "functions.xcu": declarations.functions_text(all_functions()),
        "jobs.xcu": _JOBS,
        "pythonpath/sheetfuncs/__init__.py": _PACKAGE_DOC.format("What the Calc extension carries of the package."),
        "pythonpath/sheetfuncs/hosts/__init__.py": _PACKAGE_DOC.format("The office alone."),
        "pythonpath/sheetfuncs/hosts/calc/__init__.py": _PACKAGE_DOC.format("What runs inside the office."),
    }
    for name, text in texts.items():
        yield name, text.encode("utf-8")
    yield "component.py", (_HERE / "component.py").read_bytes()
    for name in _CARRIED_FROM_HERE:
        yield f"pythonpath/sheetfuncs/hosts/calc/{name}", (_HERE / name).read_bytes()
    for package in _CARRIED:
        yield from _sources(_PACKAGE / package, f"pythonpath/sheetfuncs/{package}")
    yield from _date_reader()


def _sources(folder: Path, target: str) -> Iterator[tuple[str, bytes]]:
    for source in folder.rglob("*.py"):
        yield f"{target}/{source.relative_to(folder).as_posix()}", source.read_bytes()


def _date_reader() -> Iterator[tuple[str, bytes]]:
    """Return python-dateutil and six, with their licences: the last that run on Python 3.8."""
    found = {name: _distribution(name) for name in ("python-dateutil", "six")}
    dateutil = found["python-dateutil"]
    if dateutil is None or not dateutil.version.startswith("2.") or found["six"] is None:
        has = f"python-dateutil {dateutil.version}" if dateutil else "none"
        raise CalcProblem(
            f"The Calc extension carries python-dateutil 2.9, which runs on every office's Python; found here: {has}. "
            'Run: pip install "python-dateutil>=2.9,<3"'
        )
    yield from _sources(_file_of("dateutil").parent, "pythonpath/dateutil")
    yield "pythonpath/six.py", _file_of("six").read_bytes()
    for name, distribution in found.items():
        for file in distribution.files or ():
            if file.name.upper().startswith("LICENSE"):
                yield f"licences/{name}.txt", Path(str(distribution.locate_file(file))).read_bytes()


def _distribution(name: str) -> metadata.Distribution | None:
    try:
        return metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return None


def _file_of(module: str) -> Path:
    spec = importlib.util.find_spec(module)
    if spec is None or spec.origin is None:
        raise CalcProblem(f"The Python package {module} is installed but its files are not found")
    return Path(spec.origin)
