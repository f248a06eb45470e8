"""The files keep the schema of Open XML, by a validator that knows the vendor's own rules."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetfuncs.hosts.excel.book import make_macro_book
from sheetfuncs.planner.build import make_reproducible
from sheetfuncs.planner.font_order import with_fonts_in_order
from sheetfuncs.planner.sheets.contents import BLANK, Contents
from sheetfuncs.recalc import recalculate

from ..cli.carried import SMALL, small


def schema_errors(path: Path) -> list[str]:
    """Return what breaks the schema; texts that stand in their cells are in it, and no error."""
    from openxml_audit import OpenXmlValidator, ValidationErrorType  # which takes a while

    errors = OpenXmlValidator().validate(str(path)).errors
    return [str(error) for error in errors if error.error_type is not ValidationErrorType.SEMANTIC]


@pytest.mark.parametrize("contents", [BLANK, SMALL], ids=["blank", "filled"])
def test_a_workbook_keeps_the_schema(contents: Contents, tmp_path: Path) -> None:
    path = small(tmp_path / "season.xlsx", contents)
    recalculate(path)
    make_reproducible(path)
    assert schema_errors(path) == []
    assert schema_errors(make_macro_book(path, tmp_path / "season.xlsm")) == []


def test_the_parts_of_a_font_are_put_in_order_and_nothing_else_is_touched() -> None:
    font = b'<font><name val="Arial"/><family val="2"/><b val="1"/><color rgb="00FFFFFF"/><sz val="11"/></font>'
    wanted = b'<font><b val="1"/><sz val="11"/><color rgb="00FFFFFF"/><name val="Arial"/><family val="2"/></font>'
    other = b'<font><own val="1"/><b/></font><font/><x><font>text</font></x>'
    assert with_fonts_in_order(b"<fonts>" + font + other + b"</fonts>") == b"<fonts>" + wanted + other + b"</fonts>"
