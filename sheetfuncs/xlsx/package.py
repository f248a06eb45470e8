"""A workbook file as a ZIP archive: read parts out of it, and write it again with some parts exchanged.

Every entry that is not exchanged is carried over as it lies in the file, compressed bytes, header and all.
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from typing import Mapping

from .archive import too_much
from .errors import WorkbookFileError

#: The most that all parts of a workbook may hold when unpacked, in bytes.
MOST_UNPACKED = 512 * 1024 * 1024
#: The most parts a workbook may have.
MOST_PARTS = 20_000

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_LOCAL = struct.Struct("<4s5H3L2H")
_CENTRAL = struct.Struct("<4s4B4H3L5H2L")
_END = struct.Struct("<4s4H2LH")
_HAS_DESCRIPTOR, _ENCRYPTED, _UTF8 = 0x08, 0x01, 0x800
# A third of the usual time, for a fifth more bytes of the parts that change.
_PACKING = 3
_STORED_OR_DEFLATED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


class Package:
    """The parts of one workbook file."""

    def __init__(self, raw: bytes, name: str) -> None:
        """Open an archive held in memory.

        name : the file's name, for messages. Raises :class:`WorkbookFileError` for what is no archive, is
        broken or encrypted, or would unpack to more than :data:`MOST_UNPACKED`.
        """
        self.raw = raw
        self.name = name
        _refuse_other_files(raw, name)
        try:
            self._archive = zipfile.ZipFile(io.BytesIO(raw))
        except (zipfile.BadZipFile, struct.error, ValueError, NotImplementedError, OverflowError) as error:
            raise WorkbookFileError(f"{name} is a broken file ({error}), wanted a whole .xlsx or .xlsm") from error
        self._entries = {entry.filename: entry for entry in self._archive.infolist()}
        self._check_entries()

    def _check_entries(self) -> None:
        entries = self._archive.infolist()
        reason = too_much(entries, MOST_UNPACKED, MOST_PARTS)
        if reason:
            raise WorkbookFileError(f"{self.name} {reason}")
        if len(self._entries) != len(entries):
            raise WorkbookFileError(f"{self.name} is a broken file (a part is there twice)")
        for entry in entries:
            if entry.flag_bits & _ENCRYPTED:
                raise WorkbookFileError(f"{self.name} is encrypted, wanted one without a password")

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all parts, in the order of the archive's directory."""
        return tuple(self._entries)

    def __contains__(self, part: str) -> bool:
        return part in self._entries

    def read(self, part: str, most: int = MOST_UNPACKED) -> bytes:
        """Return the content of a part, or so many bytes of it.

        Raises :class:`WorkbookFileError` where it is missing or damaged.
        """
        try:
            entry = self._entries[part]
            with self._archive.open(entry) as file:
                return file.read(min(entry.file_size, most))  # without a size it would unpack what a false one hides
        except KeyError:
            raise WorkbookFileError(f"{self.name} is a broken file (its part {part} is missing)") from None
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, struct.error, OSError) as error:
            raise WorkbookFileError(f"{self.name} is a broken file (its part {part}: {error})") from error

    def with_parts(self, parts: Mapping[str, bytes]) -> bytes:
        """Return the archive with the content of some parts exchanged, everything else byte for byte."""
        unknown = [part for part in parts if part not in self._entries]
        if unknown:
            raise KeyError(unknown[0])
        directory_start = self._archive.start_dir
        by_place = sorted(self._archive.infolist(), key=lambda entry: entry.header_offset)
        ends = [entry.header_offset for entry in by_place[1:]] + [directory_start]
        pieces = [self.raw[: by_place[0].header_offset]] if by_place else []
        at = len(pieces[0]) if pieces else 0
        moved: dict[str, tuple[int, int, int, int]] = {}
        for entry, end in zip(by_place, ends):
            start = entry.header_offset
            self._check_bounds(entry, end)
            if entry.filename in parts:
                piece, facts = self._packed(entry, parts[entry.filename])
            else:
                piece, facts = self.raw[start:end], (entry.CRC, entry.compress_size, entry.file_size)
            moved[entry.filename] = (at, *facts)
            pieces.append(piece)
            at += len(piece)
        directory = b"".join(
            _central_record(entry, *moved[entry.filename], exchanged=entry.filename in parts)
            for entry in self._archive.infolist()
        )
        comment = self._archive.comment
        count = len(by_place)
        if at + len(directory) >= 0xFFFFFFFF or count >= 0xFFFF:
            raise WorkbookFileError(f"{self.name} is larger than 4 GB")
        pieces += [
            directory,
            _END.pack(b"PK\5\6", 0, 0, count, count, len(directory), at, len(comment)),
            comment,
        ]
        return b"".join(pieces)

    def _check_bounds(self, entry: zipfile.ZipInfo, end: int) -> None:
        start = entry.header_offset
        if self.raw[start : start + 4] != b"PK\3\4" or start + _LOCAL.size + entry.compress_size > end:
            raise WorkbookFileError(f"{self.name} is a broken file (its parts lie over one another)")

    def _packed(self, entry: zipfile.ZipInfo, content: bytes) -> tuple[bytes, tuple[int, int, int]]:
        """Return the entry with new content: its local header and data, and checksum and sizes."""
        header = _LOCAL.unpack_from(self.raw, entry.header_offset)
        name_length, extra_length = header[-2:]
        name_start = entry.header_offset + _LOCAL.size
        name = self.raw[name_start : name_start + name_length]
        extra = _without_zip64(self.raw[name_start + name_length : name_start + name_length + extra_length])
        method = entry.compress_type
        if method not in _STORED_OR_DEFLATED:
            raise WorkbookFileError(f"{self.name} is packed in a way that office programs do not use")
        if method == zipfile.ZIP_DEFLATED:
            packer = zlib.compressobj(_PACKING, zlib.DEFLATED, -15)
            data = packer.compress(content) + packer.flush()
        else:
            data = content
        checksum = zlib.crc32(content)
        version, flags, _, time, day = header[1:6]
        head = _LOCAL.pack(
            b"PK\3\4", version, flags & ~_HAS_DESCRIPTOR, method, time, day,
            checksum, len(data), len(content), name_length, len(extra),
        )  # fmt: skip
        return head + name + extra + data, (checksum, len(data), len(content))


def _central_record(
    entry: zipfile.ZipInfo, at: int, checksum: int, packed: int, unpacked: int, exchanged: bool
) -> bytes:
    year, month, day, hour, minute, second = entry.date_time
    name = entry.orig_filename.encode("utf-8" if entry.flag_bits & _UTF8 else "cp437")
    extra = _without_zip64(entry.extra)
    flags = entry.flag_bits & ~_HAS_DESCRIPTOR if exchanged else entry.flag_bits
    record = _CENTRAL.pack(
        b"PK\1\2", entry.create_version, entry.create_system, entry.extract_version, entry.reserved,
        flags, entry.compress_type, hour << 11 | minute << 5 | second // 2,
        (year - 1980) << 9 | month << 5 | day, checksum, packed, unpacked, len(name), len(extra),
        len(entry.comment), 0, entry.internal_attr, entry.external_attr, at,
    )  # fmt: skip
    return record + name + extra + entry.comment


def _without_zip64(extra: bytes) -> bytes:
    """Drop the field for sizes beyond 4 GB, which no entry here needs, from an entry's extra fields."""
    kept, at = b"", 0
    while at + 4 <= len(extra):
        kind, length = struct.unpack_from("<HH", extra, at)
        if kind != 1:
            kept += extra[at : at + 4 + length]
        at += 4 + length
    return kept + extra[at:]


def _refuse_other_files(raw: bytes, name: str) -> None:
    """Raise for the kinds of file that are taken for a workbook most often."""
    wanted = "wanted a workbook saved as .xlsx or .xlsm"
    if not raw:
        raise WorkbookFileError(f"{name} is empty, {wanted}")
    if raw.startswith(_OLE):
        if "EncryptedPackage".encode("utf-16-le") in raw:
            raise WorkbookFileError(f"{name} is encrypted, {wanted} without a password")
        raise WorkbookFileError(f"{name} is an old binary file such as .xls, {wanted}")
    if not raw.startswith(b"PK"):
        raise WorkbookFileError(f"{name} is not a workbook, {wanted}")
