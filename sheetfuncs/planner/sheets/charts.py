"""Charts of the workbook: few colours, and a dash, a marker or a pattern wherever two things must be distinguished."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from openpyxl.chart import BarChart, LineChart, Reference
from openpyxl.chart.axis import ChartLines, DateAxis
from openpyxl.chart.data_source import StrRef
from openpyxl.chart.label import DataLabel, DataLabelList
from openpyxl.chart.layout import Layout, ManualLayout
from openpyxl.chart.legend import LegendEntry
from openpyxl.chart.marker import Marker
from openpyxl.chart.series import Series, SeriesLabel
from openpyxl.chart.series_factory import SeriesFactory
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText
from openpyxl.drawing.fill import ColorChoice, PatternFillProperties
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, TwoCellAnchor
from openpyxl.drawing.text import CharacterProperties, Paragraph, ParagraphProperties, RichTextProperties
from openpyxl.utils.cell import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet

from .layout import Table
from .look import SHARE

INK, HEAD, FAINT, WARM, GRID = "26323A", "34505E", "8A969C", "C65F1E", "C3CCD0"

_POINTS = 12_700  # English metric units in a point
_ABOVE, _BELOW = 60, 62


@dataclass(frozen=True)
class Drawn:
    """One series: the key of its column, whose heading is its name, and how it is drawn.

    width : of a line [points], 0 for a bar. dash : ``"solid"``, ``"dash"``, ``"sysDot"``, ``"dashDot"``.
    pattern : of a bar, such as ``"wdUpDiag"``. marker, size : of a point, which is filled and stands without a line.
    hidden : takes its room and is not seen. named : its name is written at its first point, and not in the legend.
    """

    key: str
    colour: str = HEAD
    width: float = 0.0
    dash: str = "solid"
    marker: str = "none"
    size: int = 5
    pattern: str = ""
    hidden: bool = False
    named: bool = False


@dataclass(frozen=True)
class Rows:
    """Rows of a table that a chart draws: the key of the names below the axis, the first row and how many."""

    sheet: Worksheet
    table: Table
    names: str
    skipped: int = 0
    count: int | None = None

    def series(self, drawn: Drawn) -> Series:
        """Return one series, named by its heading."""
        made = SeriesFactory(self.cells(drawn.key), title_from_data=False)
        heading = Reference(self.sheet, min_col=self.table.number(drawn.key), min_row=self.table.heading_row)
        made.tx = SeriesLabel(strRef=StrRef(str(heading)))
        made.graphicalProperties = _looks(drawn)
        if drawn.width:
            made.smooth = False
            made.marker = Marker(drawn.marker)
            if drawn.marker != "none":
                filled = GraphicalProperties(solidFill=drawn.colour, ln=_line(drawn.colour))
                made.marker.size, made.marker.spPr = drawn.size, filled
        if drawn.named:
            made.dLbls = _name_at_the_start()
        return made

    def cells(self, key: str) -> Reference:
        """Return the cells of a column in these rows."""
        first = self.table.first_row + self.skipped
        last = self.table.last_row if self.count is None else first + self.count - 1
        return Reference(self.sheet, min_col=self.table.number(key), min_row=first, max_row=last)


def _looks(drawn: Drawn) -> GraphicalProperties:
    if drawn.hidden:
        return GraphicalProperties(noFill=True, ln=LineProperties(noFill=True))
    if drawn.width:
        seen = {"solidFill": drawn.colour} if drawn.marker == "none" else {"noFill": True}
        return GraphicalProperties(ln=LineProperties(w=int(drawn.width * _POINTS), prstDash=drawn.dash, **seen))
    looks = GraphicalProperties(ln=_line(INK, 0.75))
    if drawn.pattern:
        colours = (ColorChoice(srgbClr=colour) for colour in (drawn.colour, "FFFFFF"))
        looks.pattFill = PatternFillProperties(drawn.pattern, *colours)
    else:
        looks.solidFill = drawn.colour
    return looks


def _line(colour: str, points: float | None = None) -> LineProperties:
    return LineProperties(w=points and int(points * _POINTS), solidFill=colour)


def _name_at_the_start() -> DataLabelList:
    """Return labels of which the first says the series' name, left of its point: an axis whose words cells give."""
    shown = dict.fromkeys(("showLegendKey", "showVal", "showCatName", "showPercent", "showBubbleSize"), False)
    first = DataLabel(idx=0, dLblPos="l", txPr=_text(800), showSerName=True, **shown)
    return DataLabelList(dLbl=[first], showSerName=False, **shown)


def columns(rows: Rows, drawn: Sequence[Drawn], stacked: bool = False) -> BarChart:
    """Return a chart of upright bars."""
    chart = BarChart()
    chart.type = "col"
    chart.grouping = "stacked" if stacked else "clustered"
    chart.overlap = 100 if stacked else None
    chart.gapWidth = 45
    chart.series = [rows.series(one) for one in drawn]
    chart.set_categories(rows.cells(rows.names))
    return chart


def lines(rows: Rows, drawn: Sequence[Drawn], by_date: bool = False) -> LineChart:
    """Return a chart of lines. by_date : the names below are dates; one a month is written."""
    chart = LineChart()
    if by_date:
        chart.x_axis = DateAxis(crossAx=chart.y_axis.axId, baseTimeUnit="days", majorUnit=1, majorTimeUnit="months")
        chart.y_axis.crossAx = chart.x_axis.axId
    chart.series = [rows.series(one) for one in drawn]
    chart.set_categories(rows.cells(rows.names))
    return chart


def add_chart(
    sheet: Worksheet,
    chart: BarChart | LineChart,
    cells: str,
    title: str,
    number_format: str,
    along: str = "General",
    height: float | None = None,
) -> None:
    """Put a chart on a sheet.

    cells : those it covers; it grows and shrinks with them, whatever letters a program measures them by.
    number_format : of the upright axis; shares go from 0 to 1. along : number format of the axis along the bottom.
    height : of a chart without lines across, whose names beside them need room above and below the axes [points].
    """
    chart.title = title
    chart.title.tx.rich.p[0].pPr = ParagraphProperties(defRPr=_letters(1100, bold=True))
    for run in chart.title.tx.rich.p[0].r:
        run.rPr = _letters(1100, bold=True)
    chart.title.overlay = False
    chart.anchor = _over(cells)
    if height:
        chart.layout = Layout(ManualLayout(
            layoutTarget="inner", xMode="edge", yMode="edge",
            x=0.065, w=0.92, y=_ABOVE / height, h=1 - (_ABOVE + _BELOW) / height,
        ))  # fmt: skip
    _write_legend(chart, "t" if height else "b")
    chart.visible_cells_only = False  # what is drawn may stand in hidden columns
    dates = isinstance(chart.x_axis, DateAxis)
    chart.y_axis.title = None
    chart.y_axis.number_format = number_format
    chart.x_axis.number_format = along
    for axis in (chart.x_axis, chart.y_axis):
        axis.delete = False
        axis.txPr = _text(800, turned=axis is chart.x_axis and not dates)
        axis.graphicalProperties = GraphicalProperties(ln=_line(FAINT))
    chart.y_axis.majorGridlines = None if height else ChartLines(GraphicalProperties(ln=_line(GRID, 0.5)))
    chart.y_axis.scaling.min = 0
    if number_format == SHARE:
        chart.y_axis.majorUnit, chart.y_axis.scaling.max = 0.1, 1
    chart.x_axis.tickLblPos = "low"
    if not dates:
        chart.x_axis.tickLblSkip = 1
        chart.x_axis.noMultiLvlLbl = True
    sheet.add_chart(chart)


def _over(cells: str) -> TwoCellAnchor:
    left, top, right, bottom = range_boundaries(cells)
    return TwoCellAnchor(
        editAs="twoCell", _from=AnchorMarker(col=left - 1, row=top - 1), to=AnchorMarker(col=right, row=bottom)
    )


def _write_legend(chart: BarChart | LineChart, position: str) -> None:
    """Write a legend of the series that are seen; one alone is named by the title."""
    # The charts drawn into one come after their own chart's series.
    drawn = [series for part in chart._charts for series in part.series]
    if len(drawn) == 1:
        chart.legend = None
        return
    chart.legend.position = position
    chart.legend.txPr = _text(900)
    chart.legend.legendEntry = [
        LegendEntry(idx=index, delete=True)
        for index, series in enumerate(drawn)
        if series.graphicalProperties.noFill or series.dLbls is not None
    ]


def _letters(size: int, bold: bool = False) -> CharacterProperties:
    return CharacterProperties(sz=size, b=bold, solidFill=INK)


def _text(size: int, turned: bool = False) -> RichText:
    # Turned by 90 degrees, in sixtieths of a thousandth.
    body = RichTextProperties(rot=-5_400_000 if turned else 0)
    return RichText(
        bodyPr=body, p=[Paragraph(pPr=ParagraphProperties(defRPr=_letters(size)), endParaRPr=_letters(size))]
    )
