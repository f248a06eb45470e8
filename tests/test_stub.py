"""The stub that editors and type checkers read is what the declarations say."""

from __future__ import annotations

import ast

import sheetfuncs

from .stub import STUB, written


def test_the_stub_is_the_declarations_own() -> None:
    assert STUB.read_text(encoding="utf-8") == written(), "run: python -m tests.stub"


def test_the_stub_names_all_that_the_package_has() -> None:
    tree = ast.parse(STUB.read_text(encoding="utf-8"))
    defined = {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
    assert defined == {function.name for function in sheetfuncs.all_functions()}
    for name in sheetfuncs.__all__:
        assert hasattr(sheetfuncs, name)
