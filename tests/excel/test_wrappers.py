"""The macro module: the one that xlwings writes from our functions, and the one that is put in beforehand."""

from __future__ import annotations

import re
from typing import Any

import pytest

from sheetfuncs.functions import all_functions
from sheetfuncs.hosts.excel.vba import ENCODING, MODULE, PYTHON_MODULE, wrapper_module
from sheetfuncs.hosts.excel.wording import RESERVED, argument_help, function_help

from .samples import FUNCTIONS, NAMES
from .windows import MISSING, FakeBook

every_function = pytest.mark.parametrize("function", FUNCTIONS, ids=NAMES)

# By hand, from the language's published grammar: words that no argument and no function can have as a name.
NEVER = {"end", "date", "next", "type", "single", "string", "loop", "input", "scale", "array", "me", "rem", "set"}


@pytest.fixture(scope="module")
def imported(excel) -> FakeBook:
    """A workbook after *Import Functions*."""
    return excel.import_functions(FakeBook())


@pytest.fixture(scope="module", params=["by xlwings", "beforehand"])
def macros(request, imported) -> str:
    """Both macro modules in turn."""
    return imported.macros if request.param == "by xlwings" else wrapper_module(all_functions())


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
        renamed = {"end": "end_date", "season_end": "season_end_date"}
        assert found[function.worksheet_name] == [renamed.get(name, name) for name in wanted]


def test_the_module_has_the_name_that_a_later_import_replaces(macros):
    assert macros.splitlines()[0] == f'Attribute VB_Name = "{MODULE}"' == 'Attribute VB_Name = "xlwings_udfs"'


def test_no_name_is_one_the_macro_language_keeps(macros):
    assert NEVER <= RESERVED
    for name, arguments in signatures(macros).items():
        assert re.fullmatch(r"[A-Z][A-Z0-9_]{2,60}", name)
        assert not re.fullmatch(r"[A-Z]{1,3}\d+|R\d*C\d*", name), "a cell's address"
        lower = [argument.lower() for argument in arguments]
        assert all(re.fullmatch(r"[a-z][a-z0-9_]*", argument) for argument in lower)
        assert not RESERVED & {*lower, name.lower()}
        assert len(set(lower)) == len(lower)
        assert not {known.lower() for known in NAMES} & set(lower)
        assert not {"xlpy", "thisworkbook", "application", "range", "err", "failed"} & set(lower)


def test_lines_are_no_longer_than_the_macro_language_takes(macros):
    lines = macros.splitlines()
    assert max(map(len, lines)) <= 1023
    for number, line in enumerate(lines[:-1]):
        if line.endswith(" _"):
            assert lines[number + 1].strip()


def test_the_module_put_in_beforehand_holds_in_the_project_s_code_page():
    macros = wrapper_module(all_functions())
    assert macros.encode(ENCODING).decode(ENCODING) == macros
    assert "?" not in macros
    assert macros.count("\r\n") == macros.count("\n")


@every_function
def test_help_reaches_excel_whole(imported, function):
    helps = imported.helps[function.worksheet_name]
    assert helps["Description"] == function_help(function)
    assert helps["Description"].startswith(function.summary)
    assert helps["ArgumentDescriptions"] == [argument_help(parameter) for parameter in function.parameters]
    for told_help, parameter in zip(helps["ArgumentDescriptions"], function.parameters):
        assert told_help.startswith(parameter.help)
        assert parameter.required or "left out" in told_help
        assert parameter.default_text in told_help
    assert helps["Category"] == "sheetfuncs"
    for text in (helps["Description"], *helps["ArgumentDescriptions"]):
        assert 3 < len(text) <= 255
        assert "\n" not in text
        assert "``" not in text


@every_function
def test_the_module_put_in_beforehand_carries_the_help(function):
    macros = wrapper_module([function])
    told_help = re.search(rf'^Attribute {function.worksheet_name}\.VB_Description = "(.*)"\r$', macros, re.MULTILINE)
    assert told_help
    assert '"' not in told_help[1].replace('""', "")
    assert told_help[1].replace('""', '"').startswith(function.summary.replace("−", "-"))


# -- the macro language itself, by an interpreter of it ---------------------------------------------------------


def _host(excel, failure: str = "") -> Any:
    """Return what the macros find around them: XLPy, ThisWorkbook and Application."""
    from pyopenvba.exceptions import VBARuntimeError
    from pyopenvba.interpreter import MISSING as LEFT_OUT
    from pyopenvba.interpreter import HostBridge, VBAArray, VBAObject, member, method

    class Cell(VBAObject):
        vba_type_name = "Range"

    class Application(VBAObject):
        vba_type_name = "Application"

        @member(name="Caller")
        def caller(self) -> Cell:
            return Cell()

    class XLPy(VBAObject):
        vba_type_name = "XLPython"

        @method(name="CallUDF")
        def call(self, module: Any, name: Any, arguments: Any, book: Any = None, caller: Any = None) -> Any:
            assert isinstance(arguments, VBAArray)
            assert isinstance(book, Cell)
            assert isinstance(caller, Cell)
            if failure:
                raise VBARuntimeError(1000, failure)
            assert str(module) == PYTHON_MODULE
            given = [MISSING if cell is LEFT_OUT else cell for cell in arguments.items]
            calls.append((str(name), given))
            return excel.call(str(name), *given)

    calls: list[tuple[str, list[Any]]] = []

    objects = {"xlpy": XLPy(), "thisworkbook": Cell(), "application": Application()}

    class Host(HostBridge):
        def global_object(self, name: str) -> object:
            return objects.get(name.lower(), super().global_object(name))

    host = Host()
    host.calls = calls
    return host


@pytest.fixture(scope="module")
def interpreter(excel, macros) -> Any:
    """The macro module, loaded into an interpreter of the macro language."""
    pytest.importorskip("pyopenvba", reason="pyOpenVBA is not installed")
    from pyopenvba.interpreter import Interpreter

    made = Interpreter(_host(excel))
    made.add_module(_understood(macros), name=MODULE)
    return made


def _understood(macros: str) -> str:
    """Leave out what the interpreter does not read: attributes, and a remark behind a directive."""
    macros = re.sub(r"^Attribute .*$", "", macros, flags=re.MULTILINE)
    return re.sub(r"^(#Const [^']*)'.*$", r"\1", macros, flags=re.MULTILINE)


@every_function
def test_the_macros_run_and_hand_on_every_argument_in_its_place(interpreter, function):
    marks = [f"argument {place}" for place in range(len(function.parameters))]
    interpreter.run(function.worksheet_name, marks)
    name, given = interpreter.host.calls[-1]
    assert name == function.worksheet_name
    assert [str(cell) for cell in given] == marks


@every_function
def test_the_macros_hand_on_what_is_left_out_as_left_out(interpreter, function):
    interpreter.run(function.worksheet_name, ["first"])
    assert interpreter.host.calls[-1][1] == ["first"] + [MISSING] * (len(function.parameters) - 1)
    assert (interpreter.run(function.worksheet_name) == "") is (function.in_cell([]) is None)
    assert interpreter.host.calls[-1][1] == [MISSING] * len(function.parameters)


def test_a_failure_of_python_shows_as_a_check_line(excel):
    pytest.importorskip("pyopenvba", reason="pyOpenVBA is not installed")
    from pyopenvba.interpreter import Interpreter

    made = Interpreter(_host(excel, failure="Could not load xlwings64.dll " + "x" * 100))
    made.add_module(_understood(wrapper_module(all_functions())), name=MODULE)
    answer = str(made.run("FIRST_FROST", ["here", 2026]))
    assert answer.startswith("Check: Python gave no answer: Could not load xlwings64.dll")
    assert len(answer) < 100
