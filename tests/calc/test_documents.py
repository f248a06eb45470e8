"""Which cells of a document are written again, and the calendars of several documents; without an office."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest

from sheetfuncs.hosts.calc.documents import OpenDocuments, _changed_runs


@pytest.mark.parametrize(
    ("before", "after", "runs"),
    [
        ("abc", "abc", []),
        ("abc", "xyz", [(0, 2)]),
        ("abcde", "xbcyz", [(0, 0), (3, 4)]),
        ("abcde", "abxde", [(2, 2)]),
        (["a", "{=a}", "{=a}", "b"], ["x", "{=x}", "{=x}", "y"], [(0, 0), (1, 1), (2, 2), (3, 3)]),
        (["a", "{=a}", "b"], ["x", "{=a}", "y"], [(0, 0), (2, 2)]),
    ],
)
def test_changed_cells_are_written_run_by_run(before: Any, after: Any, runs: list[tuple[int, int]]) -> None:
    assert list(_changed_runs(before, after)) == runs


def _document(identity: str, year: int, month: int, day: int) -> SimpleNamespace:
    return SimpleNamespace(RuntimeUID=identity, NullDate=SimpleNamespace(Year=year, Month=month, Day=day))


def test_two_calendars_at_once_are_no_calendar() -> None:
    documents = OpenDocuments({}, "Ctrl+Shift+F9")
    assert documents.epoch == date(1899, 12, 30)
    documents._remember(_document("a", 1904, 1, 1))
    assert documents.epoch == date(1904, 1, 1)
    documents._remember(_document("b", 1899, 12, 30))
    assert documents.epoch is None
    assert len(documents.mixed_line) < 100
    assert documents.mixed_line.endswith("then recalculate (Ctrl+Shift+F9)")
    documents.closed("a")
    assert documents.epoch == date(1899, 12, 30)
    documents.closed("b")
    documents.closed("never opened")
    assert documents.epoch == date(1899, 12, 30)


def test_undoing_looks_through_a_book_only_after_a_function_was_typed(monkeypatch: pytest.MonkeyPatch) -> None:
    documents = OpenDocuments({"NAME": (False,)}, "keys")
    looked: list[Any] = []
    monkeypatch.setattr(documents, "changed", lambda document, ranges: looked.append(document))
    document = _document("a", 1904, 1, 1)
    document.Sheets = SimpleNamespace(getCount=lambda: 0)
    documents.stepped(document)
    assert looked == []
    documents._typed.add("a")
    documents.stepped(document)
    assert looked == [document]
    documents.closed("a")
    documents.stepped(document)
    assert looked == [document]
