"""The sheet that looks back says what the functions and the command say, and one clear line where it cannot."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any, Callable

import openpyxl
import pytest
from click.testing import CliRunner

import sheetfuncs
from sheetfuncs.cells.dates import to_serial
from sheetfuncs.cli.lookback import lookback
from sheetfuncs.planner.build import _build
from sheetfuncs.planner.invented import demo_weather
from sheetfuncs.planner.sheets import looking_back, weather
from sheetfuncs.planner.sheets import varieties as kinds
from sheetfuncs.planner.sheets.contents import Contents

from ..both import mirrored
from ..records import chicago, write_csv
from .conftest import Answers
from .test_answers import at_position, climate, learned, setting  # noqa: F401 - climate is a fixture

SHEET, PROMISES, PAST = looking_back.NAME, looking_back.PROMISES, looking_back.PAST
Typed = Callable[[dict], Answers]
LOOKS = ("early", "middle", "late")


def typed(name: str) -> tuple[str, str]:
    """Return the cell to type in for a setting of the sheet."""
    row = looking_back.PICKS.row + 1 + [one.name for one in looking_back.PICKS.lines].index(name)
    return SHEET, f"B{row}"


def rows(answers: Answers, table: Any) -> list[dict[str, Any]]:
    """Return the lines of a table that are not blank."""
    lines = [
        {one.key: answers.at(SHEET, f"{table.letter(one.key)}{row}") for one in table.columns}
        for row in range(table.first_row, table.last_row + 1)
    ]
    return [line for line in lines if any(value not in ("", None) for value in line.values())]


def shown(day: Any, where_none: str) -> Any:
    """Return a day as the sheet holds it."""
    return where_none if day is None else to_serial(date.fromisoformat(str(day)))


def assert_as_the_command_says(answers: Answers, results: dict[float, dict], chance: float) -> None:
    """Assert that a sheet holds what the command says, run for one promised chance after the other."""
    past = results[chance]["seasons"]
    lines = rows(answers, PAST)
    assert [line["season"] for line in lines] == [one["season"] for one in reversed(past)]
    for line, one in zip(reversed(lines), past):
        assert line["known"] == one["forecasts"][0]["seasons_known"]
        assert line["true_last"] == shown(one["outcome"]["last_date"], "none")
        assert line["end"] == shown(one["outcome"]["end"], "none")
        for key, forecast in zip(LOOKS, one["forecasts"]):
            assert line[key] == shown(forecast["last_dates"][0], "no cut")
            if "none" not in (line[key], line["true_last"]) and line[key] != "no cut":
                assert line[f"{key}_spare"] == line["true_last"] - line[key]
    lines = iter(rows(answers, PROMISES))
    for number, look in enumerate(LOOKS):
        for promised in (0.5, 0.8, 0.9):
            line, kept = next(lines), results[promised]["reliability"][number]
            assert (line["look"], line["promised"]) == (look, promised)
            for key, name in (("seasons", "seasons"), ("held", "held"), ("share", "share"), ("low", "low"),
                              ("high", "high"), ("expected", "expected")):  # fmt: skip
                assert line[key] == pytest.approx(kept[name]), (look, promised, key)
            ways = results[promised]["rivals"][3 * number : 3 * number + 3]
            assert [way["rule_days"] for way in ways] == [None, 90, 120]
            for prefix, way in zip(("", "rule_90_", "rule_120_"), ways):
                assert line[f"{prefix}lost"] == pytest.approx(way["lost_share"])
                given = way["days_given_away"]
                assert line[f"{prefix}given_away"] == ("all lost" if given is None else pytest.approx(given))
    assert next(lines, None) is None


def command(weather_file: Path, need: float, chances: set[float], *options: str) -> dict[float, dict]:
    """Return what the command says for each promised chance."""
    results = {}
    for chance in chances:
        arguments = ["--weather", str(weather_file), "--heat-need", repr(need), "--chance", str(chance), "--json"]
        result = CliRunner().invoke(lookback, [*arguments, *options])
        assert result.exit_code == 0, result.output
        results[chance] = json.loads(result.stdout)
    return results


def test_the_sheet_says_what_the_command_says(
    answer: Typed, demo_answers: Answers, climate: Any, tmp_path: Path  # noqa: F811
) -> None:
    file = write_csv(tmp_path / "weather.csv", demo_weather())
    chances = {0.5, 0.8, 0.9}
    assert_as_the_command_says(demo_answers, command(file, 1150, {0.7, *chances}), 0.7)
    # Another position, another kind, with the need that trees take there, another chance.
    book = answer({
        typed("Look_position"): "south wall", typed("Look_kind"): "middle", typed("Look_chance"): 0.9,
    })  # fmt: skip
    taught = learned(climate, "middle", "south wall", 1300)
    need, spread = taught[0], taught[-1]
    warmer = ("--warmer-high", "1.5", "--warmer-low", "2", "--need-spread", repr(spread))
    assert_as_the_command_says(book, command(file, need, chances, *warmer), 0.9)


def test_the_default_table_of_the_command_is_the_sheet_s(demo_answers: Answers, tmp_path: Path) -> None:
    """With its usual three chances at once, the command compares the same seasons as the sheet."""
    file = write_csv(tmp_path / "weather.csv", demo_weather())
    result = CliRunner().invoke(lookback, ["--weather", str(file), "--heat-need", "1150", "--json"])
    results = json.loads(result.stdout)
    lines = rows(demo_answers, PROMISES)
    assert [line["held"] for line in lines] == [row["held"] for row in results["reliability"]]
    lost = [row["lost_share"] for row in results["rivals"] if row["promised"] is not None]
    assert [line["lost"] for line in lines] == pytest.approx(lost)


def test_one_line_says_what_is_looked_back_on(demo_answers: Answers) -> None:
    line = demo_answers.at(SHEET, "A4")
    assert line == (
        "Of 17 seasons, 80 % promised on 1 June held in 13 (76 %; chance alone gives 50 % to 93 %). Lost: 24 % by these"
        " dates, 100 % by the freeze less 90 days, 29 % by the freeze less 120 days."
    )
    assert 2011 not in {line["season"] for line in rows(demo_answers, PAST)}  # nine days are missing


def test_a_line_that_was_too_late_is_marked_and_says_so(demo: openpyxl.Workbook) -> None:
    formats = {
        str(cells.sqref): rule.formula[0] for cells in demo[SHEET].conditional_formatting for rule in cells.rules
    }
    assert len(formats) == 5  # and the settings, and the line that says whether the functions answer
    for key in ("early_spare", "middle_spare", "late_spare"):
        cell = demo[SHEET][f"{PAST.letter(key)}{PAST.first_row}"]
        assert 'to spare";0" too late"' in cell.number_format
        assert f"{PAST.letter(key)}{PAST.first_row}" in formats[PAST.cells(key, sheet=False).replace("$", "")]


def test_a_blank_workbook_s_sheet_stays_blank(blank_path: Path) -> None:
    answers = Answers(blank_path)
    assert answers.at(SHEET, "A4") == ""
    assert not rows(answers, PROMISES)
    assert not rows(answers, PAST)
    first = looking_back._RESTS_ROW + 1
    assert {answers.at(SHEET, f"B{row}") for row in range(first, first + 4)} == {""}


def test_typed_frost_dates_are_left_aside(answer: Typed, demo_answers: Answers) -> None:
    book = answer({setting("Frost_one_date"): date(2026, 9, 20)})
    assert rows(book, PROMISES) == rows(demo_answers, PROMISES)
    assert rows(book, PAST) == rows(demo_answers, PAST)


def book_of(path: Path, contents: Contents) -> Answers:
    return Answers(_build(path, contents, 3, None))


def test_too_short_a_record_is_said_in_one_line(tmp_path: Path) -> None:
    contents = Contents(settings={"Season_year": 2026}, weather=[row for row in demo_weather() if row[0].year >= 2022])
    book = book_of(tmp_path / "short.xlsx", contents)
    assert book.at(SHEET, "A4") == (
        "Nothing to look back on: weather holds 4 complete seasons, wanted more than 5 to look back on."
    )
    assert not rows(book, PAST)
    assert not rows(book, PROMISES)


def test_monthly_means_and_a_need_that_is_missing_are_said(answer: Typed) -> None:
    cells: dict = {setting("Weather_in_use"): "monthly"}
    for month in range(12):
        low = (-4, -3, 1, 5, 9, 13, 15, 15, 11, 5, 1, -3)[month]
        cells["Weather", f"G{weather.DAYS.first_row + month}"] = low
        cells["Weather", f"H{weather.DAYS.first_row + month}"] = low + 13
    line = answer(cells).at(SHEET, "A4")
    assert line.startswith("Nothing to look back on: monthly normals hold no single seasons")
    row = kinds.TABLE.first_row + 2
    book = answer({("Varieties", f"{kinds.TABLE.letter('use')}{row}"): "log", typed("Look_kind"): "late"})
    assert book.at(SHEET, "A4") == "See Varieties."
    assert not rows(book, PROMISES)


def test_a_need_that_no_season_gives(answer: Typed) -> None:
    row = kinds.TABLE.first_row
    book = answer({("Varieties", f"{kinds.TABLE.letter('own_need')}{row}"): 4000})
    lines = rows(book, PAST)
    assert {line["early"] for line in lines} == {"no cut"}
    assert {line["true_last"] for line in lines} == {"none"}
    assert {line["early_spare"] for line in lines} == {""}
    for line in rows(book, PROMISES):
        assert line["seasons"] == 0
        assert (line["held"], line["share"], line["lost"]) == ("", "", "")


def test_in_fahrenheit_the_same_seasons_hold(tmp_path: Path) -> None:
    days = chicago()
    contents = Contents(settings={"Season_year": 2016, "Unit": "F"}, weather=days)
    book = book_of(tmp_path / "f.xlsx", contents)
    file = write_csv(tmp_path / "weather.csv", days)
    results = command(file, 1150 * 1.8, {0.5, 0.8, 0.9}, "--unit", "F")
    assert_as_the_command_says(book, results, 0.8)


def test_in_the_south_one_looks_in_december(tmp_path: Path) -> None:
    days = mirrored(chicago())
    contents = Contents(settings={"Season_year": 2016, "Unit": "F", "Hemisphere": "south"}, weather=days)
    book = book_of(tmp_path / "south.xlsx", contents)
    assert [line["given_on"] for line in rows(book, PROMISES)] == [
        day for day in ("1 December", "1 January", "1 February") for _ in range(3)
    ]
    assert book.at(SHEET, f"{PAST.letter('early')}{PAST.heading_row}") == "Last date given on 1 December"
    file = write_csv(tmp_path / "weather.csv", days)
    results = command(file, 1150 * 1.8, {0.5, 0.8, 0.9}, "--unit", "F", "--hemisphere", "south")
    assert_as_the_command_says(book, results, 0.8)


def test_the_functions_say_what_is_wrong(climate: Any) -> None:  # noqa: F811
    here = at_position(climate, "open")
    with pytest.raises(sheetfuncs.InputError, match="season 2011 cannot be looked back on, wanted a complete one"):
        sheetfuncs.look_back_on(here, 2011, 1150)
    with pytest.raises(sheetfuncs.InputError, match="look is"):
        sheetfuncs.promise_kept(here, 1150, 0.8, "noon")
