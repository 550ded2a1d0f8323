"""Two suppliers of an item, and what is on hand: prices, orders and deliveries that follow."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jobs import at, block, changed, demo, name_of, on_flat, one_option, solved
from known_job import KNOWN_BOOK

from estimator.errors import OptionError
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.model.kinds import FRAMED, OPEN, PIERS
from estimator.model.refusals import refuse
from estimator.typed_job import load_job

BOOK = (KNOWN_BOOK / "items.csv").read_text(encoding="utf-8")
FULL_TRUCKS = {"truck_yd3": 2}


def row_of(key: str) -> int:
    """Row of an item of the known price book."""
    return next(p for (k, p), v in demo().cells.items() if k == "item_key" and v == key)


def stone(job: TypedJob | None = None, /, **cells: Any) -> TypedJob:
    """An open pad on level ground, with cells of the line of its stone changed."""
    row = row_of("stone_57")
    return changed(
        job or on_flat(one_option(OPEN)), **{f"item_{k}": {row: v} for k, v in cells.items()}
    )


def of(values: Mapping[str, Any], column: str, key: str = "stone_57") -> Any:
    """What a column of the items says of one."""
    return block(values, column)[row_of(key)]


OTHER = {"other_supplier": "Lumber yard", "other_price": 20.0}


@pytest.mark.parametrize(
    ("cells", "paid", "supplier"),
    [
        ({}, 21.5, 1),
        (OTHER, 20.0, 2),
        (OTHER | {"other_price": 21.5}, 21.5, 1),
        (OTHER | {"other_price": 30.0}, 21.5, 1),
        (OTHER | {"other_price": None}, 21.5, 1),
        (OTHER | {"price": None}, 20.0, 2),
        (OTHER | {"buy_from": 1}, 21.5, 1),
        (OTHER | {"other_price": 30.0, "buy_from": 2}, 30.0, 2),
        ({"other_price": 20.0}, 21.5, 1),
    ],
)
def test_an_item_is_bought_where_it_is_cheapest_or_where_one_says(
    cells: dict[str, Any], paid: float, supplier: int
) -> None:
    values = solved(stone(**cells))
    packs = of(values, "item_packs")
    assert packs > 0
    assert of(values, "item_paid") == paid
    assert of(values, "item_supplier_no") == supplier
    assert of(values, "item_cost") == pytest.approx(packs * paid)
    lines = list(block(values, "line_item"))
    at_line = lines.index(name_of(values, "stone_57"))
    assert block(values, "line_price")[at_line] == paid
    order = [n for n in block(values, "line_order")[: at_line + 1] if n][-1]
    assert (
        block(values, "supplier_name")[int(order) - 1]
        == ("Stone yard", "Lumber yard")[supplier - 1]
    )


def test_the_truck_comes_from_the_supplier_that_the_stone_is_bought_from() -> None:
    plain, other = solved(stone()), solved(stone(**OTHER))
    assert block(plain, "supplier_bulk_yd3")[0] == block(other, "supplier_bulk_yd3")[1] > 0
    assert block(other, "supplier_bulk_yd3")[0] == 0


def test_the_other_supplier_without_a_price_is_refused_at_its_cell() -> None:
    job = stone(other_supplier="Lumber yard", buy_from=2)
    values = solved(job)
    assert at(values, "unpriced") == 1
    where = TypedJob(job.cells, lambda key, place: f"{key} {place}")
    with pytest.raises(OptionError) as caught:
        refuse(values, where)
    assert caught.value.where == f"item_other_price {row_of('stone_57')}"


def test_boards_are_cut_from_what_is_cheapest_of_both_suppliers() -> None:
    job = on_flat(one_option(FRAMED))
    row = row_of("lumber_2x6_12")
    cheap = changed(job, item_other_supplier={row: "Stone yard"}, item_other_price={row: 1.0})
    plain, other = solved(job), solved(cheap)
    assert block(other, "item_boards")[row] > block(plain, "item_boards")[row]
    assert at(other, "cut_cost") < at(plain, "cut_cost")


# On hand


def test_what_is_on_hand_comes_off_the_order_and_its_cost_not_off_the_plan() -> None:
    plain = solved(stone())
    need = of(plain, "item_need")
    assert need > 2
    values = solved(stone(on_hand=1.25))
    assert of(values, "item_need") == need
    packs = np.ceil((need - 1.25) / 0.5)
    assert of(values, "item_packs") == packs < of(plain, "item_packs")
    assert at(values, "material_cost") == pytest.approx(
        at(plain, "material_cost") - (of(plain, "item_packs") - packs) * 21.5
    )
    assert at(values, "stone_order_yd3") == at(plain, "stone_order_yd3")
    line = list(block(values, "line_item")).index(name_of(values, "stone_57"))
    told = [block(values, f"line_{k}")[line] for k in ("need", "on_hand", "packs")]
    assert told == [need, 1.25, packs]
    assert at(values, "buy_check") == "ok"


def test_stone_that_is_all_there_is_listed_and_needs_neither_price_nor_truck() -> None:
    values = solved(stone(on_hand=50, price=None, low=None, high=None))
    assert of(values, "item_packs") == of(values, "item_cost") == at(values, "unpriced") == 0
    assert block(values, "supplier_trips")[0] == 0
    assert name_of(values, "stone_57") in list(block(values, "line_item"))


def test_what_is_on_hand_of_one_stone_brings_no_truck_less_for_another() -> None:
    row = row_of("stone_crusher")
    job = changed(stone(), item_on_hand={row: 50.0}, **FULL_TRUCKS)
    assert (
        block(solved(job), "supplier_trips")[0]
        == block(solved(changed(stone(), **FULL_TRUCKS)), "supplier_trips")[0]
        > 1
    )


def test_boards_on_hand_are_cut_as_planned_and_not_bought() -> None:
    job = on_flat(one_option(FRAMED))
    plain = solved(job)
    row = int(np.argmax(block(plain, "item_boards")))
    boards = block(plain, "item_boards")[row]
    values = solved(changed(job, item_on_hand={row: boards - 1}))
    assert block(values, "item_boards")[row] == boards
    assert block(values, "item_packs")[row] == 1
    assert at(values, "cut_cost") == at(plain, "cut_cost")


@pytest.mark.slow
def test_sizes_left_blank_are_the_cheapest_of_all_with_boards_on_hand() -> None:
    """No treated joist that is tried by itself is cheaper than the one that is suggested."""
    plain = on_flat(one_option(PIERS, joist_stock=None, supports_per_row=4, footing_diameter_in=22))
    hoard = {row_of(f"lumber_2x10_{n}_treated"): 30.0 for n in (8, 10, 12, 16, 20)}
    suggested = []
    for job in (plain, changed(plain, item_on_hand=hoard)):
        totals = {}
        for joist in ("2x6 treated", "2x8 treated", "2x10 treated", "2x12 treated"):
            each = solved(changed(job, joist_stock=joist))
            if at(each, "checks_failed") == 0:
                totals[joist] = at(each, "total_cost")
        values = solved(job)
        suggested.append(at(values, "joist_stock_used"))
        assert len(totals) > 1
        assert suggested[-1] == min(totals, key=lambda joist: totals[joist])
        assert at(values, "total_cost") <= min(totals.values())
    assert suggested == ["2x8 treated", "2x10 treated"]


def test_a_price_file_brings_the_other_suppliers_too(tmp_path: Path) -> None:
    lines = BOOK.splitlines()
    lines[0] += ",item_other_supplier,item_other_price"
    lines[1] += ",Quarry on the hill,20"
    lines[2:] = [line + ",," for line in lines[2:]]
    path = tmp_path / "yard.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    job = load_job(Path(KNOWN_BOOK).parent / "known_job.toml", path, model=build_model())
    assert job.cells["supplier_name", 6] == "Quarry on the hill"
