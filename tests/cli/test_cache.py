"""What is kept in the user's cache: found again as it was, bounded, and nothing that is damaged or not ours."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from sheetfuncs.cells import cache
from sheetfuncs.cells.cache import Cache, user_folder
from sheetfuncs.cells.kinds import FileRows
from sheetfuncs.cli.read_once import weather_rows
from sheetfuncs.functions.examples import valley_days
from sheetfuncs.weather import read_weather

VALUE = [1, 0.1, None, "text", [[-3.25, 1e-17]]]


def test_a_value_is_found_again_and_its_name_is_its_own(tmp_path):
    kept = Cache(tmp_path / "new" / "folder")
    assert kept.read("a1") is None
    kept.write("a1", VALUE)
    assert Cache(tmp_path / "new" / "folder").read("a1") == VALUE
    (tmp_path / "new" / "folder" / "a1.json").rename(tmp_path / "new" / "folder" / "b2.json")
    assert kept.read("b2") is None
    if os.name == "posix":
        assert (tmp_path / "new" / "folder").stat().st_mode & 0o077 == 0
    with pytest.raises(ValueError, match="is no name"):
        kept.read("../a1")


def test_damaged_and_foreign_files_are_ignored(tmp_path, monkeypatch):
    kept = Cache(tmp_path)
    kept.write("a1", VALUE)
    whole = (tmp_path / "a1.json").read_bytes()
    other = whole.replace(b"1", b"2", 1)
    for content in (b"", whole[:-9], b"[1]", b'"a1"', b"[" * 100_000, b"\xff\xfe", b'{"format":1}', other):
        (tmp_path / "a1.json").write_bytes(content)
        assert kept.read("a1") is None
    (tmp_path / "a1.json").write_bytes(whole)
    assert kept.read("a1") == VALUE
    monkeypatch.setattr(cache, "FORMAT", 2)
    assert kept.read("a1") is None


def test_where_it_cannot_be_kept_nothing_fails(tmp_path):
    (tmp_path / "file").write_text("no folder")
    for folder in (None, tmp_path / "file", tmp_path / "file" / "below"):
        kept = Cache(folder)
        kept.write("a1", VALUE)
        assert kept.read("a1") is None
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "a1.json")
        assert Cache(tmp_path).read("a1") is None


def test_the_folder_stays_within_its_bounds(tmp_path):
    kept = Cache(tmp_path, most_bytes=4_000)
    for number in range(9):
        kept.write(f"a{number}", "x" * 1_000)
        os.utime(tmp_path / f"a{number}.json", (number + 1, number + 1))
        kept.read("a0")  # what is used stays
    left = sorted(path.name for path in tmp_path.iterdir())
    assert left == ["a0.json", "a7.json", "a8.json"]
    kept.write("huge", "x" * 5_000)
    assert sorted(path.name for path in tmp_path.iterdir()) == left


def test_several_processes_write_at_once(tmp_path):
    code = (
        "import sys; from pathlib import Path; from sheetfuncs.cells.cache import Cache\n"
        "kept = Cache(Path(sys.argv[1]), 60_000)\n"
        "for turn in range(60):\n"
        "    kept.write(f'n{turn % 7}', [turn % 7] * 4_000)\n"
        "    found = kept.read(f'n{(turn + 3) % 7}')\n"
        "    assert found is None or found == [(turn + 3) % 7] * 4_000, found\n"
    )
    started = [subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stderr=subprocess.PIPE) for _ in range(4)]
    assert [one.communicate()[1] for one in started] == [b""] * 4
    assert not list(tmp_path.glob("new-*"))
    assert all(json.loads(path.read_text())["format"] == cache.FORMAT for path in tmp_path.iterdir())


def test_the_folder_is_the_system_s_own_place_for_it():
    assert user_folder({"LOCALAPPDATA": "L"}, "win32") == Path("L/sheetfuncs")
    assert user_folder({"USERPROFILE": "U"}, "win32") == Path("U/AppData/Local/sheetfuncs")
    assert user_folder({"HOME": "/h"}, "darwin") == Path("/h/Library/Caches/sheetfuncs")
    assert user_folder({"HOME": "/h"}, "linux") == Path("/h/.cache/sheetfuncs")
    assert user_folder({"HOME": "/h", "XDG_CACHE_HOME": "/c"}, "linux") == Path("/c/sheetfuncs")
    assert user_folder({"HOME": "/h", "SHEETFUNCS_CACHE": "off"}, "linux") is None
    assert user_folder({"HOME": "/h", "SHEETFUNCS_CACHE": "/mine"}, "linux") == Path("/mine")
    assert user_folder({}, "linux") is None


ONE_ROW = FileRows([[1, 2.0, 3.0]], [2])


class TestWeatherFiles:
    @pytest.fixture
    def station(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
        monkeypatch.setenv(cache.VARIABLE, str(tmp_path / "cache"))
        path = tmp_path / "station.csv"
        path.write_text("date,low,high\n" + "".join(f"{d},{low},{high}\n" for d, low, high in valley_days()[:400]))
        return path

    def test_a_file_is_read_once(self, station, monkeypatch):
        wanted = read_weather(station, "C")
        assert weather_rows(station, "C") == wanted
        monkeypatch.setattr("sheetfuncs.weather.read_weather", lambda *_: pytest.fail("it was read again"))
        again = weather_rows(station, "C")
        assert (again, again.lines) == (wanted, wanted.lines)
        assert [list(map(type, row)) for row in again] == [list(map(type, row)) for row in wanted]

    def test_another_content_or_unit_is_read_again(self, station, monkeypatch):
        weather_rows(station, "C")
        calls = []
        monkeypatch.setattr("sheetfuncs.weather.read_weather", lambda *how: calls.append(how) or ONE_ROW)
        weather_rows(station, None)
        station.write_text(station.read_text().replace("2", "3", 1))
        assert weather_rows(station, "C") == [[1, 2.0, 3.0]]
        assert len(calls) == 2

    def test_a_damaged_file_is_read_again(self, station, tmp_path):
        wanted = weather_rows(station, "C")
        [kept] = (tmp_path / "cache").iterdir()
        held = json.loads(kept.read_text())
        parts = ({"rows": [[1]]}, {"rows": [["x", 1, 2]]}, {"lines": [1]}, {"lines": None})
        for value in (None, 3, {"rows": []}, *({**held["value"], **part} for part in parts)):
            kept.write_text(json.dumps({**held, "value": value}))
            assert weather_rows(station, "C") == wanted
