"""Looks of the real workbook: nothing cut off, nothing lost on paper, quiet blank rows."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import openpyxl
import pytest
from books import opened, printed_scale
from libreoffice import recalculated
from office import needs_office
from openpyxl.utils import get_column_letter
from toy_model import TYPED, toy_model

from estimator.appearance import Appearance
from estimator.model import build_model
from estimator.rows import OPTION_KEYS, Table
from estimator.typed_job import default_cells
from estimator.workbook.package.a1 import address, parse_range
from estimator.workbook.package.cells import apply, grid
from estimator.workbook.refill.printed import FILE_PT
from estimator.workbook.template.build import build_template, workbook_bytes
from estimator.workbook.template.layout import Layout, layout
from estimator.workbook.template.plans import TablePlan
from estimator.workbook.template.sheet_texts import typed_style
from estimator.workbook.template.styles import BY_NAME, TABS, WHITE, contrast
from estimator.workbook.template.text_size import (
    SPARE,
    column_room,
    line_count,
    text_width,
    wrapped,
)
from estimator.workbook.template.writer import MORE, formulas

LEAST_PT = 8.0
"""Least size in points, on paper, of the numbers of the sheets that are shown or taken along."""
NARROWED = 0.95
"""What is printed of the reckoned scale: programs take whole percent and widths of their own."""
SHOWN = ("Start", "Field Sheet", "Floor Frame", "Cut Plan", "Buy List", "Checks")


@cache
def _plan() -> Layout:
    return layout(build_model())


@cache
def _book() -> Any:
    model = build_model()
    return build_template(model, default_cells(model))


def _width(sheet: Any, column: int) -> float:
    letters = get_column_letter(column)
    dimension = sheet.column_dimensions.get(letters)
    return float(dimension.width) if dimension is not None and dimension.width else 8.43


def _texts() -> Iterator[tuple[Any, Any]]:
    """Sheets and their cells that hold a fixed text."""
    for sheet in _book():
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and not cell.value.startswith("="):
                    yield sheet, cell


def test_widths_of_letters_are_those_of_the_font() -> None:
    # Advance widths of Helvetica's published metrics, which Arial keeps, in thousandths.
    units = {"a": 556, "W": 944, "i": 222, "0": 556, " ": 278, "m": 833, "@": 1015, "-": 333}
    digit = text_width("0")
    for letter, width in units.items():
        assert text_width(letter) / digit == pytest.approx(width / 556)
    assert text_width("ab", 20) == pytest.approx(2 * text_width("ab", 10))


def test_a_column_that_shows_days_has_room_for_one() -> None:
    """A day that does not fit is shown as signs that say nothing."""
    plan = _plan()
    days = 0
    for key, item in build_model().quantities.items():
        if "yyyy" not in item.fmt and "mmm" not in item.fmt:
            continue
        days += 1
        column = plan.places[key].area.column1
        shown = item.fmt.partition(";")[0]
        width = plan.sheets[item.sheet].widths.get(column, 8.43)
        assert width >= len(shown) + 1, key
        if "ddd" in shown:  # the widest of days, without what is to spare
            assert text_width("Wed 30 May") <= SPARE * column_room(width), key
    assert days > 10


def test_wrapped_lines_hold_all_words_and_fit() -> None:
    text = "Walls that hold back ground, and supports on fill, can fail and hurt people."
    lines = wrapped(text, 30)
    assert " ".join(lines).split() == text.split()
    assert all(text_width(line) <= 30 for line in lines)
    assert line_count("stone " * 20, 20) > line_count("stone " * 20, 60)
    assert line_count("", 20) == 1


def test_no_fixed_text_is_cut_off() -> None:
    checked = 0
    set_widths = {sheet.name: sheet.shows.widths for sheet in build_model().sheets}
    for sheet, cell in _texts():
        look = BY_NAME[cell.style]
        if look.shrink or cell.style == "Working text":
            continue
        width = _width(sheet, cell.column)
        if look.wrap:
            lines = line_count(cell.value, width - 1.5 * look.indent, look.size, bold=look.bold)
            height = sheet.row_dimensions[cell.row].height
            assert height >= lines * look.size * 1.2, (sheet.title, cell.coordinate, cell.value)
        elif look.across == "left" or look.across == "general":
            column = cell.column + 1
            end = max(cell.column + 14, 1 + len(set_widths.get(sheet.title, ())))
            while sheet.cell(cell.row, column).value is None and column < end:
                width += _width(sheet, column)
                column += 1
            needed = text_width(cell.value, look.size, bold=look.bold) / 1.06
            assert needed <= width, (sheet.title, cell.coordinate, cell.value)
        else:
            continue
        checked += 1
    assert checked > 1000


def test_words_of_headings_are_not_broken() -> None:
    for sheet, cell in _texts():
        if cell.style.startswith("Column heading") and BY_NAME[cell.style].wrap:
            look = BY_NAME[cell.style]
            longest = max(text_width(w, look.size, bold=True) for w in cell.value.split()) / 1.06
            assert longest <= _width(sheet, cell.column), (sheet.title, cell.value)


def test_every_row_that_is_filled_is_printed_or_said_not_to_be() -> None:
    plan, texts = _plan(), formulas(build_model(), _plan())
    said = 0
    for sheet in plan.sheets.values():
        for part in sheet.parts:
            if not isinstance(part, TablePlan) or not part.printed_row:
                continue
            inside = [a for a in sheet.printed if a.row1 <= part.title_row <= a.row2]
            assert len(inside) == 1, part.table.title
            assert inside[0].row2 >= part.printed_row
            if part.printed_row < part.last_row:
                cell = f"{get_column_letter(part.left)}{part.more_row}"
                assert MORE in texts[sheet.name, cell]
                said += 1
            else:
                assert not part.more_row
    assert said >= 3


@pytest.mark.slow
@needs_office
def test_a_line_tells_when_rows_below_the_print_are_in_use() -> None:
    model = toy_model()
    parts = next(sheet for sheet in model.sheets if sheet.name == "Field Sheet").parts
    steps = parts[0]
    assert isinstance(steps, Table)
    parts[0] = replace(steps, shows=Appearance(printed_rows=2))
    plan = layout(model)
    table = next(p for p in plan.sheets["Field Sheet"].parts if isinstance(p, TablePlan))
    book = build_template(model, TYPED)
    for rows, expected in ((2, ""), (3, MORE)):
        at = plan.places["step_at_ft"].area
        for row in range(4):
            value = 1.5 if row < rows else 0
            book["Field Sheet"].cell(at.row1 + row, at.column1).value = value
        shown = recalculated(workbook_bytes(book))["Field Sheet"]
        said = shown.cell(table.more_row, table.left).value
        assert (said or "") == expected, rows


def test_tables_are_printed_with_the_columns_of_every_option() -> None:
    model, seen = build_model(), 0
    for sheet in _plan().sheets.values():
        last = max((area.column2 for area in sheet.printed), default=0)
        for part in sheet.parts:
            if not isinstance(part, TablePlan) or not part.printed_row:
                continue
            for column in part.columns:
                if column.option is not None and column.key in model.quantities:
                    assert column.column + column.span - 1 <= last, (part.table.title, column.key)
                    seen += 1
    assert seen >= len(OPTION_KEYS)


def test_names_and_headings_of_the_price_book_share_a_page_at_7_points() -> None:
    plan, sheet = _plan().sheets["Prices"], _book()["Prices"]
    headings = BY_NAME["Column heading"].size * printed_scale(plan, sheet) * NARROWED
    assert headings >= FILE_PT


@pytest.mark.parametrize("name", SHOWN)
def test_sheets_to_show_and_take_along_print_at_a_readable_size(name: str) -> None:
    plan, sheet = _plan().sheets[name], _book()[name]
    scale = printed_scale(plan, sheet)
    assert plan.size * scale >= LEAST_PT
    if plan.size > 10:
        assert plan.size * scale >= 10


def test_looks_that_depend_on_a_cell_lie_in_one_column_or_name_it() -> None:
    # Programs differ on the cell that further areas of one rule are relative to.
    for sheet in _book():
        for entry in sheet.conditional_formatting:
            areas = [parse_range(str(area)) for area in entry.sqref.ranges]
            formulas_of = [f for rule in entry.rules for f in rule.formula]
            free = re.compile(r"(?<![A-Z$_a-z])[A-Z]{1,3}\$?[0-9]+\b")
            if any(free.search(re.sub(r'"[^"]*"', "", f)) for f in formulas_of):
                assert len({area.column1 for area in areas}) == 1, (sheet.title, formulas_of)


def test_what_is_out_of_date_shows_before_lines_of_rows_and_not_in_blank_rows() -> None:
    seen = 0
    for sheet in _book():
        order: list[str] = []
        for entry in sheet.conditional_formatting:
            kinds = [_kind(rule) for rule in entry.rules]
            assert not {"late", "line"} <= set(kinds), (sheet.title, entry.sqref)
            order.extend(kinds)
        if {"blank", "late", "line"} <= set(order):
            last = {kind: max(i for i, k in enumerate(order) if k == kind) for kind in set(order)}
            assert last["late"] < order.index("line"), sheet.title
            assert order.index("blank") < order.index("late"), sheet.title
            seen += 1
    assert seen >= 5


def _kind(rule: Any) -> str:
    if any("level_" in formula for formula in rule.formula):
        return "late"
    if rule.dxf is None:
        return "scale"
    return "blank" if rule.dxf.numFmt else "line" if rule.dxf.border else "other"


def test_tabs_tell_what_a_sheet_is_for_and_views_are_plain() -> None:
    plan = _plan()
    for name, sheet in plan.sheets.items():
        assert _book()[name].sheet_properties.tabColor.rgb == f"FF{TABS[sheet.role]}"
    assert len(set(TABS.values())) == len(TABS)
    assert all(contrast(colour, WHITE) > 1.5 for colour in TABS.values())
    for sheet in _book():
        assert sheet.sheet_view.zoomScale == 100
        assert sheet.sheet_view.showGridLines is False
        assert sheet.freeze_panes


def test_columns_are_measured_in_the_workbook_s_own_font() -> None:
    data = workbook_bytes(build_template(toy_model(), TYPED))
    fonts = openpyxl.load_workbook(io.BytesIO(data))
    assert fonts["Job"]["Z99"].font.name == "Arial"
    assert fonts["Job"]["Z99"].font.size == 10


def test_a_blank_that_its_column_alone_gives_its_look_is_an_entry_once_typed() -> None:
    package = opened(workbook_bytes(_book()))
    plan = _plan()
    left_out = {
        (place.sheet, address(row, place.typed.column1)): plan.entry(key)
        for key, place in plan.places.items()
        if place.typed is not None and place.axis is not None
        for row in range(place.typed.row1, place.typed.row2 + 1)
        if (row, place.typed.column1) not in grid(package, place.sheet).cells
    }
    assert len(left_out) > 1_000
    beside = dict.fromkeys([("Prices", "R2"), ("Prices", "M150"), ("Survey", "D7")], 1.0)
    filled = apply(package, {**dict.fromkeys(left_out, 1.0), **beside})
    book: Any = openpyxl.load_workbook(io.BytesIO(filled))
    for (sheet, cell), entry in left_out.items():
        style, fmt = typed_style(entry)
        found = book[sheet][cell]
        assert (found.style, found.number_format) == (style, fmt or "General"), (sheet, cell)
    assert {book[sheet][cell].style for sheet, cell in beside} == {"Beside a table"}
