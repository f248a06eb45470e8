"""Bombs, folders and rights: one line, and nothing is lost."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from sheetfuncs.recalc import recalculate, rename_functions
from sheetfuncs.xlsx import WorkbookFileError, files, package, read_values

from .books import simple
from .functions import FUNCTIONS
from .test_bad_files import refusal


@pytest.fixture
def book(tmp_path: Path) -> Path:
    (tmp_path / "place").mkdir()
    return simple(tmp_path / "place" / "book.xlsx", {"A1": 4, "A2": "=TWICE_OF(A1)"})


class TestBombs:
    def test_more_than_fits(self, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(package, "MOST_UNPACKED", 2**20)
        with zipfile.ZipFile(book, "a", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("xl/media/zeros.bin", bytes(2**21))
        assert book.stat().st_size < 20_000
        assert "would unpack to 2 MB, wanted at most 1 MB" in refusal(book)

    def test_a_part_larger_than_it_says(self, book: Path) -> None:
        """A part that claims to be small cannot unpack to more: it is read up to its size, then found broken."""
        with zipfile.ZipFile(book, "a", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("xl/sharedStrings.xml.copy", bytes(2**20))
        raw = bytearray(book.read_bytes())
        at = raw.rindex(b"PK\x01\x02")
        raw[at + 24 : at + 28] = (10).to_bytes(4, "little")
        book.write_bytes(bytes(raw))
        held = package.Package(book.read_bytes(), "book.xlsx")
        with pytest.raises(WorkbookFileError, match="is a broken file"):
            held.read("xl/sharedStrings.xml.copy")

    def test_too_many_parts(self, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(package, "MOST_PARTS", 5)
        assert "parts, wanted at most 5" in refusal(book)

    def test_the_limit_that_is_stated(self) -> None:
        assert package.MOST_UNPACKED == 512 * 1024 * 1024


class TestFoldersAndRights:
    @pytest.mark.parametrize("lock", [".~lock.book.xlsx#", "~$book.xlsx"])
    def test_open_in_an_office_program(self, book: Path, lock: str) -> None:
        (book.parent / lock).write_text("someone")
        line = refusal(book)
        assert "book.xlsx is open in an office program; close it there first" in line
        assert lock in line

    def test_open_elsewhere_but_written_to_another_file(self, book: Path) -> None:
        (book.parent / ".~lock.book.xlsx#").write_text("someone")
        recalculate(book, book.parent / "other.xlsx", functions=FUNCTIONS)
        assert read_values(book.parent / "other.xlsx")["Plan"]["A2"] == 8

    def test_out_is_a_folder(self, book: Path) -> None:
        folder = book.parent / "out.xlsx"
        folder.mkdir()
        assert "is a folder, wanted a file to write" in refusal(book, folder)

    def test_out_in_no_folder(self, book: Path) -> None:
        assert "is not there" in refusal(book, book.parent / "nowhere" / "out.xlsx")

    def test_out_of_another_kind(self, book: Path) -> None:
        assert "out.xlsm must end in .xlsx, as book.xlsx does" in refusal(book, book.parent / "out.xlsm")

    def test_no_room_on_the_disk(self, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def full(_: int) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr(os, "fsync", full)
        assert f"no room on the disk to write {book}, nothing was changed" in refusal(book)

    def test_a_disk_that_is_really_full(self, book: Path) -> None:
        if not Path("/dev/full").exists():
            pytest.skip("this system has no device that is always full")

        def fill() -> None:
            with files._one_line(book, "write"), open("/dev/full", "wb") as file:
                file.write(b"a" * 100_000)

        with pytest.raises(WorkbookFileError, match="no room on the disk"):
            fill()

    def test_changed_by_someone_else_meanwhile(self, book: Path) -> None:
        def save(done: int, total: int) -> None:
            os.utime(book, (1, 1))

        with pytest.raises(WorkbookFileError, match="was changed by another program meanwhile"):
            recalculate(book, functions=FUNCTIONS, progress=save)

    @pytest.mark.skipif(os.name == "nt" or not hasattr(os, "setuid"), reason="rights are another matter on Windows")
    @pytest.mark.parametrize("what", ["unreadable", "read-only file", "read-only folder"])
    def test_no_permission(self, tmp_path: Path, what: str) -> None:
        """In a process of a user without rights, for the superuser has them all."""
        place = Path(f"/tmp/sheetfuncs-rights-{os.getpid()}-{what.replace(' ', '-')}")
        place.mkdir()
        try:
            path = simple(place / "book.xlsx", {"A1": "=TWICE_OF(2)"})
            place.chmod(0o777)
            path.chmod({"unreadable": 0o000, "read-only file": 0o444, "read-only folder": 0o666}[what])
            if what == "read-only folder":
                place.chmod(0o555)
            before = path.read_bytes()
            code = (
                "import os, sys, tempfile\n"
                "from pathlib import Path\n"
                "from sheetfuncs.recalc import recalculate\n"
                "from tests.recalc.books import simple\n"
                "from tests.recalc.functions import FUNCTIONS\n"
                # Once with all rights, so that everything is imported that the other user may not be able to read.
                "with tempfile.TemporaryDirectory() as folder:\n"
                "    recalculate(simple(Path(folder) / 'a.xlsx', {'A1': '=TWICE_OF(1)'}), functions=FUNCTIONS)\n"
                "if os.getuid() == 0: os.setgid(65534); os.setuid(65534)\n"
                "try: recalculate(Path(sys.argv[1]), functions=FUNCTIONS)\n"
                "except ValueError as error: print(error)\n"
            )
            done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
            assert done.stdout.startswith("Check: no permission to "), done
            assert str(path) in done.stdout
            assert path.read_bytes() == before
            assert [item.name for item in place.iterdir()] == ["book.xlsx"]
        finally:
            place.chmod(0o777)
            shutil.rmtree(place)


class TestOtherCommandsSayTheSame:
    def test_reading(self, tmp_path: Path) -> None:
        with pytest.raises(WorkbookFileError, match="is not there"):
            read_values(tmp_path / "missing.xlsx")

    def test_renaming(self, tmp_path: Path) -> None:
        (tmp_path / "book.xlsx").write_text("hello")
        with pytest.raises(WorkbookFileError, match="is not a workbook"):
            rename_functions(tmp_path / "book.xlsx", "excel", functions=FUNCTIONS)
