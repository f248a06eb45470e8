"""Files that are none, and signs in them that no weather file holds."""

from __future__ import annotations

import os
from contextlib import suppress

import pytest

from sheetfuncs.weather import WeatherFileError, read_weather_file, stamps


def test_a_pipe_is_refused_at_once(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    with pytest.raises(WeatherFileError, match="is a pipe or a device"):
        read_weather_file(tmp_path / "pipe.csv")


@pytest.mark.skipif(not os.path.exists("/proc/self/mem"), reason="needs a file that opens and cannot be read")
def test_a_file_that_opens_and_cannot_be_read(tmp_path):
    (tmp_path / "bad.csv").symlink_to("/proc/self/mem")
    with pytest.raises(WeatherFileError, match=r"bad.csv cannot be read"):
        read_weather_file(tmp_path / "bad.csv")


@pytest.mark.parametrize("sign", ["\x1c", "\x1d", "\x1e", "\x1f", "\x0b", "\x85", "\u3000"])
def test_a_sign_of_separation_in_a_number_is_one_line(tmp_path, sign):
    values = "".join(f"{200 + day:5}   " for day in range(31))
    lines = ["USC00208080199401" + element + values for element in ("TMAX", "TMIN")]
    for index in range(21, 29):
        text = "\n".join(lines)
        (tmp_path / "b.dly").write_text(text[:index] + sign + text[index + 1 :] + "\n", encoding="utf-8")
        with suppress(WeatherFileError):
            assert any(refused.unreadable for refused in read_weather_file(tmp_path / "b.dly").refused) or index > 25


@pytest.mark.parametrize("between", [1, 60, 3000])
def test_a_text_longer_than_any_date_and_time_is_none(between):
    """Over thousands of letters the patterns would go again from each of them."""
    text = "2016-01-01" + " " * between + "10:30"
    is_one = between + 15 <= stamps.LONGEST_STAMP
    assert (stamps.split_stamp(text) == ("2016-01-01", "10:30")) is is_one
    assert (stamps.read_clock("10:30" + " " * between + "pm") is not None) is is_one
    assert stamps.read_date_text("2016" + " " * between + "-01-01" + "x" * between) is None
