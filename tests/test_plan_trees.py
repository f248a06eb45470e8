"""A frame of trees in, a frame of answers out; and a region's stations, mapped over by an engine that exists."""

from __future__ import annotations

from datetime import date

import pytest

import sheetfuncs
from sheetfuncs.functions.examples import valley_days

pandas = pytest.importorskip("pandas")
COMMON = {"season": 2026, "today": "2026-06-12", "buds_seen": "yes"}


@pytest.fixture
def trees():
    return pandas.DataFrame(
        {
            "tag": ["P-1", "P-2", "P-3", "P-4"],
            "heat_need": [1150, 1300, 1300, 1450],
            "position": ["wall", "open", "wall", "open"],
            "need_spread": [0.06, None, 0.12, 0],
            "cut_on": [None, None, "2026-06-10", None],
            "ready_from": ["2026-06-20", None, None, None],
        },
        index=[11, 12, 13, 14],
    )


def test_the_answers_are_those_of_the_functions(valley, trees):
    wall = sheetfuncs.climate_at(valley, 2, 1)
    plan = sheetfuncs.plan_trees({"wall": wall, "open": valley}, trees, **COMMON)
    assert list(plan.index) == list(trees.index)
    first, second, cut = plan.loc[11], plan.loc[12], plan.loc[13]
    last = sheetfuncs.latest_prune_date(wall, 2026, 1150, need_spread=0.06)
    assert first["last_date"].date() == last
    assert first["cut_date"].date() == date(2026, 6, 20)
    assert first["chance"] == sheetfuncs.ripen_chance(wall, "2026-06-20", 1150)
    window = tuple(first[name].date() for name in ("first_ripe", "middle_ripe", "last_ripe"))
    assert window == sheetfuncs.ripen_window(wall, "2026-06-20", 1150)
    assert first["advice"] == sheetfuncs.prune_advice("2026-06-12", "2026-06-20", last, "yes")
    assert second["last_date"].date() == sheetfuncs.latest_prune_date(valley, 2026, 1300)
    assert second["share"] == sheetfuncs.crop_ripe_share(valley, "2026-06-12", 1300)
    assert cut["cut_date"].date() == date(2026, 6, 10)
    assert cut["advice"].startswith("Cut on 10 Jun")


def test_figs_that_were_seen_count_from_their_day_in_every_answer_as_in_the_single_functions(valley):
    seen, last = "2026-06-24", sheetfuncs.latest_prune_date(valley, 2026, 1150, 0.5)
    trees = {
        "heat_need": [1150] * 3, "cut_on": ["2026-06-10", None, "2026-06-10"], "figs_seen": [seen, seen, None],
        "grown_in": ["ground", "container", None], "usual_from": [None, "2026-07-01", None],
    }  # fmt: skip
    plan = sheetfuncs.plan_trees(valley, trees, season=2026, today="2026-07-08", chance=0.5)
    of_figs, of_cut = {"cut_date": seen, "lag_days": 0}, {"cut_date": "2026-06-10"}
    for line, start in enumerate([of_figs, of_figs, of_cut]):
        assert plan["chance"][line] == sheetfuncs.ripen_chance(valley, heat_need=1150, **start)
        assert plan["share"][line] == sheetfuncs.crop_ripe_share(valley, heat_need=1150, **start)
        window = tuple(plan[name][line] for name in ("first_ripe", "middle_ripe", "last_ripe"))
        assert window == sheetfuncs.ripen_window(valley, heat_need=1150, **start)
        known = {name: column[line] for name, column in trees.items()}
        assert plan["advice"][line] == sheetfuncs.prune_advice(
            "2026-07-08", "2026-07-08", last, None, climate=valley, chance=0.5, **known
        )
    assert plan["chance"][0] == plan["chance"][1] < plan["chance"][2]
    assert plan["advice"][0].startswith("Figs seen on 24 Jun")
    bad = sheetfuncs.plan_trees(valley, {"heat_need": [1150], "figs_seen": ["soon"]}, season=2026)
    assert bad["advice"][0].startswith('Check: figs seen is "soon", wanted a date')


def test_a_tree_is_taken_to_be_cut_on_the_usual_day_but_no_later_than_its_last(valley):
    usual, last = ["2026-06-10", "2026-07-20"], sheetfuncs.latest_prune_date(valley, 2026, 1150)
    trees = {"heat_need": [1150, 1150], "usual_from": usual, "grown_in": ["container", "ground"]}
    plan = sheetfuncs.plan_trees(valley, trees, season=2026, today="2026-05-20", buds_seen="yes")
    assert plan["cut_date"] == [date(2026, 6, 10), last]
    for line, grown_in in enumerate(trees["grown_in"]):
        assert plan["advice"][line] == sheetfuncs.prune_advice(
            "2026-05-20", "2026-05-20", last, "yes", climate=valley, heat_need=1150, usual_from=usual[line],
            grown_in=grown_in,
        )  # fmt: skip


def test_plus_and_minus_is_how_far_the_last_date_moves_with_what_is_not_known_of_the_need(valley, trees):
    plan = sheetfuncs.plan_trees(valley, trees, **COMMON)
    late, early = (sheetfuncs.latest_prune_date(valley, 2026, 1300 * share, need_spread=0.12) for share in (0.88, 1.12))
    assert abs(plan.loc[13, "plus_minus_days"] - (late - early).days / 2) <= 0.5
    assert plan.loc[13, "plus_minus_days"] > plan.loc[12, "plus_minus_days"] > 0
    assert plan.loc[14, "plus_minus_days"] == 0


def test_a_line_that_cannot_be_answered_says_why_and_the_others_are_answered(valley, trees):
    odd = trees.assign(heat_need=["much", 1300, None, 9000], position=["open", "nowhere", "open", "open"])
    plan = sheetfuncs.plan_trees({"open": valley}, odd, **COMMON)
    assert plan.loc[11, "advice"].startswith('Check: heat need is "much", wanted heat units')
    assert plan.loc[12, "advice"] == "Check: position is nowhere, which has no climate"
    assert plan.loc[13, "advice"].startswith("Check: heat need is blank")
    assert plan.loc[14, "advice"].startswith("Not this year")
    assert plan["last_date"].isna().all()
    assert sheetfuncs.plan_trees(valley, trees, **COMMON)["last_date"].notna().all()


def test_without_a_frame_the_columns_are_lists_and_the_cut_is_on_the_last_date(valley):
    plan = sheetfuncs.plan_trees(valley, {"heat_need": [1150, 1300]}, season=2026)
    assert plan["last_date"] == [sheetfuncs.latest_prune_date(valley, 2026, need) for need in (1150, 1300)]
    assert plan["cut_date"] == plan["last_date"]
    assert plan["advice"] == [None, None]
    assert sheetfuncs.plan_trees(valley, {"heat_need": []}, season=2026)["last_date"] == []


def test_what_is_wrong_with_all_of_them(valley, trees):
    with pytest.raises(sheetfuncs.InputError, match="trees have no column heat_need"):
        sheetfuncs.plan_trees(valley, trees[["tag"]], season=2026)
    with pytest.raises(sheetfuncs.InputError, match="cut_on is a column of the trees and given for all"):
        sheetfuncs.plan_trees(valley, trees, season=2026, cut_on="2026-06-10")
    with pytest.raises(sheetfuncs.InputError, match="1 to 2 lines, wanted one length"):
        sheetfuncs.plan_trees(valley, {"heat_need": [1, 2], "lag_days": [3]}, season=2026)
    with pytest.raises(TypeError, match="no argument 'saison'"):
        sheetfuncs.plan_trees(valley, trees, saison=2026)


def plan_of(station: tuple[str, float]) -> pandas.DataFrame:
    """Return the plan of one station of a region: its record, made here a little warmer, and its trees."""
    name, warmer = station
    climate = sheetfuncs.climate_of([(day, low + warmer, high + warmer) for day, low, high in valley_days()])
    trees = pandas.DataFrame({"station": name, "heat_need": [1150, 1300]})
    return trees.join(sheetfuncs.plan_trees(climate, trees, season=2026, today="2026-06-12"))


def test_a_region_is_one_map_over_its_stations_by_two_workers():
    bag = pytest.importorskip("dask.bag", reason="dask is not installed")
    stations = [("north", 0.0), ("middle", 0.5), ("south", 1.5), ("lake", 1.0)]
    mapped = bag.from_sequence(stations, npartitions=4).map(plan_of)
    found = pandas.concat(mapped.compute(scheduler="processes", num_workers=2))
    pandas.testing.assert_frame_equal(found, pandas.concat(map(plan_of, stations)))
    assert found.groupby("station")["last_date"].max().is_unique
