"""Our functions' names in a workbook's formulas, written as one host or another writes them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Container, Iterator, NamedTuple, Sequence

from ..functions import all_functions
from ..functions.declare import Function
from ..xlsx.errors import WorkbookFileError
from ..xlsx.files import Backup, check_target
from ..xlsx.inputs import open_book
from ..xlsx.patch import ByteEdit, patched
from ..xlsx.values import escaped
from ..xlsx.workbook import Book
from ..xlsx.xml_parts import ENTITY, check_encoding, entity_text, guarded_parser, local, run
from .formulas import SERVICE, FormulaTooLongError, Token, plain_name, tokens

#: How each host writes a name in the file: Excel plainly, Calc with the service's name before it.
WRITTEN_AS = {"excel": "{}", "plain": "{}", "calc": f"{SERVICE}.{{}}"}

_HOLDERS = frozenset(
    {"f", "formula", "formula1", "formula2", "calculatedColumnFormula", "totalsRowFormula", "definedName"}
)
_LETTER = re.compile(ENTITY.pattern + "|.", re.DOTALL)
_TAG_END = re.compile(rb"""(?:[^>"']|"[^"]*"|'[^']*')*>""")


class Edit(NamedTuple):
    """A stretch of a text and what replaces it."""

    start: int
    end: int
    text: str


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
                new = _renamed(xml[first:last].decode(), ours, written_as)
                if new is not None:
                    edits.append(ByteEdit(first, last, new.encode()))

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    run(parser, xml, where)
    return edits


def _renamed(raw: str, ours: Container[str], written_as: str) -> str | None:
    """Return a formula's text as it stands in XML with names rewritten, ``None`` where nothing changes."""
    if "(" not in raw or "<" in raw:  # comments and the like inside a formula are left alone
        return None
    pieces = list(_LETTER.finditer(raw))
    text = "".join(entity_text(match) if len(match[0]) > 1 else match[0] for match in pieces)
    try:
        edits = name_edits(text, ours, written_as)
    except FormulaTooLongError:
        return None
    # Back from letters of the formula to letters of the XML, where one may be &amp;
    starts = [match.start() for match in pieces] + [len(raw)]
    edits = [edit._replace(start=starts[edit.start], end=starts[edit.end], text=escaped(edit.text)) for edit in edits]
    new = edited(raw, edits)
    return None if new == raw else new


def called_names(pieces: Sequence[Token]) -> Iterator[tuple[str, int, int]]:
    """Go over the functions that a formula calls: each name as written, and its stretch of the text.

    A library before the name belongs to the stretch: ``[1]!NAME``, ``'path'!NAME``, ``library.xlam!NAME``.
    """
    for at, piece in enumerate(pieces[:-1]):
        bracket = pieces[at + 1]
        if piece.kind != "word" or bracket.text != "(" or bracket.start != piece.end:
            continue
        start = piece.start
        if at >= 2 and pieces[at - 1].text == "!" and pieces[at - 2].kind in ("quoted", "bracket", "word"):
            has_book = at >= 3 and pieces[at - 2].kind == "word" and pieces[at - 3].kind == "bracket"
            start = pieces[at - 3 if has_book else at - 2].start
        yield piece.text, start, piece.end


def edited(text: str, edits: list[Edit]) -> str:
    """Return a text with stretches of it exchanged."""
    pieces, at = [], 0
    for edit in sorted(edits):
        pieces += [text[at : edit.start], edit.text]
        at = edit.end
    return "".join([*pieces, text[at:]])


def name_edits(formula: str, ours: Container[str], written_as: str = "{}") -> list[Edit]:
    """Return what makes all names of our functions plain, or writes them in another way.

    ours : the plain names. written_as : a pattern such as ``SHEETFUNCS.{}``.
    """
    return [
        Edit(start, end, written_as.format(plain_name(name)))
        for name, start, end in called_names(tokens(formula))
        if plain_name(name) in ours
    ]
