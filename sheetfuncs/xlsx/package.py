"""A workbook file as a ZIP archive: read parts out of it, and write it again with some parts exchanged.

Every entry that is not exchanged is carried over as it lies in the file, compressed bytes, header and all.
"""

from __future__ import annotations

import copy
import io
import struct
import zipfile
import zlib
from typing import Mapping

from .errors import WorkbookFileError

#: The most that all parts of a workbook may hold when unpacked, in bytes.
MOST_UNPACKED = 512 * 1024 * 1024
#: The most parts a workbook may have.
MOST_PARTS = 20_000

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_LOCAL_SIZE = 30
_ENCRYPTED, _UTF8 = 0x01, 0x800
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
        if len(entries) > MOST_PARTS:
            raise WorkbookFileError(f"{self.name} has {len(entries)} parts, wanted at most {MOST_PARTS}")
        # Reading a part stops at the size that its entry names, so a false size cannot hide more.
        unpacked, most = sum(entry.file_size for entry in entries), MOST_UNPACKED
        if unpacked > most:
            raise WorkbookFileError(f"{self.name} would unpack to {unpacked >> 20} MB, wanted at most {most >> 20} MB")
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
        entries = sorted(self._archive.infolist(), key=lambda entry: entry.header_offset)
        ends = [*(entry.header_offset for entry in entries[1:]), self._archive.start_dir]
        out = io.BytesIO()
        out.write(self.raw[: entries[0].header_offset])
        with zipfile.ZipFile(out, "w") as archive:
            archive.comment = self._archive.comment
            for entry, end in zip(entries, ends):
                self._check_bounds(entry, end)
                record = copy.copy(entry)
                record.extra = _without_zip64(entry.extra)
                # A name that the library would write in other bytes may not differ from the one in its header.
                is_kept_whole = entry.filename == entry.orig_filename and (
                    entry.filename.isascii() or entry.flag_bits & _UTF8
                )
                if entry.filename in parts or not is_kept_whole:
                    content = parts[entry.filename] if entry.filename in parts else self.read(entry.filename)
                    if entry.compress_type not in _STORED_OR_DEFLATED:
                        raise WorkbookFileError(f"{self.name} is packed in a way that office programs do not use")
                    archive.writestr(record, content, entry.compress_type, _PACKING)
                    record.external_attr = entry.external_attr
                    continue
                record.header_offset = out.tell()
                out.write(self.raw[entry.header_offset : end])
                archive.filelist.append(record)
                archive.NameToInfo[record.filename] = record
                archive.start_dir = out.tell()
            order = {name: index for index, name in enumerate(self._entries)}
            archive.filelist.sort(key=lambda record: order[record.filename])
        return out.getvalue()

    def _check_bounds(self, entry: zipfile.ZipInfo, end: int) -> None:
        start = entry.header_offset
        if self.raw[start : start + 4] != b"PK\3\4" or start + _LOCAL_SIZE + entry.compress_size > end:
            raise WorkbookFileError(f"{self.name} is a broken file (its parts lie over one another)")


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
