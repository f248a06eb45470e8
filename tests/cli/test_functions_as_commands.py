"""Each declared function as a sub-command: the same answers as in Python, and lines that a grower can act on."""

from __future__ import annotations

import csv
import json
from datetime import date

import pytest
from click.testing import CliRunner

import sheetfuncs
from sheetfuncs.cli.app import app
from sheetfuncs.functions.examples import VALLEY_NORMALS, valley_days


@pytest.fixture(scope="module")
def valley_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("weather") / "valley.csv"
    with path.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["date", "low", "high"])
        writer.writerows(valley_days())
    return str(path)


@pytest.fixture(scope="module")
def valley():
    return sheetfuncs.climate_of(valley_days())


def answer(*arguments: str):
    result = CliRunner().invoke(app, list(arguments))
    if isinstance(result.exception, sheetfuncs.InputError):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.stdout.strip()


def test_every_function_is_a_command_with_all_its_arguments():
    for function in sheetfuncs.all_functions():
        help_text = answer(function.command_name, "--help")
        names = [p.name for p in function.parameters if p.name != "climate"]
        if function.name == "climate_of":
            names.remove("weather")
            assert "--weather" in help_text
        for name in names:
            assert "--" + name.replace("_", "-") in help_text, (function.name, name)


def test_worksheet_and_python_names_are_understood():
    assert answer("HEAT_UNITS_DAY", "50", "82", "55", "90") == answer("heat-units-day", "50", "82", "55", "90")


def test_arguments_in_order_and_by_name_give_what_python_gives(valley_file, valley):
    wanted = str(sheetfuncs.latest_prune_date(valley, 2026, 1300, 0.6, 12))
    weather = ("--weather", valley_file)
    assert answer("latest-prune-date", *weather, "2026", "1300", "0.6", "12") == wanted
    assert answer("latest-prune-date", "2026", *weather, "--lag-days", "12", "1300", "--chance", "60%") == wanted
    named = ("--season", "2026", "--heat-need", "1300", "--chance", ".6", "--lag-days", "12")
    assert answer("latest-prune-date", *weather, *named) == wanted


def test_negative_numbers_are_values_not_options():
    wanted = pytest.approx(sheetfuncs.heat_units_day(-4, 12, 8), abs=1e-6)
    assert float(answer("heat-units-day", "-4", "12", "8")) == wanted


def test_the_climate_options_are_the_climate_functions(valley_file, valley):
    known = sheetfuncs.climate_until(valley, "2024-07-01")
    typed = sheetfuncs.climate_with_frost(known, [[0.1, "2024-10-01"], [0.9, "2024-11-01"]])
    wall = sheetfuncs.climate_at(typed, 1.5, 1)
    options = ["--until", "2024-07-01", "--frost", "0.1=2024-10-01", "--frost", "0.9=2024-11-01"]
    options += ["--warmer-high", "1.5", "--warmer-low", "1"]
    shown = answer("latest-prune-date", "--weather", valley_file, *options, "2024", "1150")
    assert shown == str(sheetfuncs.latest_prune_date(wall, 2024, 1150))
    wanted = str(sheetfuncs.climate_of(valley_days(), base=10))
    assert answer("climate-of", "--weather", valley_file, "--base", "10") == wanted


def test_normals_and_one_frost_date_give_a_date(tmp_path):
    path = tmp_path / "normals.csv"
    path.write_text("\n".join(";".join(map(str, row)) for row in VALLEY_NORMALS))
    typed = sheetfuncs.climate_with_frost(sheetfuncs.climate_of(VALLEY_NORMALS), "2026-10-15")
    shown = answer("latest-prune-date", "--weather", str(path), "--frost", "2026-10-15", "2026", "1150")
    assert shown == str(sheetfuncs.latest_prune_date(typed, 2026, 1150))


def test_rows_and_columns_in_text_and_json(valley_file, valley):
    window = sheetfuncs.ripen_window(valley, "2026-06-10", 1150)
    lines = answer("ripen-window", "--weather", valley_file, "2026-06-10", "1150").splitlines()
    assert [line.split() for line in lines] == [
        [name, str(day)] for name, day in zip(("first", "middle", "last"), window)
    ]
    value = json.loads(answer("ripen-window", "--weather", valley_file, "2026-06-10", "1150", "--json"))["value"]
    assert [date.fromisoformat(day) for day in value.values()] == list(window)
    weeks = answer("picking-by-week", "2026-09-01", "2026-09-14", "4.2", "2026-08-31,2026-09-07,2026-09-14", "--json")
    assert json.loads(weeks)["value"] == [1.8, 2.1, 0.3]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["latest-prune-date", "2026", "1300"], ["weather is blank", "--weather FILE"]),
        (["latest-prune-date", "--weather", "nowhere.csv", "2026", "1300"], ["nowhere.csv", "is not there"]),
        (["latest-prune-date", "--weather", ".", "2026", "1300"], ["folder"]),
        (["heat-units-day", "20", "10", "8"], ["low is 20", "high is 10"]),
        (["heat-units-day", "20"], ["high is blank"]),
    ],
)
def test_a_mistake_is_one_line(arguments, words):
    with pytest.raises(sheetfuncs.InputError) as caught:
        answer(*arguments)
    line = str(caught.value)
    assert line.startswith("Check: ")
    assert "\n" not in line
    for word in words:
        assert word in line


def test_a_picture_is_no_weather(tmp_path):
    path = tmp_path / "photo.csv"
    path.write_bytes(bytes(range(256)) * 8)
    with pytest.raises(sheetfuncs.InputError, match="not a text file"):
        answer("climate-of", "--weather", str(path))


def test_exit_codes(valley_file):
    """1 for a wrong value, 2 for a wrong command: as the process itself ends."""
    import subprocess
    import sys

    def ended(*arguments: str) -> subprocess.CompletedProcess:
        call = [sys.executable, "-c", "from sheetfuncs.cli import main; main()", *arguments]
        return subprocess.run(call, capture_output=True, text=True)

    wrong = ended("latest-prune-date", "--weather", valley_file, "2026", "1300", "80")
    assert (wrong.returncode, wrong.stdout) == (1, "")
    assert wrong.stderr == "Check: chance is 80, wanted a share above 0 and up to 1, such as 0.8 or 80%\n"
    assert ended("latest-prune-date", "--heat-ned", "3").returncode == 2
    assert ended("no-such-thing").returncode == 2
    good = ended("heat-units-day", "50", "82", "55", "90")
    assert (good.returncode, good.stderr) == (0, "")


def test_explain_shows_what_is_declared():
    for function in sheetfuncs.all_functions():
        text = answer("explain", function.worksheet_name)
        assert all(len(line) <= 80 or line.startswith("  =") for line in text.splitlines())
        flowing = " ".join(text.split())
        assert function.signature_text() in flowing
        assert all(parameter.help in flowing for parameter in function.parameters)
        assert "Command line  sheetfuncs" in text
