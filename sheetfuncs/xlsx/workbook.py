"""What a workbook holds about itself: its sheets, names, tables, calendar and date styles."""

from __future__ import annotations

import posixpath
import re
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from urllib.parse import unquote
from xml.etree.ElementTree import Element

from ..cells.dates import EPOCH_1900, EPOCH_1904
from .errors import WorkbookFileError
from .package import Package
from .references import Area, read_area
from .xml_parts import rich_text, shown_text, tree

_TRUE = {"1", "true", "on"}
#: The numbers of the formats for dates and times that every office program knows. A library that knows them, too,
#: would take as long to load as all else that a small workbook needs.
_DATE_FORMATS = tuple(map(str, (*range(14, 23), *range(45, 48))))
#: What is no letter of a format: texts, single letters that stand for themselves, and colours or conditions.
_SET_APART = re.compile(r'"[^"]*"|[\\_*].|\[(?!h+\]|m+\]|s+\])[^\]]*\]', re.IGNORECASE)
_OF_DATES = re.compile("[dmyhs]", re.IGNORECASE)


@dataclass(frozen=True)
class SheetPart:
    """One sheet of a workbook; ``part`` is empty for a sheet that is no worksheet, such as a chart sheet."""

    name: str
    part: str


@dataclass(frozen=True)
class DefinedName:
    """A name with what it stands for; ``sheet`` is its sheet's number from 0, ``None`` for all."""

    name: str
    text: str
    sheet: int | None


@dataclass(frozen=True)
class Table:
    """A table: where it lies, its header and totals rows counted in, and its columns' names."""

    name: str
    sheet: str
    area: Area
    header_rows: int
    totals_rows: int
    columns: tuple[str, ...]


class Book:
    """A workbook's own description, read when it is needed."""

    def __init__(self, package: Package) -> None:
        """Read the workbook part; raises :class:`WorkbookFileError` where the file holds no workbook."""
        self.package = package
        self.part = self._workbook_part()
        self._root = tree(package.read(self.part), f"{package.name}, {self.part},")
        if self._root.tag != "workbook":
            raise WorkbookFileError(f"{package.name} is not a workbook, wanted one saved as .xlsx or .xlsm")
        self._links = self.links_of(self.part)

    def _workbook_part(self) -> str:
        name = self.package.name
        wanted = "wanted a workbook saved as .xlsx or .xlsm"
        if "mimetype" in self.package:
            raise WorkbookFileError(f"{name} is an OpenDocument file, {wanted}")
        if "_rels/.rels" not in self.package:
            raise WorkbookFileError(f"{name} is not a workbook, {wanted}")
        targets = dict(self.links_of("").values())
        target = targets.get("officeDocument")
        if target is None:
            raise WorkbookFileError(f"{name} is not a workbook, {wanted}")
        if target.endswith(".bin"):
            raise WorkbookFileError(f"{name} is a binary workbook (.xlsb), {wanted}")
        if "origin" in targets:
            raise WorkbookFileError(f"{name} is signed, and a change would break the signature")
        return target

    def links_of(self, part: str) -> dict[str, tuple[str, str]]:
        """Return a part's relationships: identifier to (kind, part it leads to); outer links are left out."""
        folder, _, file = part.rpartition("/")
        links_part = posixpath.join(folder, "_rels", f"{file}.rels")
        if links_part not in self.package:
            return {}
        links = {}
        for link in tree(self.package.read(links_part), f"{self.package.name}, {links_part},"):
            if link.get("TargetMode") != "External":
                target = posixpath.normpath(posixpath.join("/", folder, unquote(link.get("Target", ""))))
                links[link.get("Id", "")] = (posixpath.basename(link.get("Type", "")), target.lstrip("/"))
        return links

    def _whole(self, text: str, what: str) -> int:
        if not text.isdecimal():
            raise WorkbookFileError(f"{self.package.name} is a broken file ({what} is {text[:20]})")
        return int(text)

    def _children(self, group: str) -> list[Element]:
        found = self._root.find(group)
        return [] if found is None else list(found)

    @cached_property
    def sheets(self) -> tuple[SheetPart, ...]:
        """All sheets in the order of the tabs."""
        sheets = []
        for sheet in self._children("sheets"):
            kind, part = self._links.get(sheet.get("id", ""), ("", ""))
            sheets.append(SheetPart(sheet.get("name", ""), part if kind == "worksheet" else ""))
        if not sheets:
            raise WorkbookFileError(f"{self.package.name} holds no sheet")
        return tuple(sheets)

    @cached_property
    def epoch(self) -> date:
        """Day 0 of the workbook's calendar."""
        properties = self._root.find("workbookPr")
        is_1904 = properties is not None and properties.get("date1904", "0").lower() in _TRUE
        return EPOCH_1904 if is_1904 else EPOCH_1900

    @cached_property
    def iterates(self) -> dict[str, str]:
        """The workbook's settings for formulas that go round in a circle; empty where it wants none."""
        settings = self._root.find("calcPr")
        if settings is None or settings.get("iterate", "0").lower() not in _TRUE:
            return {}
        return {key: value for key, value in settings.attrib.items() if key.startswith("iterate")}

    @cached_property
    def defined_names(self) -> tuple[DefinedName, ...]:
        """The names that formulas can use."""
        names = []
        for item in self._children("definedNames"):
            name = item.get("name", "")
            index = item.get("localSheetId")
            if not name.startswith("_xlnm.") and item.get("function", "0").lower() not in _TRUE:
                names.append(
                    DefinedName(name, item.text or "", None if index is None else self._whole(index, "localSheetId"))
                )
        return tuple(names)

    @cached_property
    def outer_links(self) -> tuple[str, ...]:
        """The parts that hold what was last seen of other workbooks, in the order of ``[1]``, ``[2]``…"""
        links = [self._links.get(item.get("id", ""), ("", "")) for item in self._children("externalReferences")]
        return tuple(part for _, part in links)

    @cached_property
    def tables(self) -> dict[str, Table]:
        """The tables by their names in small letters."""
        tables = {}
        for sheet in self.sheets:
            for kind, part in self.links_of(sheet.part).values() if sheet.part else ():
                if kind == "table":
                    table = self._table(tree(self.package.read(part), f"{self.package.name}, {part},"), sheet.name)
                    tables[table.name.lower()] = table
        return tables

    def _table(self, root: Element, sheet: str) -> Table:
        name = root.get("displayName", "")
        try:
            area = read_area(root.get("ref", ""))
        except ValueError:
            raise WorkbookFileError(f"{self.package.name} is a broken file (the table {name} lies nowhere)") from None
        return Table(
            name=name,
            sheet=sheet,
            area=area,
            header_rows=self._whole(root.get("headerRowCount", "1"), "headerRowCount"),
            totals_rows=self._whole(root.get("totalsRowCount", "0"), "totalsRowCount"),
            columns=tuple(shown_text(column.get("name", "")) for column in root.iterfind("tableColumns/tableColumn")),
        )

    @cached_property
    def shared_strings(self) -> tuple[str, ...]:
        """The texts that cells refer to by number."""
        for kind, part in self._links.values():
            if kind == "sharedStrings":
                root = tree(self.package.read(part), f"{self.package.name}, {part},")
                return tuple(rich_text(item) for item in root if item.tag == "si")
        return ()

    @cached_property
    def shared_strings_part(self) -> str:
        """The name of the part with the shared texts; empty where there is none."""
        return next((part for kind, part in self._links.values() if kind == "sharedStrings"), "")

    @cached_property
    def date_styles(self) -> frozenset[str]:
        """The numbers (as written in ``s="…"``) of the cell styles that show a date."""
        part = next((part for kind, part in self._links.values() if kind == "styles"), "")
        if part not in self.package:
            return frozenset()
        root = tree(self.package.read(part), f"{self.package.name}, {part},")
        formats = dict.fromkeys(_DATE_FORMATS, "d")
        for item in root.iterfind("numFmts/numFmt"):
            formats[item.get("numFmtId", "")] = item.get("formatCode", "")
        styles = (formats.get(style.get("numFmtId", ""), "") for style in root.iterfind("cellXfs/xf"))
        return frozenset(str(index) for index, style in enumerate(styles) if _shows_date(style))


def _shows_date(number_format: str) -> bool:
    """Return whether a number format, such as ``d. mmm yyyy``, shows a number as a date or a time."""
    return _OF_DATES.search(_SET_APART.sub("", number_format.partition(";")[0])) is not None
