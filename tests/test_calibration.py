"""Chances hold what they promise in seasons that nobody had seen: a short form of the calibration command."""

from __future__ import annotations

from statistics import mean

import pytest

from .benchmarks.calibration import places, tallies


@pytest.fixture(scope="module", params=[(3, 0.0), (5, 0.06), (5, 0.12)], ids=str)
def found(request):
    few = [name for name in places() if name != "Clemson"]  # whose 90 seasons make the command long
    return tallies(few, *request.param)


def test_a_promise_holds_but_for_what_so_few_seasons_can_show(found):
    # 85 to 102 seasons, neighbours among them: 95 % intervals of eight and more to each side.
    for way in ("chance", "typed date"):
        assert 0.48 <= mean(found[way].held[0.5]) <= 0.7, way
        assert 0.74 <= mean(found[way].held[0.8]) <= 0.91, way
        assert mean(found[way].held[0.95]) >= 0.83, way


def test_the_chance_is_better_than_counting(found):
    assert mean(found["chance"].brier) < mean(found["counting"].brier)
    assert mean(found["chance"].pinball) < mean(found["counting"].pinball) + 0.1
    assert mean(found["chance"].held[0.95]) > mean(found["counting"].held[0.95])
