"""Charts of the workbook: few colours, and a dash, a marker or a pattern wherever two things must be distinguished."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from openpyxl.chart import BarChart, LineChart, Reference
from openpyxl.chart.axis import DateAxis
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

INK, HEAD, FAINT, WARM, GRID = "26323A", "34505E", "8A969C", "C65F1E", "C3CCD0"

_POINTS = 12_700  # English metric units in a point


@dataclass(frozen=True)
class Drawn:
    """One series: the column it stands in, headed by its name, and how it is drawn.

    width : of a line [points], 0 for a bar. dash : ``"solid"``, ``"dash"``, ``"sysDot"``, ``"dashDot"``.
    pattern : of a bar, such as ``"wdUpDiag"``. hidden : takes its room and is not seen.
    named : its name is written at its first point, and not in the legend.
    """

    column: int
    colour: str = HEAD
    width: float = 0.0
    dash: str = "solid"
    marker: str = ""
    pattern: str = ""
    hidden: bool = False
    named: bool = False


@dataclass(frozen=True)
class Rows:
    """Rows of a sheet that a chart draws: the headings' row, the first, the last, and the column of the names."""

    sheet: Worksheet
    heading: int
    first: int
    last: int
    names: int

    def series(self, drawn: Drawn) -> Series:
        """Return one series, named by its heading."""
        cells = Reference(self.sheet, min_col=drawn.column, min_row=self.first, max_row=self.last)
        made = SeriesFactory(cells, title_from_data=False)
        heading = Reference(self.sheet, min_col=drawn.column, min_row=self.heading)
        made.tx = SeriesLabel(strRef=StrRef(str(heading)))
        made.graphicalProperties = _looks(drawn)
        if drawn.width:
            made.smooth = False
            made.marker = _marker(drawn)
        if drawn.named:
            made.dLbls = _name_at_the_start()
        return made

    def categories(self) -> Reference:
        """Return the names below the axis."""
        return Reference(self.sheet, min_col=self.names, min_row=self.first, max_row=self.last)


def _looks(drawn: Drawn) -> GraphicalProperties:
    if drawn.hidden:
        return GraphicalProperties(noFill=True, ln=LineProperties(noFill=True))
    if drawn.width:
        line = LineProperties(w=int(drawn.width * _POINTS), prstDash=drawn.dash)
        line.solidFill = drawn.colour
        return GraphicalProperties(ln=line)
    edge = LineProperties(w=int(0.75 * _POINTS))
    edge.solidFill = INK
    looks = GraphicalProperties(ln=edge)
    if drawn.pattern:
        looks.pattFill = PatternFillProperties(
            prst=drawn.pattern, fgClr=ColorChoice(srgbClr=drawn.colour), bgClr=ColorChoice(srgbClr="FFFFFF")
        )
    else:
        looks.solidFill = drawn.colour
    return looks


def _marker(drawn: Drawn) -> Marker:
    if not drawn.marker:
        return Marker(symbol="none")
    edge = LineProperties()
    edge.solidFill = drawn.colour
    made = Marker(symbol=drawn.marker, size=5, spPr=GraphicalProperties(ln=edge))
    made.spPr.solidFill = "FFFFFF"
    return made


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
    chart.set_categories(rows.categories())
    return chart


def lines(rows: Rows, drawn: Sequence[Drawn], by_date: bool = False) -> LineChart:
    """Return a chart of lines. by_date : the names below are dates; one a month is written."""
    chart = LineChart()
    if by_date:
        chart.x_axis = DateAxis(crossAx=chart.y_axis.axId, baseTimeUnit="days", majorUnit=1, majorTimeUnit="months")
        chart.y_axis.crossAx = chart.x_axis.axId
    chart.series = [rows.series(one) for one in drawn]
    chart.set_categories(rows.categories())
    return chart


def add_chart(
    sheet: Worksheet,
    chart: BarChart | LineChart,
    cells: str,
    title: str,
    up: tuple[str, str],
    along: str = "General",
    step: float | None = None,
    scale: tuple[float | None, float | None] = (None, None),
    grid: bool = True,
    room: tuple[float, float, float] | None = None,
    legend: str = "b",
) -> None:
    """Put a chart on a sheet.

    cells : those it covers; it grows and shrinks with them, whatever letters a program measures them by.
    up : what the upright axis shows, and its number format. along : number format of the axis along the bottom.
    step : between lines of the upright axis. scale : where the upright axis begins and ends;
    without them the program chooses. grid : whether there are lines across.
    room : height of the chart, and what is left above and below the axes [points], where names stand beside them.
    legend : "b" below, "t" above, where names below would meet it.
    """
    chart.title = title
    chart.title.tx.rich.p[0].pPr = ParagraphProperties(defRPr=_letters(1100, bold=True))
    for run in chart.title.tx.rich.p[0].r:
        run.rPr = _letters(1100, bold=True)
    chart.title.overlay = False
    chart.anchor = _over(cells)
    if room:
        height, above, below = room
        chart.layout = Layout(ManualLayout(
            layoutTarget="inner", xMode="edge", yMode="edge",
            x=0.065, w=0.92, y=above / height, h=1 - (above + below) / height,
        ))  # fmt: skip
    _write_legend(chart, legend)
    chart.visible_cells_only = False  # what is drawn may stand in hidden columns
    dates = isinstance(chart.x_axis, DateAxis)
    chart.y_axis.title = None
    chart.y_axis.number_format = up[1]
    chart.x_axis.number_format = along
    for axis in (chart.x_axis, chart.y_axis):
        axis.delete = False
        axis.txPr = _text(800, turned=axis is chart.x_axis and not dates)
        line = LineProperties()
        line.solidFill = FAINT
        axis.graphicalProperties = GraphicalProperties(ln=line)
    if grid:
        line = LineProperties(w=int(0.5 * _POINTS))
        line.solidFill = GRID
        chart.y_axis.majorGridlines.spPr = GraphicalProperties(ln=line)
    else:
        chart.y_axis.majorGridlines = None
    chart.y_axis.majorUnit = step
    chart.y_axis.scaling.min, chart.y_axis.scaling.max = scale
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
    made = CharacterProperties(sz=size, b=bold)
    made.solidFill = INK
    return made


def _text(size: int, turned: bool = False) -> RichText:
    # Turned by 90 degrees, in sixtieths of a thousandth.
    body = RichTextProperties(rot=-5_400_000 if turned else 0)
    return RichText(
        bodyPr=body, p=[Paragraph(pPr=ParagraphProperties(defRPr=_letters(size)), endParaRPr=_letters(size))]
    )
