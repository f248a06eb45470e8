"""One worksheet's XML: where its formula cells lie in it, to the byte, and what they hold.

A first reading (:func:`scan`) goes over the whole sheet and notes the formula cells. Only sheets with array
formulas over several cells are read a second time (:func:`lay_out`), for the cells that their answers fill.
"""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Iterable

from .errors import WorkbookFileError
from .places import Area, cell_name, read_area, read_cell_name
from .xml_parts import guarded_parser, local, run

_TAG_END = re.compile(rb"""(?:[^>"']|"[^"]*"|'[^']*')*>""")
_FORMULA_OR_DATE = re.compile(rb"""<(?:\w+:)?f[\s/>]|\st\s*=\s*["']d""")
_ENCODING = re.compile(rb"""<\?xml[^>]*?encoding\s*=\s*["']([^"']+)["']""")


@dataclass
class PlacedCell:
    """A cell with its bytes: the whole element, its stored value's element, and where a new one would go."""

    row: int
    column: int
    start: int
    tag_end: int  # after the cell's start tag
    end: int  # after the whole cell
    kind: str  # the attribute t, "" for a number
    style: str
    stored: str | None = None  # the text of the stored value, None where there is none
    value_start: int = -1  # the element of the value
    value_end: int = -1
    value_place: int = -1  # where a value's element goes where there is none; -1 in an empty tag

    @property
    def name(self) -> str:
        """The cell's name, such as ``B2``."""
        return cell_name(self.row, self.column)


@dataclass
class FormulaCell(PlacedCell):
    """A cell with a formula."""

    formula: str = ""  # without the equals sign; empty in the followers of a shared formula
    formula_kind: str = ""  # the attribute t of the formula: "", "array", "shared" or "dataTable"
    group: str = ""  # the number of a shared formula
    formula_start: int = -1
    formula_end: int = -1
    area: Area | None = None  # the cells that an array formula fills
    grows: bool = False  # a dynamic array: its area follows the answer

    @property
    def fills_several(self) -> bool:
        """Whether this is an array formula over more than one cell."""
        return self.area is not None and self.area.rows * self.area.columns > 1


@dataclass
class ScannedSheet:
    """A worksheet's bytes and its formula cells in the order of the file."""

    name: str
    part: str
    xml: bytes
    prefix: str  # of its tags, with the colon; mostly empty
    formulas: list[FormulaCell] = field(default_factory=list)
    iso_dates: list[PlacedCell] = field(default_factory=list)
    root_end: int = -1  # after the root's start tag
    data_start: int = -1  # the element with the rows
    data_end: int = -1


def tag_end(xml: bytes, start: int) -> int:
    """Return where the tag ends that starts at a byte."""
    end = xml.index(b">", start) + 1
    tag = xml[start:end]
    if tag.count(b'"') % 2 or tag.count(b"'") % 2:  # the > may stand in an attribute
        match = _TAG_END.match(xml, start)
        if match:
            return match.end()
    return end


def scan(xml: bytes, name: str, part: str, where: str) -> ScannedSheet:
    """Read a worksheet once and note its formula cells.

    name : the sheet's name. where : the file, for messages. Raises :class:`WorkbookFileError`.
    """
    _check_encoding(xml, f"{where}, sheet {name},")
    scanner = _Scanner(xml, name, part)
    scanner.may_stop = not _FORMULA_OR_DATE.search(xml) and b"<!" not in xml
    with suppress(_NothingToFind):
        run(scanner.parser, xml, f"{where}, sheet {name},")
    sheet = scanner.sheet
    if sheet.data_end < 0:
        raise WorkbookFileError(f"{where}, sheet {name}, is no worksheet that can be read")
    return sheet


class _NothingToFind(Exception):
    """Ends the reading of a sheet without formulas, such as a long record, where its rows start."""


def _check_encoding(xml: bytes, where: str) -> None:
    declared = _ENCODING.match(xml[:200].removeprefix(b"\xef\xbb\xbf"))
    if xml.startswith((b"\xff\xfe", b"\xfe\xff")) or (declared and declared[1].lower() not in (b"utf-8", b"us-ascii")):
        raise WorkbookFileError(f"{where} is not written in UTF-8")


class _Reader:
    """Handlers that follow rows and cells; the positions are expat's, in bytes."""

    def __init__(self, xml: bytes, name: str, part: str) -> None:
        self.parser = guarded_parser()
        self.sheet = ScannedSheet(name, part, xml, "")
        self._row = 0
        self._named = ""  # the last cell name in this row
        self._after = 0  # cells without a name since then
        self._cell_start = -1
        self._attributes: dict[str, str] = {}
        self._cell: PlacedCell | None = None
        self._inner_start = -1
        self._texts: list[str] = []
        self.parser.StartElementHandler = self._root

    def _root(self, tag: str, attributes: dict[str, str]) -> None:
        sheet = self.sheet
        sheet.prefix = prefix = tag[: -len(local(tag))]
        sheet.root_end = tag_end(sheet.xml, self.parser.CurrentByteIndex)
        self._data_tag, self._row_tag, self._cell_tag = prefix + "sheetData", prefix + "row", prefix + "c"
        self._formula_tag, self._value_tag, self._inline_tag = prefix + "f", prefix + "v", prefix + "is"
        self.parser.StartElementHandler = self._before_data

    def _before_data(self, tag: str, attributes: dict[str, str]) -> None:
        if tag == self._data_tag and self.sheet.data_start < 0:
            self.sheet.data_start = self.parser.CurrentByteIndex
            self._data_opened()
            self.parser.StartElementHandler = self._start
            self.parser.EndElementHandler = self._end

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        if tag == self._cell_tag:
            self._cell_start = self.parser.CurrentByteIndex
            self._attributes = attributes
            name = attributes.get("r")
            if name:
                self._named, self._after = name, 0
            else:
                self._after += 1
            self._cell = None
            self._cell_opened()
        elif tag == self._row_tag:
            number = attributes.get("r")
            self._row = int(number) if number else self._row + 1
            self._named, self._after = "", 0
            self._row_opened()
        elif tag == self._formula_tag:
            self._formula_opened(attributes)
        elif self._cell is not None and tag in (self._value_tag, self._inline_tag):
            self._collect()

    def _end(self, tag: str) -> None:
        if tag == self._cell_tag:
            if self._cell is not None:
                self._close_cell(self._cell)
        elif tag == self._data_tag:
            self.sheet.data_end = tag_end(self.sheet.xml, self.parser.CurrentByteIndex)
            self.parser.StartElementHandler = None
            self.parser.EndElementHandler = None
        elif tag == self._row_tag:
            self._row_closed()
        elif self._cell is not None and tag in (self._value_tag, self._inline_tag):
            self._cell.stored = self._collected()
            self._cell.value_start = self._inner_start
            self._cell.value_end = tag_end(self.sheet.xml, self.parser.CurrentByteIndex)
        elif self._cell is not None and tag == self._formula_tag:
            self._formula_closed(self._cell)

    # -- what the two readings do differently ----------------------------------------------------------------

    def _data_opened(self) -> None: ...

    def _cell_opened(self) -> None: ...

    def _row_opened(self) -> None: ...

    def _row_closed(self) -> None: ...

    def _formula_opened(self, attributes: dict[str, str]) -> None: ...

    def _formula_closed(self, cell: PlacedCell) -> None: ...

    def _keep(self, cell: PlacedCell) -> None: ...

    # -- help ------------------------------------------------------------------------------------------------

    def _collect(self) -> None:
        self._inner_start = self.parser.CurrentByteIndex
        self._texts = []
        self.parser.CharacterDataHandler = self._texts.append

    def _collected(self) -> str:
        self.parser.CharacterDataHandler = None
        return "".join(self._texts)

    def _place(self) -> tuple[int, int]:
        """Return row and column of the cell at hand; one without a name follows the one before it."""
        if not self._named:
            return self._row, self._after
        self._row, column = read_cell_name(self._named)
        return self._row, column + self._after

    def _new_cell(self, kind: type[PlacedCell]) -> PlacedCell:
        row, column = self._place()
        attributes = self._attributes
        opened = tag_end(self.sheet.xml, self._cell_start)
        return kind(row, column, self._cell_start, opened, -1, attributes.get("t", ""), attributes.get("s", ""))

    def _close_cell(self, cell: PlacedCell) -> None:
        at = self.parser.CurrentByteIndex
        if at == cell.start:  # an empty tag
            cell.end = cell.tag_end
        else:
            cell.end = tag_end(self.sheet.xml, at)
            if cell.value_place < 0:
                cell.value_place = cell.tag_end
        self._keep(cell)


class _Scanner(_Reader):
    """The first reading: the cells with formulas."""

    may_stop = False

    def _data_opened(self) -> None:
        end = self.sheet.xml.rfind(f"</{self._data_tag}>".encode())
        if self.may_stop and end >= 0:
            self.sheet.data_end = tag_end(self.sheet.xml, end)
            raise _NothingToFind

    def _cell_opened(self) -> None:
        if self._attributes.get("t") == "d":
            self._cell = self._new_cell(PlacedCell)

    def _formula_opened(self, attributes: dict[str, str]) -> None:
        cell = self._new_cell(FormulaCell)
        assert isinstance(cell, FormulaCell)
        cell.formula_kind = attributes.get("t", "")
        cell.group = attributes.get("si", "")
        if cell.formula_kind == "array":
            cell.area = read_area(attributes.get("ref", cell.name))
            cell.grows = "cm" in self._attributes
        cell.formula_start = self.parser.CurrentByteIndex
        self._cell = cell
        self._collect()

    def _formula_closed(self, cell: PlacedCell) -> None:
        if isinstance(cell, FormulaCell):
            cell.formula = self._collected()
            cell.formula_end = cell.value_place = tag_end(self.sheet.xml, self.parser.CurrentByteIndex)

    def _keep(self, cell: PlacedCell) -> None:
        if isinstance(cell, FormulaCell):
            self.sheet.formulas.append(cell)
        else:
            self.sheet.iso_dates.append(cell)


# -- the second reading --------------------------------------------------------------------------------------


@dataclass
class RowPlace:
    """A row's bytes: where its last cell ends, which is -1 in an empty tag, and where it starts."""

    number: int
    start: int
    inner_end: int = -1
    tag_end: int = -1


@dataclass
class Layout:
    """The cells and rows that array formulas over several cells fill."""

    cells: dict[tuple[int, int], PlacedCell] = field(default_factory=dict)  # also those right of the areas
    formulas: set[tuple[int, int]] = field(default_factory=set)
    rows: list[RowPlace] = field(default_factory=list)


def lay_out(sheet: ScannedSheet, areas: Iterable[Area], where: str) -> Layout:
    """Read a worksheet a second time for the cells and the rows in some areas.

    All rows are noted, and in the rows of the areas all cells from the areas' first column on.
    """
    reader = _LayoutReader(sheet, tuple(areas))
    run(reader.parser, sheet.xml, f"{where}, sheet {sheet.name},")
    return reader.layout


class _LayoutReader(_Reader):
    def __init__(self, sheet: ScannedSheet, areas: tuple[Area, ...]) -> None:
        super().__init__(sheet.xml, sheet.name, sheet.part)
        self.layout = Layout()
        self._left_of: dict[int, int] = {}
        for area in areas:
            for row in range(area.top, area.bottom + 1):
                self._left_of[row] = min(area.left, self._left_of.get(row, area.left))

    def _row_opened(self) -> None:
        start = self.parser.CurrentByteIndex
        self.layout.rows.append(RowPlace(self._row, start, tag_end=tag_end(self.sheet.xml, start)))

    def _row_closed(self) -> None:
        row = self.layout.rows[-1]
        if self.parser.CurrentByteIndex != row.start:
            row.inner_end = self.parser.CurrentByteIndex

    def _cell_opened(self) -> None:
        row, column = self._place()
        if row in self._left_of and column >= self._left_of[row]:
            self._cell = self._new_cell(PlacedCell)

    def _formula_opened(self, attributes: dict[str, str]) -> None:
        if self._cell is not None:
            self.layout.formulas.add((self._cell.row, self._cell.column))

    def _keep(self, cell: PlacedCell) -> None:
        self.layout.cells[cell.row, cell.column] = cell
