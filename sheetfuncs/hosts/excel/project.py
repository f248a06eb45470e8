"""The macro project of a workbook, with the functions' modules and one module for each sheet.

Project and container are read and written by pyOpenVBA. Source alone goes in: without compiled code Excel compiles the
modules itself. What the library leaves undone is done here: the end of the listing (MS-OVBA 2.3.4.2) and the order and
colours of the directory (MS-CFB 2.6).
"""

from __future__ import annotations

import struct
from typing import Mapping, Sequence

from ...cells.errors import InputError

#: What makes the library that is used here come in.
NEEDS = 'pip install "pyopenvba>=6.5,<6.6" "xlwings>=0.33,<1"'

_SHEET_BASE = "0{00020820-0000-0000-C000-000000000046}"
_NO_CACHE = b"\xcc\x61\xff\xff\x00\x00\x00"
_STORAGE = "VBA"
_REFERENCE_NAME, _VERSION, _MODULES, _TERMINATOR = 0x16, 0x09, 0x0F, 0x10
_NONE, _END = 0xFFFFFFFF, 0xFFFFFFFE
_RED, _BLACK = 0, 1


def project_with_modules(
    project: bytes, modules: Mapping[str, str], workbook: str = "", sheets: Sequence[str] = ()
) -> bytes:
    """Return a macro project with some modules, and with a module for each sheet.

    project : content of a ``vbaProject.bin``. modules : the sources by name.
    workbook, sheets : their code names in a workbook that has no project yet: what else the project holds goes then,
    and its references to libraries, so that none can be missing. Left out, all that is there stays.
    Raises :class:`InputError` where pyOpenVBA is missing.
    """
    try:
        from pyopenvba import VBAModuleKind, vba
        from pyopenvba.cfb import CFB
    except ImportError:
        raise InputError(f"pyOpenVBA is not installed, wanted: {NEEDS}") from None

    container = CFB.from_bytes(project)
    listed = vba.parse_vba_project(container)
    present = listed.module_names()
    dropped = [name for name in present if (name not in (workbook, *sheets) if workbook else name in modules)]
    for name in dropped:
        listed.delete_module(name)
        container.remove_stream_in_storage(_STORAGE, name)
    for name in listed.module_names():
        listed.get_module(name).dirty = True  # written again, without the compiled code before its source
    vba.write_back_modules(container, listed)

    added = [(name, "Document") for name in sheets if name not in present] + [(name, "Module") for name in modules]
    for name, kind in added:
        if kind == "Document":
            listed.add_module(name, _document(name, _SHEET_BASE), kind=VBAModuleKind.other)
        else:
            listed.add_module(name, modules[name])
        content = vba.rebuild_module_stream(listed.get_module(name), listed.code_page)
        container.add_stream_to_storage(_STORAGE, name, content)

    listing = vba.serialize_project_stream(
        container.get_stream("PROJECT"), {}, add_modules=added, delete_names=set(dropped), code_page=listed.code_page
    )
    names = [(name, name) for name in listed.module_names()]
    container.write_stream("PROJECT", listing)
    container.write_stream("PROJECTwm", vba.serialize_projectwm(names, code_page=listed.code_page))
    directory = listing_to_its_end(vba.serialize_dir_stream(listed), with_references=not workbook)
    container.write_stream_in_storage(_STORAGE, "dir", vba.compress(directory))
    container.drop_streams_in_storage(_STORAGE, lambda name: name.startswith("__SRP_"))  # of the compiled code
    container.write_stream_in_storage(_STORAGE, "_VBA_PROJECT", _NO_CACHE)
    return with_tree(container.to_bytes())


def _document(name: str, base: str) -> str:
    """Return the source of a sheet's own module, which holds no code."""
    attributes = {
        "VB_Name": f'"{name}"', "VB_Base": f'"{base}"', "VB_GlobalNameSpace": "False", "VB_Creatable": "False",
        "VB_PredeclaredId": "True", "VB_Exposed": "True", "VB_TemplateDerived": "False", "VB_Customizable": "True",
    }  # fmt: skip
    return "".join(f"Attribute {key} = {value}\r\n" for key, value in attributes.items())


def listing_to_its_end(listing: bytes, with_references: bool) -> bytes:
    """Return the listing of a project (its ``dir`` stream, unpacked) without bytes after its end."""
    kept, at, in_references = [], 0, False
    while at + 6 <= len(listing):
        kind, size = struct.unpack_from("<HI", listing, at)
        end = at + (12 if kind == _VERSION else 6 + size)  # its size is a constant that does not count all of it
        in_references = kind == _REFERENCE_NAME or (in_references and kind != _MODULES)
        if with_references or not in_references:
            kept.append(listing[at:end])
        if kind == _TERMINATOR:
            break
        at = end
    return b"".join(kept)


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
