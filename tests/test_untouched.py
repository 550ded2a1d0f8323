"""What helper formulas show without an engine is what an engine gives for them."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

import pytest
from books import edited, opened, refilled, spot

from estimator.engine import Model
from estimator.length_formula import formulas_give
from estimator.metric import metric
from estimator.model import build_model
from estimator.rows import PROBLEMS
from estimator.workbook.package.a1 import Cell, address, parse_cell
from estimator.workbook.package.cells import Edit, Formula, apply, read_cell
from estimator.workbook.package.parts import Package
from estimator.workbook.package.recalculate import recalculate, recalculated
from estimator.workbook.refill import file as refill_file
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import plan_refill
from estimator.workbook.refill.untouched import marks, workings
from estimator.workbook.refill.usable_rows import flags
from estimator.workbook.template.layout import layout
from estimator.workbook.template.length_cells import length_cells, table_of
from estimator.workbook.template.shipped import shipped, template_of

pytestmark = pytest.mark.slow

Known = dict[tuple[str, str], Any]
TYPED = {
    "in_building_length_ft": "14 ft",
    "in_building_width_ft": "10' 6 1/2\"",
    ("in_stone_depth_in", 0): "5 1/2",
    ("in_point_reading_ft", 0, 2): "4.75",
    "in_wage_per_h": 37.5,
}


def known(data: bytes, model: Model) -> tuple[Known, Known, Known]:
    """Workings of lengths, marks and flags of rows that a refill knows, by sheet and address."""
    port, template = FilePort(opened(data)), shipped(template_of(model))
    plan = plan_refill(port, model)
    found = (
        workings(port, model, template),
        marks(port, model, plan, template),
        flags(port, model, plan, template),
    )
    taken, marked, flagged = (
        {(sheet, address(row, column)): v for (sheet, row, column), v in each.items()}
        for each in found
    )
    return taken, marked, flagged


def workings_of(model: Model) -> int:
    return 2 * sum(len(cells) for _, cells in length_cells(layout(model)))


@pytest.mark.parametrize("measure", ["feet", "metric"])
def test_an_engine_gives_the_same(measure: str, demo_book: bytes, metric_demo_book: bytes) -> None:
    model = build_model() if measure == "feet" else metric(build_model())
    data = edited(demo_book, TYPED) if measure == "feet" else metric_demo_book
    taken, marked, flagged = known(data, model)
    assert len(taken) == workings_of(model)
    assert len(marked) > 1000
    assert "fresh" in marked.values()
    assert len(flagged) > 1000
    given = recalculate(refilled(data, model=model).data).values
    assert {place: given[place] for place in marked} == marked
    assert {place: given[place] for place in taken} == taken
    assert {place: given[place] for place in flagged} == flagged


def test_a_metric_workbook_is_known_by_its_own_template(
    metric_demo_book: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    spared: list[set[tuple[str, str]]] = []

    def counted(package: Package, given: Collection[Cell]) -> Package | None:
        spared.append({(sheet, address(row, column)) for sheet, row, column in given})
        return recalculated(package, given)

    monkeypatch.setattr(refill_file, "recalculated", counted)
    refill_file.refill_bytes(metric_demo_book, build_model(), "demo.xlsx")
    for each in known(metric_demo_book, metric(build_model())):
        assert each.keys() <= spared[-1]


def test_what_somebody_touched_is_worked_out(demo_book: bytes) -> None:
    """Own entries by formula, helpers, weights, what was solved: no mark is taken for granted."""
    model = build_model()
    plan = layout(model)
    sheet, [cells] = next((name, each) for name, each in length_cells(plan) if len(each) == 1)
    helper = sheet, address(*cells.length)
    weight = "Solved From", address(plan.snapshot.first_row, plan.snapshot.weights_column)
    edits: dict[tuple[str, str], Edit] = {helper: 4.0}
    taken, *_ = known(apply(opened(demo_book), edits), model)
    assert helper not in taken
    assert len(taken) >= workings_of(model) - 2
    assert not known(apply(opened(demo_book), {weight: 1.75}), model)[1]
    for data in (
        apply(opened(demo_book), {spot(demo_book, "in_wage_per_h"): Formula("30+2", 32.0)}),
        edited(demo_book, {("stone_loose_yd3", 0): 5.0}),
    ):
        assert not any(known(data, model)[1:])


def test_rows_that_a_sheet_may_take_otherwise_are_left_to_it(demo_book: bytes) -> None:
    """A space at an end, which is read without it, and a limit that somebody lowered."""
    model = build_model()
    column = table_of(layout(model), "item_article").find("check").column
    sheet, place = spot(demo_book, ("in_item_article", 0, 2))
    flag = sheet, address(parse_cell(place)[0], column)
    assert flag in known(demo_book, model)[2]
    spaced = edited(demo_book, {("in_item_article", 0, 2): "17 "})
    assert flag not in known(spaced, model)[2]
    assert read_cell(opened(refilled(spaced).data), *flag).value == "Article number?"
    lowered = edited(demo_book, {"most_item_price": 0.01})
    assert flag not in known(lowered, model)[2]
    data = refilled(lowered).data
    assert "Price a pack?" in str(read_cell(opened(data), *flag).value)
    assert read_cell(opened(data), *spot(data, PROBLEMS)).value > 10


def test_a_limit_lowered_on_the_sheet_marks_what_was_read_by_the_former(
    demo_book: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    model = build_model()
    sheet, place = spot(demo_book, "in_building_length_ft")
    most = address(int(place.lstrip("ABCDEFGH")), layout(model).sheets[sheet].columns.most)
    lowered = apply(opened(demo_book), {(sheet, most): 3.0})
    data = refilled(lowered).data
    assert read_cell(opened(data), *spot(data, PROBLEMS)).value == 1
    monkeypatch.setattr("estimator.workbook.refill.file.marks", lambda *_: {})
    assert refilled(lowered).data == data


@pytest.mark.parametrize("typed", ["", "12′ 6″", " 12 ft", "ß"])
def test_what_spreadsheets_may_read_otherwise_is_left_to_them(typed: str) -> None:
    assert formulas_give(typed) is None
