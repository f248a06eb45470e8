"""Looking back is honest, right, and shows that promised chances hold on real records."""

from __future__ import annotations

import csv
import io
import json
import math
import random
from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache

import pytest
from click.testing import CliRunner
from scipy import stats

import sheetfuncs
from sheetfuncs.cli.lookback import lookback
from sheetfuncs.functions.examples import VALLEY_NORMALS
from sheetfuncs.season import lookback as looks
from sheetfuncs.season.climate import Climate
from sheetfuncs.season.errors import Unanswerable

from .both import mirrored
from .records import chicago, clemson, write_csv

NEED = 1300 * 1.8
DAY = timedelta(days=1)


@lru_cache(maxsize=None)
def temperate():
    return sheetfuncs.climate_of(chicago(), "F")


@lru_cache(maxsize=None)
def looked_hot():
    """Look back on Clemson: 85 seasons, each with 5 or more before it."""
    return looks.look_back(sheetfuncs.climate_of(clemson(), "F"), NEED)


@lru_cache(maxsize=None)
def looked_cool():
    """Look back on Clemson made 5 °C cooler: as short a season as a fig bears, still 91 years long."""
    cooler = sheetfuncs.climate_at(sheetfuncs.climate_of(clemson(), "F"), -9, -9)
    return looks.look_back(cooler, 1150 * 1.8, as_of=((7, 1), (8, 1)))


@lru_cache(maxsize=None)
def looked_temperate(need=NEED, **more):
    return looks.look_back(temperate(), need, least_seasons=3, **more)


# -- promised chances hold --------------------------------------------------------------------------------


LOOKS = {
    "Clemson": looked_hot,
    "Clemson, 5 °C cooler": looked_cool,
    "Chicago, early kind": lambda: looked_temperate(1150 * 1.8),
    "Chicago": looked_temperate,
}


@pytest.mark.parametrize("place", LOOKS)
def test_promised_chances_hold_within_what_sampling_allows(place):
    """The share held, with its exact 95 % interval, on each day of looking: seen when this was written, at 80 %:

    Clemson 65 of 85 on each day (66 to 85 %); Chicago 11 of 12 (62 to 100 %).
    """
    rows = looks.calibration(LOOKS[place]())
    assert {row.promised for row in rows} == {0.5, 0.8, 0.9}
    for row in rows:
        assert row.low <= row.promised <= row.high, row
        assert row.none_given == 0


def test_the_figures_of_clemson_at_80_percent():
    held = [(row.held, row.seasons) for row in looks.calibration(looked_hot()) if row.promised == 0.8]
    assert held == [(65, 85)] * 3


def test_a_promise_that_does_not_hold_is_seen():
    # Dates a week too late must fall out of the interval: the check above can fail.
    def later(said):
        return replace(said, last_dates=tuple(day + 7 * DAY for day in said.last_dates))

    late = replace(
        looked_hot(),
        seasons=tuple(replace(past, said=tuple(map(later, past.said))) for past in looked_hot().seasons),
    )
    assert not any(row.within for row in looks.calibration(late))


def test_dates_lose_fewer_seasons_than_the_rule_of_thumb_and_give_away_days_for_it():
    for place in LOOKS.values():
        for look in place().as_of:
            rows = {row.promised: row for row in looks.skill(place()) if row.as_of == look}
            assert rows[0.8].lost_share < rows[None].lost_share
            assert rows[0.5].lost >= rows[0.8].lost >= rows[0.9].lost
            assert rows[0.5].days_given_away < rows[0.9].days_given_away
            assert len({row.seasons for row in rows.values()}) == 1


# -- honesty ----------------------------------------------------------------------------------------------


def _everything_said(rows, first):
    climate = sheetfuncs.climate_of(rows, "F")
    looked = looks.look_back(climate, NEED, as_of=((7, 15), (8, 15), (9, 15)), least_seasons=3)
    return [said for past in looked.seasons if past.season >= first for said in past.said]


def _assert_blind(rows):
    """Assert that whatever comes on or after a morning leaves what was said on it as it is."""
    honest = {said.as_of: said for said in _everything_said(rows, 2004)}
    for morning in (date(2008, 7, 15), date(2008, 9, 15), date(2011, 8, 15)):
        other = [row if row[0] < morning else (row[0], row[1] - 9, row[2] - 7) for row in rows]
        changed = {said.as_of: said for said in _everything_said(other, 2004)}
        for day, said in honest.items():
            if day <= morning:
                assert changed[day] == said, f"what was said on {day} knew of {morning} or later"
        # The change is one that matters, for those who may know of it.
        assert any(changed[day] != said for day, said in honest.items() if day > morning)


def test_nothing_said_knows_what_came_later():
    _assert_blind(chicago())


@pytest.mark.parametrize("days", [1, 14, 400])
def test_a_peek_at_the_future_is_caught(monkeypatch, days):
    honest = Climate.until
    monkeypatch.setattr(Climate, "until", lambda climate, day: honest(climate, day + timedelta(days=days)))
    with pytest.raises(AssertionError, match="knew of"):
        _assert_blind(chicago())


def test_a_peek_at_later_frosts_is_caught(monkeypatch):
    honest = looks.what_was_said

    def peeking(climate, season, *rest):
        freeze = looks.mean_first_freeze(climate, season)
        return replace(honest(climate, season, *rest), thumb=freeze - 90 * DAY)

    monkeypatch.setattr(looks, "what_was_said", peeking)
    with pytest.raises(AssertionError, match="knew of"):
        _assert_blind(chicago())


@pytest.mark.parametrize("morning", [date(2006, 6, 1), date(2009, 8, 1), date(2013, 7, 1)])
def test_what_was_said_is_what_a_grower_with_only_those_days_would_have_been_told(morning):
    then = sheetfuncs.climate_of([row for row in chicago() if row[0] < morning], "F")
    past = next(past for past in looked_temperate().seasons if past.season == morning.year)
    said = next(said for said in past.said if said.as_of == morning)
    for chance, day in zip(looks.CHANCES, said.last_dates):
        assert day == sheetfuncs.latest_prune_date(then, morning.year, NEED, chance)
    assert said.thumb == sheetfuncs.first_frost(then, morning.year) - 90 * DAY
    assert said.seasons_known == len(then.days.complete)


def test_resting_on_the_last_seasons_only():
    looked = looked_temperate(last_seasons=4)
    for past in looked.seasons[2:]:
        for said in past.said:
            assert said.seasons_known == 4
            recent = [row for row in chicago() if past.season - 4 <= row[0].year and row[0] < said.as_of]
            wanted = sheetfuncs.latest_prune_date(sheetfuncs.climate_of(recent, "F"), past.season, NEED, 0.8)
            assert said.last_dates[1] == wanted


ODD_DAYS = ((1, 5), (4, 2), (6, 1), (8, 15), (9, 15), (10, 20), (12, 20))


def _with_holes(seed, number):
    dice = random.Random(seed)
    gone = set()
    for _ in range(number):
        first = dice.choice(chicago())[0].toordinal()
        gone |= set(range(first, first + dice.choice((1, 2, 3, 4, 9))))
    return [row for row in chicago() if row[0].toordinal() not in gone or row[0].month in (6, 7)]


RECORDS = {
    "Chicago": lambda: temperate(),
    "the south": lambda: sheetfuncs.climate_of(mirrored(chicago()), "F"),
    "nothing ends a season": lambda: sheetfuncs.climate_of(
        [(day, low + 20, high + 20) for day, low, high in chicago()], "F", stall_at="off"
    ),
    "holes": lambda: sheetfuncs.climate_of(_with_holes(0, 40), "F", method="double sine"),
    "more holes": lambda: sheetfuncs.climate_of(_with_holes(2, 20), "F"),
    "days known by half": lambda: sheetfuncs.climate_of(
        [(day, None if day.day == 3 else low, None if day.day == 17 else high) for day, low, high in chicago()], "F"
    ),
    "thirty seasons": lambda: sheetfuncs.climate_of(clemson(1991, 2020), "F"),
}


@pytest.mark.parametrize("need", [NEED, 6000])
@pytest.mark.parametrize("record", RECORDS)
def test_the_quick_way_says_what_the_climate_cut_off_says(record, need):
    climate = RECORDS[record]()
    south = climate.hemisphere == "south"
    days = tuple(((month + 5) % 12 + 1, day) for month, day in ODD_DAYS) if south else ODD_DAYS
    looked = looks.look_back(climate, need, as_of=days, least_seasons=3)
    assert looked.seasons
    for past in looked.seasons[-9:]:
        for said in past.said:
            assert said == looks.what_was_said(climate, past.season, said.as_of, need, 10, looks.CHANCES)


# -- what happened ----------------------------------------------------------------------------------------


def _slow_season(rows, season, need, lag_days):
    """Reckon a season's last date and end day by day from its own rows."""
    own = {day: (low, high) for day, low, high in rows}
    day, end = date(season, 8, 1), None
    while end is None:
        week = [sum(own[day - step * DAY]) / 2 for step in range(7)]
        if own[day][0] <= 32.09 or sum(week) / 7 < 53.6 - 1e-6:
            end = day
        day += DAY
    heat, start = 0.0, end
    while heat < need:
        start -= DAY
        heat += sheetfuncs.heat_units_day(*own[start], 46.4, 96.8)
    return start - timedelta(days=lag_days), end


def test_what_happened_is_what_the_season_s_own_days_did():
    for past in looked_temperate().seasons:
        last_date, end = _slow_season(chicago(), past.season, NEED, 10)
        assert past.happened == looks.Happened(last_date, end)


def test_what_happened_agrees_with_the_chance_of_the_finished_season():
    full = temperate()
    for past in looked_temperate().seasons:
        last = past.happened.last_date
        known = sheetfuncs.climate_until(full, date(past.season + 1, 7, 31))
        assert sheetfuncs.ripen_chance(known, last, NEED) == 1
        assert sheetfuncs.ripen_chance(known, last + DAY, NEED) == 0


def test_a_season_in_which_no_cut_ripens_is_lost():
    rows = [(day, low, high) if day.year != 2010 else (day, low - 20, high - 20) for day, low, high in chicago()]
    looked = looks.look_back(sheetfuncs.climate_of(rows, "F"), NEED, as_of=((6, 1),), least_seasons=3)
    cold = next(past for past in looked.seasons if past.season == 2010)
    assert cold.happened.last_date is None
    assert looks.days_to_spare(cold, cold.said[0].last_dates[0], -math.inf) == -math.inf
    lost = [row.lost for row in looks.skill(looked)]
    assert min(lost) >= 1
    rows = {row.promised: row for row in looks.calibration(looked)}
    assert rows[0.9].seasons == 12
    assert rows[0.9].held <= 11


def test_a_season_whose_end_is_not_known_is_left_out():
    warm = [(day, low + 20, high + 20) for day, low, high in chicago()]  # no freeze before December
    gap = [row for row in warm if not date(2010, 12, 1) <= row[0] <= date(2010, 12, 20)]
    looked = looks.look_back(sheetfuncs.climate_of(gap, "F", stall_at="off"), NEED, as_of=((6, 1),), least_seasons=3)
    assert looked.left_out == ((2010, "days missing before its end"),)
    assert len(looked.seasons) == 11


def looked_years(looked):
    return [past.season for past in looked.seasons]


def test_no_date_given_is_counted_apart():
    hardest = looks.look_back(temperate(), 2100 * 1.8, as_of=((6, 1),), least_seasons=3)
    rows = looks.calibration(hardest)
    assert [row.none_given for row in rows] == [0, 3, 6]
    assert all(row.seasons + row.none_given == 12 for row in rows)
    assert {row.seasons for row in looks.skill(hardest)} == {6}


# -- figures ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("held", "number"), [(0, 1), (1, 1), (0, 12), (12, 12), (9, 12), (65, 85), (1, 300), (250, 300)]
)
def test_the_interval_is_clopper_and_pearson_s(held, number):
    wanted = stats.binomtest(held, number).proportion_ci(0.95, "exact")
    assert looks.binomial_interval(held, number) == pytest.approx((wanted.low, wanted.high), abs=1e-9)


@pytest.mark.parametrize("seasons", [3, 5, 10, 30])
@pytest.mark.parametrize("chance", [0.5, 0.8, 0.9])
def test_the_share_to_be_expected_is_that_of_equally_likely_ranks(chance, seasons):
    # One more season among n takes each of the n + 1 places between them equally often.
    past = list(range(2, 2 * seasons + 1, 2))
    date_given = past[seasons - math.ceil(chance * seasons - 1e-9)]
    held = sum(1 for new in range(1, 2 * seasons + 2, 2) if new > date_given)
    assert looks.expected_share(chance, seasons) == pytest.approx(held / (seasons + 1))


def test_dates_that_had_passed_are_counted():
    rows = [row for row in looks.calibration(looked_temperate()) if row.promised == 0.8]
    assert [row.passed for row in rows] == [0, 12, 12]


def test_in_the_south_one_looks_half_a_year_on():
    south = looks.look_back(sheetfuncs.climate_of(mirrored(chicago()), "F"), NEED, least_seasons=3)
    assert south.as_of == ((12, 1), (1, 1), (2, 1))
    north = looked_temperate()
    assert looked_years(south) == looked_years(north)
    for past, other in zip(south.seasons, north.seasons):
        assert [said.as_of.year - past.season for said in past.said] == [-1, 0, 0]
        spare = looks.days_to_spare(past, past.said[0].last_dates[1], 0)
        assert abs(spare - looks.days_to_spare(other, other.said[0].last_dates[1], 0)) <= 2  # leap days


@pytest.mark.parametrize(
    ("climate", "words"),
    [
        (lambda: sheetfuncs.climate_of(VALLEY_NORMALS), "monthly normals hold no single seasons"),
        (
            lambda: sheetfuncs.climate_with_frost(temperate(), date(2015, 10, 20)),
            "typed frost estimates were not known",
        ),
        (
            lambda: sheetfuncs.climate_until(temperate(), "2005-01-01"),
            "weather holds 4 complete seasons, wanted more than 5",
        ),
    ],
)
def test_what_cannot_be_looked_back_on(climate, words):
    with pytest.raises(Unanswerable, match=words):
        looks.look_back(climate(), NEED)


# -- the command ------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def weather_file(tmp_path_factory):
    return str(write_csv(tmp_path_factory.mktemp("weather") / "chicago.csv", chicago()))


def _said(*arguments):
    result = CliRunner().invoke(lookback, list(arguments))
    if isinstance(result.exception, sheetfuncs.InputError):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.stdout


def test_the_command_prints_dates_calibration_skill_and_drift(weather_file):
    text = _said("--weather", weather_file, "--unit", "F", "--least-seasons", "3")
    assert "12 seasons looked back on, 2004 to 2015" in text
    assert "2009            8     23 Jun   -8     23 Jun   -8     20 Jun   -5           15 Jun          5 Oct" in text
    assert "62% to 100%" in text
    assert "average first freeze − 90 days" in text
    assert "2001 to 2015   +7.7 (-10.7 to +26.1)" in text
    assert "not a promise" in text


def test_the_command_s_table_of_all_dates(weather_file):
    text = _said("--weather", weather_file, "--unit", "F", "--least-seasons", "3", "--csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 12 * 3 * 3
    for past in looked_temperate().seasons:
        own = [row for row in rows if row["season"] == str(past.season)]
        wanted = [str(day) for said in past.said for day in said.last_dates]
        assert [row["last_date"] for row in own] == wanted
        assert {row["true_last_date"] for row in own} == {str(past.happened.last_date)}
        for row in own:
            assert (row["ripened"] == "yes") == (row["last_date"] <= row["true_last_date"])
            assert int(row["days_to_spare"]) == (past.happened.last_date - date.fromisoformat(row["last_date"])).days


def test_the_command_s_options_reach_the_reckoning(weather_file):
    options = ["--heat-need", "2070", "--lag-days", "7", "--chance", "70%", "--as-of", "07-15", "--thumb-days", "110"]
    answer = json.loads(_said("--weather", weather_file, "--unit", "F", *options, "--last-seasons", "6", "--json"))
    wanted = looks.look_back(temperate(), 2070, 7, (0.7,), ((7, 15),), last_seasons=6, thumb_days=110)
    assert len(answer["seasons"]) == len(wanted.seasons) == 10
    for got, past in zip(answer["seasons"], wanted.seasons):
        assert got["said"][0]["last_dates"] == [str(past.said[0].last_dates[0])]
        assert got["said"][0]["thumb"] == str(past.said[0].thumb)
        assert got["said"][0]["seasons_known"] <= 6
    assert answer["calibration"][0]["held"] == looks.calibration(wanted)[0].held
    assert answer["drift_of_last_seasons"]["first"] == 2010


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
        _said("--weather", weather_file, "--unit", "F", *options)
    assert caught.value.line.startswith(line)
