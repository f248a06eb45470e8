"""What is not ours is not written over; what the system refuses is one line; no text of a file steers a terminal."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest

from sheetfuncs.cells.errors import InputError, printable
from sheetfuncs.cli import main
from sheetfuncs.hosts.calc.build import is_extension
from sheetfuncs.planner import pages

MAIN = "from sheetfuncs.cli import main; main()"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    made = openpyxl.Workbook()
    made.active["A1"] = "=1+1"
    made.save(tmp_path / "plan.xlsx")
    return tmp_path / "plan.xlsx"


def started(*arguments: object, cwd: Path | None = None, out: str | None = None) -> tuple[int, list[str]]:
    """Run a command in a process of its own; its exit code, and its lines on standard error."""
    line = [sys.executable, "-c", MAIN, *map(str, arguments)]
    with open(out or os.devnull, "wb") as target:
        done = subprocess.run(line, cwd=cwd, stdout=target, stderr=subprocess.PIPE, text=True)
    return done.returncode, done.stderr.splitlines()


def ended(arguments: list[str], monkeypatch, capsys) -> tuple[object, list[str]]:
    """Run a command in this process, as :func:`started` does in another one."""
    monkeypatch.setattr(sys, "argv", ["sheetfuncs", *arguments])
    with pytest.raises(SystemExit) as end:
        main()
    return end.value.code, capsys.readouterr().err.splitlines()


class TestNotOurs:
    def test_the_extension_is_not_written_over_another_file(self, run, tmp_path):
        photo, other = tmp_path / "photo.jpg", tmp_path / "other.oxt"
        for file in (photo, other):
            file.write_bytes(b"a picture")
            with pytest.raises(InputError):
                run("install", "calc", "--build-only", file)
            assert file.read_bytes() == b"a picture"
        ours = tmp_path / "ours.oxt"
        ours.with_name("ours.oxt.part").write_bytes(b"someone's")
        run("install", "calc", "--build-only", ours)
        first = ours.read_bytes()
        assert is_extension(ours)
        assert "is the extension" in run("install", "calc", "--build-only", ours).output
        assert ours.read_bytes() == first
        assert ours.with_name("ours.oxt.part").read_bytes() == b"someone's"

    def test_each_copy_that_was_wanted_stays(self, run, book):
        kept = [book.with_name(f"plan.before{number}.xlsx") for number in ("", "-2", "-3")]
        kept[0].write_bytes(b"a book of the user's")
        for number in (1, 2):
            openpyxl.load_workbook(book).save(book)  # without its stored value
            before = book.read_bytes()
            assert f"is kept as {kept[number].name}." in run("recalc", book, "--backup").output
            assert kept[number].read_bytes() == before
        assert kept[0].read_bytes() == b"a book of the user's"

    @pytest.fixture
    def printed(self, tmp_path, monkeypatch):
        """An office that prints a page at once."""
        program = tmp_path / "soffice"
        program.write_text(
            f"#!{sys.executable}\nimport sys\nfrom pathlib import Path\n"
            "out = Path(sys.argv[sys.argv.index('--outdir') + 1])\nout.mkdir(exist_ok=True)\n"
            "for book in sys.argv[sys.argv.index('--outdir') + 2:]:\n"
            "    (out / Path(book).with_suffix('.pdf').name).write_bytes(b'%PDF a page')\n"
        )
        program.chmod(0o755)
        monkeypatch.setattr(pages, "find_office", lambda: pages.Office(tmp_path, program, program))
        return tmp_path / "pages"

    @pytest.mark.usefixtures("answers_as_they_are")
    def test_printing_replaces_its_own_pages_alone(self, run, filled, printed):
        run("print", filled, "-o", printed)
        rounds, season = printed / "demo-rounds.pdf", printed / "demo-season.pdf"
        before = season.read_bytes()
        assert before.startswith(b"%PDF a page")
        run("print", filled, "-o", printed)
        assert sorted(printed.iterdir()) == [rounds, season]
        rounds.write_bytes(b"%PDF of someone else")
        season.unlink()
        with pytest.raises(InputError, match=r"demo-rounds\.pdf is there already"):
            run("print", filled, "-o", printed)
        assert [file.read_bytes() for file in printed.iterdir()] == [b"%PDF of someone else"]

    @pytest.mark.usefixtures("answers_as_they_are")
    def test_printing_follows_no_link(self, run, filled, printed):
        printed.mkdir()
        letters = printed.parent / "letters"
        letters.write_bytes(b"letters")
        (printed / ".demo-rounds.pdf.part").symlink_to(letters)
        run("print", filled, "-o", printed)
        page = printed / "demo-rounds.pdf"
        letters.write_bytes(page.read_bytes())
        page.unlink()
        page.symlink_to(letters)
        before = letters.read_bytes()
        with pytest.raises(InputError, match=r"demo-rounds\.pdf is there already"):
            run("print", filled, "-o", printed)
        assert page.is_symlink()
        assert letters.read_bytes() == before


LONG = "a" * 250 + ".xlsx"
COMMANDS = [
    ("new", "{}", "--trees", "3"),
    ("new", "{}", "--trees", "3", "--replace"),
    ("recalc", "{}"),
    ("recalc", "plan.xlsx", "-o", "{}"),
    ("names", "{}", "--for", "excel"),
    ("carry", "{}", "new.xlsx"),
    ("carry", "plan.xlsx", "{}"),
    ("calendar", "{}", "-o", "x.ics"),
    ("print", "{}", "-o", "pages"),
    ("print", "plan.xlsx", "-o", "{}"),
]


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command))
@pytest.mark.parametrize("name", [LONG, "ring.xlsx"])
def test_a_name_too_long_and_a_link_to_itself(book, command, name, monkeypatch, capsys):
    (book.parent / "ring.xlsx").symlink_to("ring.xlsx")
    before = book.read_bytes()
    monkeypatch.chdir(book.parent)
    code, lines = ended([part.format(name) for part in command], monkeypatch, capsys)
    assert (code, len(lines)) == (1, 1), lines
    assert lines[0].startswith("Check: ")
    assert book.read_bytes() == before
    assert sorted(file.name for file in book.parent.iterdir()) == ["plan.xlsx", "ring.xlsx"]


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps the folder in which a program works")
@pytest.mark.parametrize(
    "command", [("new", "a.xlsx"), ("recalc", "a.xlsx"), ("carry", "a.xlsx", "b.xlsx"), ("print", "a.xlsx", "-o", "p")]
)
def test_a_working_folder_that_is_gone(command, tmp_path):
    gone = tmp_path / "gone"
    gone.mkdir()
    code = f"import os, shutil; shutil.rmtree({str(gone)!r}); {MAIN}"
    done = subprocess.run([sys.executable, "-c", code, *command], cwd=gone, capture_output=True, text=True)
    assert (done.returncode, len(done.stderr.splitlines())) == (1, 1), done.stderr
    assert done.stderr.startswith("Check: ")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no disk that is always full")
@pytest.mark.parametrize(
    "command",
    [("--help",), ("explain",), ("recalc", "plan.xlsx"), ("recalc", "plan.xlsx", "--json"), ("demo", "d.xlsx")],
)
def test_standard_output_on_a_full_disk(book, command):
    code, lines = started(*command, cwd=book.parent, out="/dev/full")
    assert (code, lines) == (1, ["Check: what this says could not be written: No space left on device"])


class TestTerminal:
    def test_a_line_holds_nothing_that_a_terminal_obeys(self):
        assert printable("a\x1b[2J\u009b2J\nb") == "a�[2J�2J�b"

    def test_sheets_and_formulas(self, run, book):
        made = openpyxl.load_workbook(book)
        made.active.title = "two\u009b2J\nlines"
        made.active["A1"] = '="Check: \x1b[2J"'.replace("\x1b", "_x001B_")
        made.save(book)
        output = run("recalc", book, "--cells", "-o", book.with_name("out.xlsx")).output
        assert "Check: " in output
        assert output == "\n".join(printable(line) for line in output.split("\n"))
        assert len(output.splitlines()) == 3
        data = run("recalc", book, "--json", "-o", book.with_name("out.xlsx")).output
        assert data == "\n".join(printable(line) for line in data.split("\n"))
        made.active["A1"] = "=LET(_x001B_2J, 1, _x001B_2J(3))"
        made.save(book)
        output = run("recalc", book).output
        assert "A1 keeps its value: it calls _X001B_2J, which this recalculation does not know" in output
        assert output == "\n".join(printable(line) for line in output.split("\n"))

    def test_a_tag_is_no_markup(self, filled, capsys):
        from sheetfuncs.cli.trees import print_trees
        from sheetfuncs.planner.sheets import trees

        made = openpyxl.load_workbook(filled)
        table = trees.table(1)
        made[trees.NAME][f"{table.letter('tag')}{table.first_row}"] = "[red]A\u009b1"
        made.save(filled)
        print_trees(filled)
        assert "[red]A�1" in capsys.readouterr().out
