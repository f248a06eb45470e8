"""What Calc hands over and takes back."""

from __future__ import annotations

from datetime import date

import pytest

from sheetfuncs.cells.dates import EPOCH_1900, EPOCH_1904
from sheetfuncs.cells.kinds import DATE, NUMBER, column
from sheetfuncs.functions.declare import Argument, Function, worksheet_function
from sheetfuncs.hosts.calc.values import answer, from_calc, to_calc


@worksheet_function(theme="Test", result=DATE, day=Argument(DATE, "a day"), plus=Argument(NUMBER, "days"))
def later(day: date, plus: float = 1) -> date | None:
    """A later day."""
    if plus == 13:
        raise ZeroDivisionError("an oversight")
    return None if plus == 7 else date.fromordinal(day.toordinal() + int(plus))


@worksheet_function(
    theme="Test", result=NUMBER, shape="column", numbers=Argument(column(NUMBER, blanks=True), "numbers")
)
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
        (((1.0,), (2.0,), ("",), ("",)), ((1.0,), (2.0,))),
        ((("",), ("",)), ""),
        (((1.0, "a"), ("", "b"), ("", "")), ((1.0, "a"), ("", "b"))),
        (((1.0, 2.0),), ((1.0, 2.0),)),
    ],
)
def test_what_calc_hands_over(handed: object, wanted: object) -> None:
    assert from_calc(handed) == wanted


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


def test_a_fault_of_ours_says_so() -> None:
    [[line]] = answer(LATER, (46204.0, 13.0), EPOCH_1900)
    assert line == "Check: LATER failed, please report it (ZeroDivisionError: an oversight)"
