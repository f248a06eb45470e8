"""The lines of a text file: unpacked, decoded and bounded, whatever a stranger's file holds."""

from __future__ import annotations

import codecs
import gzip
import io
import stat
import zlib
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any, BinaryIO, Iterator

from .errors import WeatherFileError
from .model import Progress

#: No line of a weather file is longer [letters].
LONGEST_LINE = 65_536
#: Text packs to a fifth or a twentieth; only a file made to fill the memory packs better than this.
MOST_PACKED = 200
#: Up to this size unpacked, how well a file was packed is of no concern [bytes].
ALWAYS_UNPACKED = 16 * 1024 * 1024
#: The largest text that is read [bytes]: all stations of the world for one year are a quarter of it.
LARGEST = 6 * 1024**3

#: So many are read at once; then the size is looked at, and the progress shown.
_LINES_AT_ONCE = 200
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
#: Encodings of East Asia, known by words that headings have.
_IN_HEADINGS = {
    "cp932": ("気温", "年月日"), "gb18030": ("气温", "日期"), "big5": ("氣溫",), "cp949": ("기온", "일자", "날짜"),
}  # fmt: skip
_OTHER_FILES = (
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\xd0\xcf\x11\xe0", "an old binary file such as .xls"),
    (b"BZh", "packed in a way not known here (bzip2)"),
    (b"\xfd7zXZ", "packed in a way not known here (xz)"),
    (b"7z\xbc\xaf", "packed in a way not known here (7z)"),
    (b"Rar!", "packed in a way not known here (rar)"),
)
WANTED = "wanted a text file, a .gz of one, or an .xlsx with rows of date, low, high"


class Lines:
    """The lines of one text file, without their ends.

    ends_whole : whether the last line had an end, known when all are read.
    """

    def __init__(self, path: Path, progress: Progress | None = None) -> None:
        self.path = path
        self.name = path.name
        self.ends_whole = True
        self._progress = progress or (lambda done, total: None)

    def __iter__(self) -> Iterator[str]:
        """Go over the lines; raises :class:`WeatherFileError` where the file is no text or is broken."""
        with open_file(self.path) as raw:
            total = raw.seek(0, io.SEEK_END)
            raw.seek(0)
            packed = raw.read(2) == b"\x1f\x8b"
            raw.seek(0)
            stream = gzip.GzipFile(fileobj=raw) if packed else raw
            number, last = 0, "\n"
            try:
                text = self._opened(stream)
                following = iter(partial(text.readline, LONGEST_LINE), "")
                while batch := list(islice(following, _LINES_AT_ONCE)):
                    if "\0" in "".join(batch):
                        number += next(index for index, line in enumerate(batch, start=1) if "\0" in line)
                        raise WeatherFileError(f"{self.name} holds bytes that are no text (line {number}), {WANTED}")
                    lengths = list(map(len, batch))
                    if LONGEST_LINE in lengths:
                        number += lengths.index(LONGEST_LINE) + 1
                        raise WeatherFileError(f"{self.name}, line {number} does not end, {WANTED}")
                    number, last = number + len(batch), batch[-1]
                    yield from [line.removesuffix("\n") for line in batch]
                    self._look_at_size(stream.tell(), raw.tell())
                    self._progress(raw.tell(), total)
            except EOFError:
                raise WeatherFileError(f"{self.name} is cut off, wanted the whole file") from None
            except (zlib.error, OSError) as error:
                raise WeatherFileError(f"{self.name} is broken ({error}), wanted the whole file") from error
            self.ends_whole = last.endswith("\n")
            self._progress(total, total)

    def _opened(self, stream: Any) -> io.TextIOWrapper:
        start = stream.read(4096)
        if not start:
            raise WeatherFileError(f"weather file {self.name} is blank, {WANTED}")
        stream.seek(0)
        encoding = _encoding(start)
        _refuse_other_files(start, encoding, self.name)
        return io.TextIOWrapper(stream, encoding, "surrogateescape" if encoding.startswith("utf-8") else "replace")

    def _look_at_size(self, unpacked: int, packed: int) -> None:
        if unpacked > ALWAYS_UNPACKED and unpacked > MOST_PACKED * packed:
            raise WeatherFileError(f"{self.name} unpacks to far more than a weather file holds, {WANTED}")
        if unpacked > LARGEST:
            raise WeatherFileError(f"{self.name} is larger than {LARGEST // 1024**3} GB, {WANTED}")


def open_file(path: Path) -> BinaryIO:
    """Open a file to read its bytes; raises :class:`WeatherFileError` in one line."""
    try:
        # Opening a pipe would wait for someone to write into it.
        if not (stat.S_ISREG(path.stat().st_mode) or path.is_dir()):
            raise WeatherFileError(f"weather file {path.name} is a pipe or a device, {WANTED}")
        raw = open(path, "rb")  # noqa: SIM115 - the caller closes it
        raw.read(1)
        raw.seek(0)
        return raw
    except FileNotFoundError:
        raise WeatherFileError(f"weather file {path.name} is not there") from None
    except IsADirectoryError:
        raise WeatherFileError(f"weather file {path.name} is a folder, {WANTED}") from None
    except OSError as error:
        raise WeatherFileError(f"weather file {path.name} cannot be read: {error.strerror or error}") from error


def _encoding(start: bytes) -> str:
    """Return how a text is written, found from its first bytes.

    Without a mark it is taken for UTF-8; bytes that are none are kept apart for :func:`in_letters`.
    """
    for mark, encoding in _MARKS:
        if start.startswith(mark):
            return encoding
    if len(start) >= 4 and len(start) % 2 == 0:
        # Dates and numbers have every second byte empty in UTF-16.
        even, odd = start[0::2].count(0), start[1::2].count(0)
        half = len(start) // 2
        if odd > 0.8 * half and even < 0.1 * half:
            return "utf-16-le"
        if even > 0.8 * half and odd < 0.1 * half:
            return "utf-16-be"
    if not start.isascii():
        for encoding, words in _IN_HEADINGS.items():
            if any(word.encode(encoding) in start for word in words):
                return encoding
    return "utf-8"


def _refuse_other_files(start: bytes, encoding: str, name: str) -> None:
    for mark, kind in _OTHER_FILES:
        if start.startswith(mark):
            raise WeatherFileError(f"{name} is {kind}, {WANTED}")
    if start.lstrip()[:9].lower().startswith((b"<!doctype", b"<html")):
        raise WeatherFileError(f"{name} is a web page, wanted the file with the data")
    if encoding == "utf-8":
        strange = sum(1 for byte in start if byte < 32 and byte not in b"\t\n\r\f\x1a")
        if strange > len(start) // 50:
            raise WeatherFileError(f"{name} is not a text file, {WANTED}")


def in_letters(text: str) -> str:
    """Return a text whose bytes were no UTF-8 as Latin-1 (in the form that Windows uses)."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return text.encode("utf-8", "surrogateescape").decode("cp1252", "replace")
    return text


def printable(text: str, longest: int = 60) -> str:
    """Return a text of a stranger's file as it may be printed: no control letters, on one line, not too long."""
    text = " ".join("".join(sign if sign.isprintable() else " " for sign in in_letters(text)).split())
    return text if len(text) <= longest else text[: longest - 1] + "…"
