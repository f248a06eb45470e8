"""Stand-ins for the Windows modules, so that xlwings' own importer, wrapper writer and caller run anywhere.

Nothing of xlwings is replaced: what Excel and pywin32 do is imitated at their border, as far as xlwings asks.
"""

# ruff: noqa: N802 (the names are Excel's)

from __future__ import annotations

import contextlib
import ctypes
import importlib
import sys
from datetime import datetime, timezone
from types import ModuleType, SimpleNamespace
from typing import Any, Iterator
from unittest import mock

MISSING = -2147352572  # what pywin32 makes of an argument that was left out
RANGE_TYPE = "{00020846-0000-0000-C000-000000000046}"
MODULE = "sheetfuncs.hosts.excel.udfs"


class ComError(Exception):
    """The error that a call of Excel raises."""


class ComTime(datetime):
    """pywin32's time, which comes with a time zone."""


def com_time(value: datetime) -> ComTime:
    """Return a date as Excel hands it over."""
    return ComTime(value.year, value.month, value.day, value.hour, tzinfo=timezone.utc)


class _Dispatch:
    """The classes of Excel's objects."""


class FakeRange(_Dispatch):
    """A range of cells: rows of values as Excel hands them over; a single cell as its value alone."""

    def __init__(self, rows: list[list[Any]]) -> None:
        single = len(rows) == 1 and len(rows[0]) == 1
        self.Value = rows[0][0] if single else tuple(tuple(row) for row in rows)
        self.Rows, self.Columns = SimpleNamespace(Count=len(rows)), SimpleNamespace(Count=len(rows[0]))
        self.Row = self.Column = 1
        self.Count = len(rows) * len(rows[0])
        self.Application = SimpleNamespace(Hwnd=1)
        self.Worksheet = SimpleNamespace(Parent=SimpleNamespace(Application=self.Application), Name="Trees")
        attributes = SimpleNamespace(iid=RANGE_TYPE)
        self._oleobj_ = SimpleNamespace(GetTypeInfo=lambda: SimpleNamespace(GetTypeAttr=lambda: attributes))

    def GetAddress(self, *_: Any) -> str:
        return "$A$1"


class FakeBook(_Dispatch):
    """A macro workbook: it keeps the macro module that is put in, and the help that functions are given."""

    def __init__(self, name: str = "season.xlsm", date_1904: bool = False) -> None:
        self.Name, self.Date1904 = name, date_1904
        self.macros = ""
        self.helps: dict[str, dict[str, Any]] = {}
        self.Worksheets: list[Any] = []
        self.Application = SimpleNamespace(Version="16.0", MacroOptions=self._options)
        self.VBProject = SimpleNamespace(VBComponents=self)

    def __call__(self, name: str) -> Any:
        if not self.macros:
            raise ComError(f"no component {name}")
        return name

    def Remove(self, _: Any) -> None:
        self.macros = ""

    def Import(self, file: str) -> None:
        with open(file) as module:
            self.macros = module.read()

    def _options(self, name: str, **options: Any) -> None:
        self.helps[name.rpartition("!")[2]] = options


def _module(name: str, **content: Any) -> ModuleType:
    module = ModuleType(name)
    module.__dict__.update(content)
    return module


def _no_object(_: Any) -> Any:
    raise ComError("not one of Python's objects")


class _Bare:
    """pywin32's bare object, which stays inside pywin32 here."""


def _modules() -> dict[str, ModuleType]:
    util = _module("win32com.server.util", unwrap=_no_object, wrap=lambda thing: thing)
    server = _module("win32com.server", util=util, policy=None, dispatcher=None)
    client = _module(
        "win32com.client", Dispatch=lambda thing, **_: thing, DispatchEx=None,
        CDispatch=_Dispatch, DispatchBaseClass=_Dispatch, CoClassBaseClass=_Dispatch,
    )  # fmt: skip
    com = [
        _module("win32com", client=client, server=server),
        client,
        server,
        util,
        _module("win32com.server.policy"),
        _module("win32com.server.dispatcher"),
    ]
    others = [
        _module(
            "pythoncom", __file__="", CoInitialize=lambda: None, IID_IDispatch="IDispatch",
            TypeIIDs={"IDispatch": _Bare}, Missing=MISSING, com_error=ComError,
        ),
        _module("pywintypes", com_error=ComError, IID=str, TimeType=ComTime),
        _module("win32timezone", TimeZoneInfo=SimpleNamespace(utc=lambda: timezone.utc)),
        _module("win32process", GetWindowThreadProcessId=lambda window: (0, 1)),
        *(_module(name) for name in ("win32api", "win32con", "win32event", "win32gui")),
    ]  # fmt: skip
    return {module.__name__: module for module in (*com, *others)}


class Windows:
    """xlwings as it is on Windows, with Excel's side played by the fakes above."""

    def __init__(self) -> None:
        self.udfs = importlib.import_module("xlwings.udfs")
        self.com_server = importlib.import_module("xlwings.com_server")
        self.functions = importlib.import_module(MODULE)

    def import_functions(self, book: FakeBook) -> FakeBook:
        """Do what *Import Functions* on the ribbon does."""
        self.udfs.import_udfs(MODULE, book)
        return book

    def call(self, name: str, *arguments: Any, book: FakeBook | None = None) -> Any:
        """Call a function as its macro does; arguments as pywin32 makes them of what Excel passes."""
        server = self.com_server.XLPython()
        return server.CallUDF(MODULE, name, arguments, book or FakeBook(), FakeRange([[None]]))


@contextlib.contextmanager
def windows() -> Iterator[Windows]:
    """Have xlwings as on Windows, for as long as the block runs."""
    import xlwings

    before = {name: module for name, module in sys.modules.items() if name.startswith("xlwings") or name == MODULE}
    sys.modules.pop(MODULE, None)
    libraries = {name: mock.MagicMock() for name in ("windll", "oledll", "PyDLL")}
    with contextlib.ExitStack() as undo:
        undo.enter_context(mock.patch.dict(sys.modules, _modules()))
        undo.enter_context(mock.patch.multiple(ctypes, create=True, **libraries))
        real = importlib.import_module("xlwings._xlwindows")
        udfs = importlib.import_module("xlwings.udfs")
        # What xlwings' own package does at its end where it finds Windows.
        for name, made in {"func": udfs.xlfunc, "arg": udfs.xlarg, "ret": udfs.xlret}.items():
            undo.enter_context(mock.patch.object(xlwings, name, made))
        engine = xlwings.main.Engine(impl=real.engine)
        undo.enter_context(mock.patch.object(xlwings.engines, "engines", [engine]))
        undo.enter_context(mock.patch.dict(xlwings.engines.engines_by_name, {"excel": engine}))
        yield Windows()
    for name in [name for name in sys.modules if name.startswith("xlwings") or name == MODULE]:
        if name not in before:
            del sys.modules[name]
    sys.modules.update(before)
