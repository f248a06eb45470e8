"""The command that looks back shows what the look back found."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

import sheetfuncs
from sheetfuncs.cli.lookback import lookback
from sheetfuncs.season import hindcast as looks
from sheetfuncs.season.reliability import reliability

from .records import chicago, write_csv
from .test_lookback import looked_temperate, temperate


@pytest.fixture(scope="module")
def weather_file(tmp_path_factory):
    return str(write_csv(tmp_path_factory.mktemp("weather") / "chicago.csv", chicago()))


def _shown(*arguments):
    result = CliRunner().invoke(lookback, list(arguments))
    if isinstance(result.exception, sheetfuncs.InputError):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.stdout


def test_the_command_leads_with_one_sentence_then_prints_dates_reliability_rivals_and_trend(weather_file):
    lines = _shown("--weather", weather_file, "--unit", "F", "--least-seasons", "3").splitlines()
    assert max(map(len, lines)) <= 80
    text = "\n".join([" ".join(lines[:5]), *lines[5:]])
    assert "12 seasons looked back on, 2004 to 2015" in text
    assert text.startswith("Promised 80%: figs of a cut on the date given ripened in 11 of 12 seasons (62% to 100%)")
    line = " ".join(next(line for line in lines if line.startswith("2009 ")).split())
    assert line == "2009 8 23 Jun -8 23 Jun -8 19 Jun -4 15 Jun 11 Oct"
    assert "62% to 100%" in text
    assert "freeze − 90 days" in text
    assert "freeze − 120 days" in text
    assert "takes the heat need as true, the rules of thumb too" in text
    assert "2001 to 2015  +7.7 (-10.7 to +26.1)" in text
    assert "Dates are estimates" in text


def test_the_command_holds_all_dates_as_data(weather_file):
    answer = json.loads(_shown("--weather", weather_file, "--unit", "F", "--least-seasons", "3", "--json"))
    assert len(answer["seasons"]) == 12
    for row, past in zip(answer["seasons"], looked_temperate().seasons):
        assert (row["season"], row["outcome"]["last_date"]) == (past.season, str(past.outcome.last_date))
        dates = [[str(day) for day in made.last_dates] for made in past.forecasts]
        assert [made["last_dates"] for made in row["forecasts"]] == dates


def test_the_command_s_options_reach_the_look_back(weather_file):
    options = ["--heat-need", "2070", "--lag-days", "7", "--chance", "70%", "--as-of", "07-15", "--thumb-days", "110"]
    options += ["--need-spread", "10%"]
    answer = json.loads(_shown("--weather", weather_file, "--unit", "F", *options, "--last-seasons", "6", "--json"))
    wanted = looks.hindcast(temperate(), 2070, 7, (0.7,), ((7, 15),), last_seasons=6, need_spread=0.1)
    assert len(answer["seasons"]) == len(wanted.seasons) == 10
    for got, past in zip(answer["seasons"], wanted.seasons):
        assert got["forecasts"][0]["last_dates"] == [str(past.forecasts[0].last_dates[0])]
        assert got["forecasts"][0]["seasons_known"] <= 6
    assert answer["reliability"][0]["held"] == reliability(wanted)[0].held
    assert [row["rule_days"] for row in answer["rivals"]] == [None, 110]
    assert answer["last_seasons_change"]["seasons"] == [15, 6]
    assert answer["need_spread"] == 0.1


@pytest.mark.parametrize(
    ("options", "line"),
    [
        (["--chance", "80"], "Check: chance is"),
        (["--as-of", "1 July"], 'Check: as of is "1 July", wanted month and day such as 07-01'),
        (["--as-of", "02-30"], 'Check: as of is "02-30"'),
        (["--last-seasons", "2"], "Check: last seasons is"),
        (["--frost", "2015-10-20"], "Check: typed frost estimates were not known then"),
        (["--least-seasons", "40"], "Check: weather holds 15 complete seasons, wanted more than 40"),
    ],
)
def test_the_command_says_what_is_wrong(weather_file, options, line):
    with pytest.raises(sheetfuncs.InputError) as caught:
        _shown("--weather", weather_file, "--unit", "F", *options)
    assert caught.value.line.startswith(line)
