"""A macro workbook (.xlsm) out of a plain one made here: every part stays, settings and a macro project come in."""

from __future__ import annotations

import importlib.metadata
import os
import re
import tempfile
from pathlib import Path
from typing import Mapping, Union
from xml.sax.saxutils import escape

from ...cells.errors import InputError
from ...functions import all_functions
from ...xlsx.archive import with_more
from ...xlsx.errors import WorkbookFileError
from ...xlsx.files import read_file, write_file
from ...xlsx.package import Package
from ...xlsx.reading import read_sheet
from ...xlsx.workbook import Book
from .install import python_to_start
from .project import NEEDS, put_in
from .vba import INTERPRETER, PYTHON_MODULE, SETTINGS_SHEET, macro_modules

FilePath = Union[str, "os.PathLike[str]"]

#: What stands in the settings sheet, beside the Python to start.
SETTINGS = {
    "UDF MODULES": PYTHON_MODULE,
    # Else a file that happens to lie beside the workbook could be imported instead of a Python module.
    "ADD_WORKBOOK_TO_PYTHONPATH": "False",
}

_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.{}+xml"
_PLAIN, _SHEET = _TYPE.format("sheet.main"), _TYPE.format("worksheet")
_WITH_MACROS = "application/vnd.ms-excel.sheet.macroEnabled.main+xml"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_LINK = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_LINKS, _SETTINGS_PART = "xl/_rels/workbook.xml.rels", "xl/worksheets/settings.xml"


def make_macro_book(xlsx: FilePath, xlsm: FilePath) -> Path:
    """Write a macro workbook with the sheets of a plain one that was made here.

    xlsx : the plain workbook; it is left as it is. xlsm : where to; a file of that name is replaced.
    Returns the path. Raises :class:`InputError` where xlwings or pyOpenVBA is missing.
    """
    source, target = Path(xlsx), Path(xlsm)
    if target.suffix.lower() != ".xlsm":
        raise WorkbookFileError(f"{target.name}: the file name must end in .xlsm")
    raw = _with_settings(Package(read_file(source), source.name))
    write_file(source, target, _with_macros(raw))
    return target


def renew_macro_book(xlsm: FilePath) -> None:
    """Have a macro workbook made here start this machine's Python, with the functions of today.

    Its own macros and other settings stay. Raises :class:`InputError` for a workbook that was not made here.
    """
    path = Path(xlsm)
    package = Package(read_file(path), path.name)
    part = next((sheet.part for sheet in Book(package).sheets if sheet.name == SETTINGS_SHEET), "")
    if not part:
        raise WorkbookFileError(f"{path.name} has no functions for Excel, wanted a .xlsm that was made here")
    cells = read_sheet(path, SETTINGS_SHEET)
    kept = {str(text).upper(): str(cells.get(f"B{at[1:]}", "")) for at, text in cells.items() if at[0] == "A"}
    code_name = re.search(rb'codeName="([^"]*)"', package.read(part))
    settings = _settings_sheet(kept, code_name[1].decode() if code_name else "")
    write_file(path, path, _with_macros(package.with_parts({part: settings})))


def _with_macros(raw: bytes) -> bytes:
    try:
        modules = macro_modules(all_functions(), importlib.metadata.version("xlwings"))
    except importlib.metadata.PackageNotFoundError:
        raise InputError(f"xlwings is not installed, wanted: {NEEDS}") from None
    with tempfile.TemporaryDirectory(prefix="sheetfuncs-") as folder:
        path = Path(folder, "made.xlsm")
        path.write_bytes(raw)
        put_in(path, modules)
        return path.read_bytes()


def _with_settings(package: Package) -> bytes:
    """Return a plain workbook as one that may hold macros, with a hidden sheet of settings at its end."""
    read = {name: package.read(name).decode() for name in ("[Content_Types].xml", "xl/workbook.xml", _LINKS)}
    types, workbook, links = read.values()
    number = 1 + max(map(int, re.findall(r'\bsheetId="(\d+)"', workbook)))
    identifier = "rId" + str(1 + max(map(int, re.findall(r'\bId="rId(\d+)"', links))))
    sheet = (
        f'<sheet xmlns:r="{_LINK}" name="{SETTINGS_SHEET}" sheetId="{number}" state="hidden" r:id="{identifier}"/>'
    )
    link = f'<Relationship Id="{identifier}" Type="{_LINK}/worksheet" Target="/{_SETTINGS_PART}"/>'
    kind = f'<Override PartName="/{_SETTINGS_PART}" ContentType="{_SHEET}"/>'
    parts = {
        "[Content_Types].xml": types.replace(_PLAIN, _WITH_MACROS).replace("</Types>", f"{kind}</Types>"),
        "xl/workbook.xml": workbook.replace("</sheets>", f"{sheet}</sheets>"),
        _LINKS: links.replace("</Relationships>", f"{link}</Relationships>"),
    }
    raw = package.with_parts({name: text.encode() for name, text in parts.items()})
    return with_more(raw, {_SETTINGS_PART: _settings_sheet(SETTINGS)})


def _settings_sheet(settings: Mapping[str, str], code_name: str = "") -> bytes:
    """Return the settings sheet, with the Python to start where there is one; its texts in the cells themselves."""
    python = python_to_start()
    settings = {**settings, INTERPRETER: python} if python else settings
    rows = "".join(
        f'<row r="{row}">' + "".join(
            f'<c r="{column}{row}" t="inlineStr"><is><t>{escape(text)}</t></is></c>'
            for column, text in zip("AB", setting)
        ) + "</row>"
        for row, setting in enumerate(settings.items(), start=1)
    )  # fmt: skip
    properties = f'<sheetPr codeName="{code_name}"/>' if code_name else ""
    return (
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
        f'<worksheet xmlns="{_MAIN}">{properties}<dimension ref="A1:B{len(settings)}"/>'
        '<cols><col min="1" max="2" width="34" customWidth="1"/></cols>'
        f"<sheetData>{rows}</sheetData></worksheet>"
    ).encode()
