"""The macro project of a workbook, with the functions' modules.

Project and workbook are read and written by pyOpenVBA. What it leaves undone is done here: no compiled code, so that
Excel compiles the source itself, the end of the listing (MS-OVBA 2.3.4.2), and the order and colours of the directory
(MS-CFB 2.6).
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Mapping, Sequence

from ...cells.errors import InputError
from ...xlsx.errors import WorkbookFileError
from ...xlsx.package import Package

#: What makes the libraries come in that are used here.
NEEDS = 'pip install "pyopenvba>=6.5,<6.6" "xlwings>=0.33,<1"'

_PART, _STORAGE = "xl/vbaProject.bin", "VBA"
_NO_COMPILED_CODE = b"\xcc\x61\xff\xff\x00\x00\x00"
#: The last module's end, and the end of the listing.
_END_OF_LISTING = struct.pack("<HIHI", 0x2B, 0, 0x10, 0)
_NONE, _END = 0xFFFFFFFF, 0xFFFFFFFE
_RED, _BLACK = 0, 1


def put_in(path: Path, modules: Mapping[str, str]) -> None:
    """Write macro modules into a workbook, which gets a project with a module for each sheet where it has none.

    modules : the sources by name; other modules stay. Raises :class:`InputError` where pyOpenVBA is missing or the
    project has a password.
    """
    try:
        from pyopenvba import ExcelFile, vba
        from pyopenvba.cfb import CFB
        from pyopenvba.exceptions import VBAProjectError
    except ImportError:
        raise InputError(f"pyOpenVBA is not installed, wanted: {NEEDS}") from None

    try:
        with ExcelFile(path) as file:
            project = file.vba_project() if file.has_vba_project() else file.add_vba_project()
            for name, source in modules.items():
                if name in project.module_names():
                    project.get_module(name).source = source
                else:
                    project.add_module(name, source)
            for name in project.module_names():
                project.get_module(name).dirty = True  # written again, without the compiled code before its source
            project.dir_structure_dirty = True
            file.save(allow_invalidate_signature=True)
    except VBAProjectError as problem:
        raise WorkbookFileError(f"the macros of {path.name} cannot be changed ({problem})") from None
    package = Package(path.read_bytes(), path.name)
    container = CFB.from_bytes(package.read(_PART))
    listing = vba.decompress(container.get_stream_in_storage(_STORAGE, "dir"))
    end = listing.rindex(_END_OF_LISTING) + len(_END_OF_LISTING)
    container.write_stream_in_storage(_STORAGE, "dir", vba.compress(listing[:end]))
    container.write_stream_in_storage(_STORAGE, "_VBA_PROJECT", _NO_COMPILED_CODE)
    path.write_bytes(package.with_parts({_PART: with_tree(container.to_bytes())}))


# -- the directory of a compound file ----------------------------------------------------------------------------


def with_tree(container: bytes) -> bytes:
    """Return a compound file of 512-byte sectors, its directory in one run, whose names stand in red-black trees.

    Names are ordered by length, then by capitals; a tree is filled level by level, and where the last one is not full
    its entries alone are red.
    """
    made = bytearray(container)
    start, count = _directory(made)
    offsets = [512 + start * 512 + number * 128 for number in range(count)]
    kinds = [made[offset + 66] for offset in offsets]
    for number, offset in enumerate(offsets):
        if kinds[number] in (1, 5):
            (child,) = struct.unpack_from("<I", made, offset + 76)
            names = sorted(_family(made, offsets, child))
            depth = len(names).bit_length() if len(names) & (len(names) + 1) else 0
            struct.pack_into("<I", made, offset + 76, _tree(made, offsets, [one for *_, one in names], depth))
        if kinds[number] in (0, 1):  # neither a storage nor a free entry has a first sector
            struct.pack_into("<I", made, offset + 116, 0)
    made[offsets[0] + 67] = _BLACK
    return bytes(made)


def _directory(container: bytearray) -> tuple[int, int]:
    """Return the first sector of the directory and how many entries it has."""
    (first,) = struct.unpack_from("<I", container, 48)
    tables = [512 + sector * 512 for sector in struct.unpack_from("<109I", container, 76) if sector < _END]
    sectors, sector = 0, first
    while sector != _END:
        sectors += 1
        (sector,) = struct.unpack_from("<I", container, tables[sector // 128] + sector % 128 * 4)
    return first, sectors * 4


def _family(container: bytearray, offsets: Sequence[int], number: int) -> list[tuple[int, str, int]]:
    """Return the entries of a tree, each by what it is ordered by."""
    if number == _NONE:
        return []
    offset = offsets[number]
    (size,) = struct.unpack_from("<H", container, offset + 64)
    left, right = struct.unpack_from("<II", container, offset + 68)
    name = container[offset : offset + size - 2].decode("utf-16-le").upper()
    return [(size, name, number), *_family(container, offsets, left), *_family(container, offsets, right)]


def _tree(container: bytearray, offsets: Sequence[int], numbers: Sequence[int], depth: int) -> int:
    """Link the entries into a tree; returns its top. depth : levels down to the one that is red; 0: none is."""
    if not numbers:
        return _NONE
    middle = len(numbers) // 2
    offset = offsets[numbers[middle]]
    container[offset + 67] = _RED if depth == 1 else _BLACK
    left = _tree(container, offsets, numbers[:middle], depth - 1)
    right = _tree(container, offsets, numbers[middle + 1 :], depth - 1)
    struct.pack_into("<II", container, offset + 68, left, right)
    return numbers[middle]
