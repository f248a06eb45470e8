"""The component that the office loads: every declared function as a Calc function, and the job for opened documents."""

# The office fixes the names of its methods and lets a component share things in its module alone.
# ruff: noqa: N802, E402

from __future__ import annotations

import os
import sys

import uno
import unohelper
from com.sun.star.document import XUndoManagerListener
from com.sun.star.lang import XServiceInfo, XServiceName
from com.sun.star.sheet import XAddIn
from com.sun.star.task import XJob
from com.sun.star.util import XChangesListener

FUNCTIONS_NAME = "sheetfuncs.calc.Functions"
OPENED_NAME = "sheetfuncs.calc.Opened"
INTERFACE = "sheetfuncs.calc.XFunctions"


def _folder_url() -> str:
    own = __file__ if __file__.startswith("file:") else uno.systemPathToFileUrl(os.path.abspath(__file__))
    return own.rsplit("/", 1)[0]


# Our own copies first: what else is installed on the machine must not be mixed in.
sys.path.insert(0, os.path.join(uno.fileUrlToSystemPath(_folder_url()), "pythonpath"))

from sheetfuncs.cells.climates import CLIMATES
from sheetfuncs.cells.kinds import DATE
from sheetfuncs.functions import all_functions
from sheetfuncs.hosts.calc.declarations import CATEGORY, CATEGORY_SHOWN, argument_help
from sheetfuncs.hosts.calc.documents import OpenDocuments
from sheetfuncs.hosts.calc.names import SERVICE, known_functions
from sheetfuncs.hosts.calc.values import answering

CLIMATES.keys = "Ctrl+Shift+F9"
_FUNCTIONS = {function.worksheet_name: function for function in all_functions()}
_OPEN = OpenDocuments(
    known_functions(tuple(_FUNCTIONS.values())),
    CLIMATES.keys,
    [name for name, function in _FUNCTIONS.items() if function.result is DATE],
)


def _interface() -> type:
    """Return the interface of all functions; while the extension is being added the office does not know it yet."""
    try:
        return uno.getClass(INTERFACE)
    except Exception:
        types = uno.getComponentContext().getValueByName(
            "/singletons/com.sun.star.reflection.theTypeDescriptionManager"
        )
        types.insert(_folder_url() + "/functions.idl")
        return uno.getClass(INTERFACE)


def _method(function):
    """Return the method that Calc calls for one function."""
    answered = answering(function)

    def method(self, *given):
        epoch = _OPEN.epoch
        if epoch is None:
            return ((_OPEN.mixed_line,),)
        return answered(given, epoch)

    return method


class _Service(XServiceInfo):
    """What the office asks of every component."""

    implementation = ""
    services = ()

    def getImplementationName(self):
        return self.implementation

    def supportsService(self, name):
        return name in self.services

    def getSupportedServiceNames(self):
        return self.services


class Functions(unohelper.Base, _interface(), XAddIn, XServiceName, _Service):
    """All functions. Names and help are in the configuration, so the questions for them get short answers."""

    implementation = FUNCTIONS_NAME
    services = (SERVICE, "com.sun.star.sheet.AddIn")

    def __init__(self, context, *arguments):
        self._locale = uno.createUnoStruct("com.sun.star.lang.Locale")

    def getServiceName(self):
        return SERVICE

    def setLocale(self, locale):
        self._locale = locale

    def getLocale(self):
        return self._locale

    def getProgrammaticFuntionName(self, display_name):  # the office spells it so
        return display_name if display_name in _FUNCTIONS else ""

    def getDisplayFunctionName(self, name):
        return name

    def getFunctionDescription(self, name):
        return _FUNCTIONS[name].summary if name in _FUNCTIONS else ""

    def getDisplayArgumentName(self, name, index):
        return _FUNCTIONS[name].parameters[index].name if name in _FUNCTIONS else ""

    def getArgumentDescription(self, name, index):
        return argument_help(_FUNCTIONS[name].parameters[index]) if name in _FUNCTIONS else ""

    def getProgrammaticCategoryName(self, name):
        return CATEGORY

    def getDisplayCategoryName(self, name):
        return CATEGORY_SHOWN


for _name, _function in _FUNCTIONS.items():
    setattr(Functions, _name, _method(_function))


class _Changes(unohelper.Base, XChangesListener, XUndoManagerListener):
    """Hears what is typed, pasted, undone and redone in a document, and that it is closed."""

    def __init__(self, document):
        self._document = document
        self._identity = document.RuntimeUID

    def changesOccurred(self, event):
        ranges = [change.ReplacedElement for change in event.Changes]
        _OPEN.changed(self._document, [one for one in ranges if hasattr(one, "queryContentCells")])

    def actionUndone(self, event):
        _OPEN.stepped(self._document)

    def actionRedone(self, event):
        _OPEN.stepped(self._document)

    def disposing(self, source):
        _OPEN.closed(self._identity)

    def _nothing(self, event):
        """Nothing to do for the other steps of the list of what can be undone."""

    undoActionAdded = allActionsCleared = redoActionsCleared = resetAll = enteredContext = _nothing  # noqa: N815
    enteredHiddenContext = leftContext = leftHiddenContext = cancelledContext = _nothing  # noqa: N815


class Opened(unohelper.Base, XJob, _Service):
    """The job that the office starts for every document that it has opened or made."""

    implementation = OPENED_NAME
    services = (OPENED_NAME, "com.sun.star.task.Job")

    def __init__(self, context, *arguments):
        pass

    def execute(self, arguments):
        settings = {argument.Name: argument.Value for argument in arguments}
        environment = {part.Name: part.Value for part in settings.get("Environment", ())}
        document = environment.get("Model")
        if document is not None and document.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
            _OPEN.opened(document, _Changes(document))


g_ImplementationHelper = unohelper.ImplementationHelper()  # noqa: N816 - the office looks for this name
for _component in (Functions, Opened):
    g_ImplementationHelper.addImplementation(_component, _component.implementation, _component.services)
