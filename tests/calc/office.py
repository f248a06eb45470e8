"""A real LibreOffice for the tests: found, given the extension, started, called."""

from __future__ import annotations

import atexit
import json
import shutil
import subprocess
import sys
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

from sheetfuncs.hosts.calc.install import install
from sheetfuncs.hosts.calc.programs import CalcProblem, Office, find_office, office_environment

DRIVER = Path(__file__).with_name("office_driver.py")


@lru_cache(maxsize=1)
def what_is_missing() -> str:
    """Return why no office can be started here; empty where one can."""
    try:
        office = find_office()
    except CalcProblem as problem:
        return str(problem)
    return "" if python_with_uno(office) else "no Python with the office's bridge (uno) was found"


@lru_cache(maxsize=1)
def python_with_uno(office: Office) -> str:
    """Return a Python that can talk to the office: its own, or one of the system; empty where there is none."""
    own = [office.program / name for name in ("python", "python.exe")]
    own += sorted(office.program.parent.glob("Resources/python"))
    for python in [*map(str, own), "/usr/bin/python3", sys.executable]:
        if shutil.which(python) and subprocess.run(
            [python, "-c", "import uno"], capture_output=True, env=office_environment()
        ).returncode == 0:
            return python
    return ""


def _settings(folder: Path) -> list[str]:
    return [
        f"-env:UserInstallation={(folder / 'profile').as_uri()}",
        f"-env:UNO_SHARED_PACKAGES_CACHE={(folder / 'shared').as_uri()}",
    ]


@lru_cache(maxsize=None)
def _installed(*extensions: Path) -> tuple[Path, list[str]]:
    """Return folders with extensions installed, to be copied for each office, and the lines that installing gave."""
    folder = Path(tempfile.mkdtemp(prefix="sheetfuncs-office-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder, [install(extension, _settings(folder)) for extension in extensions]


class RunningOffice:
    """One office process with extensions, in folders of its own. Every method of the driver can be called."""

    def __init__(self, folder: Path, *extensions: Path) -> None:
        self.folder = folder
        self.settings, self.lines_of_install = _settings(folder), []
        if extensions:
            made, self.lines_of_install = _installed(*extensions)
            shutil.copytree(made, folder, dirs_exist_ok=True)
        office = find_office()
        self._process = subprocess.Popen(
            [python_with_uno(office), str(DRIVER), str(office.soffice), *self.settings],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8",
            env=office_environment(),
        )  # fmt: skip
        self._answer()

    def _answer(self) -> Any:
        line = self._process.stdout.readline()
        if not line:
            raise AssertionError("the office's driver ended")
        answer = json.loads(line)
        if "fault" in answer:
            raise AssertionError(answer["fault"])
        return answer["answer"]

    def __getattr__(self, name: str) -> Any:
        def ask(**arguments: Any) -> Any:
            self._process.stdin.write(json.dumps({"do": name, **arguments}) + "\n")
            self._process.stdin.flush()
            return self._answer()

        return ask

    def convert(self, path: Path, target: Path) -> Path:
        """Open a file and save it as another kind; of tables as texts each sheet gets a file: ``target-Sheet.csv``."""
        target.parent.mkdir(parents=True, exist_ok=True)
        document = self.open(path=str(path))
        try:
            self.save(document=document, path=str(target))
        finally:
            self.close(document=document)
        return target

    def stop(self) -> None:
        """End the office and its driver."""
        if self._process.poll() is None:
            self._process.stdin.close()
            self._process.wait(120)
