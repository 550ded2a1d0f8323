"""Ways of doing by all that they cost: bags or ready-mix, by hand or by machine. Worked by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest
from jobs import at, block, changed, demo, on_flat, one_option, priced, solved

from estimator.inputs import TypedJob
from estimator.model.kinds import BLOCKS, FRAMED, PIERS, SLAB

YARD = changed(
    priced(on_flat(demo()), concrete_80=6, ready_mix=40, short_load=120, mixer_day=72),
    wage_per_h=30,
    crew_size=2,
    day_hours=8,
    tax_share=0,
    hire_taxed="no",
    concrete_waste=0,
    bag_h=0.1,
    readymix_h_yd3=0.5,
    bag_yield_ft3=0.6,
    short_load_yd3=4,
    mixer_bags=10,
    hire_least_days=1,
    frost_depth_in=36,
    frost_free_area_ft2=0,
)


def piers(job: TypedJob = YARD, /, **cells: Any) -> Mapping[str, Any]:
    return solved(one_option(PIERS, job, supports_per_row=3, **cells))


def need(values: dict[str, Any], item: str) -> float:
    keys = [str(key) for key in block(values, "item_key")]
    return float(block(values, "item_need")[keys.index(item)])


def test_bags_cost_material_mixer_and_work() -> None:
    values = piers()
    # Bags of 0.6 ft3 at $6, 0.1 h each at $30; a mixer for one day (fewer than 160 bags: 16 h of
    # work are a day of two people).
    bags = -(-at(values, "concrete_yd3") * 27 // 0.6)
    assert at(values, "bags_alone") == bags
    assert 10 <= bags <= 160
    assert at(values, "bags_way_cost") == pytest.approx(bags * 6 + 72 + bags * 0.1 * 30)


def test_ready_mix_costs_material_short_load_and_work() -> None:
    values = piers()
    # In quarter yards at $40, 0.5 h a yard at $30, and $120 below 4 yd3.
    quarters = -(-at(values, "concrete_yd3") // 0.25)
    assert quarters < 16
    cost = quarters * 40 + 120 + quarters * 0.25 * 0.5 * 30
    assert at(values, "mix_way_cost") == pytest.approx(cost)


def test_tax_falls_on_material_alone() -> None:
    plain, taxed = piers(), piers(changed(YARD, tax_share=0.1))
    more = at(taxed, "bags_way_cost") - at(plain, "bags_way_cost")
    assert more == pytest.approx(at(plain, "bags_cost") * 0.1, abs=0.01)
    mix = at(plain, "mix_cost") - 120
    assert at(taxed, "mix_way_cost") - at(plain, "mix_way_cost") == pytest.approx(
        mix * 0.1, abs=0.01
    )


@pytest.mark.parametrize("bag", [1, 3, 6, 12])
def test_the_cheapest_way_is_chosen_and_only_it_is_paid(bag: float) -> None:
    values = piers(priced(YARD, concrete_80=bag))
    bags = at(values, "bags_way_cost") <= at(values, "mix_way_cost")
    assert at(values, "concrete_comes") == ("bags" if bags else "ready-mix")
    assert (need(values, "concrete_80") > 0) == bags
    assert need(values, "mixer_day") == (1 if bags else 0)
    assert need(values, "short_load") == (0 if bags else 1)


def test_cheap_bags_lose_where_mixing_them_costs_more() -> None:
    # Material alone would say bags: their work and the mixer turn it.
    job = priced(YARD, concrete_80=4, ready_mix=30, short_load=1)
    values = piers(changed(job, wage_per_h=60))
    cheaper = at(values, "bags_cost") < at(values, "mix_cost") + 60
    assert cheaper
    assert at(values, "concrete_comes") == "ready-mix"


def test_without_a_way_for_the_truck_bags_are_chosen_but_a_typed_way_wins() -> None:
    away = changed(priced(YARD, concrete_80=50), mix_access="no")
    assert at(piers(away), "concrete_comes") == "bags"
    assert at(piers(away, concrete_by="ready-mix"), "concrete_comes") == "ready-mix"
    assert at(piers(priced(YARD, concrete_80=50)), "concrete_comes") == "ready-mix"


@pytest.mark.parametrize(
    ("item", "comes"),
    [
        ("ready_mix", "bags"),
        ("short_load", "bags"),
        ("concrete_80", "ready-mix"),
        ("mixer_day", "ready-mix"),
    ],
)
def test_a_way_without_a_price_is_not_the_cheapest(item: str, comes: str) -> None:
    values = piers(priced(YARD, **{item: 0}), concrete_by="cheapest")
    assert at(values, "concrete_comes") == comes
    assert at(values, "check_prices") == "ok"


def test_a_machine_without_a_price_is_not_the_cheapest() -> None:
    values = piers(changed(priced(YARD, excavator_day=0), dig_method="cheapest"))
    assert at(values, "machine_way_cost") < at(values, "hand_way_cost")
    assert at(values, "dig_way") == "by hand"


def test_bags_and_a_mixer_on_hand_cost_their_work_alone() -> None:
    job = priced(YARD, concrete_80=50)
    assert at(piers(job), "concrete_comes") == "ready-mix"
    values = piers(own(job, concrete_80=500, mixer_day=9))
    work = at(values, "bags_alone") * 0.1 * 30
    assert at(values, "bags_way_cost") == pytest.approx(work)
    assert at(values, "concrete_comes") == "bags"
    # Of 500 less by ten than are needed, ten are paid for.
    few = piers(own(job, concrete_80=at(values, "bags_alone") + at(values, "foot_bags") - 10))
    assert at(few, "bags_cost") == 10 * 50


@pytest.mark.parametrize("placed_by", ["barrow", "chute", "pump"])
def test_ready_mix_of_a_slab_is_placed_at_a_price_too(placed_by: str) -> None:
    """The whole job once with each: what the ways differ by is what the totals differ by."""
    job = changed(priced(YARD, concrete_pump=420), contingency_share=0)
    of = {
        way: solved(one_option(SLAB, job, slab_placed_by=placed_by, concrete_by=way))
        for way in ("bags", "ready-mix")
    }
    ways = at(of["bags"], "bags_way_cost") - at(of["bags"], "mix_way_cost")
    totals = at(of["bags"], "total_cost") - at(of["ready-mix"], "total_cost")
    assert ways == pytest.approx(totals, abs=0.02)
    assert at(of["bags"], "mix_way_cost") == at(of["ready-mix"], "mix_way_cost")


def test_what_is_just_enough_asks_for_no_fee_and_takes_the_mixer() -> None:
    values = piers()
    order, bags = at(values, "mix_order_yd3"), at(values, "bags_alone")
    just = piers(changed(YARD, short_load_yd3=order, mixer_bags=bags))
    assert (at(just, "short_loads"), at(just, "mixer_alone_days")) == (0, 1)
    short = piers(changed(YARD, short_load_yd3=order + 0.01, mixer_bags=bags + 1))
    assert (at(short, "short_loads"), at(short, "mixer_alone_days")) == (1, 0)


def test_few_bags_are_mixed_in_a_barrow() -> None:
    values = piers(changed(YARD, mixer_bags=1000), concrete_by="bags")
    assert at(values, "mixer_days") == 0
    assert need(values, "mixer_day") == 0


DIG = changed(
    priced(on_flat(demo()), excavator_day=265),
    wage_per_h=30,
    day_hours=8,
    soil="loam",
    strip_depth_in=4,
    strip_h_ft2=0.01,
    machine_yd3_h=6,
    load_min=3,
    walk_ft_min=150,
    barrow_ft3=3,
    machine_trip_min=3,
    machine_bucket_ft3=9,
    tip_distance_ft=75,
    spoil_distance_ft=75,
    stone_inside_share=0,
    tax_share=0,
    machine_width_in=39,
    access_width_in=96,
    hire_least_days=1,
    dig_method="cheapest",
)


def pad(job: TypedJob = DIG, /, **cells: Any) -> Mapping[str, Any]:
    return solved(one_option(FRAMED, job, **cells))


def test_by_hand_is_work_alone_and_a_machine_is_work_and_hire() -> None:
    values = pad()
    # A trip takes 3 min and 2 x 75 ft at 150 ft/min: 4 min, for 3 ft3 by barrow, 9 by machine.
    carried = [at(values, key) * 27 for key in ("import_yd3", "stone_order_yd3", "spoil_yd3")]
    barrow, bucket = (sum(math.ceil(ft3 / load) for ft3 in carried) * 4 / 60 for load in (3, 9))
    assert at(values, "barrow_hours") == pytest.approx(barrow)
    assert at(values, "bucket_hours") == pytest.approx(bucket)
    dug = (at(values, "strip_yd3") + at(values, "cut_yd3")) / 6
    assert at(values, "dig_machine_hours") == pytest.approx(dug)
    days = max(-(-(dug + bucket) // 8), 1)
    assert at(values, "machine_way_cost") == pytest.approx(
        (dug + bucket) * 30 + days * 265, abs=0.01
    )
    by_hand = (at(values, "dig_hand_hours") + barrow) * 30
    assert at(values, "hand_way_cost") == pytest.approx(by_hand, abs=0.01)


@pytest.mark.parametrize(("wage", "way"), [(0, "by hand"), (5, "by hand"), (200, "machine")])
def test_the_way_of_digging_that_costs_less_is_chosen(wage: float, way: str) -> None:
    values = pad(changed(DIG, wage_per_h=wage))
    machine = at(values, "machine_way_cost") < at(values, "hand_way_cost")
    assert at(values, "dig_way") == way == ("machine" if machine else "by hand")
    assert (need(values, "excavator_day") > 0) == machine


@pytest.mark.parametrize("way", ["by hand", "machine"])
@pytest.mark.parametrize("kind", [FRAMED, BLOCKS, SLAB])
def test_a_way_of_digging_costs_what_is_paid_when_it_is_taken(kind: str, way: str) -> None:
    values = solved(one_option(kind, DIG, dig_method=way))
    parts = ("strip_hours", "cut_hours", "spoil_hours", "import_hours", "haul_hours")
    work = sum(at(values, part) for part in parts) * 30
    hire = need(values, "excavator_day") * 265
    told = at(values, "hand_way_cost" if way == "by hand" else "machine_way_cost")
    assert told == pytest.approx(work + hire, abs=0.01)


def own(job: TypedJob, **items: float) -> TypedJob:
    """The job with so much of some items on hand."""
    keys = {str(v): place for (key, place), v in job.cells.items() if key == "item_key"}
    return changed(job, item_on_hand={keys[item]: n for item, n in items.items()})


def test_a_machine_of_ones_own_costs_its_work_alone() -> None:
    job = changed(DIG, wage_per_h=5)
    assert at(pad(job), "dig_way") == "by hand"
    values = pad(own(job, excavator_day=30))
    hours = at(values, "dig_machine_hours") + at(values, "bucket_hours")
    assert at(values, "machine_way_cost") == pytest.approx(hours * 5, abs=0.01)
    assert at(values, "dig_way") == "machine"


def test_a_dear_hour_calls_the_machine_and_a_narrow_gate_keeps_it_out() -> None:
    dear = changed(DIG, wage_per_h=200)
    assert at(pad(dear), "dig_way") == "machine"
    assert at(pad(changed(dear, access_width_in=39)), "dig_way") == "machine"
    narrow = changed(dear, access_width_in=38.9)
    assert at(pad(narrow), "dig_way") == "by hand"
    assert at(pad(narrow), "check_machine_way") == "ok"
    typed = pad(changed(narrow, dig_method="machine"))
    assert at(typed, "dig_way") == "machine"
    assert at(typed, "check_machine_way").startswith("FAIL: the machine is wider")


def test_the_least_hire_is_paid_for() -> None:
    values = pad(changed(DIG, hire_least_days=3, dig_method="machine"))
    assert need(values, "excavator_day") == 3
    assert at(values, "machine_way_days") == 3


def test_a_truck_saves_the_barrowing() -> None:
    values = pad(changed(DIG, dig_method="by hand"))
    assert at(values, "truck_saves") == pytest.approx(at(values, "haul_hours") * 30, abs=0.01)
    tipped = pad(changed(DIG, dig_method="by hand", stone_inside_share=1))
    assert at(tipped, "haul_hours") == 0
    assert at(tipped, "truck_saves") == 0


def test_stone_is_tipped_into_place_where_the_way_is_wide_enough_and_else_carried() -> None:
    blank = {k: v for k, v in DIG.cells.items() if k[0] != "stone_inside_share"}
    by_hand = changed(TypedJob(blank, DIG.where), dig_method="by hand", truck_way_in=120)
    narrow = pad(changed(by_hand, access_width_in=119))
    assert at(narrow, "stone_tipped_share") == 0
    assert at(narrow, "haul_hours") > 0
    wide = pad(changed(by_hand, access_width_in=120))
    assert at(wide, "stone_tipped_share") == 1
    assert at(wide, "haul_hours") == 0
    assert at(wide, "total_cost") < at(narrow, "total_cost")
    assert at(narrow, "check_truck_way") == at(wide, "check_truck_way") == "ok"


def test_a_typed_share_wins_over_the_way_and_a_truck_that_does_not_fit_is_said() -> None:
    wide = changed(DIG, access_width_in=200, dig_method="by hand", stone_inside_share=0)
    assert at(pad(wide), "stone_tipped_share") == 0
    assert at(pad(wide), "haul_hours") > 0
    narrow = pad(changed(wide, access_width_in=48, stone_inside_share=1))
    assert at(narrow, "stone_tipped_share") == 1
    assert at(narrow, "check_truck_way").startswith("LOOK: stone is tipped into place over a way")


def test_no_truck_tips_into_the_beds_of_blocks() -> None:
    blank = {k: v for k, v in DIG.cells.items() if k[0] != "stone_inside_share"}
    wide = changed(TypedJob(blank, DIG.where), access_width_in=200)
    blocks = solved(one_option(BLOCKS, wide))
    assert at(blocks, "stone_order_yd3") > 0
    assert at(blocks, "stone_tipped_share") == 0
    assert at(solved(one_option(SLAB, wide)), "stone_tipped_share") == 1


def test_hire_is_taxed_where_job_says_so() -> None:
    plain = changed(YARD, tax_share=0.1)
    more = at(piers(changed(plain, hire_taxed="yes")), "bags_way_cost")
    assert more - at(piers(plain), "bags_way_cost") == pytest.approx(72 * 0.1, abs=0.011)
