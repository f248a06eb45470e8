"""The advice through the whole year, as situations that a grower knows, and what holds for all of them."""

from __future__ import annotations

import re
from datetime import date, timedelta
from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sheetfuncs
from sheetfuncs.planner.sheets import trees
from sheetfuncs.season.ripening import Outlook

from .both import mirrored, mirrored_day
from .climates import valley
from .letters import advice_room, lines_in
from .records import chicago, in_celsius, seattle

NEED = 1150
DAY = timedelta(days=1)


@lru_cache(maxsize=None)
def _cool():
    return sheetfuncs.climate_of(seattle())


@lru_cache(maxsize=None)
def _last(need=NEED):
    """Return the last cut date, or the line that there is none, as a sheet would hand it over."""
    try:
        return sheetfuncs.latest_prune_date(valley(), 2026, need)
    except sheetfuncs.InputError as none:
        return none.line


def _advice(today, need=NEED, ready="2026-06-01", buds="yes", **known):
    return sheetfuncs.prune_advice(
        today, ready, known.pop("latest", _last(need)), buds, climate=valley(), heat_need=need, **known
    )


CUT = {"cut_on": "2026-06-10"}
SEEN = {**CUT, "figs_seen": "2026-06-20"}
POT, GROUND = {"grown_in": "container"}, {"grown_in": "ground"}

#: What a grower knows, the day, and the advice. Valley: last cut 22 June, last useful fig 2 July, season's end 18
#: October, hard frost from 3 December, free again from 26 March.
SITUATIONS = {
    "winter, in a pot": ({**POT, "ready": None, "buds": None}, "2026-02-01",
        "Keep it sheltered until 26 Mar; prune while dormant."),
    "winter, in the ground, early crop": ({**GROUND, "ready": None, "buds": None, "early_crop": "yes"}, "2026-02-01",
        "Keep it wrapped until 26 Mar; prune while dormant, but leave last year's shoots."),
    "leaves counted before the last hard night": ({**POT, "ready": "2026-03-10"}, "2026-03-20",
        "Cut by 22 Jun, 94 days to spare."),
    "the frosts are over": ({**POT, "ready": None, "buds": None}, "2026-03-28",
        "Bring it out if it is not yet: count leaves, look for fig buds from 25 May."),
    "spring": ({**POT, "ready": None, "buds": None}, "2026-05-01",
        "Nothing to do yet: count leaves, look for fig buds from 25 May."),
    "not looked yet": ({"ready": None, "buds": None}, "2026-06-01",
        "Count leaves, look for fig buds: with buds, cut by 22 Jun."),
    "leaves to come": ({"ready": "2026-06-12", "buds": None}, "2026-06-01",
        "Too few leaves: look again on 12 Jun, cut by 22 Jun."),
    "no buds": ({"buds": "no"}, "2026-06-05", "No fig buds: do not cut, look again on 12 Jun."),
    "time to cut": ({}, "2026-06-05", "Cut by 22 Jun, 17 days to spare."),
    "time to cut, early crop": ({"early_crop": "yes"}, "2026-06-20",
        "Cut now: 2 days left, last date 22 Jun; leave last year's wood."),
    "cut": (CUT, "2026-06-12", "Cut on 10 Jun: figs should show by 20 Jun."),
    "cut, no figs": (CUT, "2026-06-25",
        "Cut on 10 Jun, no figs noted: look again, those that show by 2 Jul still ripen."),
    "cut, no figs in July": (CUT, "2026-07-10",
        "Cut on 10 Jun, no figs noted: take off what shows now, it is too late to ripen."),
    "figs": (SEEN, "2026-06-21", "Figs seen on 20 Jun: ripe from about 5 Sep; those that show by 2 Jul may stay."),
    "more figs in July": (SEEN, "2026-07-10", "Take off figs that showed after 2 Jul; pick from about 5 Sep."),
    "figs without a cut": ({"figs_seen": "2026-06-12"}, "2026-06-13",
        "Figs seen on 12 Jun: leave it, or cut new shoots by 22 Jun; ripe from about 29 Aug."),
    "late figs": ({"figs_seen": "2026-07-12"}, "2026-07-13",
        "Figs seen on 12 Jul, needed by 2 Jul: they ripen with a chance of 52 %."),
    "figs in September": ({"figs_seen": "2026-09-01"}, "2026-09-02",
        "Figs seen on 1 Sep: too late to ripen, take them off."),
    "ripe soon": (SEEN, "2026-09-01", "Look for ripe figs: expected from about 5 Sep; the season ends about 18 Oct."),
    "picking": ({**SEEN, "picking_since": "2026-09-03"}, "2026-09-10",
        "Picking since 3 Sep; the season ends about 18 Oct."),
    "picked": ({**SEEN, **POT, "picking_since": "2026-09-03", "picking_until": "2026-09-25"}, "2026-09-26",
        "Picking is over: take off green figs, bring it in by 3 Dec."),
    "October": ({**SEEN, **GROUND}, "2026-10-20",
        "The season ended about 18 Oct: take off green figs, wrap it by 3 Dec."),
    "December": ({**SEEN, **POT}, "2026-12-05",
        "Bring it in now if it is not yet: hard frost is to be expected since 3 Dec."),
    "January after": ({**SEEN, **POT}, "2027-01-10", "Keep it sheltered until 26 Mar; prune while dormant."),
    "a day late": ({}, "2026-06-23", "Late: cut now, figs ripen with a chance of 80 %; in a tunnel: by 27 Jun."),
    "much too late": ({}, "2026-08-01",
        "Too late: figs of a cut now hardly ripen; leave it uncut, next year look from 25 May."),
    "leaves too late": ({"need": 1300, "ready": "2026-06-16"}, "2026-06-08",
        "Not this year: leaves enough 16 Jun, last date 12 Jun, chance 71 %. In a tunnel: by 17 Jun."),
    "a need beyond the season": ({"need": 2100}, "2026-06-05",
        "Not this year: the year has too little heat. Next year: an early variety, by 22 Jun."),
}  # fmt: skip


@pytest.mark.parametrize("name", SITUATIONS)
def test_situations(name):
    known, today, line = SITUATIONS[name]
    assert _advice(today, **known) == line


@pytest.mark.parametrize("ready", [date(2016, 5, 20), date(2016, 6, 20), date(2016, 7, 20)])
@pytest.mark.parametrize("need", [1150, 1300, 1450, 1800])
@pytest.mark.parametrize("chance", [0.8, 0.95])
def test_a_cool_place_has_a_date_or_a_reason_and_a_way_out(ready, need, chance):
    climate = _cool()
    try:
        last = sheetfuncs.latest_prune_date(climate, 2016, need, chance)
    except sheetfuncs.InputError as none:
        last = none.line
    line = sheetfuncs.prune_advice(
        "2016-05-15", ready, last, "yes", None, climate, need, chance=chance, usual_from="2016-06-01"
    )
    if isinstance(last, date) and ready <= last:
        assert re.search(r"[Cc]ut by|Cut now", line)
        return
    assert lines_in(line, advice_room(), bold=True) <= 2, line
    assert re.match(r"Not this year: (leaves enough \d|ripe by \d|the year has too little heat)", line)
    assert re.search(r"([:,] by \d+ \w+|an earlier variety)\.$", line)
    promised = re.search(r"[Ii]n a tunnel: by (\d+ \w+)", line)
    if promised:
        tunnel = sheetfuncs.climate_at(climate, 0, 1.3)
        best = sheetfuncs.latest_prune_date(tunnel, 2016, need, chance)
        assert promised[1] == f"{best.day} {best:%b}"


def test_a_season_known_by_now_changes_the_advice():
    climate = sheetfuncs.climate_of(in_celsius(chicago()))
    cut, seen, last = date(2013, 6, 20), date(2013, 7, 2), date(2013, 7, 1)
    ripe = []
    for known_until in (date(2013, 7, 2), date(2013, 9, 1)):
        known = sheetfuncs.climate_until(climate, known_until)
        ripe.append(
            sheetfuncs.prune_advice(date(2013, 7, 2), cut, last, "yes", cut, known, NEED, figs_seen=seen)
        )
    assert ripe[0] != ripe[1]


def test_the_south_has_its_own_year():
    climate = sheetfuncs.climate_of(mirrored(in_celsius(chicago())), hemisphere="south")
    last = sheetfuncs.latest_prune_date(climate, 2017, NEED)
    grown = (last - 20 * DAY, "yes")
    for today, (ready, buds), start in (
        (date(2016, 9, 1), (None, None), "Keep it sheltered until "),
        (last - 10 * DAY, grown, "Cut by "),
        (date(2017, 7, 1), grown, "Keep it sheltered until "),
    ):
        line = sheetfuncs.prune_advice(today, ready, last, buds, None, climate, NEED, grown_in="container")
        assert line.startswith(start), (today, line)


days = st.dates(date(2026, 1, 1), date(2027, 2, 28))
perhaps_day = st.one_of(st.none(), st.dates(date(2026, 5, 1), date(2026, 12, 1)))


@given(
    days, perhaps_day, st.sampled_from([900, 1150, 1450, 2000]), st.sampled_from([None, "yes", "no"]),
    st.fixed_dictionaries({
        "cut_on": perhaps_day, "figs_seen": perhaps_day, "picking_since": perhaps_day, "picking_until": perhaps_day,
        "not_before": perhaps_day, "usual_from": perhaps_day,
        "grown_in": st.sampled_from([None, "container", "ground"]), "early_crop": st.sampled_from([None, "yes"]),
        "chance": st.sampled_from([0.3, 0.5, 0.8, 0.95]),
    }),
)  # fmt: skip
@settings(max_examples=400)
def test_any_tree_on_any_day(today, ready, need, buds, known):
    latest = _last(need)
    line = _advice(today, need, ready, buds, latest=latest, **known)
    assert re.fullmatch(r"[A-Z].{8,}\.", line), line
    assert lines_in(line, advice_room(), bold=line.startswith(trees.LATE)) <= 2, line
    for word in ("None", "Check", "..", ";.", ": ."):
        assert word not in line
    if line.startswith(("Cut by", "Cut now")):
        assert buds == "yes"
        assert isinstance(latest, date)
        assert today <= latest
        assert known["not_before"] is None or today >= known["not_before"]
    if line.startswith("Not this year"):
        # Only where the chance does not hold, or the grower's own first day comes too late.
        assert not isinstance(latest, date) or max(ready or today, known["not_before"] or today, today) > latest


@given(days, st.sampled_from([900, 1150]), st.dates(date(2026, 6, 1), date(2026, 7, 30)))
def test_dates_in_the_advice_are_the_functions_own(today, need, seen):
    line = _advice(today, need, figs_seen=seen)
    fig = sheetfuncs.last_useful_fig_date(valley(), 2026, need)
    for found in re.findall(r"those that show by (\d+ \w+)|showed after (\d+ \w+)|needed by (\d+ \w+)", line):
        assert "".join(found) == f"{fig.day} {fig:%b}"
    for found in re.findall(r"(?:ripe|pick|expected) from about (\d+ \w+)", line):
        ripe = sheetfuncs.ripen_window(valley(), seen, need, 250, 0)[0]
        assert found == f"{ripe.day} {ripe:%b}"


@given(st.floats(700, 1600), st.sampled_from([0.5, 0.8, 0.95]), st.integers(0, 30))
def test_the_last_useful_fig_shows_the_lag_after_the_last_cut(need, chance, lag):
    try:
        cut = sheetfuncs.latest_prune_date(valley(), 2026, need, chance, lag)
    except sheetfuncs.InputError:
        return
    assert sheetfuncs.last_useful_fig_date(valley(), 2026, need, chance) == cut + lag * DAY


def test_outlook_and_functions_agree():
    outlook = Outlook(valley(), 2026, NEED)
    assert outlook.last_cut() == _last()
    assert outlook.chance_of(outlook.figs_of(_last())) == sheetfuncs.ripen_chance(valley(), _last(), NEED)
    assert outlook.end() == sheetfuncs.season_end(valley(), 2026)
    assert mirrored_day(date(2026, 8, 1)) == date(2026, 2, 1)
