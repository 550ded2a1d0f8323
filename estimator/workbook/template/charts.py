"""Native charts and colour scales of the template, as its sheets and tables declare them.

Every series has its own dash or marker besides a colour.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from xml.sax.saxutils import quoteattr

from openpyxl import Workbook
from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.legend import LegendEntry
from openpyxl.chart.series import SeriesLabel
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.title import title_maker
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.text import CharacterProperties, ParagraphProperties
from openpyxl.formatting.rule import ColorScaleRule

from estimator.appearance import Chart, Charts, Line
from estimator.rows import Table
from estimator.workbook.package.a1 import Range, address, column_letters, range_text
from estimator.workbook.template.layout import Layout

ROW_PT = 15
TITLE_SIZE = 1200
"""Hundredths of a point."""
LOW_FILL, ZERO_FILL, HIGH_FILL = "9EC5E8", "FFFFFF", "F2B880"
EMU_PER_PT = 12700


def decorate(book: Workbook, layout: Layout) -> None:
    """Add the charts and colour scales that sheets and tables declare."""
    for declared in layout.model.sheets:
        sheet = book[declared.name]
        if declared.shows.charts is not None:
            _draw(sheet, layout, declared.shows.charts)
        for part in declared.parts:
            if isinstance(part, Table) and part.shows.colour_scale:
                _colour(sheet, [layout.places[key].area for key in part.shows.colour_scale])


def _draw(sheet: Any, layout: Layout, charts: Charts) -> None:
    """The charts one below the other, and one upright page for each group of them."""
    for column in range(1, charts.columns + 1):
        sheet.column_dimensions[column_letters(column)].width = charts.column_width
    row, starts = charts.first_row, []
    for page in charts.pages:
        starts.append(row)
        for chart in page:
            drawn = _chart(sheet, layout, chart)
            drawn.anchor = f"A{row}"
            sheet.add_chart(drawn)
            row += chart.sheet_rows
    for each in range(charts.first_row, row + 1):
        sheet.row_dimensions[each].height = ROW_PT
    ends = [start - 1 for start in starts[1:]] + [row]
    pages = zip([1, *starts[1:]], ends, strict=True)
    areas = [Range(first, 1, last, charts.columns) for first, last in pages]
    sheet.print_area = ",".join(range_text(area) for area in areas)
    sheet.page_setup.orientation = "portrait"


def _chart(sheet: Any, layout: Layout, drawn: Chart) -> Any:
    chart: Any = ScatterChart()
    chart.title = _title(drawn.title)
    chart.style = 2
    chart.scatterStyle = "lineMarker"
    chart.x_axis.title, chart.y_axis.title = drawn.x_title, drawn.y_title
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.x_axis.number_format = chart.y_axis.number_format = "0"
    chart.x_axis.majorGridlines = None
    chart.legend.position = "r"
    chart.display_blanks = "gap"
    chart.description = drawn.description
    number, parts = drawn.share
    for line in drawn.lines:
        area = layout.places[line.x].area
        each = (area.row2 - area.row1 + 1) // parts
        chart.series.append(_series(sheet, layout, line, number * each, (number + 1) * each))
    names = [line.name for line in drawn.lines]
    hidden = [i for i, line in enumerate(drawn.lines) if not line.legend or line.name in names[:i]]
    chart.legend.legendEntry = [LegendEntry(idx=i, delete=True) for i in hidden]
    if drawn.from_zero:
        chart.x_axis.scaling.min = 0
    for axis in drawn.low_labels:
        (chart.x_axis if axis == "x" else chart.y_axis).tickLblPos = "low"
    chart.width, chart.height = drawn.width_cm, drawn.height_cm
    return chart


def _title(text: str) -> Any:
    title: Any = title_maker(text)
    title.overlay = False
    for paragraph in title.tx.rich.p:
        look = CharacterProperties(sz=TITLE_SIZE, b=True)
        paragraph.pPr = ParagraphProperties(defRPr=look)
        for run in paragraph.r:
            run.rPr = look
    return title


def _series(sheet: Any, layout: Layout, line: Line, first: int, last: int) -> Any:
    series = Series(
        _cells(sheet, layout, line.y, first, last), _cells(sheet, layout, line.x, first, last)
    )
    series.tx = SeriesLabel(v=line.name)
    series.smooth = False
    outline: Any = LineProperties(solidFill=line.colour, w=int(line.width_pt * EMU_PER_PT))
    if line.dash == "none":
        outline = LineProperties(noFill=True)
    else:
        outline.prstDash = line.dash
    series.graphicalProperties = GraphicalProperties(ln=outline)
    series.marker.symbol = line.marker
    if line.marker != "none":
        series.marker.size = line.size
        series.marker.graphicalProperties = GraphicalProperties(solidFill=line.colour)
        series.marker.graphicalProperties.line.solidFill = line.colour
    return series


def _cells(sheet: Any, layout: Layout, key: str, first: int, last: int) -> Reference:
    area = layout.places[key].area
    return Reference(
        sheet,
        min_col=area.column1,
        min_row=area.row1 + first,
        max_row=area.row1 + last - 1,
    )


def _colour(sheet: Any, areas: list[Range]) -> None:
    """Colour scale over signed numbers in columns side by side; 0 is white."""
    first, last = areas[0], areas[-1]
    cells = f"{address(first.row1, first.column1)}:{address(last.row2, last.column2)}"
    scale: Any = ColorScaleRule
    rule = scale(
        start_type="min",
        start_color=LOW_FILL,
        mid_type="num",
        mid_value=0,
        mid_color=ZERO_FILL,
        end_type="max",
        end_color=HIGH_FILL,
    )
    sheet.conditional_formatting.add(cells, rule)


def descriptions(book: Workbook) -> Mapping[str, tuple[str, ...]]:
    """Alternative texts of a workbook's charts, by the part of the file that holds their frames."""
    drawn: list[Any] = [sheet for sheet in book.worksheets if getattr(sheet, "_charts", None)]
    return {
        f"xl/drawings/drawing{number}.xml": tuple(
            str(getattr(chart, "description", "")) for chart in sheet._charts
        )
        for number, sheet in enumerate(drawn, 1)
    }


def described(data: bytes, texts: tuple[str, ...]) -> bytes:
    """A drawing's XML with the alternative text of each of its charts."""
    for number, text in enumerate(texts, 1):
        name = f'name="Chart {number}"'.encode()
        data = data.replace(name, name + f" descr={quoteattr(text)}".encode(), 1)
    return data
