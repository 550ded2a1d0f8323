"""Native charts and colour scales of the template, as its sheets and tables declare them.

Every series has its own dash or marker besides a colour.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from xml.sax.saxutils import quoteattr

from openpyxl import Workbook
from openpyxl.chart import BarChart, LineChart, Reference, ScatterChart, Series
from openpyxl.chart.axis import ChartLines
from openpyxl.chart.data_source import NumDataSource, NumRef, StrData, StrRef, StrVal
from openpyxl.chart.error_bar import ErrorBars
from openpyxl.chart.label import DataLabelList
from openpyxl.chart.legend import LegendEntry
from openpyxl.chart.series import SeriesLabel
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText, Text
from openpyxl.chart.title import Title, title_maker
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, OneCellAnchor
from openpyxl.drawing.text import CharacterProperties, Paragraph, ParagraphProperties
from openpyxl.drawing.text import Font as TextFont
from openpyxl.drawing.xdr import XDRPositiveSize2D
from openpyxl.formatting.rule import ColorScaleRule

from estimator.appearance import Band, Bar, Bars, Chart, Charts, Line, Reach
from estimator.rows import Table
from estimator.workbook.package.a1 import Range, address, column_letters, range_text
from estimator.workbook.package.references import absolute
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.plans import HEADER_ROW, OPTIONS, OPTIONS_COLUMNS, NotesPlan
from estimator.workbook.template.styles import FONT, WHITE

ROW_PT = 15
TITLE_SIZE = 1200
"""Hundredths of a point."""
SMALL_PT = 9.5
"""Size of the texts of bars in a band."""
LOW_FILL, ZERO_FILL, HIGH_FILL = "9EC5E8", "FFFFFF", "F2B880"
EMU_PER_PT = 12700
EMU_PER_CM = 360000


def decorate(book: Workbook, layout: Layout) -> None:
    """Add the charts and colour scales that sheets and tables declare."""
    for declared in layout.model.sheets:
        sheet = book[declared.name]
        if declared.shows.charts is not None:
            _draw(sheet, layout, declared.shows.charts)
        if declared.shows.band is not None:
            _draw_band(sheet, layout, declared.name, declared.shows.band)
        for part in declared.parts:
            if isinstance(part, Table) and part.shows.colour_scale:
                _colour(sheet, [layout.places[key].area for key in part.shows.colour_scale])


def _draw(sheet: Any, layout: Layout, charts: Charts) -> None:
    """The charts one below the other, and one upright page for each group of them."""
    for column in range(1, charts.columns + 1):
        sheet.column_dimensions[column_letters(column)].width = charts.column_width
    row, starts = charts.first_row, []
    charts_cm = max(chart.width_cm for page in charts.pages for chart in page)
    for page in charts.pages:
        starts.append(row)
        left_cm = 0.0
        for before, chart in zip([None, *page], page, strict=False):
            drawn = _chart(sheet, layout, chart)
            _make_small(drawn, int(100 * chart.text_pt))
            if before is not None and chart.beside:
                row -= before.sheet_rows
                left_cm += before.width_cm
            else:
                left_cm = 0.0
            if chart.width_cm < charts_cm:
                drawn.legend = None  # it would take the room of the lines
            drawn.anchor = _anchor(row - 1, left_cm, chart)
            sheet.add_chart(drawn)
            row += chart.sheet_rows
    for each in range(charts.first_row, row + 1):
        sheet.row_dimensions[each].height = ROW_PT
    ends = [start - 1 for start in starts[1:]] + [row]
    pages = zip([1, *starts[1:]], ends, strict=True)
    areas = [Range(first, 1, last, charts.columns) for first, last in pages]
    sheet.print_area = ",".join(range_text(area) for area in areas)
    sheet.page_setup.orientation = "portrait"


def _draw_band(sheet: Any, layout: Layout, name: str, band: Band) -> None:
    """Charts side by side below the title of a part."""
    plan = layout.sheets[name]
    part = next(p for p in plan.parts if isinstance(p, NotesPlan) and p.notes.title == band.part)
    left_cm = 0.0
    for drawn in band.charts:
        if isinstance(drawn, Chart):
            chart = _chart(sheet, layout, drawn)
            if not band.legends:
                chart.legend = None  # it would take the room of the lines
            size = drawn.text_pt
        else:
            chart = _bars(sheet, layout, drawn)
            size = SMALL_PT
        _make_small(chart, int(100 * size))
        chart.anchor = _anchor(part.title_row, left_cm, drawn)
        sheet.add_chart(chart)
        left_cm += drawn.width_cm


def _anchor(row: int, left_cm: float, drawn: Chart | Bars) -> OneCellAnchor:
    """So far from the left edge of a row, which is counted from 0."""
    marker = AnchorMarker(col=0, colOff=_emu(left_cm), row=row, rowOff=0)
    frame = XDRPositiveSize2D(_emu(drawn.width_cm), _emu(drawn.height_cm))
    return OneCellAnchor(_from=marker, ext=frame)


def _emu(cm: float) -> int:
    return int(cm * EMU_PER_CM)


def _make_small(chart: Any, size: int) -> None:
    """Texts that leave a small chart room for what it shows, in hundredths of a point."""
    for part in filter(None, (chart.legend, chart.x_axis, chart.y_axis)):
        part.txPr = RichText(p=[_paragraph(size, bold=False)])
    titles = (chart.title, chart.x_axis.title, chart.y_axis.title)
    for title, bold in zip(titles, (True, False, False), strict=True):
        if title and title.tx.rich is None:
            title.txPr = RichText(p=[_paragraph(size, bold=bold)])
            continue
        for paragraph in title.tx.rich.p if title else ():
            paragraph.pPr = _paragraph(size, bold=bold).pPr
            for run in paragraph.r:
                run.rPr = _letters(size, bold=bold)


def _letters(size: int, *, bold: bool) -> CharacterProperties:
    """Letters of a chart, in the font of the workbook."""
    return CharacterProperties(sz=size, b=bold, latin=TextFont(typeface=FONT))


def _paragraph(size: int, *, bold: bool) -> Paragraph:
    look = _letters(size, bold=bold)
    return Paragraph(pPr=ParagraphProperties(defRPr=look), endParaRPr=look)


def _bars(sheet: Any, layout: Layout, drawn: Bars) -> Any:
    chart: Any = BarChart()
    chart.type, chart.grouping, chart.overlap, chart.gapWidth = "col", "stacked", 100, 60
    chart.title = _title(drawn.title)
    chart.style = 2
    chart.y_axis.title = _term(layout, drawn.y_title) or drawn.y_title
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.y_axis.number_format = "#,##0"
    chart.legend.position = "b"
    chart.description = drawn.description
    letters = OPTIONS_COLUMNS.typed
    heads = Reference(
        sheet.parent[layout.options_sheet],
        min_col=letters,
        max_col=letters + OPTIONS - 1,
        min_row=HEADER_ROW,
    )
    chart.y_axis.scaling.min = 0
    for bar in drawn.bars:
        series = _row_series(sheet, layout, bar)
        fill = {"solidFill": bar.colour} if bar.colour else {"noFill": True}
        series.graphicalProperties = GraphicalProperties(**fill)
        series.graphicalProperties.line.noFill = True
        chart.series.append(series)
    chart.set_categories(heads)
    if drawn.marks:
        over: Any = LineChart()
        for mark in drawn.marks:
            series = _row_series(sheet, layout, mark)
            series.graphicalProperties = GraphicalProperties(ln=LineProperties(noFill=True))
            series.marker.symbol, series.marker.size = "diamond", 8
            series.marker.graphicalProperties = GraphicalProperties(solidFill=mark.colour)
            over.series.append(series)
        over.set_categories(heads)
        chart += over
    silent = [number for number, bar in enumerate(drawn.bars) if not bar.colour]
    chart.legend.legendEntry = [LegendEntry(idx=number, delete=True) for number in silent]
    if len(drawn.bars) + len(drawn.marks) == 1:
        chart.legend = None
    chart.width, chart.height = drawn.width_cm, drawn.height_cm
    return chart


def _term(layout: Layout, text: str) -> Any:
    """A title that shows the job's entry where the text is a word for it; else None."""
    key = layout.model.terms.get(text)
    if key is None:
        return None
    place = layout.places[key]
    cell = absolute(place.sheet, place.area)
    cache = StrData(ptCount=1, pt=[StrVal(idx=0, v=str(layout.entry(key).default))])
    return Title(tx=Text(strRef=StrRef(f=cell, strCache=cache)), overlay=False)


def _row_series(sheet: Any, layout: Layout, bar: Bar) -> Any:
    area = layout.places[bar.key].area
    cells = Reference(sheet, min_col=area.column1, max_col=area.column2, min_row=area.row1)
    series = Series(cells)
    series.tx = SeriesLabel(v=bar.name)
    return series


def _chart(sheet: Any, layout: Layout, drawn: Chart) -> Any:
    chart: Any = ScatterChart()
    chart.title = _title(drawn.title) if drawn.title else None
    chart.style = 2
    chart.scatterStyle = "lineMarker"
    for axis, title in ((chart.x_axis, drawn.x_title), (chart.y_axis, drawn.y_title)):
        axis.title = _term(layout, title) or title or None
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.x_axis.number_format = chart.y_axis.number_format = "0"
    chart.x_axis.majorGridlines = None
    chart.legend.position = "r"
    chart.display_blanks = "gap"
    chart.description = drawn.description
    hidden: list[int] = []
    named: set[str] = set()
    for line in drawn.lines:
        begun = len(chart.series)
        number, parts = line.share
        area = layout.places[line.x].area
        each = (area.row2 - area.row1 + 1) // parts
        first, last = number * each, (number + 1) * each
        if line.texts:
            texts = [
                _text_at(sheet, layout, line, row, int(100 * drawn.text_pt))
                for row in range(first, last)
            ]
            chart.series += texts
        else:
            chart.series.append(_series(sheet, layout, line, first, last))
        if line.texts or not line.legend or line.name in named:
            hidden += range(begun, len(chart.series))
        named.add(line.name)
    chart.legend.legendEntry = [LegendEntry(idx=i, delete=True) for i in hidden]
    for name in drawn.from_zero:
        (chart.x_axis if name == "x" else chart.y_axis).scaling.min = 0
    if drawn.x_most:
        chart.x_axis.scaling.max = drawn.x_most
    if drawn.downward:
        chart.y_axis.scaling.orientation = "maxMin"
        chart.y_axis.majorUnit = 1
        chart.y_axis.majorGridlines = None
    if drawn.squared:
        for axis in (chart.x_axis, chart.y_axis):
            axis.majorUnit, axis.majorGridlines = 1, ChartLines()
    for name in drawn.unlabelled:
        (chart.x_axis if name == "x" else chart.y_axis).delete = True
    if not drawn.squared and "y" in drawn.unlabelled:
        chart.y_axis.majorGridlines = None
    for axis in drawn.low_labels:
        (chart.x_axis if axis == "x" else chart.y_axis).tickLblPos = "low"
    chart.width, chart.height = drawn.width_cm, drawn.height_cm
    return chart


def _title(text: str) -> Any:
    title: Any = title_maker(text)
    title.overlay = False
    for paragraph in title.tx.rich.p:
        look = _letters(TITLE_SIZE, bold=True)
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
    if line.reach is not None:
        series.errBars = _strokes(sheet, layout, line.reach, line.colour, first, last)
    return series


def _text_at(sheet: Any, layout: Layout, line: Line, row: int, size: int) -> Any:
    """A text beside a point: the name of a series of its own, which every program follows to its
    cell; texts that are taken from cells otherwise are an extension that not all of them know."""
    series = _series(sheet, layout, line, row, row + 1)
    place = layout.places[line.texts]
    cell = place.area._replace(row1=place.area.row1 + row, row2=place.area.row1 + row)
    cache = StrData(ptCount=1, pt=[])
    series.tx = SeriesLabel(strRef=StrRef(f=absolute(place.sheet, cell), strCache=cache))
    series.dLbls = DataLabelList(
        dLblPos="ctr" if line.side == "over" else line.side[0],
        showSerName=True,
        showVal=False,
        showCatName=False,
        showLegendKey=False,
        showPercent=False,
        showBubbleSize=False,
        txPr=RichText(p=[_paragraph(size, bold=False)]),
        # What stands over its point would else be crossed by the lines there.
        spPr=GraphicalProperties(solidFill=WHITE) if line.side == "over" else None,
    )
    return series


def _strokes(
    sheet: Any, layout: Layout, reach: Reach, colour: str, first: int, last: int
) -> ErrorBars:
    """Strokes from the points of a series, as bars of an error without caps."""
    stroke = LineProperties(solidFill=colour, w=int(reach.width_pt * EMU_PER_PT), cap="flat")
    look: dict[str, Any] = {
        "errDir": reach.axis,
        "noEndCap": True,
        "spPr": GraphicalProperties(ln=stroke),
    }
    if not reach.length:
        return ErrorBars(errBarType="minus", errValType="percentage", val=100, **look)
    if isinstance(reach.length, float):
        return ErrorBars(errBarType="both", errValType="fixedVal", val=reach.length / 2, **look)
    lengths = NumDataSource(numRef=NumRef(f=str(_cells(sheet, layout, reach.length, first, last))))
    look["errBarType"] = "minus" if reach.back else "plus"
    return ErrorBars(errValType="cust", plus=lengths, minus=lengths, **look)


def _cells(sheet: Any, layout: Layout, key: str, first: int, last: int) -> Reference:
    place = layout.places[key]
    area = place.area
    return Reference(
        sheet.parent[place.sheet],
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
