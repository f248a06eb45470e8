"""A formula as a tree: read once, changed by passes that give another tree, written once.

A tree has no brackets: they are written again where they are needed.
"""

from __future__ import annotations

import re
from typing import Callable, Iterator, Mapping, NamedTuple, Union

import formualizer

from ..xlsx.references import column_letters, plain_sheet
from ..xlsx.workbook import Table
from .formulas import Cells, Template, UnreadableFormulaError, office_name, plain_name, syntax

COMPARISONS = ("=", "<>", "<", ">", "<=", ">=")
#: How tightly signs bind: those between two operands, before one, after one.
_LEVELS = {",": 0, **dict.fromkeys(COMPARISONS, 1), "&": 2, "+": 3, "-": 3, "*": 4, "/": 4, "^": 5, " ": 8, ":": 9}
_BEFORE, _AFTER, _TIGHTEST = 6, 7, 10
#: A sheet, a book or a library before a reference, and the rest.
_SHEET = re.compile(r"((?:'(?:[^']|'')*'|[^'!]*)!)?(.*)", re.DOTALL)
_ITEM = re.compile(r"\[((?:[^\[\]']|'.)*)\]")
_ESCAPE = re.compile(r"'(.)", re.DOTALL)
_STRUCTURED = re.compile(
    r"(?P<table>(?:[^\W\d][\w.\\?]*)?)(?P<bracket>(?:\[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\])?)", re.DOTALL
)
_PARTS = {"#all", "#data", "#headers", "#totals", "#this row"}


class Leaf(NamedTuple):
    """A piece without parts that is no reference to cells.

    kind : "number", "text", "error", "truth", "array" (in braces), "name", "outer" (a name of another book).
    text : as it is written; for names, without the sheet. sheet : as it is written, with its mark.
    """

    kind: str
    text: str
    sheet: str = ""


class Call(NamedTuple):
    """A function called; an argument left out is ``None``. Made by :func:`function_call`.

    name : of an office function, in capitals and without marks. plain : without all that programs put before the name
    of a function of ours.
    """

    written: str
    arguments: tuple[Node | None, ...]
    name: str
    plain: str


class Operation(NamedTuple):
    """A sign between two operands, before one (``-``, ``+``, ``@``) or after one (``%``, ``#``).

    The sign of a function that is called as soon as it is made, by ``LAMBDA(…)(…)``, is ``()``.
    """

    sign: str
    operands: tuple[Node, ...]


Node = Union[Leaf, Cells, Call, Operation]


def function_call(written: str, *arguments: Node | None) -> Call:
    """Return a function called, by the name it is written with."""
    return Call(written, arguments, office_name(written), plain_name(written))


def parts(node: Node) -> tuple[Node, ...]:
    """Return the parts of a node."""
    if isinstance(node, Call):
        return tuple(argument for argument in node.arguments if argument is not None)
    return node.operands if isinstance(node, Operation) else ()


def all_nodes(node: Node) -> Iterator[Node]:
    """Go over a tree, the outer nodes first."""
    yield node
    for part in parts(node):
        yield from all_nodes(part)


def changed(node: Node, change: Callable[[Node], Node]) -> Node:
    """Return a tree in which every node is changed, the inner ones first."""
    if isinstance(node, Call):
        node = node._replace(arguments=tuple(part and changed(part, change) for part in node.arguments))
    elif isinstance(node, Operation):
        node = node._replace(operands=tuple(changed(part, change) for part in node.operands))
    return change(node)


def written(tree: Node) -> Template:
    """Return a tree as the text of a formula, to be filled for a cell."""
    return Template.of(list(_pieces(tree)))


def _pieces(node: Node | None, above: int = -1) -> Iterator[str | Cells]:
    """Go over what a node is written as; above : how tightly the sign binds of which it is an operand."""
    if isinstance(node, Cells):
        yield node
    elif isinstance(node, Leaf):
        yield node.sheet + node.text
    elif isinstance(node, Call):
        yield f"{node.written}("
        for index, argument in enumerate(node.arguments):
            yield "," if index else ""
            yield from _pieces(argument, 1)
        yield ")"
    elif isinstance(node, Operation):
        level = _level(node)
        first, *others = node.operands
        yield "(" if level < above else ""
        yield node.sign if level == _BEFORE else ""
        yield from _pieces(first, level)
        yield node.sign if level != _BEFORE else ""
        yield from (piece for other in others for piece in _pieces(other, level + 1))
        yield ")" if level < above else ""


def _level(node: Operation) -> int:
    if len(node.operands) == 2:
        return _LEVELS.get(node.sign, _TIGHTEST)
    return _AFTER if node.sign in "%#" else _BEFORE


class Reader(NamedTuple):
    """Reads the formulas of one sheet as trees.

    tables : by their names in small letters. sheet : on which the formulas stand.
    """

    tables: Mapping[str, Table]
    sheet: str

    def read(self, formula: str, row: int, column: int) -> Node:
        """Return the formula of a cell as a tree; raises :class:`UnreadableFormulaError`."""

        def read(node: formualizer.ASTNode) -> Node | None:
            kind = node.node_type()
            if kind == "Omitted":
                return None
            if kind == "Reference":
                return self._reference(node.get_reference_string() or "", row, column)
            if kind in ("Literal", "Array"):
                return _literal(node)
            found = tuple(map(read, node.children()))
            if kind == "Function":
                return function_call((node.get_function_name() or "").rpartition("!")[2], *found)
            return Operation(node.get_operator() or "()", tuple(part for part in found if part is not None))

        tree = read(syntax(formula))
        assert tree is not None
        return tree

    def _reference(self, text: str, row: int, column: int) -> Node:
        structured = _cells_of(text, self.tables, self.sheet, row, column)
        sheet, rest = (structured[0], structured[1]) if structured else _SHEET.fullmatch(text).groups("")  # type: ignore
        if rest.startswith("#"):
            return Leaf("error", rest)
        cells = Cells.read(rest, row, column, sheet if structured else plain_sheet(sheet[:-1]))
        return cells or Leaf("outer" if "[" in sheet else "name", rest, sheet)


def _literal(node: formualizer.ASTNode) -> Leaf:
    value, text = node.get_literal_value(), node.to_formula()[1:]
    if isinstance(value, bool):
        return Leaf("truth", text.upper())
    if isinstance(value, (int, float)):
        return Leaf("number", str(int(value)) if float(value).is_integer() and value < 1e15 else repr(value).upper())
    return Leaf({'"': "text", "{": "array"}.get(text[0], "error"), text)


# -- structured references to tables -----------------------------------------------------------------------------


def _cells_of(reference: str, tables: Mapping[str, Table], sheet: str, row: int, column: int) -> tuple[str, str] | None:
    """Return the sheet and the cells, as they are written, for a reference such as ``Trees[[#This Row],[Kind]]``.

    An error value instead of the cells where office programs answer with one; ``None`` for what is no structured
    reference. Raises :class:`UnreadableFormulaError` where it leads nowhere.
    """
    found = _STRUCTURED.fullmatch(reference)
    if found is None or not (found["bracket"] or found["table"].lower() in tables):
        return None
    table = tables.get(found["table"].lower()) if found["table"] else _around(tables, sheet, row, column)
    if table is None:
        raise UnreadableFormulaError(f"names the table {found['table']}, which is not in the workbook")
    return table.sheet, _area(table, found["bracket"] or "[]", sheet, row)


def _around(tables: Mapping[str, Table], sheet: str, row: int, column: int) -> Table:
    for table in tables.values():
        if table.sheet == sheet and table.area.holds(row, column):
            return table
    raise UnreadableFormulaError("names a table's column and stands outside any table")


def _area(table: Table, bracket: str, sheet: str, row: int) -> str:
    parts, names = _read(bracket)
    area = table.area
    columns = [_column(table, name) for name in names] or [area.left, area.right]
    first, last = (f"${column_letters(number)}" for number in (min(columns), max(columns)))
    data_top, data_bottom = area.top + table.header_rows, area.bottom - table.totals_rows
    if "#this row" in parts:
        if not data_top <= row <= data_bottom or table.sheet != sheet:
            return "#VALUE!"  # what office programs answer
        ends = f"{first}{row}", f"{last}{row}"
    else:
        stretches = {
            "#all": (area.top, area.bottom),
            "#headers": (area.top, data_top - 1),
            "#data": (data_top, data_bottom),
            "#totals": (data_bottom + 1, area.bottom),
        }
        wanted = [stretches[part] for part in parts or {"#data"} if stretches[part][0] <= stretches[part][1]]
        if not wanted:
            return "#REF!"
        ends = f"{first}${min(top for top, _ in wanted)}", f"{last}${max(bottom for _, bottom in wanted)}"
    return ":".join(dict.fromkeys(ends))


def _column(table: Table, name: str) -> int:
    names = [column.lower() for column in table.columns]
    if name.lower() not in names:
        raise UnreadableFormulaError(f"names the column {name}, which the table {table.name} does not have")
    return table.area.left + names.index(name.lower())


def _read(bracket: str) -> tuple[set[str], list[str]]:
    """Return the parts and the columns of ``[Column]``, ``[@Column]``, ``[[#This Row],[A]:[B]]`` and their like."""
    inside = bracket[1:-1].strip()
    parts = {"#this row"} if inside.startswith("@") else set()
    inside = inside.removeprefix("@").strip()
    items = _ITEM.findall(inside) if inside.startswith("[") else [inside]
    parts |= {item.lower() for item in items if item.lower() in _PARTS}
    return parts, [_ESCAPE.sub(r"\1", item) for item in items if item and item.lower() not in _PARTS]
