"""Workbooks made to do harm: a clear refusal or no harm, in bounded time and memory; nothing fetched, nothing run."""

from __future__ import annotations

import socket
import subprocess
import sys
import threading
import zipfile
from pathlib import Path
from typing import Iterator

import pytest

from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import WorkbookFileError, read_values

from ..recalc.books import OFFICE, by_hand, raw_entries

ROOT = Path(__file__).resolve().parents[2]
#: What one of these files may take, whatever is in it: memory [bytes] and time of the processor [s].
MEMORY, SECONDS = 3 << 30, 60


def one(formula: str, *more: str) -> str:
    """Return rows with one formula in A1 and further cells behind it in their row."""
    return f'<row r="1"><c r="A1"><f>{formula}</f></c>{"".join(more)}</row>'


def attempt(path: Path) -> str:
    """Recalculate a file and return the line of what is refused, "done" else; the file stays whole."""
    before = path.read_bytes()
    files = sorted(path.parent.iterdir())
    outcome = "done"
    try:
        for cell in recalculate(path).refused:
            outcome = f"{cell.sheet}!{cell.cell} {cell.why}"
    except WorkbookFileError as refused:
        outcome = refused.line
    assert sorted(path.parent.iterdir()) == files
    assert "\n" not in outcome
    assert outcome == "done" or path.read_bytes() == before
    with zipfile.ZipFile(path) as archive:
        assert outcome != "done" or archive.testzip() is None
    return outcome


def packed(path: Path, padding: int = 0) -> Path:
    """Pack a file's parts tightly; its sheet becomes so many bytes longer by spaces."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, content in parts.items():
            if not (padding and name == "xl/worksheets/sheet1.xml"):
                archive.writestr(name, content)
                continue
            start, _, end = content.partition(b"</sheetData>")
            with archive.open(name, "w") as part:
                part.write(start)
                for _ in range(padding // 1_000_000):
                    part.write(b" " * 1_000_000)
                part.write(b"</sheetData>" + end)
    return path


# -- size ------------------------------------------------------------------------------------------------------

_LIMITED = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, ({memory}, {memory}))
resource.setrlimit(resource.RLIMIT_CPU, ({seconds}, {seconds}))
from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import WorkbookFileError
for path in sys.argv[1:]:
    try:
        refused = recalculate(path).refused
        print(refused[0].why[:200] if refused else "done")
    except WorkbookFileError as refused:
        print(refused.line[:200])
"""


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux holds a process to its memory")
def test_bombs_take_bounded_time_and_memory(tmp_path: Path) -> None:
    """All of them in one process with 3 GiB and a minute."""
    deep = "<a>" * 200_000 + "</a>" * 200_000
    chain = "".join(
        f'<row r="{row}"><c r="A{row}"><f>A{row - 1}+1</f></c></row>' if row > 1 else '<row r="1"/>'
        for row in range(1, 30_001)
    )
    circle = "".join(f'<row r="{row}"><c r="A{row}"><f>A{row % 8000 + 1}</f></c></row>' for row in range(1, 8001))
    unnamed = "".join(f"<row><c><f>{row}+1</f></c></row>" for row in range(8000))
    named = "".join(f'<definedName name="name_{at}">name_{at + 1}+name_{at + 1}</definedName>' for at in range(60))
    wide = "".join(f'<definedName name="name_{at}">Plan!$A${at + 1}</definedName>' for at in range(20_000))
    files = {
        "would unpack to 514 MB, wanted at most 512 MB": by_hand(tmp_path / "a.xlsx", {"Plan": one("1")}),
        "done 0": by_hand(tmp_path / "b.xlsx", {"Plan": one("1")}),
        "done": by_hand(tmp_path / "c.xlsx", {"Plan": one("1")}, extra={"xl/media/a.bin": bytes(100_000_000)}),
        "XML depth": by_hand(tmp_path / "d.xlsx", {"Plan": one("1") + deep}),
        "done 1": by_hand(tmp_path / "e.xlsx", {"Plan": one("1")}, names=deep),
        "done 2": by_hand(tmp_path / "f.xlsx", {"Plan": chain}),
        "depends on itself, in a circle": by_hand(tmp_path / "g.xlsx", {"Plan": circle}),
        "done 3": by_hand(tmp_path / "h.xlsx", {"Plan": unnamed}),
        "uses names of names": by_hand(
            tmp_path / "i.xlsx", {"Plan": one("name_1")},
            names=f'<definedNames>{named}<definedName name="name_60">1</definedName></definedNames>',
        ),
        "done 5": by_hand(tmp_path / "j.xlsx", {"Plan": one("name_7")}, names=f"<definedNames>{wide}</definedNames>"),
        "done 6": by_hand(tmp_path / "k.xlsx", {"Plan": one("SUM(B1:XFD1048576)+CLIMATE_NOTE(B:XFD)")}),
    }  # fmt: skip
    for path in files.values():
        packed(path, {"a.xlsx": 539_000_000, "b.xlsx": 100_000_000}.get(path.name, 0))
        assert path.stat().st_size < 4_000_000
    code = _LIMITED.format(memory=MEMORY, seconds=SECONDS)
    command = [sys.executable, "-c", code, *map(str, files.values())]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False)
    lines = done.stdout.splitlines()
    assert done.returncode == 0, (len(lines), done.stderr[-2000:])
    for wanted, line in zip(files, lines):
        assert wanted.rstrip("0123456 ") in line
    assert len(lines) == len(files)


@pytest.mark.parametrize(
    ("rows", "wanted"),
    [
        (one("(" * 4000 + "1" + ")" * 4000), "more than 72 brackets"),
        (one("IF(1," * 1500 + "1" + ")" * 1500), "more than 72 brackets"),
        (one("-" * 8000 + "1"), "more than 72 brackets or 256 operations"),
        (one("+".join("1" * 4000)), "more than 72 brackets or 256 operations"),
        (one("A" * 10_000 + "(1)"), "Plan!A1 calls AAAA"),
        (one("a" * 10_000), "Plan!A1 uses the name aaaa"),
        (one("9" * 8000), "done"),
        (one('REPT("x",1000000000)'), "done"),
        (one("SUM(SEQUENCE(1048576,16384))"), "done"),
        (one("OFFSET(B1,0,0,1048576,16383)"), "shows one cell of the several"),
        ('<row r="99999999"><c r="ZZZZ99999999"><f>1</f></c></row>', "written in a form that cannot be read"),
        ('<row r="1048576"><c r="XFD1048576"><f>1+1</f></c></row>', "done"),
        ('<row r="1"><c r="A1" cm="1"><f t="array" ref="A1">SEQUENCE(1048576,100)</f></c></row>', "done"),
        ('<row r="1">' + '<c r="A1">' * 9000 + "<f>1</f>" + "</c>" * 9000 + "</row>", "beyond this recalculation"),
    ],
)
def test_formulas_and_places_beyond_measure(tmp_path: Path, rows: str, wanted: str) -> None:
    assert wanted in attempt(by_hand(tmp_path / "book.xlsx", {"Plan": rows}))


def test_a_sheet_s_name_of_ten_thousand_letters(tmp_path: Path) -> None:
    assert "beyond this recalculation" in attempt(by_hand(tmp_path / "book.xlsx", {"N" * 10_000: one("1+1")}))


# -- fetching and running --------------------------------------------------------------------------------------


@pytest.fixture
def listener() -> Iterator[tuple[int, list[object]]]:
    """A port of this machine that notes who calls."""
    calls: list[object] = []
    server = socket.create_server(("127.0.0.1", 0))

    def listen() -> None:
        while True:
            try:
                connection, who = server.accept()
            except OSError:
                return
            calls.append(who)
            connection.close()

    thread = threading.Thread(target=listen, daemon=True)
    thread.start()
    yield server.getsockname()[1], calls
    server.close()


@pytest.mark.parametrize(
    ("formula", "wanted"),
    [
        ('WEBSERVICE("{url}")', "calls WEBSERVICE"),
        ('IFERROR(_xlfn.WEBSERVICE("{url}"),1)', "calls WEBSERVICE"),
        ('IMAGE("{url}")', "calls IMAGE"),
        ('FILTERXML("&lt;a/&gt;","//a")', "calls FILTERXML"),
        ('RTD("some.server",,"{url}")', "calls RTD"),
        ("cmd|'/C touch {mark}'!A0", "beyond this recalculation"),
        ('DDE("soffice","/etc/passwd","Sheet1.A1")', "calls DDE"),
        ('CALL("kernel32","WinExec","JCJ","touch {mark}",1)', "calls CALL"),
        ('EXEC("touch {mark}")', "calls EXEC"),
        ("'file:///etc/[passwd]Sheet1'!A1", "beyond this recalculation"),
        ("'{url}[x.xlsx]Sheet1'!A1", "beyond this recalculation"),
        ('INDIRECT("\'{url}[x.xlsx]Sheet1\'!A1")', "done"),
        ('HYPERLINK("{url}","look")', "done"),
    ],
)
def test_formulas_that_reach_out(
    tmp_path: Path, listener: tuple[int, list[object]], formula: str, wanted: str
) -> None:
    port, calls = listener
    mark = tmp_path / "marks" / "was-here"
    mark.parent.mkdir()
    text = formula.format(url=f"http://127.0.0.1:{port}/", mark=mark)
    path = by_hand(tmp_path / "book.xlsx", {"Plan": one(text)})
    assert wanted in attempt(path)
    assert not mark.exists()
    assert not calls


def test_links_to_elsewhere_are_not_followed(tmp_path: Path, listener: tuple[int, list[object]]) -> None:
    """Outer workbooks, data connections and pictures on the web stay as they are, and nothing is fetched from them."""
    port, calls = listener
    url = f"http://127.0.0.1:{port}/x.xlsx"
    outer = '<externalReferences><externalReference r:id="e"/></externalReferences>'
    link = (
        f'<externalLink xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="{OFFICE}">'
        '<externalBook r:id="far"><sheetNames><sheetName val="S"/></sheetNames><sheetDataSet><sheetData sheetId="0">'
        '<row r="1"><cell r="A1"><v>7</v></cell></row></sheetData></sheetDataSet></externalBook></externalLink>'
    )
    relation = (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="far" '
        f'Type="{OFFICE}/externalLinkPath" Target="{url}" TargetMode="External"/></Relationships>'
    )
    connections = f'<connections><connection id="1" type="4" name="q"><webPr url="{url}"/></connection></connections>'
    path = by_hand(
        tmp_path / "book.xlsx", {"Plan": one("[1]S!A1+1")}, outer=outer,
        extra={
            "links": f'<Relationship Id="e" Type="{OFFICE}/externalLink" Target="externalLinks/externalLink1.xml"/>'
            f'<Relationship Id="q" Type="{OFFICE}/connections" Target="connections.xml"/>'
            f'<Relationship Id="p" Type="{OFFICE}/image" Target="{url}" TargetMode="External"/>',
            "xl/externalLinks/externalLink1.xml": link,
            "xl/externalLinks/_rels/externalLink1.xml.rels": relation,
            "xl/connections.xml": connections,
        },
    )  # fmt: skip
    before = raw_entries(path)
    assert attempt(path) == "done"
    assert read_values(path)["Plan"]["A1"] == 8
    after = raw_entries(path)
    assert [name for name in before if before[name] != after[name]] == ["xl/worksheets/sheet1.xml"]
    assert not calls


@pytest.mark.parametrize(
    "entity", ['<!ENTITY a SYSTEM "file:///etc/passwd">', '<!ENTITY % a SYSTEM "http://127.0.0.1:{port}/"> %a;']
)
def test_outer_entities(tmp_path: Path, listener: tuple[int, list[object]], entity: str) -> None:
    port, calls = listener
    xml = f"<?xml version='1.0'?><!DOCTYPE worksheet [{entity.replace('{port}', str(port))}]>"
    sheet = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
    path = by_hand(tmp_path / "book.xlsx", {"Plan": f"{xml}{sheet}{one('1+1')}</sheetData></worksheet>"})
    assert "holds XML entities" in attempt(path)
    assert not calls


class TestNamesOfParts:
    def test_parts_that_would_lie_elsewhere_stay_in_the_file(self, tmp_path: Path) -> None:
        (tmp_path / "place").mkdir()
        strange = ["../../escaped.txt", "/etc/escaped", "C:\\escaped.txt", "xl/../../escaped", "a\\..\\escaped"]
        strange.append("x" * 9000)
        more = dict.fromkeys(strange, b"!")
        path = by_hand(tmp_path / "place" / "book.xlsx", {"Plan": one("1+1")}, extra=more)
        before = raw_entries(path)
        assert attempt(path) == "done"
        after = raw_entries(path)
        assert [name for name in before if before[name] != after[name]] == ["xl/worksheets/sheet1.xml"]
        assert not list(tmp_path.rglob("*escaped*"))

    @pytest.mark.parametrize("target", ["../../../../etc/passwd", "/../etc/passwd", "file:///etc/passwd", "a%00.xml"])
    def test_a_sheet_that_would_lie_elsewhere(self, tmp_path: Path, target: str) -> None:
        path = by_hand(tmp_path / "book.xlsx", {"Plan": one("1+1")})
        with zipfile.ZipFile(path) as archive:
            parts = {name: archive.read(name) for name in archive.namelist()}
        links = parts["xl/_rels/workbook.xml.rels"].replace(b"worksheets/sheet1.xml", target.encode())
        with zipfile.ZipFile(path, "w") as archive:
            for name, content in {**parts, "xl/_rels/workbook.xml.rels": links}.items():
                archive.writestr(name, content)
        assert "is missing" in attempt(path)

    def test_parts_that_lie_over_one_another(self, tmp_path: Path) -> None:
        """Two entries of the directory that share one place, as in bombs that unpack the same bytes again and again."""
        more = {"xl/a.bin": b"a" * 99, "xl/b.bin": b"b" * 99}
        path = by_hand(tmp_path / "book.xlsx", {"Plan": one("1+1")}, extra=more)
        raw = bytearray(path.read_bytes())
        first, second = (raw.rindex(name) for name in (b"xl/a.bin", b"xl/b.bin"))
        raw[second - 4 : second] = raw[first - 4 : first]  # the offset of the entry, before its name
        path.write_bytes(bytes(raw))
        assert "is a broken file" in attempt(path)
