"""The macros run in an interpreter of the macro language: one start of Python, many calls, one line where it fails."""

from __future__ import annotations

import importlib.metadata
import re
from datetime import datetime, timedelta
from typing import Any, Callable

import pytest

from sheetfuncs.functions import all_functions
from sheetfuncs.hosts.excel.vba import PYTHON_MODULE, SERVER, WRAPPERS, macro_modules

from .samples import FUNCTIONS, NAMES
from .windows import MISSING

pytest.importorskip("pyopenvba", reason="pyOpenVBA is not installed")
from pyopenvba.exceptions import VBARuntimeError
from pyopenvba.interpreter import MISSING as LEFT_OUT
from pyopenvba.interpreter import HostBridge, Interpreter, VBAArray, VBAObject, member, method

every_function = pytest.mark.parametrize("function", FUNCTIONS, ids=NAMES)
VERSION = importlib.metadata.version("xlwings")
PYTHON = r"C:\Users\Žofia\fig\Scripts\python.exe"
COMMAND = f"\"{PYTHON}\" -I -c \"import xlwings; xlwings.serve('$(CLSID)')\""

# What a Declare would bring in: the interpreter loads no library.
LIBRARIES = """
Public Function Activate(ByRef found As Variant, ByVal command As String, ByVal mode As Long) As Long
    Activate = Libraries.Start(command, mode)
    If Activate = 0 Then
        Set found = Libraries.Server
    Else
        found = Libraries.Reason
    End If
End Function

Public Function LoadLibrary(ByVal file As String) As Long
    LoadLibrary = Libraries.Load(file)
End Function
"""


class Cell(VBAObject):
    """A cell that calls, and one of the settings sheet."""

    vba_type_name = "Range"

    def __init__(self, value: Any = None) -> None:
        self._value = value

    @member(name="Value")
    def value(self) -> Any:
        return self._value


class Sheet(VBAObject):
    vba_type_name = "Worksheet"
    settings = (("UDF MODULES", "m"), ("interpreter_win", PYTHON))

    @method(name="Cells")
    def cells(self, row: Any, column: Any) -> Cell:
        return Cell(self.settings[int(row) - 1][int(column) - 1] if int(row) <= len(self.settings) else "")


class Workbook(VBAObject):
    vba_type_name = "Workbook"

    @method(name="Worksheets")
    def worksheets(self, name: Any) -> Sheet:
        assert str(name) == "xlwings.conf"
        return Sheet()


class Application(VBAObject):
    vba_type_name = "Application"

    @member(name="Version")
    def version(self) -> str:
        return "16.0"

    @member(name="Caller")
    def caller(self) -> Cell:
        return Cell()


class Server(VBAObject):
    """Python, as xlwings' library hands it over."""

    vba_type_name = "XLPython"

    def __init__(self, call: Callable[..., Any]) -> None:
        self.calls: list[tuple[str, list[Any]]] = []
        self.failure = ""
        self._call = call

    @method(name="CallUDF")
    def call_udf(self, module: Any, name: Any, arguments: Any, book: Any = None, caller: Any = None) -> Any:
        assert isinstance(arguments, VBAArray)
        assert isinstance(book, Workbook)
        assert isinstance(caller, Cell)
        assert str(module) == PYTHON_MODULE
        if self.failure:
            raise VBARuntimeError(462, self.failure)
        given = [MISSING if cell is LEFT_OUT else cell for cell in arguments.items]
        self.calls.append((str(name), given))
        return self._call(str(name), *given)


class Libraries(VBAObject):
    """The two libraries: which files are there, and what a start of Python comes to."""

    vba_type_name = "Libraries"

    def __init__(self, call: Callable[..., Any]) -> None:
        self.started: list[str] = []
        self.reason = ""
        self.there = {rf"C:\Users\Žofia\fig\xlwings64-{VERSION}.dll"}
        self.server = Server(call)
        self._call = call

    @method(name="Start")
    def start(self, command: Any, mode: Any) -> int:
        assert int(mode) == 1
        self.started.append(str(command))
        if not self.reason:
            self.server = Server(self._call)
        return 1 if self.reason else 0

    @method(name="Load")
    def load(self, file: Any) -> int:
        return 7 if str(file) in self.there else 0

    @member(name="Server")
    def a_server(self) -> Server:
        return self.server

    @member(name="Reason")
    def a_reason(self) -> str:
        return self.reason


class Excel:
    """A workbook's two macro modules in the interpreter."""

    def __init__(self, call: Callable[..., Any], wrappers: str = "") -> None:
        self.libraries = Libraries(call)
        objects = {"libraries": self.libraries, "thisworkbook": Workbook(), "application": Application()}

        class Host(HostBridge):
            def global_object(self, name: str) -> object:
                return objects.get(name.lower(), super().global_object(name))

        modules = macro_modules(all_functions(), VERSION)
        self.interpreter = Interpreter(Host())
        self.interpreter.add_module(LIBRARIES, name="libraries_of_the_test")
        self.interpreter.add_module(_understood(modules[SERVER]), name=SERVER)
        self.interpreter.add_module(_understood(wrappers or modules[WRAPPERS]), name=WRAPPERS)
        self.now = datetime(2026, 7, 1, 12)
        self.interpreter.freeze(self.now)

    def __call__(self, name: str, *arguments: Any) -> Any:
        return self.interpreter.run(name, list(arguments))

    def wait(self, seconds: int) -> None:
        self.now += timedelta(seconds=seconds)
        self.interpreter.freeze(self.now)


def _understood(macros: str) -> str:
    """Leave out what the interpreter does not read: attributes, declared libraries, a remark behind a directive."""
    macros = re.sub(r"^(Attribute|Private Declare) .*$", "", macros, flags=re.MULTILINE)
    macros = macros.replace("StrPtr(", "(")
    return re.sub(r"^(#Const [^']*)'.*$", r"\1", macros, flags=re.MULTILINE)


@pytest.fixture(scope="module", params=["beforehand", "by xlwings"])
def running(request, excel) -> Excel:
    """The macros that are put in, and those that *Import Functions* writes instead."""
    from .windows import FakeBook

    return Excel(excel.call, excel.import_functions(FakeBook()).macros if request.param == "by xlwings" else "")


@pytest.fixture
def fresh() -> Excel:
    """Macros in front of a Python that answers the function's name."""
    return Excel(lambda name, *given: name)


@every_function
def test_the_macros_run_and_hand_on_every_argument_in_its_turn(running, function):
    marks = [f"argument {number}" for number in range(len(function.parameters))]
    running(function.worksheet_name, *marks)
    name, given = running.libraries.server.calls[-1]
    assert name == function.worksheet_name
    assert [str(cell) for cell in given] == marks


@every_function
def test_the_macros_hand_on_what_is_left_out_as_left_out(running, function):
    running(function.worksheet_name, "first")
    calls = running.libraries.server.calls
    assert calls[-1][1] == ["first"] + [MISSING] * (len(function.parameters) - 1)
    assert (running(function.worksheet_name) == "") is (function.in_cell([]) is None)
    assert running.libraries.server.calls[-1][1] == [MISSING] * len(function.parameters)


def test_python_is_started_once_from_the_workbook_s_own_settings(fresh):
    assert [str(fresh(name, 1.0)) for name in NAMES] == NAMES
    assert fresh.libraries.started == [COMMAND]


def test_a_python_that_died_is_started_again_within_the_call(fresh):
    fresh("FIRST_FROST")
    fresh.libraries.server.failure = "The remote server machine does not exist or is unavailable"
    assert str(fresh("FIRST_FROST")) == "FIRST_FROST"
    assert len(fresh.libraries.started) == 2


def test_what_python_raises_is_one_line_and_other_functions_go_on():
    def call(name: str, *given: Any) -> str:
        if name == "FIRST_FROST":
            raise VBARuntimeError(-2147352567, "Unexpected Python Error: Traceback:\r\n  line\r\nKeyError: 'x'\r\n")
        return name

    excel = Excel(call)
    for _ in range(2):
        assert str(excel("FIRST_FROST")) == "Check: KeyError: 'x'"
        assert str(excel("CROP_WEIGHT")) == "CROP_WEIGHT"


def test_a_start_that_fails_is_tried_once_a_recalculation_not_once_a_cell(fresh):
    fresh.libraries.reason = "Python process exited before it was possible\nCommand: " + "x" * 200
    lines = {str(fresh(name)) for name in NAMES}
    assert len(lines) == 1
    (line,) = lines
    assert line.startswith("Check: Python did not start: Python process exited before it was possible Command: x")
    assert len(line) < 100
    assert len(fresh.libraries.started) == 1
    fresh.libraries.reason = ""
    assert str(fresh("FIRST_FROST")) == line
    fresh.wait(11)
    assert str(fresh("FIRST_FROST")) == "FIRST_FROST"


@pytest.mark.parametrize("settings", [(), (("INTERPRETER_WIN", r"D:\other\python.exe"),), (("INTERPRETER_WIN", "py"),)])
def test_a_workbook_from_another_computer_says_what_to_do(fresh, monkeypatch, settings):
    monkeypatch.setattr(Sheet, "settings", settings)
    line = str(fresh("FIRST_FROST"))
    assert line == "Check: this book's Python is not on this computer; run: sheetfuncs install excel BOOK"
    assert fresh.libraries.started == []


@pytest.mark.parametrize("folder", [r"C:\Users\Žofia\fig\Scripts", r"C:\Users\Žofia\fig"])
def test_the_library_lies_beside_python_or_one_folder_up(fresh, folder):
    fresh.libraries.there = {rf"{folder}\xlwings64-{VERSION}.dll"}
    assert str(fresh("FIRST_FROST")) == "FIRST_FROST"


def test_the_library_is_declared_by_the_name_it_has_for_each_excel():
    server = macro_modules(all_functions(), VERSION)[SERVER]
    declared = re.findall(r'^(?:#(\w+).*|Private Declare PtrSafe Function Activate Lib "(.*?)".*)\r$', server, re.M)
    libraries = [("", f"xlwings{bits}-{VERSION}.dll") for bits in (64, 32)]
    assert declared[:4] == [("If", ""), libraries[0], ("Else", ""), libraries[1]]
