"""Killed, without room, twice at once: the book is the old or the new one, whole, and what it was can be had back."""

from __future__ import annotations

import contextlib
import os
import resource
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Iterator

import click.testing
import pytest

from sheetfuncs.cells.errors import InputError
from sheetfuncs.cli.app import app
from sheetfuncs.functions.examples import valley_days
from sheetfuncs.planner import build_template
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import WorkbookFileError, read_values
from sheetfuncs.xlsx.package import Package

from .killed import a_book

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork a process")
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    (tmp_path / "place").mkdir()
    return a_book(tmp_path / "place" / "plan.xlsx")


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory, few_rows: None) -> Path:
    """A new workbook to add weather to, and a station's file beside it."""
    path = tmp_path_factory.mktemp("blank") / "figs.xlsx"
    build_template(path, trees=3, recalculate=recalculate)
    rows = "".join(f"{day},{low},{high}\n" for day, low, high in valley_days())
    path.with_name("station.csv").write_text("date,low,high\n" + rows)
    return path


@pytest.fixture
def figs(blank: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(blank, tmp_path / "figs.xlsx"))


def run(*arguments: object) -> str:
    """Run a command and return what it says; raises what it raises."""
    texts = [str(argument) for argument in arguments]
    return click.testing.CliRunner().invoke(app, texts, catch_exceptions=False, standalone_mode=False).output


@needs_fork
@pytest.mark.parametrize(("command", "moments"), [("recalc", 8), ("add-weather", 2), ("names", 4)])
def test_killed_at_random_moments(command: str, moments: int) -> None:
    line = [sys.executable, "-m", "tests.hard_use.killed", "--moments", str(moments), "--commands", command]
    done = subprocess.run(line, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert f"{command}: killed at {moments} moments, nothing lost" in done.stdout


class TestNoRoom:
    @pytest.fixture
    def small_disk(self, tmp_path: Path) -> Iterator[Path]:
        """A disk of 300 kB."""
        disk = tmp_path / "disk"
        disk.mkdir()
        command = ["mount", "-t", "tmpfs", "-o", "size=300k", "tmpfs", str(disk)]
        if shutil.which("mount") is None or subprocess.run(command, capture_output=True).returncode:
            pytest.skip("only the superuser can make a small disk")
        try:
            yield disk
        finally:
            subprocess.run(["umount", str(disk)], check=True)

    @pytest.mark.parametrize("backup", ["never", "always"])
    def test_a_disk_that_is_full(self, small_disk: Path, backup: str) -> None:
        path = a_book(small_disk / "plan.xlsx")
        before = path.read_bytes()
        with open(small_disk / "photos", "wb", buffering=0) as file, contextlib.suppress(OSError):
            while file.write(bytes(4096)):
                pass
        with pytest.raises(WorkbookFileError, match=r"no room on the disk to write .*, nothing was changed"):
            recalculate(path, backup=backup)
        assert path.read_bytes() == before
        assert sorted(file.name for file in small_disk.iterdir()) == ["photos", "plan.xlsx"]
        (small_disk / "photos").unlink()
        recalculate(path)
        assert read_values(path)["Sheet"]["J1"]

    @needs_fork
    def test_a_file_that_may_not_grow(self, book: Path) -> None:
        """As full a disk as a user without rights can have: the system refuses the last bytes."""
        before = book.read_bytes()
        code = (
            "import resource, signal, sys\n"
            "from sheetfuncs.recalc import recalculate\n"
            "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
            f"resource.setrlimit(resource.RLIMIT_FSIZE, ({len(before) // 2}, resource.RLIM_INFINITY))\n"
            "try: recalculate(sys.argv[1])\n"
            "except ValueError as error: print(error)\n"
        )
        done = subprocess.run([sys.executable, "-c", code, str(book)], capture_output=True, text=True, check=True)
        assert done.stdout.strip() == f"Check: {book} cannot be written: File too large"
        assert book.read_bytes() == before
        assert [file.name for file in book.parent.iterdir()] == ["plan.xlsx"]
        assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] == resource.RLIM_INFINITY


class TestAtOnce:
    def both(self, *commands: list[str]) -> list[int]:
        started = [
            subprocess.Popen(
                [sys.executable, "-c", "from sheetfuncs.cli import main; main()", *command],
                stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
            )
            for command in commands
        ]  # fmt: skip
        codes = []
        for one in started:
            errors = one.communicate()[1]
            assert "Traceback" not in errors, errors
            codes.append(one.returncode)
        return codes

    def test_two_recalculations(self, book: Path, tmp_path: Path) -> None:
        recalculate(book, tmp_path / "wanted.xlsx")
        codes = self.both(["recalc", str(book)], ["recalc", str(book)], ["recalc", str(book)])
        assert set(codes) <= {0, 1}
        assert 0 in codes
        assert book.read_bytes() == (tmp_path / "wanted.xlsx").read_bytes()
        assert {file.name for file in book.parent.iterdir()} == {"plan.xlsx", "plan.before.xlsx"}

    def test_weather_comes_in_while_it_is_recalculated(self, figs: Path, blank: Path) -> None:
        run("add-weather", figs, blank.with_name("station.csv"), "--no-backup", "--unit", "C")
        added = figs.read_bytes()
        shutil.copy(blank, figs)
        station = str(blank.with_name("station.csv"))
        codes = self.both(["recalc", str(figs)], ["add-weather", str(figs), station, "--unit", "C"])
        assert 0 in codes
        with zipfile.ZipFile(figs) as archive:
            assert archive.testzip() is None
        if figs.read_bytes() != added:  # the recalculation was the last; it read a whole book
            recalculate(figs)
        assert not [file for file in figs.parent.iterdir() if file.name.endswith(".part")]
        assert read_values(figs)


class TestKeptAsItWas:
    def test_the_first_time(self, book: Path) -> None:
        before = book.read_bytes()
        kept = book.with_name("plan.before.xlsx")
        assert "plan.xlsx as it was is kept as plan.before.xlsx." in run("recalc", book)
        assert kept.read_bytes() == before
        book.write_bytes(before)
        kept.write_bytes(b"years ago")
        assert "kept" not in run("recalc", book)
        assert kept.read_bytes() == b"years ago"

    def test_when_asked(self, book: Path) -> None:
        before = book.read_bytes()
        book.with_name("plan.before.xlsx").write_bytes(b"years ago")
        assert "is kept as plan.before-2.xlsx" in run("recalc", book, "--backup")
        assert book.with_name("plan.before-2.xlsx").read_bytes() == before
        assert book.with_name("plan.before.xlsx").read_bytes() == b"years ago"

    def test_not_at_all(self, book: Path) -> None:
        run("recalc", book, "--no-backup")
        assert [file.name for file in book.parent.iterdir()] == ["plan.xlsx"]

    def test_nothing_is_kept_where_nothing_is_written(self, book: Path) -> None:
        recalculate(book)
        run("recalc", book, "--backup")
        run("recalc", book, "-o", book.with_name("other.xlsx"))
        assert {file.name for file in book.parent.iterdir()} == {"plan.xlsx", "other.xlsx"}

    def test_weather(self, figs: Path, blank: Path) -> None:
        assert "figs.before.xlsx" in run("add-weather", figs, blank.with_name("station.csv"), "--unit", "C")
        assert figs.with_name("figs.before.xlsx").read_bytes() == blank.read_bytes()
        assert figs.read_bytes() != blank.read_bytes()

    def test_names(self, book: Path) -> None:
        before = book.read_bytes()
        kept = book.with_name("plan.before.xlsx")
        assert "is kept as plan.before.xlsx" in run("names", book, "--for", "calc")
        assert kept.read_bytes() == before
        assert "is kept" not in run("names", book, "--for", "excel")
        kept.unlink()
        run("names", book, "--for", "calc", "--no-backup")
        assert not kept.exists()
        run("names", book, "--for", "calc", "--backup")  # changes nothing
        assert not kept.exists()

    def test_a_book_that_a_new_one_takes_the_place_of(self, book: Path) -> None:
        before = book.read_bytes()
        assert "is kept as plan.before.xlsx" in run("new", book, "--trees", "3", "--replace")
        assert book.with_name("plan.before.xlsx").read_bytes() == before
        assert "Trees" in read_values(book)

    def test_with_its_rights(self, book: Path) -> None:
        book.chmod(0o600)
        run("recalc", book)
        assert book.with_name("plan.before.xlsx").stat().st_mode & 0o777 == 0o600

    def test_the_rest_of_a_killed_run_is_cleared_away_and_of_a_running_one_is_not(self, book: Path) -> None:
        old, running = (book.with_name(f".plan.xlsx.{digit * 12}.part") for digit in "ab")
        others = book.with_name(".plan.xlsx.notours.part")
        for file in (old, running, others):
            file.write_bytes(b"half")
        for file in (old, others):
            os.utime(file, (1, 1))
        recalculate(book)
        assert {file.name for file in book.parent.iterdir()} == {"plan.xlsx", running.name, others.name}


@pytest.mark.parametrize("lock", [".~lock.figs.xlsx#", "~$figs.xlsx"])
def test_weather_waits_for_an_office_program_to_close_the_book(figs: Path, blank: Path, lock: str) -> None:
    figs.with_name(lock).write_text("someone")
    before = figs.read_bytes()
    with pytest.raises(InputError, match=r"figs\.xlsx is open in an office program; close it there first"):
        run("add-weather", figs, blank.with_name("station.csv"), "--unit", "C")
    assert figs.read_bytes() == before


@pytest.mark.parametrize("lock", [".~lock.plan.xlsx#", "~$plan.xlsx"])
@pytest.mark.parametrize("command", [["names", "--for", "calc"], ["new", "--replace", "--trees", "3"]])
def test_others_wait_for_it_too(book: Path, command: list[str], lock: str) -> None:
    book.with_name(lock).write_text("someone")
    before = book.read_bytes()
    with pytest.raises(InputError, match=r"plan\.xlsx is open in an office program; close it there first"):
        run(command[0], book, *command[1:])
    assert book.read_bytes() == before


@pytest.mark.parametrize("doing", ["changes", "opens"])
@pytest.mark.parametrize("command", [["names", "--for", "calc"], ["recalc"]])
def test_someone_comes_in_between(
    book: Path, command: list[str], doing: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another program changes or opens the book while it is worked on: what that one has is left to it."""
    from_parts = Package.with_parts
    seen = []

    def slow(package: Package, parts: dict[str, bytes]) -> bytes:
        if doing == "changes":
            book.write_bytes(book.read_bytes() + b" ")
        else:
            book.with_name("~$plan.xlsx").write_text("someone")
        seen.append(book.read_bytes())
        return from_parts(package, parts)

    monkeypatch.setattr(Package, "with_parts", slow)
    line = "was changed by another program meanwhile" if doing == "changes" else "is open in an office program"
    with pytest.raises(InputError, match=line):
        run(command[0], book, *command[1:])
    assert seen == [book.read_bytes()]
    assert not book.with_name("plan.before.xlsx").exists()
