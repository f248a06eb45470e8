"""Broken workbooks and files with bytes exchanged end in days or in one line."""

from __future__ import annotations

from contextlib import suppress
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfuncs.weather import WeatherFileError, read_weather_file

from ..records import seattle, write_workbook
from . import forms
from .test_broken import forms_text, workbook_bytes

# -- workbooks -------------------------------------------------------------------------------------------------


BOMB = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'


@pytest.mark.parametrize("hide", [
    lambda part: part,
    lambda part: part.decode().encode("utf-16"),
    lambda part: part.replace(b"<!DOCTYPE", b"<!--" + b"." * 200_000 + b"--><!DOCTYPE", 1),
    lambda part: part.replace(b"<!DOCTYPE", b" " * 200_000 + b"<!DOCTYPE", 1),
], ids=["plain", "in UTF-16", "behind a comment", "behind spaces"])  # fmt: skip
def test_entities_in_a_workbook_are_refused(tmp_path, hide):
    def change(name, content):
        return hide(BOMB + content[content.index(b"<worksheet") :]) if "sheet1" in name else content

    path = tmp_path / "b.xlsx"
    path.write_bytes(workbook_bytes(tmp_path, change))
    with pytest.raises(WeatherFileError, match="XML entities"):
        read_weather_file(path)


def test_a_row_far_down_does_not_make_a_workbook_endless(tmp_path):
    def change(name, content):
        return content.replace(b'<row r="51"', b'<row r="999999999"').replace(b'"A51"', b'"A999999999"') if (
            "sheet1" in name) else content  # fmt: skip

    path = tmp_path / "b.xlsx"
    path.write_bytes(workbook_bytes(tmp_path, change))
    with pytest.raises(WeatherFileError, match=r"broken|larger than a sheet"):
        read_weather_file(path)


@pytest.mark.parametrize("share", [0.3, 0.9])
def test_a_cut_workbook_is_broken(tmp_path, share):
    content = workbook_bytes(tmp_path)
    path = tmp_path / "b.xlsx"
    path.write_bytes(content[: int(len(content) * share)])
    with pytest.raises(WeatherFileError, match="broken"):
        read_weather_file(path)


@given(st.data())
def test_a_file_with_bytes_exchanged_ends_in_days_or_in_one_line(tmp_path_factory, data):
    base = data.draw(st.sampled_from([forms_text(seattle()[:400]).encode(), fixed(tmp_path_factory), book_bytes()]))
    content = bytearray(base)
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(content) - 1))
        piece = data.draw(st.binary(min_size=0, max_size=5))
        content[at : at + data.draw(st.integers(0, 5))] = piece
    path = tmp_path_factory.getbasetemp() / "exchanged.bin"
    path.write_bytes(bytes(content))
    with suppress(WeatherFileError):
        found = read_weather_file(path)
        assert all(isinstance(day.day, date) and day.low <= day.high for day in found.days)


def fixed(tmp_path_factory):
    path = tmp_path_factory.getbasetemp() / "fixed.dly"
    return forms.fixed_width(path, seattle()[:400], "C").read_bytes()


def book_bytes(known={}):  # noqa: B006 - made once
    if not known:
        import tempfile
        from pathlib import Path

        with tempfile.TemporaryDirectory() as folder:
            known["book"] = write_workbook(Path(folder) / "t.xlsx", seattle()[:40]).read_bytes()
    return known["book"]
