"""Our functions in the text of a formula."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheetfuncs import all_functions
from sheetfuncs.hosts.calc.names import adapt, known_functions, mentions_any, tells_blank_from_zero

KNOWN = {"RIPEN_CHANCE": (False, False, False, True), "FIRST_FROST": (False, False)}


@pytest.mark.parametrize(
    ("written", "wanted"),
    [
        ("=ripen_chance(A1;B1;C1)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1)"),
        ("=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1)"),
        ("=sheetfuncs.ripen_chance(A1)", "=SHEETFUNCS.RIPEN_CHANCE(A1)"),
        ("=_xlfn.ripen_chance(A1)", "=SHEETFUNCS.RIPEN_CHANCE(A1)"),
        ("=_xludf.RIPEN_CHANCE(A1)", "=SHEETFUNCS.RIPEN_CHANCE(A1)"),
        ("=_xll.RIPEN_CHANCE (A1)", "=SHEETFUNCS.RIPEN_CHANCE(A1)"),
        ("=[1]!ripen_chance(A1)", "=SHEETFUNCS.RIPEN_CHANCE(A1)"),
        ("=1+'C:/add-ins/figs.xlam'!ripen_chance(A1)", "=1+SHEETFUNCS.RIPEN_CHANCE(A1)"),
        ("=_xlfn.single(ripen_chance(A1))", "=SHEETFUNCS.RIPEN_CHANCE(A1)"),
        ("=_xlfn.single(A1)", "=_xlfn.single(A1)"),
        ("=IF(A1>2;ripen_chance(A1;first_frost(B1;2026));\"\")",
         "=IF(A1>2;SHEETFUNCS.RIPEN_CHANCE(A1;SHEETFUNCS.FIRST_FROST(B1;2026));\"\")"),
        # a blank differs from a 0 by a range of one cell
        ("=ripen_chance(A1;B1;C1;D1)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;D1:D1)"),
        ("=ripen_chance(A1;B1;C1; $D$1 )", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;$D$1:$D$1)"),
        ("=ripen_chance(A1;B1;C1;$Trees.D1)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;$Trees.D1:D1)"),
        ("=ripen_chance(A1;B1;C1;$'My; (trees)'.D$1)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;$'My; (trees)'.D$1:D$1)"),
        ("=ripen_chance(A1;B1;C1;lag)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;IF(ISBLANK(lag);\"\";lag))"),
        ("=ripen_chance(A1;B1;C1;other)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;other)"),
        ("=ripen_chance(A1;B1;C1;trees[[#This Row];[lag; (days)]])",
         "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;"
         "IF(ISBLANK(trees[[#This Row];[lag; (days)]]);\"\";trees[[#This Row];[lag; (days)]]))"),
        ("=ripen_chance(A1;B1;C1;trees[[#This Row];[lag]:[spread]])",
         "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;trees[[#This Row];[lag]:[spread]])"),
        ("=ripen_chance(A1;B1;C1;D1:D9)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;D1:D9)"),
        ("=ripen_chance(A1;B1;C1;D1+1)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;D1+1)"),
        ("=ripen_chance(A1;B1;C1;10)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;10)"),
        ("=ripen_chance(A1;B1;C1;)", "=SHEETFUNCS.RIPEN_CHANCE(A1;B1;C1;)"),
        ("=ripen_chance(A1;{1;2};C1;D1)", "=SHEETFUNCS.RIPEN_CHANCE(A1;{1;2};C1;D1:D1)"),
        ("{=ripen_chance(A1:A9)}", "{=SHEETFUNCS.RIPEN_CHANCE(A1:A9)}"),
    ],
)  # fmt: skip
def test_a_formula_is_mended(written: str, wanted: str) -> None:
    adapted = adapt(written, KNOWN, lambda name: name == "lag")
    assert adapted == wanted
    assert adapt(adapted, KNOWN, lambda name: name == "lag") == wanted


@pytest.mark.parametrize(
    "formula",
    [
        "=SUM(A1;B1)",
        '="ripen_chance(A1;B1;C1;D1)"',
        '="he wrote ""ripen_chance(A1;B1;C1;D1)"""',
        "='ripen_chance(x'.A1",
        "=my_ripen_chance(A1;B1;C1;D1)",
        "=ripen_chance_of(A1;B1;C1;D1)",
        "=ripen_chance+1",
        "=table[ripen_chance(A1;B1;C1;D1)]",
        "=SUM((A1;B1)",
        "=)A1;(",
    ],
)
def test_what_is_not_our_call_stays_as_it_is(formula: str) -> None:
    assert adapt(formula, KNOWN) == formula


@given(st.text(alphabet="AB19;()\"'[]{}=.:,+$! _", max_size=60))
def test_a_formula_without_our_functions_is_never_touched(formula: str) -> None:
    assert adapt(formula, KNOWN) == formula


@given(st.lists(st.sampled_from(
    ["ripen_chance(", "first_frost(", "A1", ";", ")", "(", '"a;)"', "$'x y'.B2", "[1]!", "+", "{1;2}", "_xlfn.single("]
), max_size=20))  # fmt: skip
def test_mending_twice_changes_nothing_more(pieces: list[str]) -> None:
    once = adapt("".join(pieces), KNOWN)
    assert adapt(once, KNOWN) == once


def test_most_formulas_are_passed_by_at_once() -> None:
    mentioned = mentions_any(KNOWN)
    assert mentioned("=1+_xlfn.ripen_Chance(A1)")
    assert not mentioned("=SUM(A1:B9)")
    assert not mentions_any({})("=SUM(A1:B9)")


def test_a_blank_is_told_from_zero_where_it_counts() -> None:
    """Of the declarations: a blank lag means 10 days, a 0 none; a gain of 0 and a blank gain are the same."""
    tells = {
        (function.name, parameter.name): tells_blank_from_zero(parameter)
        for function in all_functions()
        for parameter in function.parameters
    }
    assert tells["latest_prune_date", "lag_days"]
    assert tells["climate_of", "stall_at"]
    assert tells["climate_of", "frost_at"]
    assert tells["heat_units_day", "low"]
    assert tells["latest_prune_date", "chance"]  # a 0 must not pass for the default
    assert not tells["latest_prune_date", "season"]  # neither is a season
    assert not tells["climate_at", "warmer_high"]


def test_every_function_is_known() -> None:
    assert set(known_functions(all_functions())) == {function.worksheet_name for function in all_functions()}
