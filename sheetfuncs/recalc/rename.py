"""Our functions' names in a workbook's formulas, written as one host or another writes them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Container, Sequence

from ..functions import all_functions
from ..functions.declare import Function
from ..xlsx.errors import WorkbookFileError
from ..xlsx.files import Backup, check_target
from ..xlsx.inputs import open_book
from ..xlsx.patch import ByteEdit, patched
from ..xlsx.values import escaped
from ..xlsx.workbook import Book
from ..xlsx.xml_parts import ENTITY, check_encoding, entity_text, guarded_parser, local, run
from .formulas import SERVICE, UnreadableFormulaError, plain_name, tokens

#: How each host writes a name in the file: Excel plainly, Calc with the service's name before it.
WRITTEN_AS = {"excel": "{}", "plain": "{}", "calc": f"{SERVICE}.{{}}"}

_HOLDERS = frozenset(
    {"f", "formula", "formula1", "formula2", "calculatedColumnFormula", "totalsRowFormula", "definedName"}
)
_LETTER = re.compile(ENTITY.pattern + "|.", re.DOTALL)
_TAG_END = re.compile(rb"""(?:[^>"']|"[^"]*"|'[^']*')*>""")


def rename_functions(
    path: Path | str,
    host: str,
    out: Path | str | None = None,
    functions: Sequence[Function] | None = None,
    backup: Backup = "never",
) -> int:
    """Write our functions' names as a host knows them, and return how many formulas were rewritten.

    Every other byte stays, stored values too.

    host : ``"excel"``, ``"calc"`` (LibreOffice, .xlsx) or ``"plain"``. Names in cells, in defined names, tables,
    validations and conditional formats are meant. backup : as for :func:`.course.recalculate`.
    Raises :class:`WorkbookFileError` in one line.
    """
    if host not in WRITTEN_AS:
        raise WorkbookFileError(f"host is {host!r}, wanted one of {', '.join(WRITTEN_AS)}")
    opened = open_book(path)
    target = opened.path if out is None else Path(out)
    check_target(opened.path, target)
    package = opened.book.package
    ours = {function.worksheet_name for function in (all_functions() if functions is None else functions)}
    parts, count = {}, 0
    for part in _parts_with_formulas(opened.book):
        xml = package.read(part)
        edits = _edits(xml, ours, WRITTEN_AS[host], f"{package.name}, {part},")
        count += len(edits)
        if edits:
            parts[part] = patched(xml, edits)
    opened.write(package.with_parts(parts) if parts else package.raw, target, backup)
    return count


def _parts_with_formulas(book: Book) -> list[str]:
    parts = [book.part]
    for sheet in book.sheets:
        if sheet.part:
            parts.append(sheet.part)
            parts += [part for kind, part in book.links_of(sheet.part).values() if kind == "table"]
    return parts


def _edits(xml: bytes, ours: Container[str], written_as: str, where: str) -> list[ByteEdit]:
    """Return the edits of one part: a formula's text where a name in it changes."""
    check_encoding(xml, where)
    parser = guarded_parser()
    starts: list[int] = []
    edits: list[ByteEdit] = []

    def start(tag: str, attributes: dict[str, str]) -> None:
        if local(tag) in _HOLDERS:
            tag = _TAG_END.match(xml, parser.CurrentByteIndex)
            starts.append(tag.end() if tag else len(xml))

    def end(tag: str) -> None:
        if local(tag) in _HOLDERS:
            first, last = starts.pop(), parser.CurrentByteIndex
            if first < last:  # not an empty tag
                new = renamed(xml[first:last].decode(), ours, written_as)
                if new is not None:
                    edits.append(ByteEdit(first, last, new.encode()))

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    run(parser, xml, where)
    return edits


def renamed(raw: str, ours: Container[str], written_as: str) -> str | None:
    """Return a formula's text as it stands in XML with names rewritten, ``None`` where nothing changes.

    ours : the plain names. written_as : a pattern such as ``SHEETFUNCS.{}``.
    """
    if "(" not in raw or "<" in raw:  # comments and the like inside a formula are left alone
        return None
    letters = [match[0] for match in _LETTER.finditer(raw)]  # of the formula: one may be &amp; in the XML
    text = "".join(ENTITY.sub(entity_text, letter) for letter in letters)
    pieces, at = [], 0
    try:
        for token in tokens(text):
            own = letters[at : at + len(token.text)]
            at += len(own)
            called = plain_name(token.text[:-1]) if token.kind == "Func" and token.text.endswith("(") else ""
            pieces += [escaped(written_as.format(called)), "("] if called in ours else own
    except UnreadableFormulaError:
        return None
    new = "".join(pieces)
    return None if new == raw else new
