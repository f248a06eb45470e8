"""What Calc hands over and takes back."""

from __future__ import annotations

from datetime import date

import pytest

from sheetfuncs import all_functions
from sheetfuncs.cells.climates import CLIMATES, NOT_LOADED
from sheetfuncs.cells.dates import EPOCH_1900, EPOCH_1904
from sheetfuncs.cells.errors import InputError
from sheetfuncs.cells.kinds import DATE, NUMBER, column
from sheetfuncs.functions.declare import WHOLE_COLUMN, Argument, Function, declared
from sheetfuncs.functions.examples import valley_days
from sheetfuncs.hosts.calc.values import _Kept, answer, answering, from_calc, to_calc


@declared(result=DATE, day=Argument(DATE, "a day"), plus=Argument(NUMBER, "days"))
def later(day: date, plus: float = 1) -> date | None:
    """A later day."""
    if plus == 13:
        raise ZeroDivisionError("an oversight")
    return None if plus == 7 else date.fromordinal(day.toordinal() + int(plus))


@declared(result=NUMBER, shape="column", numbers=Argument(column(NUMBER, blanks=True), "numbers"))
def doubled(numbers: tuple) -> list:
    """Twice each number."""
    return [None if number is None else 2 * number for number in numbers]


LATER: Function = later.declaration
DOUBLED: Function = doubled.declaration


@pytest.mark.parametrize(
    ("handed", "wanted"),
    [
        (None, None),
        (0.0, 0.0),
        ("text", "text"),
        ((("",),), ""),
        (((0.0,),), 0.0),
        (((1.0,), (2.0,), ("",)), ((1.0,), (2.0,), ("",))),
        (((1.0, 2.0),), ((1.0, 2.0),)),
    ],
)
def test_what_calc_hands_over(handed: object, wanted: object) -> None:
    assert from_calc(handed) == wanted


def test_of_a_whole_column_the_blank_end_goes() -> None:
    column = ((1.0,), (2.0,)) + (("",),) * 1_048_574
    assert from_calc(column) == column[:WHOLE_COLUMN]
    far = ((1.0,), *((("",),) * 100_000), (2.0,), *((("",),) * 900_000))
    assert from_calc(far) == far[:100_002]


def test_what_calc_takes() -> None:
    assert to_calc(date(2026, 7, 1), EPOCH_1900) == 46204.0
    assert to_calc(date(2026, 7, 1), EPOCH_1904) == 44742.0
    assert to_calc(None, EPOCH_1900) == ""
    assert type(to_calc(True, EPOCH_1900)) is float
    assert to_calc("Check: x", EPOCH_1900) == "Check: x"


def test_a_single_answer_is_one_cell() -> None:
    assert answer(LATER, (46204.0, None), EPOCH_1900) == ((46205.0,),)
    assert answer(LATER, (46204.0, (("",),)), EPOCH_1900) == ((46205.0,),)
    assert answer(LATER, (46204.0, 7.0), EPOCH_1900) == (("",),)
    assert answer(LATER, (0.0, 2.0), EPOCH_1900) == (("",),)


def test_a_date_counts_from_the_document_s_first_day() -> None:
    assert answer(LATER, (44742.0, 2.0), EPOCH_1904) == ((44744.0,),)


def test_columns_answer_with_a_column_and_blank_lines_stay_blank() -> None:
    days = ((46204.0,), ("",), (46206.0,), ("",), ("",))
    assert answer(LATER, (days, 1.0), EPOCH_1900) == ((46205.0,), ("",), (46207.0,), ("",), ("",))
    numbers = ((1.0,), (2.0,), ("",))
    assert answer(DOUBLED, (numbers,), EPOCH_1900) == ((2.0,), (4.0,), ("",))


def test_a_whole_column_is_not_answered_by_a_million_rows() -> None:
    days = ((46204.0,),) + (("",),) * 1_048_575
    assert len(answer(LATER, (days, 1.0), EPOCH_1900)) <= 10_000


def test_one_filled_line_is_not_spread_over_the_others() -> None:
    """A column with one date in it is still a column."""
    days, plus = ((46204.0,), ("",), ("",)), ((1.0,), (1.0,), (1.0,))
    rows = LATER.in_cell([days, plus])
    assert answer(LATER, (days, plus), EPOCH_1900) == tuple((to_calc(cell, EPOCH_1900),) for [cell] in rows)
    assert rows[0] != rows[1]


def test_an_answer_is_kept_but_no_line_that_may_become_an_answer() -> None:
    calls = []

    @declared(result=NUMBER, a=Argument(NUMBER, "a"), b=Argument(NUMBER, "b"))
    def counted(a: float, b: float = 1) -> float:
        """Count the questions."""
        calls.append((a, b))
        if a == 13:
            raise InputError(NOT_LOADED)
        return a + b

    answered = answering(counted.declaration)
    for given in ((1.0, 2.0), (1.0, 2.0), (1.0, ((2.0,),)), (1.0, None), (13.0, 1.0), (13.0, 1.0)):
        answered(given, EPOCH_1900)
    assert calls == [(1, 2), (1, 1), (13, 1), (13, 1)]
    assert answered((1.0, 2.0), EPOCH_1900) == ((3.0,),)
    assert answered((((1.0,), (4.0,)), 2.0), EPOCH_1900) == ((3.0,), (6.0,))
    assert calls[4:] == [(1, 2), (4, 2)]
    # A range is the same by what is in it.
    assert answered((((1.0,), (4.0,)), 2.0), EPOCH_1900) == ((3.0,), (6.0,))
    assert len(calls) == 6
    assert answered((((1.0,), (5.0,)), 2.0), EPOCH_1900) == ((3.0,), (7.0,))
    answered((((1.0,), (13.0,)), 2.0), EPOCH_1900)
    answered((((1.0,), (13.0,)), 2.0), EPOCH_1900)
    assert calls[6:] == [(1, 2), (5, 2), *[(1, 2), (13, 2)] * 2]


def test_the_answers_that_are_kept_have_their_limit() -> None:
    kept = _Kept(10)
    for weight, wanted in ((4, {4}), (6, {4, 6}), (11, set()), (9, {9}), (1, {9, 1}), (2, {2})):
        kept.add(weight, ((float(weight),),), weight)
        assert set(kept.answers) == wanted


def test_a_climate_is_made_again_each_time() -> None:
    """Its text alone would be of no use: the climate behind it must be held."""
    function = {one.name: one for one in all_functions()}["climate_of"]
    rows = tuple((to_calc(day, EPOCH_1900), low, high) for day, low, high in valley_days()[: 4 * 365 + 1])
    answered = answering(function)
    [[text]] = answered((rows,), EPOCH_1900)
    CLIMATES._things.pop(text)
    assert answered((rows,), EPOCH_1900) == ((text,),)
    assert CLIMATES.get(text)


def test_a_fault_of_ours_says_so() -> None:
    [[line]] = answer(LATER, (46204.0, 13.0), EPOCH_1900)
    assert line == "Check: LATER failed, please report it (ZeroDivisionError: an oversight)"
