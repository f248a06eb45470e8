"""Small XML parts as trees, and the guard that every XML part of a file from elsewhere passes.

A workbook has no use for a document type or for entities of its own, so either is refused.
"""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree
from xml.parsers import expat

from .errors import WorkbookFileError

ENTITY = re.compile(r"&(?:#x([0-9A-Fa-f]+)|#(\d+)|(amp|lt|gt|quot|apos));")
# The ampersand comes last, so that it does not make new entities.
_NAMED = {"lt": "<", "gt": ">", "quot": '"', "apos": "'", "amp": "&"}
_ENCODING = re.compile(rb"""<\?xml[^>]*?encoding\s*=\s*["']([^"']*)["']""")
#: What stands before a part's first element is no longer [bytes].
LONGEST_PROLOG = 64 * 1024
_HIDDEN_LETTER = re.compile(r"_x([0-9A-Fa-f]{4})_")


class _ForbiddenError(Exception):
    pass


def _forbid(*_: Any) -> None:
    raise _ForbiddenError


def guarded_parser() -> Any:
    """Return an expat parser that refuses document types and, with them, entities."""
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _forbid
    parser.EntityDeclHandler = _forbid
    return parser


def run(parser: Any, xml: bytes, where: str) -> None:
    """Feed a whole part to a guarded parser; raises :class:`WorkbookFileError` naming ``where``."""
    try:
        parser.Parse(xml, True)
    except (expat.ExpatError, LookupError, ValueError) as error:  # the latter two: an unknown encoding
        raise WorkbookFileError(f"{where} is broken XML ({error})") from None
    except _ForbiddenError:
        raise WorkbookFileError(f"{where} holds XML entities, which no workbook needs") from None


def may_hold_entities(start: bytes) -> bool:
    """Return whether a part that starts so has a document type, or so long a prolog that one may follow."""
    elements: list[str] = []
    parser = guarded_parser()
    parser.StartElementHandler = lambda tag, _: elements.append(tag)
    try:
        parser.Parse(start, False)
    except _ForbiddenError:
        return True
    except (expat.ExpatError, LookupError, ValueError):  # broken: whoever reads it says so
        return False
    return not elements and len(start) == LONGEST_PROLOG


def check_encoding(xml: bytes, where: str) -> None:
    """Raise :class:`WorkbookFileError` where a part is not in UTF-8, which all office programs write."""
    declared = _ENCODING.match(xml[:200].removeprefix(b"\xef\xbb\xbf"))
    if xml.startswith((b"\xff\xfe", b"\xfe\xff")) or (declared and declared[1].lower() not in (b"utf-8", b"us-ascii")):
        raise WorkbookFileError(f"{where} is not written in UTF-8")


def tree(xml: bytes, where: str) -> ElementTree.Element:
    """Return the root of a small part whose tags have lost their namespaces.

    Raises :class:`WorkbookFileError` naming ``where``.
    """
    builder = ElementTree.TreeBuilder()
    parser = guarded_parser()
    parser.StartElementHandler = lambda tag, attributes: builder.start(
        local(tag), {local(name): value for name, value in attributes.items()}
    )
    parser.EndElementHandler = lambda tag: builder.end(local(tag))
    parser.CharacterDataHandler = builder.data
    run(parser, xml, where)
    return builder.close()


def local(tag: str) -> str:
    """Return a tag's name without its prefix."""
    return tag.rpartition(":")[2]


def shown_text(stored: str) -> str:
    """Return a text as a cell shows it: ``_x000D_`` stands for a letter that XML cannot hold."""
    if "_x" not in stored:
        return stored
    return _HIDDEN_LETTER.sub(lambda match: chr(int(match[1], 16)), stored)


def unescaped(raw: bytes) -> str:
    """Return the text between two tags as a reader of XML sees it."""
    text = raw.decode()
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    if "&" not in text:
        return text
    if "&#" in text:
        return ENTITY.sub(entity_text, text)
    for name, letter in _NAMED.items():
        text = text.replace(f"&{name};", letter)
    return text


def entity_text(match: re.Match[str]) -> str:
    """Return the letter that an entity such as ``&amp;`` or ``&#38;`` stands for."""
    if match[1]:
        return chr(int(match[1], 16))
    return chr(int(match[2])) if match[2] else _NAMED[match[3]]


def rich_text(item: ElementTree.Element) -> str:
    """Return the text of a string item: its runs joined, without the reading aids beside them."""
    runs = [item, *(child for child in item if child.tag == "r")]
    return shown_text("".join(part.text or "" for run_ in runs for part in run_ if part.tag == "t"))
