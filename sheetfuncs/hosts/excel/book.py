"""A macro workbook (.xlsm) out of a plain one (.xlsx): every part stays, a macro project and settings come in.

The macro project is the one in the starting workbook that the installed xlwings package brings along; nothing of it is
kept in this package.
"""

from __future__ import annotations

import importlib.metadata
import importlib.util
import os
import posixpath
import re
import zipfile
from pathlib import Path
from typing import Mapping, Sequence, Union
from xml.sax.saxutils import escape

from ...cells.errors import InputError
from ...functions import all_functions
from ...xlsx.archive import with_more
from ...xlsx.errors import WorkbookFileError
from ...xlsx.files import read_file, write_file
from ...xlsx.package import Package
from ...xlsx.reading import read_values
from ...xlsx.workbook import Book
from .install import python_to_start
from .project import NEEDS, project_with_modules
from .vba import INTERPRETER, PYTHON_MODULE, SETTINGS_SHEET, macro_modules

FilePath = Union[str, "os.PathLike[str]"]

#: What stands in the settings sheet, beside the Python to start.
SETTINGS = {
    "UDF MODULES": PYTHON_MODULE,
    # Else a file that happens to lie beside the workbook could be imported instead of a Python module.
    "ADD_WORKBOOK_TO_PYTHONPATH": "False",
}
WORKBOOK_CODE_NAME = "ThisWorkbook"

_CONTENT_TYPES = "[Content_Types].xml"
_MACRO_WORKBOOK = "application/vnd.ms-excel.sheet.macroEnabled.main+xml"
_PLAIN_WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
_WORKSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_PROJECT = "application/vnd.ms-office.vbaProject"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE_LINK = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PROJECT_LINK = "http://schemas.microsoft.com/office/2006/relationships/vbaProject"
_STRICT = b"http://purl.oclc.org/ooxml/"
_CODE_NAME = r"""\scodeName\s*=\s*("[^"]*"|'[^']*')"""


def make_macro_book(xlsx: FilePath, xlsm: FilePath) -> Path:
    """Write a macro workbook with the sheets of a plain one.

    xlsx : the plain workbook; it is left as it is. xlsm : where to; a file of that name is replaced.
    Returns the path. Raises :class:`InputError` where xlwings is missing or the file is no plain workbook.
    """
    source, target = Path(xlsx), Path(xlsm)
    if target.suffix.lower() != ".xlsm":
        raise WorkbookFileError(f"{target.name} is the name wanted, wanted one that ends in .xlsm")
    write_file(source, target, macro_book(read_file(source), source.name))
    return target


def macro_book(raw: bytes, name: str) -> bytes:
    """Return a plain workbook's content as a macro workbook's; ``name`` is the file's, for messages."""
    package = Package(raw, name)
    book = Book(package)
    folder = posixpath.dirname(book.part)
    project_part = posixpath.join(folder, "vbaProject.bin")
    settings_part = _free_part(package, posixpath.join(folder, "worksheets"))
    if _project_part(book):
        raise WorkbookFileError(f"{name} holds macros already, wanted a plain .xlsx")
    if _STRICT in package.read(book.part):
        raise WorkbookFileError(f"{name} is saved as Strict Open XML, wanted a plain .xlsx")
    if SETTINGS_SHEET in (sheet.name for sheet in book.sheets):
        raise WorkbookFileError(f"{name} has a sheet {SETTINGS_SHEET} already, wanted one without")

    code_names = [f"Sheet{number}" for number in range(1, len(book.sheets) + 2)]
    parts = {
        sheet.part: _with_code_name(package.read(sheet.part), "sheetPr", code_name, ("worksheet",))
        for sheet, code_name in zip(book.sheets, code_names)
        if sheet.part
    }
    links_part = posixpath.join(folder, "_rels", posixpath.basename(book.part) + ".rels")
    links = _text(package.read(links_part))
    sheet_link, project_link = _free_identifiers(links)
    workbook = package.read(book.part)
    workbook = _with_code_name(
        workbook, "workbookPr", WORKBOOK_CODE_NAME, ("fileSharing", "fileVersion", "workbook")
    )
    parts[book.part] = _with_sheet(workbook, sheet_link)
    parts[links_part] = _before_end(
        links,
        "Relationships",
        f'<Relationship Id="{sheet_link}" Type="{_OFFICE_LINK}/worksheet" Target="/{settings_part}"/>'
        f'<Relationship Id="{project_link}" Type="{_PROJECT_LINK}" Target="{posixpath.basename(project_part)}"/>',
    )
    parts[_CONTENT_TYPES] = _content_types(_text(package.read(_CONTENT_TYPES)), settings_part, project_part, name)

    documents = [code for sheet, code in zip(book.sheets, code_names) if sheet.part] + code_names[-1:]
    project = project_with_modules(*starting_project(), WORKBOOK_CODE_NAME, documents)
    settings = _settings(SETTINGS, code_names[-1])
    return with_more(package.with_parts(parts), {settings_part: settings, project_part: project})


def renew_macro_book(xlsm: FilePath) -> None:
    """Have a macro workbook made here start this machine's Python, with the functions of today.

    Its own macros and other settings stay. Raises :class:`InputError` for a workbook that was not made here.
    """
    path = Path(xlsm)
    package = Package(read_file(path), path.name)
    book = Book(package)
    project_part = _project_part(book)
    sheet = next((sheet for sheet in book.sheets if sheet.name == SETTINGS_SHEET), None)
    if sheet is None or not project_part:
        raise WorkbookFileError(f"{path.name} has no functions for Excel, wanted a .xlsm that was made here")
    cells = read_values(path)[SETTINGS_SHEET]
    kept = {str(text).upper(): str(cells.get(f"B{at[1:]}", "")) for at, text in cells.items() if at[0] == "A"}
    found = re.search(_CODE_NAME, _text(package.read(sheet.part)))
    _, modules = starting_project()
    parts = {
        project_part: project_with_modules(package.read(project_part), modules),
        sheet.part: _settings(kept, found[1][1:-1] if found else ""),
    }
    write_file(path, path, package.with_parts(parts))


def starting_project() -> tuple[bytes, dict[str, str]]:
    """Return the macro project of the workbook that the installed xlwings starts projects with, and our modules."""
    try:
        found = importlib.util.find_spec("xlwings")
    except (ImportError, ValueError):
        found = None
    if found is None or not found.submodule_search_locations:
        raise InputError(f"xlwings is not installed, wanted: {NEEDS}")
    start = Path(next(iter(found.submodule_search_locations)), "quickstart.xlsm")
    try:
        with zipfile.ZipFile(start) as archive:
            project = archive.read("xl/vbaProject.bin")
    except (OSError, KeyError, zipfile.BadZipFile):
        raise InputError("this xlwings has no quickstart.xlsm, wanted 0.33 or a later one") from None
    return project, macro_modules(all_functions(), importlib.metadata.version("xlwings"))


def _project_part(book: Book) -> str:
    return next((part for kind, part in book.links_of(book.part).values() if kind == "vbaProject"), "")


# -- parts -----------------------------------------------------------------------------------------------------


def _with_code_name(xml: bytes, element: str, code_name: str, after: Sequence[str]) -> bytes:
    """Return a part in which an element has a code name; a missing element goes after the first of ``after``."""
    text = _text(xml)
    tag = _start_tag(text, element)
    if tag is not None:
        bare = re.sub(_CODE_NAME, "", tag[0])
        end = -2 if bare.endswith("/>") else -1
        return (text[: tag.start()] + f'{bare[:end]} codeName="{code_name}"{bare[end:]}' + text[tag.end() :]).encode()
    for name in after:
        tag = _start_tag(text, name)
        if tag is not None:
            at = tag.end()
            if name != after[-1] and not tag[0].endswith("/>"):
                at = text.index(">", text.index(f"</{tag['prefix']}{name}", at)) + 1
            made = f'<{tag["prefix"]}{element} codeName="{code_name}"/>'
            return (text[:at] + made + text[at:]).encode()
    raise WorkbookFileError(f"a part of the workbook has no {after[-1]} in it, wanted a whole .xlsx")


def _text(xml: bytes) -> str:
    try:
        return xml.decode()
    except UnicodeDecodeError:
        raise WorkbookFileError("the workbook is not written in UTF-8, wanted one saved by Excel or Calc") from None


def _start_tag(text: str, element: str) -> re.Match[str] | None:
    return re.search(rf"<(?P<prefix>(?:\w+:)?){element}(?=[\s/>])(?:[^>\"']|\"[^\"]*\"|'[^']*')*>", text)


def _before_end(text: str, element: str, made: str) -> bytes:
    """Return a part with something put in as the last child of an element."""
    end = re.search(rf"</(?:\w+:)?{element}\s*>", text)
    if end is None:
        raise WorkbookFileError(f"a part of the workbook has no {element} in it, wanted a whole .xlsx")
    return (text[: end.start()] + made + text[end.start() :]).encode()


def _with_sheet(workbook: bytes, link: str) -> bytes:
    text = _text(workbook)
    numbers = [int(number) for number in re.findall(r"""\bsheetId\s*=\s*["'](\d+)["']""", text)]
    tag = _start_tag(text, "sheets")
    prefix = tag["prefix"] if tag else ""
    return _before_end(
        text,
        "sheets",
        f'<{prefix}sheet xmlns:link="{_OFFICE_LINK}" name="{SETTINGS_SHEET}" sheetId="{max(numbers) + 1}"'
        f' state="hidden" link:id="{link}"/>',
    )


def _free_identifiers(links: str) -> tuple[str, str]:
    taken = set(re.findall(r"""\bId\s*=\s*["']([^"']*)["']""", links))
    free = [identifier for number in range(1, len(taken) + 3) if (identifier := f"rId{number}") not in taken]
    return free[0], free[1]


def _free_part(package: Package, folder: str) -> str:
    number = 1
    while f"{folder}/sheet{number}.xml" in package:
        number += 1
    return f"{folder}/sheet{number}.xml"


def _content_types(text: str, settings_part: str, project_part: str, name: str) -> bytes:
    if _PLAIN_WORKBOOK not in text:
        raise WorkbookFileError(f"{name} is not a plain workbook, wanted one saved as .xlsx")
    text = text.replace(_PLAIN_WORKBOOK, _MACRO_WORKBOOK)
    return _before_end(
        text,
        "Types",
        f'<Override PartName="/{settings_part}" ContentType="{_WORKSHEET}"/>'
        f'<Override PartName="/{project_part}" ContentType="{_PROJECT}"/>',
    )


def _settings(settings: Mapping[str, str], code_name: str) -> bytes:
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
