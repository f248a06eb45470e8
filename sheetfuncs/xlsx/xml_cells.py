"""Cells and rows of a worksheet's XML, each with its bytes."""

from __future__ import annotations

from dataclasses import dataclass, field

from .references import Area, cell_name
from .xml_parts import unescaped


@dataclass(slots=True)
class XmlCell:
    """A cell with its bytes: the whole element, its stored value's element, and where a new one would go."""

    row: int
    column: int
    start: int
    tag_end: int  # after the cell's start tag
    end: int  # after the whole cell
    kind: str  # the attribute t, "" for a number
    style: str
    raw_stored: bytes | None = None  # the stored value as it stands in the XML, None where there is none
    value_start: int = -1  # the element of the value
    value_end: int = -1
    new_value_at: int = -1  # where a value's element goes where there is none; -1 in an empty tag

    @property
    def name(self) -> str:
        """The cell's name, such as ``B2``."""
        return cell_name(self.row, self.column)

    @property
    def stored(self) -> str | None:
        """The text of the stored value, ``None`` where there is none."""
        return None if self.raw_stored is None else unescaped(self.raw_stored)


@dataclass(slots=True)
class FormulaCell(XmlCell):
    """A cell with a formula."""

    raw_formula: bytes = b""  # as it stands in the XML; empty in the followers of a shared formula
    formula_kind: str = ""  # the attribute t of the formula: "", "array", "shared" or "dataTable"
    group: str = ""  # the number of a shared formula
    formula_start: int = -1
    formula_tag_end: int = -1
    formula_end: int = -1
    area: Area | None = None  # the cells that an array formula or a what-if table fills
    inputs: tuple[str, ...] = ()  # the cells into which a what-if table puts its values
    grows: bool = False  # a dynamic array: its area follows the answer

    @property
    def formula(self) -> str:
        """The formula's text without the equals sign."""
        return unescaped(self.raw_formula)

    @property
    def fills_several(self) -> bool:
        """Whether this is an array formula or a what-if table over more than one cell."""
        return self.area is not None and self.area.rows * self.area.columns > 1


@dataclass
class XmlRow:
    """A row's bytes: where it starts, where its start tag and its last cell end; -1 in an empty tag."""

    number: int
    start: int
    tag_end: int
    inner_end: int


@dataclass
class Layout:
    """All rows of a sheet, and the cells in some areas and to their right."""

    rows: list[XmlRow] = field(default_factory=list)
    cells: dict[tuple[int, int], XmlCell] = field(default_factory=dict)
    formulas: frozenset[tuple[int, int]] = frozenset()  # the whole sheet's cells with a formula


@dataclass
class ScannedSheet:
    """A worksheet's bytes and its formula cells in the order of the file."""

    name: str
    part: str
    xml: bytes
    prefix: str = ""  # of its tags, with the colon; mostly empty
    root_end: int = -1  # after the root's start tag
    data_start: int = -1  # the element with the rows, which may be an empty tag
    data_end: int = -1
    formulas: list[FormulaCell] = field(default_factory=list)
    unnamed: dict[int, tuple[int, int]] = field(default_factory=dict)  # cells without a name, once one was met
    iso_dates: list[XmlCell] = field(default_factory=list)
