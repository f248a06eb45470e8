"""What a past season did, from its own days alone."""

from __future__ import annotations

from datetime import date, timedelta

import sheetfuncs
from sheetfuncs.season import hindcast as looks
from sheetfuncs.season.reliability import reliability, rivals

from .records import chicago
from .test_lookback import NEED, looked_temperate, temperate

DAY = timedelta(days=1)


def _slow_season(rows, season, need, lag_days):
    """Find a season's last date and end day by day from its own rows."""
    own = {day: (low, high) for day, low, high in rows}
    autumn = [date(season, 8, 1) + step * DAY for step in range(153)]
    frozen = next((day for day in autumn if own[day][0] <= 32 + 1e-6), date.max)
    weeks = {day: sum(sum(own[day - step * DAY]) / 2 for step in range(7)) / 7 for day in autumn}
    end = min(frozen, max(day for day, mean in weeks.items() if mean >= 53.6 - 1e-6) + DAY)
    heat, start = 0.0, end
    while heat < need:
        start -= DAY
        heat += sheetfuncs.heat_units_day(*own[start], 46.4, 96.8)
    return start - timedelta(days=lag_days), end


def test_what_came_is_what_the_season_s_own_days_did():
    for past in looked_temperate().seasons:
        last_date, end = _slow_season(chicago(), past.season, NEED, 10)
        assert past.outcome == looks.Outcome(last_date, end)


def test_what_came_agrees_with_the_chance_of_the_finished_season():
    full = temperate()
    for past in looked_temperate().seasons:
        last = past.outcome.last_date
        known = sheetfuncs.climate_until(full, date(past.season + 1, 7, 31))
        assert sheetfuncs.ripen_chance(known, last, NEED, 10, 0) == 1
        assert sheetfuncs.ripen_chance(known, last + DAY, NEED, 10, 0) == 0


def test_a_season_in_which_no_cut_ripens_is_lost():
    rows = [(day, low, high) if day.year != 2010 else (day, low - 20, high - 20) for day, low, high in chicago()]
    looked = looks.hindcast(sheetfuncs.climate_of(rows, "F"), NEED, as_of=((6, 1),), least_seasons=3)
    cold = next(past for past in looked.seasons if past.season == 2010)
    assert cold.outcome.last_date is None
    assert cold.days_to_spare(cold.forecasts[0].last_dates[0]) is None
    assert not cold.held(date(2010, 1, 1))
    lost = [row.lost for row in rivals(looked)]
    assert min(lost) >= 1
    rows = {row.promised: row for row in reliability(looked)}
    assert rows[0.9].seasons + rows[0.9].none_given == 12
    assert rows[0.9].held < rows[0.9].seasons


def test_a_season_whose_end_is_not_known_is_left_out():
    warm = [(day, low + 20, high + 20) for day, low, high in chicago()]  # no freeze before December
    gap = [row for row in warm if not date(2010, 12, 1) <= row[0] <= date(2010, 12, 20)]
    looked = looks.hindcast(sheetfuncs.climate_of(gap, "F", stall_at="off"), NEED, as_of=((6, 1),), least_seasons=3)
    assert looked.left_out == ((2010, "days missing before its end"),)
    assert len(looked.seasons) == 11


def test_no_date_given_is_counted_apart():
    hardest = looks.hindcast(temperate(), 1900 * 1.8, as_of=((6, 1),), least_seasons=3)
    rows = reliability(hardest)
    assert [row.none_given for row in rows] == [0, 4, 10]
    assert all(row.seasons + row.none_given == 12 for row in rows)
    assert {row.seasons for row in rivals(hardest)} == {2}
