"""The closed forms of a day's heat against numerical integration, and the traps at their edges."""

from __future__ import annotations

import math
import random

import pytest
from scipy.integrate import quad

import sheetfuncs
from sheetfuncs.functions.examples import VALLEY_NORMALS

METHODS = ("average", "clipped average", "triangle", "double triangle", "sine", "double sine")
CUTOFFS = ("horizontal", "intermediate", "vertical")
BASE, CEILING = 8.0, 36.0


def _random_days(count, seed):
    """Return days of every kind: below, across and above both thresholds, steady ones, and exact hits."""
    dice = random.Random(seed)
    days = []
    for _ in range(count):
        low = dice.choice((dice.uniform(-15, 40), float(dice.randint(-15, 40)), BASE, CEILING))
        high = low + dice.choice((0.0, dice.uniform(0, 25), float(dice.randint(0, 25))))
        if dice.random() < 0.1:
            high = max(low, CEILING)
        next_low = min(high, low + dice.uniform(-10, 10))
        days.append((low, high, next_low))
    return days


def _counted(cutoff):
    """Return what one moment at a temperature counts for, above the base, by the cut-off."""

    def moment(temperature):
        above_base, above_ceiling = max(temperature - BASE, 0.0), max(temperature - CEILING, 0.0)
        if cutoff == "horizontal":
            return above_base - above_ceiling
        if cutoff == "intermediate":
            return above_base - 2 * above_ceiling
        return 0.0 if temperature > CEILING else above_base

    return moment


def _integrated(low, high, shape, moment):
    """Return the mean over a half day that rises from low to high along a line or a half sine wave."""
    middle, swing = (low + high) / 2, (high - low) / 2
    if swing == 0:
        return moment(middle)
    corners = [(x - middle) / swing for x in (BASE, CEILING) if low < x < high]
    if shape == "sine":
        value, _ = quad(
            lambda angle: moment(middle + swing * math.sin(angle)),
            -math.pi / 2,
            math.pi / 2,
            points=[math.asin(corner) for corner in corners] or None,
            epsabs=1e-9,
        )
        return value / math.pi
    value, _ = quad(lambda x: moment(middle + swing * x), -1, 1, points=corners or None, epsabs=1e-9)
    return value / 2


@pytest.mark.parametrize("shape", ["triangle", "sine"])
@pytest.mark.parametrize("cutoff", CUTOFFS)
def test_single_methods_equal_the_integral(shape, cutoff):
    moment = _counted(cutoff)
    for low, high, _ in _random_days(2000, seed=len(shape + cutoff)):
        wanted = max(_integrated(low, high, shape, moment), 0.0)
        found = sheetfuncs.heat_units_day(low, high, BASE, CEILING, shape, cutoff)
        assert found == pytest.approx(wanted, abs=1e-6), (low, high)


@pytest.mark.parametrize("shape", ["triangle", "sine"])
@pytest.mark.parametrize("cutoff", CUTOFFS)
def test_double_methods_equal_the_integral_of_two_half_days(shape, cutoff):
    moment = _counted(cutoff)
    for low, high, next_low in _random_days(1000, seed=len(shape + cutoff) + 1):
        halves = [_integrated(low, high, shape, moment), _integrated(next_low, high, shape, moment)]
        if cutoff == "intermediate" and min(halves) < 0 < max(halves):
            continue  # whether each half or the day is floored at 0 is no matter of integration
        found = sheetfuncs.heat_units_day(low, high, BASE, CEILING, f"double {shape}", cutoff, next_low)
        assert found == pytest.approx(max(sum(halves) / 2, 0.0), abs=1e-6), (low, high, next_low)


def test_average_methods_count_one_and_two_temperatures():
    for low, high, _ in _random_days(1000, seed=5):
        for cutoff in CUTOFFS:
            moment = _counted(cutoff)
            average = sheetfuncs.heat_units_day(low, high, BASE, CEILING, "average", cutoff)
            assert average == pytest.approx(max(moment((low + high) / 2), 0.0), abs=1e-9), (low, high, cutoff)
        # Clipping both extremes is a horizontal cut-off in itself; it knows no other.
        both = (_counted("horizontal")(low) + _counted("horizontal")(high)) / 2
        clipped = sheetfuncs.heat_units_day(low, high, BASE, CEILING, "clipped average")
        assert clipped == pytest.approx(both, abs=1e-9), (low, high)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("cutoff", CUTOFFS)
@pytest.mark.parametrize(
    ("low", "high", "wanted"),
    [(8, 8, 0), (0, 8, 0), (-5, 3, 0), (20, 20, 12), (36, 36, 28), (8, 36, 14), (10, 20, 7)],
)
def test_the_edges_of_the_thresholds(method, cutoff, low, high, wanted):
    # A steady day, low exactly the base, high exactly the ceiling: nothing divided by zero or counted twice.
    assert sheetfuncs.heat_units_day(low, high, 8, 36, method, cutoff, low) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("method", [method for method in METHODS if method != "clipped average"])
def test_above_the_ceiling_a_cut_off_decides(method):
    found = [sheetfuncs.heat_units_day(40, 44, 8, 36, method, cutoff, 40) for cutoff in CUTOFFS]
    assert found == pytest.approx([28, 22, 0])  # the ceiling; as far below it as the day is above it; nothing
    assert sheetfuncs.heat_units_day(40, 44, 8, None, method, None, 40) == pytest.approx(34)


def test_a_double_method_without_the_next_low_takes_the_same_day_s():
    for shape in ("triangle", "sine"):
        single = sheetfuncs.heat_units_day(5, 25, 8, 36, shape)
        assert sheetfuncs.heat_units_day(5, 25, 8, 36, f"double {shape}") == pytest.approx(single)


@pytest.mark.parametrize(
    ("ours", "theirs"), [("stays level", "horizontal"), ("counts against", "intermediate"), ("stops", "vertical")]
)
def test_plain_words_mean_what_the_literature_calls_otherwise(ours, theirs):
    for low, high, next_low in _random_days(50, seed=7):
        day = low, high, BASE, CEILING
        assert sheetfuncs.heat_units_day(*day, "sine", ours) == sheetfuncs.heat_units_day(*day, "sine", theirs)
        assert sheetfuncs.heat_units_day(*day, "mean", ours) == sheetfuncs.heat_units_day(*day, "average", theirs)
        # Where the next low is given, the afternoon runs down to it.
        double = sheetfuncs.heat_units_day(*day, "double sine", theirs, next_low)
        assert sheetfuncs.heat_units_day(*day, "sine", ours, next_low) == double
    climates = [sheetfuncs.climate_of(VALLEY_NORMALS, cutoff=word, method="mean") for word in (ours, theirs)]
    assert str(climates[0]) == str(climates[1])


def test_the_method_unless_given_is_the_sine_with_horizontal_cut_off():
    for low, high, _ in _random_days(50, seed=6):
        default = sheetfuncs.heat_units_day(low, high, BASE, CEILING)
        assert default == sheetfuncs.heat_units_day(low, high, BASE, CEILING, "sine", "horizontal")


@pytest.mark.parametrize("method", METHODS)
def test_fahrenheit_days_are_celsius_days_times_1_8(method):
    for low, high, next_low in _random_days(200, seed=7):
        celsius = sheetfuncs.heat_units_day(low, high, 8, 36, method, "horizontal", next_low)
        low_f, high_f, next_f = (value * 1.8 + 32 for value in (low, high, next_low))
        fahrenheit = sheetfuncs.heat_units_day(low_f, high_f, 46.4, 96.8, method, "horizontal", next_f)
        assert fahrenheit == pytest.approx(celsius * 1.8, abs=1e-9)
