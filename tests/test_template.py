"""The built template: the same file every time, and the same numbers as the engine."""

from __future__ import annotations

import datetime as dt
import io
import math
import time
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import planters
import pytest
from libreoffice import faults, recalculated
from office import needs_office
from openpyxl.worksheet.cell_range import CellRange
from toy_model import TYPED, VALUES, toy_model, typed_cells

from estimator.engine import Model
from estimator.errors import FileError, InputError
from estimator.evaluation import evaluate
from estimator.inputs import DATE_ORIGIN, Field, TypedJob, read
from estimator.rows import MARKS_SHEET, Sheet
from estimator.vocabulary import Q
from estimator.workbook.refill import file
from estimator.workbook.template.build import build_template, template_bytes, workbook_bytes
from estimator.workbook.template.layout import Layout, layout
from estimator.workbook.template.lists import LISTS_SHEET
from estimator.workbook.template.made_from import MADE_SHEET
from estimator.workbook.template.names import names
from estimator.workbook.template.snapshot import STATE_COLUMN, VALUE_COLUMN, kept, offset
from estimator.workbook.template.styles import BAD_FILL, BY_NAME, MARKS, STYLES, WHITE, contrast

MODEL = toy_model()
PLAN = layout(MODEL)


def _item(values: Any, option: int, row: int) -> Any:
    array = np.asarray(values)
    return array[..., min(option, array.shape[-2] - 1), min(row, array.shape[-1] - 1)].item()


def _solved_into(book: Any, plan: Layout, values: dict[str, Any]) -> None:
    for key, place in plan.places.items():
        if plan.quantity(key).role != "solved":
            continue
        for option, row, at, column in place.cells():
            value = _item(values[key], option, row)
            if isinstance(value, str) or not math.isnan(value):
                book[place.sheet].cell(at, column).value = value


def _singles(values: dict[str, Any]) -> int:
    """How many solved single values show something."""
    solved = [q for q in MODEL.quantities.values() if q.role == "solved" and q.axis is None]
    cells = [cell for q in solved for cell in np.asarray(values[q.key]).ravel()]
    return sum(bool(c) if isinstance(c, str) else not math.isnan(c) for c in cells)


def _snapshot_into(book: Any, plan: Layout, seen: Any) -> None:
    """Write what the recalculated workbook ``seen`` holds now as what the solvers read."""
    sheet = book[MARKS_SHEET]
    for number, line in enumerate(plan.snapshot.lines):
        row = plan.snapshot.first_row + number
        for option in line.options:
            if line.size:
                value: Any = plan.model.capacity(str(plan.quantity(line.key).axis))
            else:
                value = _held(plan, line, option, seen)
            if value not in (None, ""):
                sheet.cell(row, VALUE_COLUMN + offset(option)).value = value


def _held(plan: Layout, line: Any, option: int | None, seen: Any) -> Any:
    """What a line is to hold of the cells that it watches."""
    place = plan.places[line.key]
    if line.holds == "single":
        return seen[place.sheet].cell(*place.cell(option or 0, 0)).value
    rows = plan.model.capacity(str(plan.quantity(line.key).axis))
    cells = [place.cell(option or 0, row) for row in range(rows)]
    shown = [seen[place.sheet].cell(*cell).value for cell in cells]
    held = [float(v) if isinstance(v, (int, float)) else v for v in shown]
    return kept(line, held)


def _assert_same(book: Any, plan: Layout, values: dict[str, Any]) -> int:
    count = 0
    for key, place in plan.places.items():
        for option, row, at, column in place.cells():
            expected = _item(values[key], option, row)
            shown = book[place.sheet].cell(at, column).value
            where = (key, option, row, expected, shown)
            if isinstance(shown, dt.datetime):
                shown = (shown.date() - DATE_ORIGIN).days
            if isinstance(expected, str):
                assert (shown or "") == expected, where
            elif math.isnan(expected):
                assert shown in (None, ""), where
            else:
                assert (shown or 0) == pytest.approx(expected, rel=1e-12, abs=1e-12), where
            count += 1
    return count


def test_two_builds_are_the_same_bytes() -> None:
    assert template_bytes(MODEL, TYPED) == template_bytes(toy_model(), TYPED)


def test_a_template_built_before_a_row_came_says_how_it_is_built(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "base.xlsx"
    path.write_bytes(template_bytes(MODEL))
    monkeypatch.setattr(file, "template_of", lambda _model: path)
    job = TypedJob(TYPED, lambda key, place: f"{key} {place}")
    with pytest.raises(FileError, match=r"base\.xlsx: .*no cells for price_usd.*build_templates"):
        file.filled_template(planters.model(), job, "planter.xlsx")
    assert file.filled_template(MODEL, job, "planter.xlsx").label == "planter.xlsx"


@needs_office
def test_libreoffice_gives_the_numbers_of_the_engine() -> None:
    book = build_template(MODEL, TYPED)
    used = np.asarray(VALUES["option_kind"]) != ""
    never_solved = np.where(used, 2.0, np.nan)
    stale = {"stale_steps": never_solved, "stale_buying": never_solved}
    values = evaluate(MODEL, {**VALUES, **stale})
    values["typed_over_now"] = np.array([[float(_singles(values))]])  # no solver gave them
    _solved_into(book, PLAN, values)
    shown = recalculated(workbook_bytes(book))
    assert faults(shown) == []
    assert _assert_same(shown, PLAN, values) > 200


@pytest.mark.slow
@needs_office
def test_a_solved_workbook_is_fresh_until_something_that_was_read_changes() -> None:
    book = build_template(MODEL, TYPED)
    _solved_into(book, PLAN, evaluate(MODEL, VALUES))
    _snapshot_into(book, PLAN, recalculated(workbook_bytes(book)))
    found = names(PLAN)

    def marks(**typed: Any) -> tuple[list[Any], list[Any], str, str]:
        changed = openpyxl.load_workbook(io.BytesIO(workbook_bytes(book)))
        for name, value in typed.items():
            sheet, area = found[f"in_{name}"].replace("$", "").replace("'", "").split("!")
            changed[sheet][area.split(":")[0]].value = value
        seen = recalculated(workbook_bytes(changed))
        rows = [PLAN.snapshot.mark_rows[f"stale_{name}"] for name in ("steps", "buying")]
        sheet = seen[MARKS_SHEET]
        steps, buying = ([sheet.cell(row, 3 + o).value for o in (0, 1, 3)] for row in rows)
        beside = PLAN.sheets["Planting"].columns.state
        short = seen["Planting"].cell(PLAN.places["trips"].area.row1, beside).value
        words = sheet.cell(PLAN.snapshot.states["steps", "buying"], STATE_COLUMN).value
        return steps, buying, short or "", words or ""

    assert marks() == ([0, 0, 0], [0, 0, 0], "", "")
    assert marks(soil_price=2.6) == (
        [0, 0, 0],
        [1, 1, 1],
        "prices changed",
        "may no longer be cheapest: buying",
    )
    late = "out of date"
    assert marks(depth_in="13") == ([2, 0, 0], [2, 0, 0], late, "out of date: steps, buying")
    assert marks(soil_name="LOAM") == ([2, 2, 2], [0, 0, 0], late, "out of date: steps")


READINGS = [
    # kind, limits and choices as in the field; then what a person types
    ("whole", {"low": 1, "high": 9}, 4),
    ("whole", {"low": 1, "high": 9}, 4.5),
    ("whole", {"low": 1, "high": 9}, 10),
    ("whole", {"low": 1, "high": 9}, "four"),
    ("number", {"low": -2, "high": 2}, -2),
    ("number", {"low": -2, "high": 2}, -2.001),
    ("number", {"low": 0, "high": 2}, "1.5"),
    ("number", {"low": 0, "high": 2}, True),
    ("number", {"low": 0, "high": 2}, None),
    ("number", {"low": 0, "high": 2, "needed": False}, None),
    ("number", {"low": 0, "high": 2, "needed": False}, "  "),
    ("share", {"low": 0, "high": 0.5}, 0.125),
    ("share", {"low": 0, "high": 0.5}, 12.5),
    ("choice", {"choices": ("stone", "sand")}, "Stone"),
    ("choice", {"choices": ("stone", "sand")}, " sand "),
    ("choice", {"choices": ("stone", "sand")}, "s*"),
    ("choice", {"choices": ("stone", "sand")}, "st?ne"),
    ("choice", {"choices": ("stone", "sand")}, "gravel"),
    ("choice", {"choices": ("stone", "sand"), "needed": False}, None),
    ("text", {}, "two  words"),
    ("text", {}, None),
    ("text", {"needed": False}, None),
    ("date", {"low": 40000, "high": 60000}, dt.date(2026, 5, 1)),
    ("date", {"low": 40000, "high": 60000}, dt.date(1990, 5, 1)),
    ("date", {"low": 40000, "high": 60000}, "soon"),
    ("length", {"low": 1, "high": 40}, "12' 6 1/2\""),
    ("length", {"low": 1, "high": 40}, "12-6"),
    ("length", {"low": 1, "high": 40}, 12.5),
    ("length", {"low": 1, "high": 40}, "3.81 m"),
    ("length", {"low": 1, "high": 40}, "41"),
    ("length", {"low": 1, "high": 40}, "wide"),
    ("length", {"low": 1, "high": 40, "needed": False}, None),
    ("length", {"low": 5, "high": 40, "zero": True}, "0.8"),
    ("length", {"low": 5, "high": 40, "zero": True}, "0"),
    ("length", {"low": 5, "high": 40, "zero": True}, -1),
    ("length", {"low": 5, "high": 40, "zero": True}, "5 ft"),
    ("number", {"low": 3, "high": 9, "zero": True}, 0.75),
    ("number", {"low": 3, "high": 9, "zero": True}, 0),
    ("number", {"low": 3, "high": 9, "zero": True}, 3),
    ("number", {"low": 3, "high": 9, "zero": True}, "0"),
]


@needs_office
def test_cells_read_what_people_type_as_the_engine_does() -> None:
    job, options = Sheet("Job", "Job", ""), Sheet("Options", "Options", "")
    options.section("Kind")
    options.typed(Field("option_kind", "Kind", kind="text", needed=False), scope="option")
    job.section("Samples")
    fields = []
    for number, (kind, how, typed) in enumerate(READINGS):
        for unit in ("ft", "in") if kind == "length" else ("",):
            field = Field(
                f"sample_{number}_{unit}".rstrip("_"), f"Sample {number} {unit}", unit, kind, **how
            )
            job.typed(field, scope="job")
            fields.append((field, typed))
    model = Model([job, options], [])
    plan = layout(model)
    book = build_template(model)
    for field, typed in fields:
        place = plan.places[field.key]
        book[place.sheet].cell(*place.typed_cell()).value = typed
    shown = recalculated(workbook_bytes(book))
    problems = 0
    for field, typed in fields:
        place = plan.places[field.key]
        value = shown[place.sheet].cell(*place.cell()).value
        check = shown[place.sheet].cell(place.area.row1, place.area.column2 + 1).value
        if isinstance(value, dt.datetime):
            value = (value.date() - DATE_ORIGIN).days
        try:
            expected = read(field, typed, "here")
        except InputError:
            assert value == "?", (field, typed, value)
            assert check != "ok"
            if typed == "0.8":
                assert check == f"below least: {field.unit}?"
            problems += 1
            continue
        assert check == "ok", (field, typed, check)
        if isinstance(expected, str):
            assert (value or "") == expected, (field, typed, value)
        else:
            assert value == pytest.approx(expected, rel=1e-14), (field, typed, value)
    row, column = plan.places["input_problems"].cell()
    assert shown[LISTS_SHEET].cell(row, column).value == problems


@needs_office
def test_a_line_of_a_table_says_what_is_wrong_with_it() -> None:
    typed = typed_cells(
        soil_name=["Loam", None, "Peat", "Sand", " Clay", "LOAM"],
        soil_price=[2.5, 1.25, "dear", None, 100, 1],
        soil_wet_ft=['6"', None, "deep", None, None, None],
        soil_season=["Spring", None, "winter", None, None, None],
    )
    shown = recalculated(template_bytes(MODEL, typed))
    first = PLAN.places["soil_price"].area.row1
    said = [shown["Soils"].cell(first + row, 7).value or "" for row in range(6)]
    assert said == [
        "Soil stands twice",
        "Soil is blank",
        "Price? Wet depth? Season?",
        "Price?",
        "Soil? Price?",
        "Soil stands twice",
    ]
    assert shown["Start"]["A3"].value == "Can't be read: 6 inputs"
    assert shown["Planting"]["C7"].value in (None, "")
    assert faults(shown) == []


@needs_office
def test_a_line_says_that_its_first_entry_can_not_be_looked_up() -> None:
    """The signs that ``estimator.typed_job`` refuses, live at the line."""
    names = ["Loam*", "Lo?m", "Lo~m", "<Loam", "=Loam", "Loam = 3 < 4"]
    typed = typed_cells(soil_name=names, soil_price=[1, 1, 1, 1, 1, 1])
    shown = recalculated(template_bytes(MODEL, typed))
    first = PLAN.places["soil_price"].area.row1
    said = [shown["Soils"].cell(first + row, 7).value or "" for row in range(6)]
    assert said == ["Soil: leave out * ? ~, two spaces in a row, a leading < > or ="] * 5 + [""]


def test_no_day_of_our_time_is_within_the_limits_of_a_length() -> None:
    """So that 5/8, taken for the 8th of May, is flagged at the cell by its number alone."""
    from estimator.model import build_model

    lengths = [q.field for q in build_model().quantities.values() if q.field]
    highest = max(f.high for f in lengths if f.kind == "length")
    assert highest < (dt.date(2000, 1, 1) - DATE_ORIGIN).days


@needs_office
def test_a_length_that_a_spreadsheet_took_for_a_day_is_flagged_at_its_cell() -> None:
    book = build_template(MODEL, TYPED)
    place = PLAN.places["planter_length_ft"]
    cell: Any = book[place.sheet].cell(*place.typed_cell())
    cell.number_format = "d mmm"
    cell.value = dt.date(2026, 5, 8)
    shown = recalculated(workbook_bytes(book))[place.sheet]
    assert shown.cell(*place.cell()).value == "?"
    assert shown.cell(place.area.row1, place.area.column2 + 1).value == "above most: a date?"


def test_every_typed_cell_has_a_rule_with_a_message() -> None:
    book = build_template(MODEL)
    for key, place in PLAN.places.items():
        if place.typed is None:
            continue
        rules = [
            rule
            for rule in book[place.sheet].data_validations.dataValidation
            if any(
                area.issuperset(
                    CellRange(
                        min_row=place.typed.row1,
                        max_row=place.typed.row2,
                        min_col=place.typed.column1,
                        max_col=place.typed.column2,
                    )
                )
                for area in rule.sqref.ranges
            )
        ]
        assert len(rules) == 1, key
        assert rules[0].promptTitle
        assert rules[0].prompt
        assert len(rules[0].prompt) <= 255
        assert len(rules[0].promptTitle) <= 32


def test_sheets_print_on_one_page_width_with_titles_and_nothing_hidden_or_merged() -> None:
    book = build_template(MODEL)
    ours = [*(s.name for s in MODEL.sheets), "Lists", "Solved From"]
    assert book.sheetnames == [*ours, MADE_SHEET]
    record = book[MADE_SHEET]
    assert record.sheet_state == "hidden"
    assert not record.print_area, "LibreOffice prints a hidden sheet that has one"
    for sheet in (book[name] for name in ours):
        assert sheet.sheet_state == "visible"
        assert not sheet.merged_cells.ranges
        assert sheet.print_area
        assert sheet.print_title_rows
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
        assert sheet.freeze_panes
        assert "&A" in sheet.oddFooter.left.text
        assert sheet["A1"].value
        for row in sheet.iter_rows():
            assert all(cell.style in BY_NAME for cell in row if cell.value is not None)


def test_text_of_every_style_stands_out_from_its_ground() -> None:
    fills = {style.fill for style in STYLES if style.fill} | {WHITE}
    for style in STYLES:
        assert contrast(style.ink, style.fill or WHITE) >= 4.5, style.name
    in_tables = [style for style in STYLES if style.name.startswith("Table ")]
    for mark in MARKS:
        if not mark.ink:  # the letters keep the colour of their cells
            grounds = {mark.fill or WHITE}
            assert all(contrast(s.ink, ground) >= 4.5 for s in in_tables for ground in grounds)
            continue
        grounds = {mark.fill} if mark.fill else fills - {BY_NAME["Column heading"].fill}
        assert all(contrast(mark.ink, ground) >= 4.5 for ground in grounds), mark.name
    assert contrast("000000", WHITE) == pytest.approx(21)
    assert contrast(BAD_FILL, BAD_FILL) == pytest.approx(1)


def test_a_text_that_begins_with_an_equals_sign_stays_a_text() -> None:
    book = build_template(MODEL)
    cell = book["Job"]["B7"]
    assert (cell.value, cell.data_type) == ("=Planters", "s")
    data = template_bytes(MODEL)
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        sheet = package.read("xl/worksheets/sheet2.xml").decode()
    assert "<t>=Planters</t>" in sheet


def test_decoration_is_added_last() -> None:
    def decorate(book: Any, plan: Layout) -> None:
        assert plan.places["cost_usd"].sheet == "Planting"
        book["Planting"]["Z1"].value = "picture"

    assert build_template(MODEL, decorate=decorate)["Planting"]["Z1"].value == "picture"


def _big_model() -> Model:
    options, big = Sheet("Options", "Options", ""), Sheet("Rows", "Rows", "")
    options.section("Kind")
    options.typed(Field("option_kind", "Kind", kind="text", needed=False), scope="option")
    for number in range(60):
        options.typed(
            Field(f"width_{number}_in", f"Width {number}", "in", "length", 1), scope="option"
        )
    big.section("Rows")
    for number in range(300):

        def row(width_0_in: Q, width_1_in: Q, width_2_in: Q) -> Q:
            return np.where(width_0_in > 2, width_1_in * 3 + width_2_in, np.ceil(width_0_in))

        row.__name__ = f"row_{number}"
        big.row("Row", "in")(row)
    table = big.table("item", "Items", 170)
    for number in range(12):
        table.typed(Field(f"item_{number}", "Item", needed=number > 0))
    for number in range(13):

        def column(item_0: Q, item_1: Q) -> Q:
            return np.where(item_0 > 0, item_1 * 2, 0)

        column.__name__ = f"column_{number}"
        table.column("Column")(column)
    return Model([options, big], [])


def test_a_template_of_300_rows_and_a_large_table_is_built_within_seconds() -> None:
    model = _big_model()
    start = time.process_time()
    template_bytes(model)
    assert time.process_time() - start < 6  # about 2 s on an idle core; the bar guards blow-ups
