"""Stored values that hold no longer: those of formulas that depend on cells into which something was written.

They are dropped, so that the next recalculation or office program works them out; what neither can work out has no
value then, which is better than a wrong one.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Iterable, Mapping

from ..xlsx.package import Package
from ..xlsx.patch import ByteEdit, patched, value_edits
from ..xlsx.references import Area
from ..xlsx.sheet import lay_out
from ..xlsx.workbook import Book
from .formulas import SheetArea
from .plan import Dependence
from .reading import Formulas


def without_stale_values(raw: bytes, name: str, written: Mapping[str, Iterable[tuple[int, int]]]) -> bytes:
    """Return a workbook file without the stored values of the formulas that depend, in any way, on some cells.

    name : the file's, for messages. written : the cells into which something was written, as (row, column) by sheet.
    Raises :class:`WorkbookFileError`.
    """
    package = Package(raw, name)
    formulas = Formulas(Book(package))
    dependence = Dependence(formulas)
    cells = [SheetArea(sheet.lower(), Area(*cell, *cell)) for sheet, found in written.items() for cell in found]
    stale = dependence.depending(dependence.readers(cells)).keys()
    edits: dict[str, list[ByteEdit]] = defaultdict(list)
    numbers = iter(range(len(formulas.cells)))
    for sheet in formulas.sheets:
        scanned = sheet.scanned
        dropped = [planned.cell for planned, number in zip(sheet.cells, numbers) if number in stale]
        filled = [cell.area for cell in dropped if cell.area and cell.fills_several]
        others = lay_out(scanned, filled, name) if filled else None
        for cell in dropped:
            edits[scanned.part] += value_edits(scanned, cell, None)
        if others is not None:
            for at, cell in others.cells.items():
                if at not in others.formulas and any(area.holds(*at) for area in filled):
                    edits[scanned.part] += value_edits(scanned, cell, None)
    parts = {part: patched(package.read(part), found) for part, found in edits.items() if found}
    return package.with_parts(parts) if parts else raw
