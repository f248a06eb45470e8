"""The macro project as the published formats want it (MS-CFB 2.6, MS-OVBA 2.3.4.2), by an independent reader."""

from __future__ import annotations

import io
import struct
import tempfile
import zipfile
from functools import lru_cache
from pathlib import Path
from typing import Iterator

import olefile
import pytest
from openpyxl import Workbook

from sheetfuncs.hosts.excel.project import put_in

vba = pytest.importorskip("pyopenvba.vba", reason="pyOpenVBA is not installed")
RED, BLACK, NONE = 0, 1, 0xFFFFFFFF


@lru_cache(maxsize=None)
def project(sheets: int) -> bytes:
    """Return the project of a workbook with so many sheets."""
    book = Workbook()
    for _ in range(sheets - 1):
        book.create_sheet()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "book.xlsm")
        book.save(path)
        put_in(path, {name: f'Attribute VB_Name = "{name}"\r\n\' source\r\n' for name in ("first", "another_module")})
        with zipfile.ZipFile(path) as archive:
            return archive.read("xl/vbaProject.bin")


def opened(raw: bytes) -> olefile.OleFileIO:
    """Return the container, read strictly: any defect raises."""
    return olefile.OleFileIO(io.BytesIO(raw), raise_defects=olefile.DEFECT_UNSURE)


def entries(reader: olefile.OleFileIO) -> list[tuple]:
    """Return every directory entry's fields, in the order of MS-CFB 2.6.1."""
    raw = reader.directory_fp.getvalue()
    return [struct.unpack_from("<64sHBBIII16sIQQIQ", raw, at) for at in range(0, len(raw), 128)]


def walk(found: list[tuple], number: int, above: int = BLACK) -> Iterator[tuple[int, str]]:
    """Yield what the names of a tree are ordered by, in the tree's order."""
    if number == NONE:
        return
    name, size, kind, colour, left, right, *_ = found[number]
    assert kind in (1, 2)
    assert BLACK in (colour, above), "a red entry under a red one"
    yield from walk(found, left, colour)
    yield size, name[: size - 2].decode("utf-16-le").upper()
    yield from walk(found, right, colour)


def blacks_below(found: list[tuple], number: int) -> int:
    """Return how many black entries lie on every way down from an entry; all ways must agree."""
    if number == NONE:
        return 0
    _, _, _, colour, left, right, *_ = found[number]
    one, other = blacks_below(found, left), blacks_below(found, right)
    assert one == other, "ways down with different numbers of black entries"
    return one + colour


@pytest.mark.parametrize("sheets", [1, 2, 3, 4, 7, 15, 40])
def test_the_directory_is_a_red_black_tree_in_the_order_of_names(sheets):
    found = entries(opened(project(sheets)))
    for number, (_, _, kind, _, _, _, child, *_) in enumerate(found):
        if kind not in (1, 5):
            continue
        names = list(walk(found, child))
        assert names == sorted(names), number
        assert len(set(names)) == len(names)
        blacks_below(found, child)
        assert child == NONE or found[child][3] == BLACK


def test_free_entries_and_storages_hold_nothing():
    for name, size, kind, _, left, right, child, *_, sector, length in entries(opened(project(5))):
        if kind == 0:
            assert (name, size, left, right, child, sector, length) == (bytes(64), 0, NONE, NONE, NONE, 0, 0)
        if kind == 1:
            assert (sector, length) == (0, 0)


def test_every_stream_is_found_by_its_name_as_a_program_looks_it_up():
    reader = opened(project(12))
    wanted = {"dir", "_VBA_PROJECT", "ThisWorkbook", "first", "another_module"}
    names = {path[-1] for path in reader.listdir()}
    assert names == wanted | {f"Sheet{number + 1}" for number in range(12)} | {"PROJECT", "PROJECTwm"}
    assert reader.openstream("VBA/_VBA_PROJECT").read() == b"\xcc\x61\xff\xff\x00\x00\x00"


def test_the_listing_ends_where_it_says_it_does():
    listing = vba.decompress(opened(project(3)).openstream("VBA/dir").read())
    assert listing.endswith(struct.pack("<HIHI", 0x2B, 0, 0x10, 0))
    at, kinds = 0, []
    while at < len(listing):
        kind, size = struct.unpack_from("<HI", listing, at)
        kinds.append(kind)
        at += 12 if kind == 0x09 else 6 + size
    assert at == len(listing)
    assert kinds.count(0x10) == 1
    assert kinds.count(0x19) == 6
