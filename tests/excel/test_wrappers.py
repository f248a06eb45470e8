"""The wrappers: those that xlwings writes from our functions, and those that are put in beforehand."""

from __future__ import annotations

import re

import pytest

from sheetfuncs.functions import all_functions
from sheetfuncs.hosts.excel.vba import ENCODING, WRAPPERS, macro_modules
from sheetfuncs.hosts.excel.wording import argument_help, function_help

from .samples import FUNCTIONS, NAMES
from .windows import FakeBook

VERSION = "0.37.8"
every_function = pytest.mark.parametrize("function", FUNCTIONS, ids=NAMES)

# What the macro language keeps for itself, from its published grammar (MS-VBAL, 3.3.5.2): no name may be one of them.
KEPT = frozenset({
    "abs", "addressof", "and", "any", "array", "as", "attribute", "boolean", "byref", "byte", "byval", "call",
    "case", "cbool", "cbyte", "ccur", "cdate", "cdbl", "cdec", "cdecl", "cint", "circle", "clng", "clnglng",
    "clngptr", "close", "const", "csng", "cstr", "currency", "cvar", "cverr", "date", "debug", "decimal",
    "declare", "defbool", "defbyte", "defcur", "defdate", "defdbl", "defdec", "defint", "deflng", "deflnglng",
    "deflngptr", "defobj", "defsng", "defstr", "defvar", "dim", "do", "doevents", "double", "each", "else",
    "elseif", "empty", "end", "endif", "enum", "eqv", "erase", "event", "exit", "false", "fix", "for", "friend",
    "function", "get", "global", "gosub", "goto", "if", "imp", "implements", "in", "input", "inputb", "int",
    "integer", "is", "lbound", "len", "lenb", "let", "like", "linput", "lock", "long", "longlong", "longptr",
    "loop", "lset", "me", "mod", "new", "next", "not", "nothing", "null", "on", "open", "option", "optional",
    "or", "paramarray", "preserve", "print", "private", "pset", "public", "put", "raiseevent", "redim", "rem",
    "resume", "return", "rset", "scale", "seek", "select", "set", "sgn", "shared", "single", "spc", "static",
    "stop", "string", "sub", "tab", "then", "to", "true", "type", "typeof", "ubound", "unlock", "until",
    "variant", "wend", "while", "with", "withevents", "write", "xor",
})  # fmt: skip


@pytest.fixture(scope="module")
def imported(excel) -> FakeBook:
    """A workbook after *Import Functions*."""
    return excel.import_functions(FakeBook())


@pytest.fixture(scope="module", params=["by xlwings", "beforehand"])
def macros(request, imported) -> str:
    """Both macro modules in turn."""
    return imported.macros if request.param == "by xlwings" else macro_modules(all_functions(), VERSION)[WRAPPERS]


def signatures(macros: str) -> dict[str, list[str]]:
    """Return the functions of a macro module with their arguments."""
    found = re.findall(r"^(?:Public )?Function (\w+)\((.*)\)$", macros.replace("\r", ""), re.MULTILINE)
    assert all(part.startswith("Optional ") for _, listed in found for part in listed.split(", "))
    return {name: [part[len("Optional ") :] for part in listed.split(", ")] for name, listed in found}


def test_every_function_is_there_once_with_its_arguments_in_order(macros):
    found = signatures(macros)
    assert sorted(found) == sorted(NAMES)
    assert len(re.findall(r"^(?:Public )?Function ", macros.replace("\r", ""), re.MULTILINE)) == len(NAMES)
    for function in FUNCTIONS:
        wanted = [parameter.name for parameter in function.parameters]
        renamed = {"end": "end_date", "base": "base_temperature", "season_end": "season_end_date"}
        assert found[function.worksheet_name] == [renamed.get(name, name) for name in wanted]


def test_the_module_has_the_name_that_a_later_import_replaces(macros):
    assert macros.splitlines()[0] == f'Attribute VB_Name = "{WRAPPERS}"' == 'Attribute VB_Name = "xlwings_udfs"'


def test_no_name_is_one_the_macro_language_keeps(macros):
    for name, arguments in signatures(macros).items():
        assert re.fullmatch(r"[A-Z][A-Z0-9_]{2,60}", name)
        assert not re.fullmatch(r"[A-Z]{1,3}\d+|R\d*C\d*", name), "a cell's address"
        lower = [argument.lower() for argument in arguments]
        assert all(re.fullmatch(r"[a-z][a-z0-9_]*", argument) for argument in lower)
        assert not KEPT & {*lower, name.lower()}
        assert len(set(lower)) == len(lower)
        assert not {known.lower() for known in NAMES} & set(lower)
        assert not {"xlpy", "thisworkbook", "application", "range", "err", "failed", "answer"} & set(lower)


def test_lines_are_no_longer_than_the_macro_language_takes(macros):
    lines = macros.splitlines()
    assert max(map(len, lines)) <= 1023
    for number, line in enumerate(lines[:-1]):
        if line.endswith(" _"):
            assert lines[number + 1].strip()


@pytest.mark.parametrize("name", ["xlwings_udfs", "sheetfuncs_server"])
def test_the_modules_put_in_beforehand_hold_in_the_project_s_code_page(name):
    macros = macro_modules(all_functions(), VERSION)[name]
    assert macros.encode(ENCODING).decode(ENCODING) == macros
    assert "?" not in macros
    assert macros.count("\r\n") == macros.count("\n")


@every_function
def test_help_reaches_excel_whole(imported, function):
    helps = imported.helps[function.worksheet_name]
    assert helps["Description"] == function_help(function)
    assert helps["Description"].startswith(function.summary)
    assert helps["ArgumentDescriptions"] == [argument_help(parameter) for parameter in function.parameters]
    for help_text, parameter in zip(helps["ArgumentDescriptions"], function.parameters):
        assert help_text.startswith(parameter.help)
        assert parameter.required or "left out" in help_text
        assert parameter.default_text in help_text
    assert helps["Category"] == "sheetfuncs"
    for text in (helps["Description"], *helps["ArgumentDescriptions"]):
        assert 3 < len(text) <= 255
        assert "\n" not in text
        assert "``" not in text


@every_function
def test_the_module_put_in_beforehand_carries_the_help(function):
    macros = macro_modules([function], VERSION)[WRAPPERS]
    help_text = re.search(rf'^Attribute {function.worksheet_name}\.VB_Description = "(.*)"\r$', macros, re.MULTILINE)
    assert help_text
    assert '"' not in help_text[1].replace('""', "")
    assert help_text[1].replace('""', '"').startswith(function.summary.replace("−", "-"))
