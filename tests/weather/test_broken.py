"""Broken files: each gets its line, and the workbook is left as it is."""

from __future__ import annotations

import gzip
import io
import random
import struct
import tracemalloc
import zipfile
import zlib

import pytest

from sheetfuncs.weather import WeatherFileError, read_weather_file

from ..records import chicago, seattle, write_workbook
from . import forms

PICTURE = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + random.Random(1).randbytes(5000)


def lines_of(rows=None, **how):
    return forms_text(rows or seattle(), **how).splitlines()


def forms_text(rows, heading="date,low,high"):
    return "\n".join([heading, *(f"{day},{low},{high}" for day, low, high in rows)]) + "\n"


def cut_in_mid_line():
    return forms_text(seattle())[:-6].encode()


def cut_in_mid_number():
    return forms_text(seattle())[:-2].encode()


def cut_gzip():
    return gzip.compress(forms_text(seattle()).encode())[:-500]


def mixed_dates():
    half = len(seattle()) // 2
    lines = [f"{day:%d/%m/%Y},{low},{high}" for day, low, high in seattle()[:half]]
    lines += [f"{day:%m/%d/%Y},{low},{high}" for day, low, high in seattle()[half:]]
    return "\n".join(["date,low,high", *lines]).encode()


def swapped_columns():
    return forms_text(seattle(), "date,high,low").encode()


def a_comma_too_many():
    lines = lines_of()
    lines[700] = lines[700].replace(",", ",,", 1)
    return "\n".join(lines).encode()


def decimal_commas_between_commas():
    lines = [line.replace(".", ",") for line in lines_of()]
    return "\n".join(["date,low,high", *lines[1:]]).encode()


def an_open_quotation_mark():
    lines = lines_of()
    lines[700] = lines[700].replace(",", ',"', 1)
    return "\n".join(lines).encode()


def all_missing():
    return forms_text([(day, -9999, -9999) for day, *_ in seattle()]).encode()


def all_zeros():
    return forms_text([(day, 0, 0) for day, *_ in seattle()]).encode()


def a_formula():
    lines = lines_of()
    lines[700] = lines[700].rpartition(",")[0] + ",=cmd|' /C calc'!A0"
    return "\n".join(lines).encode()


def a_formula_for_a_date():
    lines = lines_of()
    lines[700] = "=HYPERLINK(1),1.0,2.0"
    return "\n".join(lines).encode()


def a_day_twice_with_other_values():
    lines = lines_of()
    return "\n".join([*lines, lines[700].rpartition(",")[0] + ",39.5"]).encode()


def a_picture_in_the_middle():
    text = forms_text(seattle()).encode()
    return text[:20_000] + PICTURE + text[20_000:]


def a_line_without_end():
    return forms_text(seattle()).encode() + b"x" * 200_000


def gzip_bomb(line=b"\0" * 64):
    """Two gigabytes: one packed piece many times over."""
    return gzip.compress(line * (2**26 // len(line)), 9) * 32


def gzip_bomb_of_lines():
    return gzip.compress(forms_text(seattle()).encode()) + gzip_bomb(b"#" * 1023 + b"\n")


def zip_of(**parts):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return packed.getvalue()


def workbook_bytes(tmp_path, change=None):
    path = write_workbook(tmp_path / "t.xlsx", seattle()[:50])
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    return zip_of(**{name: change(name, content) if change else content for name, content in parts.items()})


def zip_bomb(declared=2**31 - 1):
    """A workbook whose sheet says that it unpacks to two gigabytes, and does."""
    piece = zlib.compressobj(9, zlib.DEFLATED, -15)
    some = piece.compress(b" " * 2**24) + piece.flush(zlib.Z_FULL_FLUSH)
    last = zlib.compressobj(9, zlib.DEFLATED, -15)
    data = some * 127 + last.compress(b" " * (2**24 - 1)) + last.flush()
    archive = zip_of(**{"[Content_Types].xml": "<Types/>", "xl/worksheets/sheet1.xml": "x"})
    name = b"xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        entry = opened.getinfo(name.decode())
        start, directory = entry.header_offset, opened.start_dir
    head = struct.pack("<4s5H3L2H", b"PK\3\4", 20, 0, 8, 0, 33, 0, len(data), declared, len(name), 0)
    local = head + name + data
    first = archive[directory:]
    at = first.index(b"PK\1\2", 4)
    central = bytearray(first[at : first.index(b"PK\5\6")])
    struct.pack_into("<3L", central, 16, 0, len(data), declared)
    body = archive[:start] + local
    records = first[:at] + bytes(central)
    end = struct.pack("<4s4H2LH", b"PK\5\6", 0, 0, 2, 2, len(records), len(body), 0)
    return body + records + end


BROKEN = {
    "cut in mid-line": (cut_in_mid_line, "line 1462 has 2 columns where others have 3"),
    "cut in mid-number": (cut_in_mid_number, "line 1462 is cut off in the middle of a number"),
    "cut gzip": (cut_gzip, "cut off"),
    "mixed dates": (mixed_dates, "mixes dates"),
    "swapped columns": (swapped_columns, "columns swapped"),
    "a comma too many": (a_comma_too_many, "line 701 has 4 columns where others have 3"),
    "decimal commas between commas": (decimal_commas_between_commas, "columns"),
    "an open quotation mark": (an_open_quotation_mark, "line 701"),
    "all missing": (all_missing, "no day with a low and a high"),
    "all zeros": (all_zeros, "stand at 0 for 1461 days"),
    "a formula": (a_formula, "line 701 has \"=cmd|' /C calc'!A0\" where a temperature is wanted"),
    "a formula for a date": (a_formula_for_a_date, 'line 701 has no date that can be read: "=HYPERLINK(1)"'),
    "a day twice": (a_day_twice_with_other_values, "different values (lines 701 and 1463)"),
    "a picture": (lambda: PICTURE, "a picture"),
    "a picture in the middle": (a_picture_in_the_middle, "no text"),
    "random bytes": (lambda: random.Random(2).randbytes(9000), "not a text file"),
    "a line without end": (a_line_without_end, "line 1463 does not end"),
    "a web page": (lambda: b"<!DOCTYPE html><html><body>404</body></html>", "web page"),
    "a PDF": (lambda: b"%PDF-1.7\n1 0 obj", "PDF"),
    "an old workbook": (lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old binary file"),
    "nothing": (lambda: b"", "blank"),
    "blank lines": (lambda: b"\n\n\n", "blank"),
    "a heading alone": (lambda: b"date,low,high\n", "no rows with a date"),
    "prose": (lambda: b"Dear grower,\nit was warm, then cold, and so on.\n" * 20, "no rows with a date"),
    "an archive": (lambda: zip_of(**{"weather.csv": "date,low,high"}), "archive"),
    "a broken archive": (lambda: b"PK\3\4" + bytes(300), "is a broken file"),
    "a 2 GB gzip bomb without lines": (gzip_bomb, "not a text file"),
    "a 2 GB gzip bomb of lines": (gzip_bomb_of_lines, "unpacks to far more"),
    "a 2 GB zip bomb": (zip_bomb, "would unpack to 2048 MB"),
    "a 2 GB zip bomb that says it is small": (lambda: zip_bomb(declared=900), "broken"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_each_gets_its_line_and_the_workbook_is_untouched(name, tmp_path, book, add):
    make, wanted = BROKEN[name]
    path = tmp_path / ("t.xlsx" if "GB zip" in name else "t.csv")
    path.write_bytes(make())
    before = book.read_bytes()
    tracemalloc.start()
    output = add(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert book.read_bytes() == before
    assert output.startswith("Check: ") or "nothing was written" in output, output
    assert wanted in output
    assert "t.csv" in output or "t.xlsx" in output
    assert peak < 60_000_000


def test_what_is_broken_can_be_left_out(tmp_path, add):
    path = tmp_path / "t.csv"
    path.write_bytes(a_comma_too_many())
    output = add(path, "--skip")
    assert "1,460 days new" in output
    assert "line 701" in output


def test_a_year_of_zeros_is_refused_and_the_rest_is_read(tmp_path):
    rows = [(day, 0, 0) if day.year == 2013 else (day, low, high) for day, low, high in seattle()]
    found = read_weather_file(forms.text(tmp_path / "t.csv", rows))
    assert [tuple(day) for day in found.days] == [row for row in rows if row[0].year != 2013]
    assert {refused.day.year for refused in found.refused} == {2013}
    assert len(found.refused) == 365
    assert [gap.days for gap in found.gaps] == [365]


def test_a_low_that_stands_still_is_refused(tmp_path):
    rows = [(day, 4.5 if day.year == 2013 and day.month == 4 else low, high + 8) for day, low, high in seattle()]
    found = read_weather_file(forms.text(tmp_path / "t.csv", rows))
    assert {(refused.day.year, refused.day.month) for refused in found.refused} == {(2013, 4)}
    assert "the low stands at 4.5" in found.refused[0].reason


def test_days_that_can_be_no_weather_are_refused_with_line_and_reason(tmp_path):
    rows = [list(row) for row in chicago()]
    rows[10][1:] = [90.0, 30.0]
    rows[20][1] = -71.0
    rows[30][2] = 139.0
    found = read_weather_file(forms.text(tmp_path / "t.csv", rows))
    assert [(refused.line, refused.day) for refused in found.refused] == [
        (index + 2, rows[index][0]) for index in (10, 20, 30)
    ]
    assert not found.unreadable
    assert "above" in found.refused[0].reason


def test_the_same_day_twice_with_the_same_values_is_one(tmp_path):
    found = read_weather_file(forms.text(tmp_path / "t.csv", [*seattle(), *seattle()[:400]]))
    assert [tuple(day) for day in found.days] == list(seattle())
    assert not found.refused


def test_thousands_of_broken_lines_end_in_one(tmp_path):
    path = tmp_path / "t.csv"
    path.write_text(forms_text(seattle()) + "2013-99-99,1,2\n" * 5000)
    with pytest.raises(WeatherFileError, match="more than 1000 lines"):
        read_weather_file(path)


def test_what_a_file_says_of_itself_is_printed_without_commands_to_the_terminal(tmp_path, add):
    path = forms.text(tmp_path / "t.csv", seattle(), ("Date", "Low \x1b[2J\x1b]0;x\x07", "High"))
    output = add(path)
    assert "1,461 days new" in output
    assert not any(ord(sign) < 32 and sign != "\n" for sign in output)
