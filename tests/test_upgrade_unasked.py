"""An upgrade brings a new assembly's rows and sets its inputs so that no price changes unasked."""

from __future__ import annotations

from pathlib import Path

import pytest
from books import value
from jobs import at, block, solved
from jobs import changed as with_cells
from jobs import demo as demo_of_the_yard

from estimator.engine import Model
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.carry_over import unasked
from estimator.workbook.carry.replace import Replaced
from estimator.workbook.carry.upgrade import nothing_added
from estimator.workbook.package.a1 import address
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file_port import FilePort

NEW = frozenset(f"in_{key}" for key in unasked(build_model()))


def test_a_workbook_without_steps_gets_none_and_is_told_where(fresh_template: Path) -> None:
    template = fresh_template.read_bytes()
    names = FilePort(Package.open(template, label="shed.xlsx")).ranges()
    assert set(names) >= NEW
    assert value(template, "in_door_way") == "steps"
    model = build_model()
    replaced = Replaced(Package.open(template, label="shed.xlsx"), ())
    found = nothing_added(replaced, model, set(names) - NEW, unasked(model))
    assert value(found.data, "in_door_way") == "none"
    assert value(found.data, "in_stringer_stock") == "2x12 treated"
    for key, entry in unasked(model).items():
        area = names[f"in_{key}"][1]
        held = [value(found.data, (f"in_{key}", at)) for at in range(area.rows * area.columns)]
        assert held == [entry] * len(held), key
    sheet, area = names["in_door_way"]
    assert f"New: At the door ({sheet}!{address(area.row1, area.column1)})" in found.notes[0]


def test_a_workbook_with_steps_keeps_them(fresh_template: Path) -> None:
    template = fresh_template.read_bytes()
    names = FilePort(Package.open(template, label="shed.xlsx")).ranges()
    model = build_model()
    replaced = Replaced(Package.open(template), ("as before",))
    assert nothing_added(replaced, model, set(names), unasked(model)) is replaced


@pytest.mark.parametrize("model", [build_model(), metric(build_model())], ids=["feet", "metric"])
def test_what_an_upgrade_sets_is_an_input_s_choice_and_a_stock_of_every_yard(model: Model) -> None:
    texts = unasked(model)
    assert {model.quantities[key].role for key in texts} == {"input"}
    choice = model.quantities["door_way"].field
    assert choice is not None
    assert texts["door_way"] in choice.choices
    stock = model.quantities["stringer_stock"].field
    assert stock is not None
    assert stock.refers == "stock_name"


def test_a_workbook_without_steps_costs_what_it_cost_without_their_prices() -> None:
    """The price book of before has no hanger, bolt or rail, and no stock for stringers is used."""
    job = with_cells(demo_of_the_yard(), siting_wanted="no", **unasked(build_model()))
    values = solved(job)
    keys = list(block(values, "item_key"))
    steps = ("stringer_hanger", "joist_hanger", "post_base", "bolt_post", "handrail")
    for item in (*steps, "permit", "inspection", "yard_trip", "tip_fee", "sheet_skirt"):
        for option in range(4):
            assert block(values, "item_need", option)[keys.index(item)] == 0
    assert at(values, "total_cost", 0) == pytest.approx(2945.97)
