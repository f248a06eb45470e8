"""The engine against LibreOffice over the formulas that people use: every difference is judged, none goes unseen."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from sheetfuncs.recalc import recalculate
from sheetfuncs.xlsx import read_values

from ..calc.office import RunningOffice
from .formulas_in_use import FORMULAS_FROM, Judged, book_of, judged_formulas
from .functions import FUNCTIONS

TABLE = judged_formulas()
#: Those that depend on the whole sheet are in a book of their own, where no refused cell is.
BOOKS = [
    [item for item in TABLE if (item.sheet, item.is_wide) == (sheet, is_wide)]
    for sheet in ("plain", "mixed")
    for is_wide in (False, True)
]


def evaluated(tmp_path: Path, formulas: list[Judged]) -> tuple[Path, list[Any], list[str]]:
    """Return a book without values, the engine's answers, and why each is refused."""
    path = book_of(tmp_path / "book.xlsx", formulas)
    result = recalculate(path, tmp_path / "done.xlsx", functions=FUNCTIONS)
    refused = {cell.cell: cell.why for cell in result.refused}
    values = read_values(tmp_path / "done.xlsx")["Data"]
    cells = [f"Z{row}" for row in range(FORMULAS_FROM, FORMULAS_FROM + len(formulas))]
    return path, [values.get(cell) for cell in cells], [refused.get(cell, "") for cell in cells]


def is_one(ours: Any, theirs: Any) -> bool:
    """Return whether two stored values are one; numbers to the 12th digit, an empty text like none."""
    if isinstance(ours, bool) or isinstance(theirs, bool):
        return ours is theirs
    if isinstance(ours, (int, float)) and isinstance(theirs, (int, float)):
        return ours == pytest.approx(theirs, rel=1e-12, abs=0)
    return (ours or "") == (theirs or "") and (ours == theirs or not ours)


@pytest.mark.parametrize("book", BOOKS)
def test_what_is_judged_as_refused_is_refused_and_nothing_else(tmp_path: Path, book: list[Judged]) -> None:
    _, values, refused = evaluated(tmp_path, book)
    for item, value, why in zip(book, values, refused):
        assert (item.judged == "refused") == bool(why), (item, value, why)
        assert not why or value is None


@pytest.mark.office
def test_what_is_judged_as_same_is_the_same(tmp_path: Path, plain_office: RunningOffice) -> None:
    for number, book in enumerate(BOOKS):
        folder = tmp_path / str(number)
        folder.mkdir()
        path, ours, _ = evaluated(folder, book)
        office = read_values(plain_office.convert(path, folder / "office.xlsx"))["Data"]
        theirs = [office.get(f"Z{row}") for row in range(FORMULAS_FROM, FORMULAS_FROM + len(book))]
        for item, one, other in zip(book, ours, theirs):
            if item.judged != "refused":
                assert is_one(one, other) == (item.judged == "same"), (item, one, other)


def test_the_table_is_whole() -> None:
    assert len({(item.sheet, item.kind, item.formula) for item in TABLE}) == len(TABLE)
    counts = Counter(item.judged for item in TABLE)
    assert set(counts) == {"same", "refused", "office"}
    assert all(bool(item.note) == (item.judged == "office") for item in TABLE)
    assert counts["same"] > 1000
    assert Counter(item.kind for item in TABLE)["array"] > 100
