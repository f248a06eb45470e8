"""Files that cannot be recalculated: one clear line each, nothing written, nothing left behind."""

from __future__ import annotations

import os
import random
import re
import zipfile
from pathlib import Path
from typing import Callable

import pytest

from sheetfuncs.cells.errors import InputError
from sheetfuncs.recalc import recalculate, rename_functions
from sheetfuncs.xlsx import WorkbookFileError

from .books import OFFICE, PACKAGE, by_hand, by_openpyxl, by_xlsxwriter, simple
from .functions import FUNCTIONS

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    (tmp_path / "place").mkdir()
    return simple(tmp_path / "place" / "book.xlsx", {"A1": 4, "A2": "=TWICE_OF(A1)"})


def refusal(path: Path, out: Path | None = None) -> str:
    """Return the line, having made sure that nothing changed where the file lies."""
    folder = path.parent
    there = {item: item.read_bytes() for item in folder.rglob("*") if item.is_file()} if folder.exists() else {}
    with pytest.raises(WorkbookFileError) as caught:
        recalculate(path, out, functions=FUNCTIONS)
    assert there == (
        {item: item.read_bytes() for item in folder.rglob("*") if item.is_file()} if folder.exists() else {}
    )
    assert isinstance(caught.value, InputError)
    assert "\n" not in caught.value.line
    return caught.value.line


class TestNoWorkbook:
    def test_not_there(self, tmp_path: Path) -> None:
        assert refusal(tmp_path / "missing.xlsx") == f"Check: {tmp_path / 'missing.xlsx'} is not there"

    def test_a_folder(self, tmp_path: Path) -> None:
        assert "is a folder, wanted a workbook file" in refusal(tmp_path)

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
    def test_a_pipe(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe.xlsx")
        with pytest.raises(WorkbookFileError, match="is no file"):
            recalculate(tmp_path / "pipe.xlsx", functions=FUNCTIONS)

    @pytest.mark.parametrize(
        ("content", "wanted"),
        [
            (b"", "is empty"),
            (b"day;low;high\n2026-07-01;12;25\n", "is not a workbook, wanted a workbook saved as .xlsx or .xlsm"),
            (b"%PDF-1.7", "is not a workbook"),
            (_OLE + bytes(600), "is an old binary file such as .xls"),
            (_OLE + bytes(600) + "EncryptedPackage".encode("utf-16-le"), "is encrypted"),
            (b"PK\x03\x04" + bytes(50), "is a broken file"),
            (b"PK", "is a broken file"),
        ],
    )
    def test_other_files(self, tmp_path: Path, content: bytes, wanted: str) -> None:
        path = tmp_path / "book.xlsx"
        path.write_bytes(content)
        line = refusal(path)
        assert line.startswith("Check: book.xlsx ")
        assert wanted in line

    @pytest.mark.parametrize(
        ("names", "wanted"),
        [
            (["hello.txt"], "is not a workbook"),
            (["mimetype", "content.xml"], "is an OpenDocument file"),
        ],
    )
    def test_other_archives(self, tmp_path: Path, names: list[str], wanted: str) -> None:
        path = tmp_path / "book.xlsx"
        with zipfile.ZipFile(path, "w") as archive:
            for name in names:
                archive.writestr(name, "hello")
        assert wanted in refusal(path)

    @pytest.mark.parametrize(
        ("target", "root", "wanted"),
        [
            ("xl/workbook.bin", "<a/>", "is a binary workbook"),
            ("word/document.xml", "<w:document xmlns:w='w'/>", "is not a workbook"),
        ],
    )
    def test_other_office_files(self, tmp_path: Path, target: str, root: str, wanted: str) -> None:
        path = tmp_path / "book.xlsx"
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr(
                "_rels/.rels",
                f"<Relationships xmlns='{PACKAGE}/relationships'>"
                f"<Relationship Id='a' Type='{OFFICE}/officeDocument' Target='{target}'/></Relationships>",
            )
            archive.writestr(target, root)
        assert wanted in refusal(path)

    def test_a_signed_workbook(self, book: Path) -> None:
        with zipfile.ZipFile(book) as old:
            parts = {name: old.read(name) for name in old.namelist()}
        kind = f"{PACKAGE}/relationships/digital-signature/origin"
        signature = f'<Relationship Id="s" Type="{kind}" Target="_xmlsignatures/origin.sigs"/></Relationships>'
        parts["_rels/.rels"] = parts["_rels/.rels"].replace(b"</Relationships>", signature.encode())
        with zipfile.ZipFile(book, "w") as new:
            for name, content in parts.items():
                new.writestr(name, content)
        assert "is signed" in refusal(book)


class TestBrokenWorkbooks:
    def test_cut_short(self, book: Path) -> None:
        book.write_bytes(book.read_bytes()[:-40])
        assert "is a broken file" in refusal(book)

    def test_every_way_of_being_cut_short(self, book: Path) -> None:
        raw = book.read_bytes()
        for length in range(0, len(raw), 97):
            book.write_bytes(raw[:length])
            refusal(book)

    def test_bytes_gone_wrong(self, book: Path) -> None:
        """Whatever byte of the file is wrong, there is one line, or the byte did not matter."""
        raw = book.read_bytes()
        refused = 0
        for place in range(0, len(raw), 61):
            book.write_bytes(raw[:place] + bytes([raw[place] ^ 0x55]) + raw[place + 1 :])
            try:
                recalculate(book, functions=FUNCTIONS)
            except WorkbookFileError:
                refused += 1
        assert refused > 10

    def test_a_missing_sheet(self, book: Path) -> None:
        self.rewrite(book, lambda name, content: None if name == "xl/worksheets/sheet1.xml" else content)
        assert "its part xl/worksheets/sheet1.xml is missing" in refusal(book)

    @pytest.mark.parametrize(
        "part", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "_rels/.rels"]
    )
    def test_broken_xml(self, book: Path, part: str) -> None:
        self.rewrite(book, lambda name, content: content[:-9] if name == part else content)
        assert "is broken XML" in refusal(book)

    @pytest.mark.parametrize("part", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/sharedStrings.xml"])
    def test_xml_entities(self, tmp_path: Path, part: str) -> None:
        bomb = '<!DOCTYPE a [<!ENTITY b "bbbbbbbb"><!ENTITY c "&b;&b;&b;&b;">]>'
        path = by_hand(
            tmp_path / "book.xlsx",
            {"Plan": '<row r="1"><c r="A1" t="s"><f>TWICE_OF(1)</f><v>0</v></c></row>'},
            ("<t>a</t>",),
        )

        def with_bomb(name: str, content: bytes) -> bytes:
            if name != part:
                return content
            head, mark, rest = content.rpartition(b"?>")
            return head + mark + bomb.encode() + rest

        self.rewrite(path, with_bomb)
        assert "holds XML entities" in refusal(path)

    def test_a_part_that_is_there_twice(self, book: Path) -> None:
        with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(book, "a") as archive:
            archive.writestr("xl/workbook.xml", "<workbook/>")
        assert "a part is there twice" in refusal(book)

    def test_parts_with_a_password(self, book: Path) -> None:
        raw = bytearray(book.read_bytes())
        at = raw.index(b"PK\x01\x02")
        raw[at + 8] |= 1
        book.write_bytes(bytes(raw))
        assert "is encrypted" in refusal(book)

    def test_comments_among_rows(self, tmp_path: Path) -> None:
        path = by_hand(tmp_path / "book.xlsx", {"Plan": '<row r="1"><!-- <c r="A1"><f>1</f></c> --></row>'})
        assert "comments or raw text" in refusal(path)

    def test_another_encoding(self, tmp_path: Path) -> None:
        path = by_hand(tmp_path / "book.xlsx", {"Plan": ""})
        xml = "<?xml version='1.0' encoding='UTF-16'?><worksheet><sheetData/></worksheet>".encode("utf-16")
        self.rewrite(path, lambda name, content: xml if name.endswith("sheet1.xml") else content)
        assert "is not written in UTF-8" in refusal(path)

    def rewrite(self, path: Path, change: Callable[[str, bytes], bytes | None]) -> None:
        with zipfile.ZipFile(path) as old:
            parts = {name: change(name, old.read(name)) for name in old.namelist()}
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
            for name, content in parts.items():
                if content is not None:
                    new.writestr(name, content)


_JUNK = (
    "",
    "-1",
    "x",
    "9" * 20,
    "A1:",
    "1.5",
    "é",
    "NaN",
    "ZZZZ9",
    "{",
    "[[",
    "'",
    "&quot;",
    "SUM(",
    "str",
    "array",
    "d",
)


class TestXmlGoneWrong:
    """Values and texts in a workbook's parts exchanged for junk: there is one line, or a recalculated workbook."""

    @pytest.mark.parametrize("seed", range(20))
    def test_one_line_or_none(self, tmp_path: Path, seed: int) -> None:
        chance = random.Random(seed)
        path = by_xlsxwriter(tmp_path / "book.xlsx") if seed % 2 else by_openpyxl(tmp_path / "book.xlsx")
        with zipfile.ZipFile(path) as archive:
            whole = {name: archive.read(name) for name in archive.namelist()}
        names = [name for name in whole if re.search("sheet|workbook|table|Strings|_rels/.rels", name)]
        for _ in range(10):
            parts = dict(whole)
            name = chance.choice(names)
            text = parts[name].decode()
            place = chance.choice([*re.finditer('="([^"]*)"|>([^<>]+)<', text)])
            start, end = place.span(1 if place[1] is not None else 2)
            parts[name] = (text[:start] + chance.choice(_JUNK) + text[end:]).encode()
            with zipfile.ZipFile(path, "w") as archive:
                for part, content in parts.items():
                    archive.writestr(part, content)
            try:
                recalculate(path, functions=FUNCTIONS)
                rename_functions(path, "calc", functions=FUNCTIONS)
            except WorkbookFileError as error:
                assert len(error.line.splitlines()) == 1  # noqa: PT017
