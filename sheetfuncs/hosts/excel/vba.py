"""The macro modules that hand a worksheet function's call to Python, written from the declarations.

One module has the name and the functions of the module that *Import Functions* on the ribbon of xlwings writes, so that
a click there replaces it. The other starts Python by xlwings' library and keeps it: no add-in is needed, no reference
can be missing, and an error is one line in the cell.
"""

from __future__ import annotations

from typing import Iterable

from ...functions.declare import Function
from .wording import argument_names, function_help

#: The name that xlwings gives to the module it writes, and that of the module which keeps Python's server.
WRAPPERS, SERVER = "xlwings_udfs", "sheetfuncs_server"
#: The Python module that xlwings imports.
PYTHON_MODULE = f"{__package__}.udfs"
#: The code page of the macro project.
ENCODING = "cp1252"
#: The sheet that xlwings reads a workbook's settings from, and the setting of the Python to start.
SETTINGS_SHEET, INTERPRETER = "xlwings.conf", "INTERPRETER_WIN"

# The library's function of xlwings: 0 and Python's server in ``found``, or a failure and its text there.
_DECLARE = (
    'Private Declare PtrSafe Function Activate Lib "{library}" Alias "XLPyDLLActivateAuto" '
    "(ByRef found As Variant, ByVal starts As String, ByVal mode As Long) As Long"
)
_SERVER = '''\
Attribute VB_Name = "{server}"
Option Explicit
Option Private Module
#If Win64 Then
{declare_64}
#Else
{declare_32}
#End If
Private Declare PtrSafe Function LoadLibrary Lib "kernel32" Alias "LoadLibraryW" (ByVal file As LongPtr) As LongPtr
Private Kept As Object
Private Refusal As String
Private RefusedUntil As Date

Public Function Answer(ByVal name As String, ByVal given As Variant) As Variant
    Dim isNew As Boolean
    On Error GoTo Failed
Again:
    If Kept Is Nothing Then
        If Refusal <> "" And Now < RefusedUntil Then
            Answer = Refusal
            Exit Function
        End If
        Refusal = ""
        isNew = True
        Set Kept = XLPy()
    End If
    Answer = Kept.CallUDF("{module}", name, given, ThisWorkbook, Application.Caller)
    Exit Function
Failed:
    Answer = "Check: " & Left(OneLine(Err.Description), 90)
    If Kept Is Nothing Then
        ' Starting takes seconds: the other cells of this recalculation do not try it again.
        Refusal = Answer
        RefusedUntil = Now + 10 / 86400
    ElseIf Not isNew Then
        Set Kept = Nothing
        Resume Again
    End If
End Function

Public Function XLPy() As Object
    Dim python As String, found As Variant
    ' Calc counts as an old Excel, which could not read the declarations above.
    If Val(Application.Version) < 14 Then Err.Raise 1000, , "{calc}"
#If Mac Then
    Err.Raise 1000, , "Excel runs Python functions on Windows only"
#End If
    python = Interpreter()
    If InStr(python, "\\") = 0 Then Err.Raise 1000, , "{moved}"
    If Not IsLoaded(python) Then Err.Raise 1000, , "{moved}"
    ' By itself (-I): neither a folder that is open nor a user's settings bring other modules in.
    python = """" & python & """ -I -c ""import xlwings; xlwings.serve('$(CLSID)')"""
    If Activate(found, python, 1) <> 0 Then Err.Raise 1000, , "Python did not start: " & found
    Set XLPy = found
End Function

Private Function Interpreter() As String
    Dim row As Long
    With ThisWorkbook.Worksheets("{sheet}")
        For row = 1 To 20
            If UCase(.Cells(row, 1).Value) = "{interpreter}" Then Interpreter = .Cells(row, 2).Value
        Next
    End With
End Function

Private Function IsLoaded(ByVal path As String) As Boolean
    Dim level As Long, library As String
    library = "{library_32}"
#If Win64 Then
    library = "{library_64}"
#End If
    For level = 1 To 2
        path = Left(path, InStrRev(path, "\\") - 1)
        If LoadLibrary(StrPtr(path & "\\" & library)) <> 0 Then
            IsLoaded = True
            Exit Function
        End If
    Next
End Function

Private Function OneLine(ByVal text As String) As String
    text = Trim(Replace(text, vbCr, ""))
    Do While Right(text, 1) = vbLf
        text = Left(text, Len(text) - 1)
    Loop
    If InStr(text, "Traceback") > 0 Then text = Mid(text, InStrRev(text, vbLf) + 1)
    OneLine = Replace(text, vbLf, " ")
End Function
'''
_CALC = "the functions are not in Calc yet; run: sheetfuncs install calc, then restart Calc"
_MOVED = "this book's Python is not on this computer; run: sheetfuncs install excel BOOK"


def macro_modules(functions: Iterable[Function], version: str) -> dict[str, str]:
    """Return the source of the two macro modules by name, lines ended as the macro language wants them.

    version : of the installed xlwings; its library carries it in its name.
    """
    lines = [f'Attribute VB_Name = "{WRAPPERS}"', "Option Explicit"]
    for function in functions:
        lines += ["", *_wrapper(function)]
    libraries = {bits: f"xlwings{bits}-{version}.dll" for bits in (32, 64)}
    server = _SERVER.format(
        server=SERVER, module=PYTHON_MODULE, sheet=SETTINGS_SHEET, interpreter=INTERPRETER, moved=_MOVED,
        calc=_CALC,
        **{f"library_{bits}": library for bits, library in libraries.items()},
        **{f"declare_{bits}": _DECLARE.format(library=library) for bits, library in libraries.items()},
    )  # fmt: skip
    return {WRAPPERS: "\r\n".join(lines) + "\r\n", SERVER: server.replace("\n", "\r\n")}


def _wrapper(function: Function) -> list[str]:
    name = function.worksheet_name
    names = argument_names(function)
    words = function_help(function).replace("−", "-").encode(ENCODING, "replace").decode(ENCODING).replace('"', '""')
    signature = ", ".join(f"Optional {argument}" for argument in names)
    return [
        f"Public Function {name}({signature})",
        f'Attribute {name}.VB_Description = "{words}"',
        f'Attribute {name}.VB_ProcData.VB_Invoke_Func = " \\n14"',
        f'    {name} = Answer("{name}", Array({", ".join(names)}))',
        "End Function",
    ]
