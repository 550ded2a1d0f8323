"""Native charts and the colour scale of the template: the sides, the plan, cut and fill.

Charts read cells of the sheet Pictures; every series has its own dash or marker besides a colour.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
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

from estimator.amounts import in_measure
from estimator.workbook.package.a1 import Range, address, column_letters, range_text
from estimator.workbook.template.layout import Layout

DRAWN = "line_ground_in"
"""A quantity of the sheet that the charts stand on; a model without it gets none."""
SIDES = ("front", "right", "back", "left")
WIDE_CM, SIDE_CM, PLAN_CM = 18.9, 5.2, 18.0
FIRST_ROW = 6
ROW_PT = 15
SIDE_ROWS, PLAN_ROWS = 10, 35
"""Sheet rows of 0.53 cm that the chart of a side, and of the plan, takes."""
COLUMNS, COLUMN_WIDTH = 8, 12.5
TITLE_SIZE = 1200
"""Hundredths of a point."""
BROWN, BLACK, GREY, BLUE, GREEN, RED = "7F4F24", "000000", "7A7A7A", "1F5FA8", "2E7D32", "B3261E"
LOW_FILL, ZERO_FILL, HIGH_FILL = "9EC5E8", "FFFFFF", "F2B880"
EMU_PER_PT = 12700


@dataclass(frozen=True, slots=True)
class Line:
    """One series: what it is called, its two columns, and how it is told from the others."""

    name: str
    x: str
    y: str
    colour: str
    dash: str = "solid"
    width_pt: float = 1.75
    marker: str = "none"
    size: int = 5


SIDE_LINES = (
    Line("Ground", "line_at_ft", "line_ground_in", BROWN, width_pt=2.25),
    Line("String", "line_at_ft", "line_string_in", BLACK, "dash", 1.5),
    Line("Bottom of courses or stone", "bottom_at_ft", "bottom_in", GREY, "sysDot", 2.25),
)
KEEP_OUT = "Keep-out area"
"""Name of the series of every keep-out area: one of them stands in the legend."""
PLAN_LINES = (
    Line("Property line", "lot_x_ft", "lot_y_ft", BLACK, "lgDashDot", 1.5),
    Line("Base as staked", "base_x_ft", "base_y_ft", RED, width_pt=2.5),
    Line("Place 1 (best)", "best_1_x_ft", "best_1_y_ft", GREEN, "solid", 2.0, "diamond", 6),
    Line("Place 2", "best_2_x_ft", "best_2_y_ft", GREEN, "dash", 1.25, "square"),
    Line("Place 3", "best_3_x_ft", "best_3_y_ft", BLUE, "dash", 1.25, "triangle"),
    Line("Place 4", "best_4_x_ft", "best_4_y_ft", BLUE, "sysDot", 1.25, "circle"),
    Line("Place 5", "best_5_x_ft", "best_5_y_ft", GREY, "sysDash", 1.25, "plus"),
    Line("Readings", "dot_x_ft", "dot_y_ft", BLACK, "none", 0, "x", 6),
    Line("Setback line", "setback_x_ft", "setback_y_ft", BLACK, "sysDot", 1.0),
    *(
        Line(KEEP_OUT, f"keep_{number}_x_ft", f"keep_{number}_y_ft", RED, "solid", 1.5)
        for number in range(1, 9)
    ),
    Line("Contours", "contour_x_ft", "contour_y_ft", BROWN, "none", 0, "circle", 2),
    Line("Extent", "square_x_ft", "square_y_ft", BLACK, "none", 0),
)
UNSEEN = "Extent"
"""Series that only makes both axes of the plan equally long."""


def decorate(book: Workbook, layout: Layout) -> None:
    """Add the charts, the colour scale of cut and fill, and the print settings that they need."""
    if layout.model.name(DRAWN) not in layout.places:
        return
    sheet = book[layout.places[layout.model.name(DRAWN)].sheet]
    for column in range(1, COLUMNS + 1):
        sheet.column_dimensions[column_letters(column)].width = COLUMN_WIDTH
    for row in range(FIRST_ROW, FIRST_ROW + len(SIDES) * SIDE_ROWS + PLAN_ROWS + 1):
        sheet.row_dimensions[row].height = ROW_PT
    for number, name in enumerate(SIDES):
        _put(sheet, _side(sheet, layout, number, name), FIRST_ROW + number * SIDE_ROWS)
    middle = FIRST_ROW + len(SIDES) * SIDE_ROWS
    _put(sheet, _plan(sheet, layout), middle)
    pages = [Range(1, 1, middle - 1, COLUMNS), Range(middle, 1, middle + PLAN_ROWS, COLUMNS)]
    _print(sheet, pages)
    _heat(book, layout)


def _print(sheet: Any, pages: list[Range]) -> None:
    """One page for each area, upright."""
    sheet.print_area = ",".join(range_text(area) for area in pages)
    sheet.page_setup.orientation = "portrait"


def _put(sheet: Any, chart: Any, row: int) -> None:
    chart.anchor = f"A{row}"
    sheet.add_chart(chart)


def _chart(layout: Layout, title: str, x_title: str, y_title: str, description: str) -> Any:
    measure = layout.model.measure
    chart: Any = ScatterChart()
    chart.title = _title(title)
    chart.style = 2
    chart.scatterStyle = "lineMarker"
    chart.x_axis.title = in_measure(x_title, measure)
    chart.y_axis.title = in_measure(y_title, measure)
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.x_axis.number_format = chart.y_axis.number_format = "0"
    chart.x_axis.majorGridlines = None
    chart.legend.position = "r"
    chart.display_blanks = "gap"
    chart.description = in_measure(description, measure)
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


def _side(sheet: Any, layout: Layout, number: int, name: str) -> Any:
    chart = _chart(
        layout,
        f"Side {number + 1}, {name}",
        "{ft} from its first corner",
        "{in} from the string",
        f"Ground, string and bottom of the lowest course or of the stone along the {name} side of"
        " the chosen option, in {inches|millimetres} above or below the string.",
    )
    for line in SIDE_LINES:
        each = _rows(layout, line.x) // len(SIDES)
        chart.series.append(_series(sheet, layout, line, number * each, (number + 1) * each))
    chart.x_axis.scaling.min = 0
    # Labels stay at the foot although the string, at 0, runs through the picture.
    chart.x_axis.tickLblPos = "low"
    chart.width, chart.height = WIDE_CM, SIDE_CM
    return chart


def _plan(sheet: Any, layout: Layout) -> Any:
    chart = _chart(
        layout,
        "The lot from above, with contours and the best places",
        "x, {ft}",
        "y, {ft}",
        "Plan of the lot: property line, setback line, keep-out areas, readings, contours as dots,"
        " the base as it is staked and up to five best places.",
    )
    for line in PLAN_LINES:
        chart.series.append(_series(sheet, layout, line, 0, _rows(layout, line.x)))
    names = [line.name for line in PLAN_LINES]
    hidden = [i for i, name in enumerate(names) if name == UNSEEN or name in names[:i]]
    chart.legend.legendEntry = [LegendEntry(idx=i, delete=True) for i in hidden]
    chart.x_axis.tickLblPos = chart.y_axis.tickLblPos = "low"
    chart.width, chart.height = WIDE_CM, PLAN_CM
    return chart


def _rows(layout: Layout, key: str) -> int:
    area = layout.places[layout.model.name(key)].area
    return area.row2 - area.row1 + 1


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
    area = layout.places[layout.model.name(key)].area
    return Reference(
        sheet,
        min_col=area.column1,
        min_row=area.row1 + first,
        max_row=area.row1 + last - 1,
    )


def _heat(book: Workbook, layout: Layout) -> None:
    """Colour scale over the signed numbers of cut and fill; 0 is white."""
    depths = ("in", "mm")
    keys = [k for k in layout.places if k.startswith("heat_") and layout.quantity(k).unit in depths]
    areas = [layout.places[key].area for key in keys]
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
    book[layout.places[keys[0]].sheet].conditional_formatting.add(cells, rule)


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
