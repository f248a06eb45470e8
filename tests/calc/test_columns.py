"""Formulas filled down: what is taken for the same formula in another row, and what is not; without an office."""

from __future__ import annotations

import pytest

from sheetfuncs.hosts.calc.columns import changed_column, filled_down


@pytest.mark.parametrize(
    ("formula", "below"),
    [
        ("=A7+$B7+1", "=A8+$B8+1"),
        ("=A7+A$7+$A$7+7", "=A8+A$7+$A$7+7"),
        ("=SUM(A7:C7)-A6-A77-AB7", "=SUM(A8:C8)-A6-A77-AB8"),
        ('=IF(A7="A7";"it""s A7";B7)', '=IF(A8="A7";"it""s A7";B8)'),
        ("='A7 it''s A7'.B2+B7", "='A7 it''s A7'.B2+B8"),
        ("=LOG7(B7)+Rate7+Tree.A7", "=LOG7(B8)+Rate7+Tree.A7"),
    ],
)
def test_only_cells_of_its_own_row_move(formula: str, below: str) -> None:
    moved = filled_down(formula, 7)
    assert moved(7) == formula
    assert moved(8) == below


def test_a_column_is_changed_once_where_it_is_one_formula() -> None:
    calls = []

    def change(formula: str) -> str:
        calls.append(formula)
        return formula.replace("F(", "G(").replace("A", "A:A")

    column = ["=F(A3)", "=F(A4)", "=F(A5)", "=F(A9)", '=F("A7")', '=F("A8")', "=F(A9)"]
    assert changed_column(column, 3, change) == tuple(map(change, column))
    calls.clear()
    changed_column(column, 3, change)
    assert calls == ["=F(A3)", "=F(A9)", '=F("A7")', '=F("A8")', "=F(A9)"]
