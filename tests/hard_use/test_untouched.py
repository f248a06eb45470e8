"""Every part of every book but the values of its formulas stays byte for byte, whoever wrote it."""

from __future__ import annotations

import zipfile
from datetime import datetime
from pathlib import Path

import pytest

from sheetfuncs.recalc import recalculate, rename_functions
from sheetfuncs.xlsx import read_values

from ..calc.office import RunningOffice
from ..recalc.books import raw_entries, without_values
from .corpus import WANTED, flat_with_pivot, make, sheet_parts


@pytest.fixture(scope="module")
def corpus(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return make(tmp_path_factory.mktemp("corpus"))


def check(path: Path) -> None:
    """Recalculate a book into another file; what differs must be values in worksheets, and they must be right."""
    out = path.with_name(f"{path.stem} done{path.suffix}")
    recalculate(path, out)
    old, new = raw_entries(path), raw_entries(out)
    assert list(old) == list(new)
    changed = {name for name in old if old[name] != new[name]}
    assert changed <= sheet_parts(path), changed
    assert changed
    with zipfile.ZipFile(path) as before, zipfile.ZipFile(out) as after:
        assert after.testzip() is None
        for part in changed:
            assert without_values(before.read(part)) == without_values(after.read(part)), part
    values = next(iter(read_values(out).values()))
    assert {cell: values[cell] for cell in WANTED} == WANTED
    assert values["E2"] in (datetime(2026, 8, 1), 46235)
    assert values["E4"].startswith('Check: low is "warm", wanted a temperature')
    assert values["F3"] == "ja <&> 表"
    recalculate(out)
    assert raw_entries(out) == new


@pytest.mark.parametrize("number", range(13))
def test_books_of_many_kinds(corpus: list[Path], number: int) -> None:
    check(corpus[number])


def test_the_corpus_is_whole(corpus: list[Path]) -> None:
    assert len(corpus) == 13


@pytest.mark.office
def test_books_that_libreoffice_saved_and_books_that_it_opens(
    corpus: list[Path], tmp_path: Path, plain_office: RunningOffice
) -> None:
    """It saves each of them; those are recalculated too, and it opens all results."""
    plain = [path for path in corpus if path.suffix == ".xlsx"]
    pivot = flat_with_pivot(tmp_path / "with pivot table.fods")
    folder = tmp_path / "saved"
    saved = [plain_office.convert(path, folder / f"{path.stem}.xlsx") for path in (*plain, pivot)]
    with zipfile.ZipFile(saved[-1]) as archive:
        names = archive.namelist()
    for part in ("pivotCache/pivotCacheDefinition1", "pivotCache/pivotCacheRecords1", "pivotTables/pivotTable1"):
        assert f"xl/{part}.xml" in names
    for path in saved:
        check(path)
        rename_functions(path, "calc", path.with_name(f"{path.stem} calc.xlsx"))
    done = [path.with_name(f"{path.stem} done{path.suffix}") for path in (*corpus, *saved)]
    for path in done[: len(corpus)]:
        if not path.exists():
            check(path.with_name(path.name.replace(" done", "")))
    renamed = [path.rename(tmp_path / f"{number}{path.suffix}") for number, path in enumerate(done)]
    for path in renamed:
        opened = plain_office.convert(path, tmp_path / "opened" / f"{path.stem}.ods")
        with zipfile.ZipFile(opened) as archive:
            content = archive.read("content.xml").decode()
        assert 'office:value="9.5"' in content, opened
        with zipfile.ZipFile(path) as archive:
            # A text that an unknown function has left is believed only where the file says which program wrote it.
            assert "docProps/app.xml" not in archive.namelist() or "Check: low is" in content, opened
            has_pivot = "xl/pivotTables/pivotTable1.xml" in archive.namelist()
        assert has_pivot == ("<table:data-pilot-table " in content)
