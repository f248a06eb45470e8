"""The archive around the parts: what is not exchanged is carried over as it lies in the file."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from sheetfuncs.xlsx.package import Package

from ..recalc.books import raw_entries


def archive(path: Path, method: int = zipfile.ZIP_DEFLATED, comment: bytes = b"") -> Path:
    with zipfile.ZipFile(path, "w", method) as made:
        for name in ("[Content_Types].xml", "b/ü 表.bin", "a.xml", "c.xml"):
            entry = zipfile.ZipInfo(name, (1999, 12, 31, 23, 59, 58))
            entry.compress_type = method
            entry.external_attr = 0o640 << 16
            entry.comment = b"of the entry"
            entry.extra = b"\xfe\xca\x04\x00abcd"
            made.writestr(entry, f"content of {name} ".encode() * 50)
        made.comment = comment
    return path


def exchanged(path: Path, **parts: bytes) -> Path:
    package = Package(path.read_bytes(), path.name)
    out = path.with_name("out.zip")
    out.write_bytes(package.with_parts({name.replace("_", "."): content for name, content in parts.items()}))
    return out


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
@pytest.mark.parametrize("comment", [b"", b"a comment"])
def test_one_part_is_exchanged(tmp_path: Path, method: int, comment: bytes) -> None:
    path = archive(tmp_path / "in.zip", method, comment)
    out = exchanged(path, a_xml=b"new" * 1000)
    old, new = raw_entries(path), raw_entries(out)
    assert list(old) == list(new)
    assert [name for name in old if old[name] != new[name]] == ["a.xml"]
    with zipfile.ZipFile(path) as one, zipfile.ZipFile(out) as other:
        assert other.testzip() is None
        assert other.read("a.xml") == b"new" * 1000
        assert other.comment == comment
        for before, after in zip(one.infolist(), other.infolist()):
            for fact in (
                "date_time",
                "compress_type",
                "comment",
                "extra",
                "external_attr",
                "flag_bits",
                "create_version",
            ):
                assert getattr(before, fact) == getattr(after, fact)


def test_nothing_exchanged_is_the_file_itself(tmp_path: Path) -> None:
    path = archive(tmp_path / "in.zip", comment=b"x")
    assert exchanged(path).read_bytes() == path.read_bytes()


def test_an_unknown_part(tmp_path: Path) -> None:
    with pytest.raises(KeyError):
        exchanged(archive(tmp_path / "in.zip"), d_xml=b"")


def test_entries_written_as_a_stream(tmp_path: Path) -> None:
    """Sizes that follow the data, as programs write them that do not know them beforehand."""

    class Stream(io.RawIOBase):
        def __init__(self) -> None:
            self.held = bytearray()

        def writable(self) -> bool:
            return True

        def write(self, data: bytes) -> int:
            self.held += data
            return len(data)

    stream = Stream()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as made:
        for name in ("a.xml", "b.xml"):
            with made.open(name, "w", force_zip64=True) as part:
                part.write(b"old" * 100)
    path = tmp_path / "in.zip"
    path.write_bytes(stream.held)
    with zipfile.ZipFile(path) as made:
        assert made.infolist()[0].flag_bits & 8
    out = exchanged(path, a_xml=b"new")
    with zipfile.ZipFile(out) as made:
        assert made.testzip() is None
        assert (made.read("a.xml"), made.read("b.xml")) == (b"new", b"old" * 100)
        assert not made.infolist()[0].flag_bits & 8
    assert raw_entries(path)["b.xml"] == raw_entries(out)["b.xml"]


def test_bytes_before_the_archive(tmp_path: Path) -> None:
    path = archive(tmp_path / "in.zip")
    raw = b"PK\x07\x08 something" + path.read_bytes()
    out = Package(raw, "x").with_parts({"c.xml": b"new"})
    assert out.startswith(b"PK\x07\x08 something")
    with zipfile.ZipFile(io.BytesIO(out)) as made:
        assert made.testzip() is None
        assert made.read("c.xml") == b"new"


def test_a_directory_in_another_order(tmp_path: Path) -> None:
    """The order of the directory and the order of the data are kept, each as it was."""
    path = archive(tmp_path / "in.zip")
    with zipfile.ZipFile(path, "a") as made:
        made.filelist.reverse()
        made._didModify = True
    out = exchanged(path, c_xml=b"new")
    with zipfile.ZipFile(path) as one, zipfile.ZipFile(out) as other:
        assert one.namelist() == other.namelist()
        assert other.testzip() is None
    assert list(raw_entries(path)) == list(raw_entries(out))
