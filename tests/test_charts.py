"""The template's native charts and colour scale, and that they stay where their numbers are."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from functools import cache
from typing import Any
from xml.etree import ElementTree

import openpyxl
import pytest
from jobs import demo
from libreoffice import convert
from office import needs_office
from toy_model import toy_model

from estimator.appearance import Bars, Chart
from estimator.engine import Model
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.charts import (
    BOARDS_DRAWN,
    PLAN_CHART,
    PLAN_LINES,
    SHEETS_DRAWN,
    SIDE_LINES,
    SIDES,
    SIDES_EXTENT,
    WOOD,
)
from estimator.workbook.package.a1 import parse_range
from estimator.workbook.package.parts import Package
from estimator.workbook.template.build import build_template, template_bytes
from estimator.workbook.template.charts import decorate
from estimator.workbook.template.layout import Layout, layout
from estimator.workbook.template.styles import WHITE, contrast

CHART = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"
SAW_SHEETS = ("Cut Plan", "Sheet Layout")
AT_THE_SAW = (*BOARDS_DRAWN.charts, *SHEETS_DRAWN.charts)
TEXT = "{http://schemas.openxmlformats.org/drawingml/2006/main}t"
FRAME = "{http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing}cNvPr"


@cache
def template() -> bytes:
    """The template with the demo job typed in and its charts."""
    return template_bytes(build_model(), demo().cells, decorate)


@cache
def package() -> Package:
    return Package.open(template())


def drawing(sheet: str) -> str:
    """The part with the drawing of a sheet."""
    part = package().related(package().sheet(sheet).part, "drawing")
    assert part is not None
    return part


def charts(*sheets: str) -> list[ElementTree.Element]:
    """The charts of sheets, in their order there."""
    found = []
    for sheet in sheets:
        links = package().relationships(drawing(sheet))
        links = sorted(links, key=lambda link: int(re.findall(r"\d+", link.id)[0]))
        found += [ElementTree.fromstring(package().read(link.target)) for link in links]
    return found


def descriptions(*sheets: str) -> list[str]:
    """What the charts of sheets are told in, in words."""
    frames = (f for s in sheets for f in package().xml(drawing(s)).iter(FRAME))
    return [str(frame.get("descr")) for frame in frames]


def words(element: ElementTree.Element | None) -> str:
    return "" if element is None else "".join(t.text or "" for t in element.iter(TEXT))


def titles(chart: ElementTree.Element) -> tuple[str, list[str]]:
    """Title of a chart, and those of its axes."""
    own = words(chart.find(f"{CHART}chart/{CHART}title"))
    return own, [words(axis.find(f"{CHART}title")) for axis in chart.iter(f"{CHART}valAx")]


def references(chart: ElementTree.Element) -> list[tuple[str, str]]:
    """Cells of x and y of every series."""
    found = []
    for series in chart.iter(f"{CHART}ser"):
        pair = [series.find(f"{CHART}{axis}//{CHART}f") for axis in ("xVal", "yVal")]
        found.append((str(pair[0].text), str(pair[1].text)) if None not in pair else ("", ""))
    return found


def cells_of(plan: Layout, key: str, first: int, count: int) -> str:
    sheet, area = plan.places[key].sheet, plan.places[key].area
    letter = openpyxl.utils.get_column_letter(area.column1)
    start = area.row1 + first
    return f"'{sheet}'!${letter}${start}:${letter}${start + count - 1}"


@pytest.mark.slow
def test_there_is_a_chart_for_each_side_and_one_of_the_lot_with_units_on_every_axis() -> None:
    heads = [titles(chart) for chart in charts("Pictures")]
    assert [own for own, _ in heads] == [
        *(f"Side {n}, {name}" for n, name in enumerate(SIDES, 1)),
        "The lot from above, with contours; numbers: the best places found; ?: ground guessed",
    ]
    for own, axes in heads[:4]:
        assert axes == ["ft from its first corner", "in from the top"], own
    assert heads[4][1] == ["x, ft", "y, ft"]


@pytest.mark.slow
def test_every_chart_is_told_in_words_too() -> None:
    assert descriptions("Start") == [chart.description for chart in worded_decision()]
    told = descriptions("Pictures")
    assert len(told) == 5
    for name, text in zip(SIDES, told, strict=False):
        assert f"along the {name} side" in text
    assert told[4].startswith("Plan of the lot")
    assert descriptions(*SAW_SHEETS) == [chart.description for chart in AT_THE_SAW]
    declared = {s.name: s.shows.band for s in build_model().sheets if s.shows.band is not None}
    assert declared.keys() == {"Start", "Siting", *SAW_SHEETS, "Calendar", "Cost"}
    for sheet, band in declared.items():
        assert descriptions(sheet) == [chart.description for chart in band.charts]
        assert all(descriptions(sheet))


@pytest.mark.parametrize("measured", [build_model, lambda: metric(build_model())])
def test_charts_side_by_side_end_on_the_page(measured: Callable[[], Model]) -> None:
    """A column is seven pixels a character and five more, of 96 to the inch, in the usual font."""
    model = measured()
    plans = layout(model).sheets
    for sheet in model.sheets:
        band = sheet.shows.band
        if band is None:
            continue
        plan = plans[sheet.name]
        last = max(area.column2 for area in plan.printed)
        pixels = sum(7 * plan.widths.get(column, 8.43) + 5 for column in range(1, last + 1))
        assert sum(chart.width_cm for chart in band.charts) <= 2.54 * pixels / 96, sheet.name


def worded_decision() -> list[Any]:
    """The charts of Start as the model in feet has them."""
    band = next(s for s in build_model().sheets if s.name == "Start").shows.band
    assert band is not None
    return list(band.charts)


@pytest.mark.slow
def test_start_draws_cost_with_its_range_hours_and_the_building_from_its_own_rows() -> None:
    plan = layout(build_model())
    first = charts("Start")
    cost, hours, house = first
    assert [titles(chart)[0] for chart in first] == [c.title for c in worded_decision()]
    drawn = [[str(f.text) for f in chart.iter(f"{CHART}f")] for chart in (cost, hours)]
    for cells, keys in zip(
        drawn,
        (("compare_low", "compare_spread", "compare_before"), ("compare_hours",)),
        strict=True,
    ):
        for key in keys:
            area = plan.places[key].area
            assert f"'Start'!{absolute_row(area)}" in cells
    wanted = [("house_at_ft", "house_in", 12), ("line_at_ft", "line_ground_in", 10)]
    for (x, y, count), found in zip(wanted, references(house), strict=False):
        assert found == (cells_of(plan, x, 0, count), cells_of(plan, y, 0, count))


def absolute_row(area: Any) -> str:
    first, last = (openpyxl.utils.get_column_letter(c) for c in (area.column1, area.column2))
    return f"${first}${area.row1}:${last}${area.row1}"


@pytest.mark.slow
def test_the_series_read_the_lines_of_their_side_and_the_whole_plan() -> None:
    plan = layout(build_model())
    for side, chart in enumerate(charts("Pictures")[:4]):
        # Ten stations for ground and string, 24 corners for the line under the courses.
        wanted = [
            (
                cells_of(plan, line.x, count * side, count),
                cells_of(plan, line.y, count * side, count),
            )
            for line, count in zip(SIDE_LINES, (10, 10, 24), strict=True)
        ]
        extent = tuple(cells_of(plan, key, 0, 5) for key in (SIDES_EXTENT.x, SIDES_EXTENT.y))
        assert references(chart) == [*wanted, extent]
    wanted = []
    for line in PLAN_LINES:
        area = plan.places[line.x].area
        count = area.row2 - area.row1 + 1
        # A text stands at its point by a series of its own.
        shares = [(row, 1) for row in range(count)] if line.texts else [(0, count)]
        for share in shares:
            x, y = (cells_of(plan, key, *share) for key in (line.x, line.y))
            wanted.append((x.split(":")[0], y.split(":")[0]) if line.texts else (x, y))
    assert references(charts("Pictures")[4]) == wanted


@pytest.mark.slow
def test_only_lines_stand_in_the_legend_of_the_plan() -> None:
    (legend,) = charts("Pictures")[4].iter(f"{CHART}legend")
    hidden = {
        int(entry.find(f"{CHART}idx").get("val")) for entry in legend.iter(f"{CHART}legendEntry")
    }
    series = [*charts("Pictures")[4].iter(f"{CHART}ser")]
    named = [n for n, one in enumerate(series) if one.find(f"{CHART}dLbls") is not None]
    assert len(named) == 15
    # Where no search ran there is no place to name: each that is found bears its number.
    places = {n for n, one in enumerate(PLAN_CHART.lines) if one.name.startswith("Place")}
    assert hidden.issuperset({*named, *places})
    assert 0 not in hidden


@pytest.mark.slow
def test_boards_and_sheets_are_drawn_by_strokes_from_their_own_cells() -> None:
    plan = layout(build_model())
    drawn = charts(*SAW_SHEETS)
    for declared, chart in zip(AT_THE_SAW, drawn, strict=True):
        every = list(chart.iter(f"{CHART}ser"))
        strokes = [line for line in declared.lines if not line.texts]
        for line, series in zip(strokes, every, strict=False):
            stroke = series.find(f"{CHART}errBars")
            assert (line.reach is None) == (stroke is None)
            if line.reach is None:
                continue
            assert stroke.find(f"{CHART}errDir").get("val") == line.reach.axis
            if isinstance(line.reach.length, str) and line.reach.length:
                area = plan.places[line.reach.length].area
                whole = cells_of(plan, line.reach.length, 0, area.row2 - area.row1 + 1)
                assert {str(f.text) for f in stroke.iter(f"{CHART}f")} == {whole}


@pytest.mark.slow
def test_marks_stand_at_their_points_as_names_that_follow_their_cells() -> None:
    plan = layout(build_model())
    drawn = charts(*SAW_SHEETS)
    for declared, chart in zip(AT_THE_SAW, drawn, strict=True):
        (line,) = (line for line in declared.lines if line.texts)
        named = [s for s in chart.iter(f"{CHART}ser") if s.find(f"{CHART}dLbls") is not None]
        area = plan.places[line.texts].area
        assert len(named) == area.row2 - area.row1 + 1
        for row, series in enumerate(named):
            labels = series.find(f"{CHART}dLbls")
            shown = {e.tag.removeprefix(CHART) for e in labels if e.get("val") == "1"}
            assert shown == {"showSerName"}
            where = (f"{CHART}tx", f"{CHART}xVal", f"{CHART}yVal")
            found = [str(series.find(f"{each}//{CHART}f").text) for each in where]
            keys = (line.texts, line.x, line.y)
            assert [f.replace(":" + f.split("!")[1], "") for f in found] == [
                cells_of(plan, key, row, 1).split(":")[0] for key in keys
            ]


def test_what_charts_draw_stands_out_from_the_paper() -> None:
    """WCAG 2.1, 1.4.11: graphics 3 to 1 with what is beside them; 1.4.3: texts 4.5 to 1."""
    shows = [sheet.shows for sheet in build_model().sheets]
    drawn = [chart for show in shows if show.band for chart in show.band.charts]
    drawn += [c for show in shows if show.charts for page in show.charts.pages for c in page]
    colours = {line.colour for chart in drawn if isinstance(chart, Chart) for line in chart.lines}
    colours |= {bar.colour for c in drawn if isinstance(c, Bars) for bar in (*c.bars, *c.marks)}
    assert len(colours - {""}) > 5
    assert all(contrast(colour, WHITE) >= 3 for colour in colours - {""})
    assert contrast(WOOD, "000000") >= 4.5  # marks stand on the boards


def test_no_two_series_of_a_chart_differ_by_colour_alone() -> None:
    for lines in (SIDE_LINES, PLAN_LINES):
        # Every keep-out area is a series of its own; they are one kind of line.
        drawn = [line for line in lines if not line.texts]
        looks = [*{line.name: (line.dash, line.marker, line.width_pt) for line in drawn}.values()]
        assert len(set(looks)) == len(looks)


@pytest.mark.slow
def test_cut_and_fill_have_signs_besides_their_colours() -> None:
    book: Any = openpyxl.load_workbook(io.BytesIO(template()))
    plan = layout(build_model())
    sheet = book[plan.places["heat_1_in"].sheet]
    scales = [
        (str(each.sqref), rule)
        for each in sheet.conditional_formatting
        for rule in each.rules
        if rule.type == "colorScale"
    ]
    ((cells, scale),) = scales
    first, last = plan.places["heat_1_in"].area, plan.places["heat_5_in"].area
    assert parse_range(cells) == first._replace(column2=last.column2)
    # White is exactly where neither is dug nor filled.
    assert [point.type for point in scale.colorScale.cfvo] == ["min", "num", "max"]
    assert float(scale.colorScale.cfvo[1].val) == 0
    for row in range(first.row1, first.row2 + 1):
        for column in range(first.column1, last.column2 + 1):
            assert sheet.cell(row, column).number_format.startswith("+0.0;-0.0")


def test_a_model_without_pictures_gets_none() -> None:
    book = build_template(toy_model(), None, decorate)
    assert not any(sheet._charts for sheet in book.worksheets)


@needs_office
@pytest.mark.slow
def test_the_charts_survive_a_visit_to_another_program() -> None:
    # What it does not understand it leaves out when it saves: all must come back.
    with zipfile.ZipFile(io.BytesIO(convert(template()))) as kept:
        saved = [n for n in kept.namelist() if re.fullmatch(r"xl/charts/chart\d+\.xml", n)]
        ours = [n for n in package().parts if re.fullmatch(r"xl/charts/chart\d+\.xml", n)]
        assert len(saved) == len(ours) > len(AT_THE_SAW)
        drawn = "".join(kept.read(n).decode() for n in saved)
    assert "Bottom of courses, stone or edge" in drawn
    assert "Place 1" in drawn
    made = "".join(package().read(n).decode() for n in package().parts if "/charts/chart" in n)
    strokes = len(re.findall(r"<(?:c:)?errBars>", made))
    assert (
        drawn.count("<c:errBars>")
        == strokes
        > sum(line.reach is not None for chart in AT_THE_SAW for line in chart.lines)
    )
