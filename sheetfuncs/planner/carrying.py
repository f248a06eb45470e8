"""Last year's workbook into a new one: what is typed in one and blank in the other, and what does not fit.

Nothing is written here. Tables are matched by headings and by what names a row, settings by their names, so that
the two may come from different editions of the template.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from openpyxl.utils import get_column_letter

from ..cells.errors import InputError
from ..xlsx.references import Area
from .build import pages
from .carried import Typed, all_shown, held, key_of, left_over, not_carried, same, shown
from .made_book import MadeBook, is_open
from .sheets import log, place, trees, weather
from .sheets.layout import Table
from .transfer import SEASON, Row, Transfer, called, entries

TODAY, UNIT = "Day_today", "Unit"
_WEATHER_MONTHS = "Weather_months"
_TREES, _LOG, _DAYS = trees.table(1), log.TABLE, weather.DAYS
_PAGES = pages(1)
_SETTINGS = {line.name: line for page in _PAGES for block in page.settings for line in block.lines}
#: The tables in which one types; the days of weather come last.
_TABLES = [table for page in _PAGES for table in page.tables if table.named_by] + [_DAYS]
#: What is seen of a tree in one season, with the column of the log that takes it over; the rest goes into its note.
_SEEN = {
    "leaves": "", "counted_on": "", "buds": "", "figs": "", "cut_on": "cut_on", "seen_on": "seen_on",
    "picking_from": "first_ripe", "picking_to": "last_ripe", "picked": "kilograms",
}  # fmt: skip


class _Cells(NamedTuple):
    """Cells that belong together, each by its offset from the first."""

    sheet: str
    at: Mapping[tuple[int, int], tuple[int, int]]


def plan_carry(old: MadeBook, new: MadeBook, season: int | None = None) -> Transfer:
    """Return what carrying one workbook into another comes to.

    season : of the new workbook where it has none typed; by default the one after the old workbook's.
    Raises :class:`InputError` where the two count in different units, or where ``season`` is not the new one's.
    """
    plan = _Plan(old, new, season)
    plan.go_through()
    return plan


def rows_needed(old: MadeBook) -> tuple[int, int]:
    """Return how many trees the old workbook lists, and how many lines its log has."""
    if old.find(_TREES) is None:
        raise InputError(f"{old.path.name} has no sheet Trees, wanted a workbook made by: sheetfuncs new")
    return _filled(old, _TREES), _filled(old, _LOG)


def _filled(book: MadeBook, table: Table) -> int:
    found = book.find(table)
    return sum(found.value(row, "tag") is not None for row in book.ready_rows(found, table)) if found else 0


class _Plan(Transfer):
    """Goes through the old workbook, part by part."""

    def go_through(self) -> None:
        """Note all that is carried, and what is not."""
        rows_needed(self.old)
        self._refuse_another_unit()
        self._settings()
        lines = self.rows(_LOG)
        for table in _TABLES:
            if table.sheet == trees.NAME:
                self.carry_rows(table, self._standing_trees(lines))
            else:
                self.carry_rows(table, lines if table.sheet == log.NAME else self.rows(table))
        self._group("the frost dates", _frost_cells(self.old), _frost_cells(self.new))
        self._group("the monthly means", _month_cells(self.old), _month_cells(self.new))
        if self.old.banner and not self.new.banner:
            self.left.append(f"what marks it as invented ({self.old.banner})")
        self.left += left_over(self.old, self.seen, self._columns())

    def _columns(self) -> dict[str, dict[int, int]]:
        """Return the columns of the declared tables by sheet, each with the row of its heading."""
        columns: dict[str, dict[int, int]] = {}
        for found in filter(None, (self.old.find(table) for table in _TABLES if table is not _DAYS)):
            columns.setdefault(found.sheet.title, {}).update(dict.fromkeys(found.columns.values(), found.heading_row))
        return columns

    # -- seasons and units -------------------------------------------------------------------------------------

    def _refuse_another_unit(self) -> None:
        typed = self.typed(self.new, UNIT)
        ours, theirs = (str(unit or "C").strip().upper() for unit in (self.typed(self.old, UNIT), typed))
        if ours != theirs and (typed is not None or self._holds_degrees(self.new)):
            raise InputError(
                f"{self.old.path.name} is in °{ours}, {self.new.path.name} in °{theirs}, wanted one unit for both"
            )

    def _holds_degrees(self, book: MadeBook) -> bool:
        """Return whether anything is typed in a workbook that may be in its unit."""
        for table in _TABLES:
            # The names of positions and varieties stand in a blank workbook, too.
            keys = set(entries(table)) - ({"name"} if table.named_by == ("name",) else set())
            if any(row.values.get(key) is not None for row in self.rows_of(book, table) for key in keys):
                return True
        return any(self.typed(book, name) is not None for name in _SETTINGS if name not in (SEASON, TODAY))

    # -- settings ----------------------------------------------------------------------------------------------

    def _settings(self) -> None:
        for name, setting in _SETTINGS.items():
            at = self.old.typed_cell(name)
            if at is None:
                continue
            value = self.take(*at)
            what = f"{at[0]}, {_label(self.old, at)}"
            if name == SEASON:
                value = self.new_season
            if value is None:
                continue
            if name == TODAY and self.years:
                self.left.append(f"{what}, of season {self.old_season}: {shown(value)}")
                continue
            if setting.of_season:
                value = self.move_on(value, what)
            self._put_one(self.new.typed_cell(name), value, what)
        for name, _, _ in weather.ORIGIN:
            one, other = self.old.named(name), self.new.named(name)
            if one is not None and other is not None:
                value = self.take(one.sheet, one.area.top, one.area.left)
                if value is not None:
                    self._put_one((other.sheet, other.area.top, other.area.left), value, f"{one.sheet}, {name}")

    def _put_one(self, at: tuple[str, int, int] | None, value: Typed, what: str) -> None:
        if at is None:
            self.left.append(f"{what}: {shown(value)} has no place in {self.new.path.name}")
            return
        sheet, row, column = at
        if self.is_blank(held(self.new.workbook[sheet], row, column), value, what):
            self.write(sheet, Area(row, column, row, column), {(row, column): value})

    # -- trees and the log -------------------------------------------------------------------------------------

    def _standing_trees(self, lines: list[Row]) -> list[Row]:
        """Return the trees as they stand in the new season; what was seen of them goes into the lines of the log."""
        standing = self.rows(_TREES)
        if not self.years:
            return standing
        for row in standing:
            self._into_log(row, lines)
        return [replace(row, values={key: value for key, value in row.values.items() if key not in _SEEN})
                for row in standing]  # fmt: skip

    def _into_log(self, tree: Row, lines: list[Row]) -> None:
        """Add what was seen of a tree in the old season to the lines of the log."""
        seen = {key: tree.values[key] for key in _SEEN if tree.values.get(key) is not None}
        counted = _counted_in_words(seen)
        dated = {_SEEN[key]: value for key, value in seen.items() if _SEEN[key]}
        if not dated:
            if seen:
                self.left.append(f"Trees, {tree.called}, of season {self.old_season}: {counted}")
            return
        line = {
            "tag": tree.values["tag"], "year": self.old_season, "kind": tree.values.get("kind"),
            "position": tree.values.get("position"), **dated, "note": counted or None,
        }  # fmt: skip
        name = called(_LOG, line)
        key_of_line = key_of(_LOG.named_by, line)
        present = next((row for row in lines if key_of(_LOG.named_by, row.values) == key_of_line), None)
        if present is None:
            lines.append(Row(line, name))
            what = f"the cut on {shown(dated['cut_on'])}" if "cut_on" in dated else "what was seen"
            self.moved.append(f"Trees, {tree.called}: {what} became a line of Log")
            return
        for key, value in line.items():
            if present.values.get(key) is None:
                present.values[key] = value
            elif key in dated and not same(present.values[key], value):
                heading = next(column.heading for column in _LOG.columns if column.key == key)
                self.left.append(not_carried(f"Log, {name}, {heading}", value, present.values[key]))
        if counted and present.values.get("note") != counted:
            self.left.append(f"Trees, {tree.called}, of season {self.old_season}: {counted}")

    # -- cells that belong together ----------------------------------------------------------------------------

    def _group(self, what: str, old: _Cells | None, new: _Cells | None) -> None:
        """Carry cells that only mean something together: all of them, or none."""
        if old is None:
            return
        values = {offset: self.take(old.sheet, *at) for offset, at in old.at.items()}
        if all(value is None for value in values.values()):
            return
        if new is None:
            self.left.append(f"{old.sheet}, {what}: no place in {self.new.path.name} ({all_shown(values)})")
            return
        present = {offset: held(self.new.workbook[new.sheet], *at) for offset, at in new.at.items()}
        if all(value is None for value in present.values()):
            cells = {new.at[offset]: value for offset, value in values.items() if value is not None}
            self.write(new.sheet, Area(*min(cells), *max(cells)), cells)
        elif not all(same(present.get(offset), value) for offset, value in values.items()):
            self.left.append(f"{old.sheet}, {what}: {self.new.path.name} has others ({all_shown(values)})")

def _frost_cells(book: MadeBook) -> _Cells | None:
    """Return the rows of chance and date, which stand below the one typed date."""
    at = book.typed_cell("Frost_one_date")
    if at is None:
        return None
    sheet, row, column = at
    offsets = [(down, right) for down in range(place.FROST_ROWS) for right in range(2)]
    cells = book.workbook[sheet]._cells
    open_ones = {
        (down, right): (row + 1 + down, column + right)
        for down, right in offsets
        if (row + 1 + down, column + right) in cells and is_open(cells[row + 1 + down, column + right])
    }
    return _Cells(sheet, open_ones) if open_ones else None


def _month_cells(book: MadeBook) -> _Cells | None:
    named = book.named(_WEATHER_MONTHS)
    if named is None:
        return None
    area = named.area
    return _Cells(named.sheet, {
        (row - area.top, column - area.left): (row, column)
        for row in range(area.top, area.bottom + 1)
        for column in range(area.left + 1, area.right + 1)
    })  # fmt: skip


def _label(book: MadeBook, at: tuple[str, int, int]) -> str:
    sheet, row, column = at
    texts = (held(book.workbook[sheet], row, left) for left in range(column - 1, 0, -1))
    return next((text for text in texts if isinstance(text, str)), f"{get_column_letter(column)}{row}")


def _counted_in_words(seen: Mapping[str, Typed]) -> str:
    """Return what was counted on a tree in words, without what the log has columns for."""
    parts = []
    if "leaves" in seen:
        on = f" on {shown(seen['counted_on'])}" if "counted_on" in seen else ""
        parts.append(f"{shown(seen['leaves'])} leaves on a shoot{on}")
    elif "counted_on" in seen:
        parts.append(f"counted on {shown(seen['counted_on'])}")
    if "buds" in seen:
        parts.append(f"fig buds seen: {shown(seen['buds'])}")
    if "figs" in seen:
        parts.append(f"{shown(seen['figs'])} figs on a shoot")
    return "; ".join(parts)
