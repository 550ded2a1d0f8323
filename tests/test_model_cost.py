"""Sheets Cost, Compare and Buy List through the whole model: packs, cents, sums, marks."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from jobs import (
    at,
    block,
    changed,
    demo,
    on_flat,
    one_option,
    pooled_jobs,
    priced,
    solved,
    solved_or_skipped,
    used,
    with_options,
)

from estimator.inputs import TypedJob, day
from estimator.model import build_model
from estimator.model.kinds import BLOCKS, CAST, FRAMED, KIND_NAMES, OPEN, PIERS
from estimator.rows import OPTION_KEYS

FEW = settings(
    max_examples=6,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
PARTS = (
    "material_cost",
    "delivery_cost",
    "rental_cost",
    "tax_cost",
    "labour_cost",
    "contingency_cost",
    "overhead_cost",
    "profit_cost",
)


def cents(amount: float) -> Decimal:
    """An amount that is whole cents already, exactly."""
    exact = Decimal(repr(round(float(amount), 6)))
    rounded = exact.quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert abs(exact - rounded) < Decimal("0.000001"), f"{amount} is not whole cents"
    return rounded


@FEW
@given(pooled_jobs())
def test_totals_are_the_sum_of_their_parts_to_the_cent(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        parts = sum(cents(at(values, key, option)) for key in PARTS)
        assert cents(at(values, "total_cost", option)) == parts
        items = block(values, "item_cost", option)
        category = block(values, "item_category")
        fees = np.isin(category, ["rental", "delivery", "fee"])
        material = sum((cents(x) for x in items[~fees]), Decimal(0))
        assert cents(at(values, "material_cost", option)) == material
        rental = sum((cents(x) for x in items[category == "rental"]), Decimal(0))
        assert cents(at(values, "rental_cost", option)) == rental
        trips = sum((cents(x) for x in block(values, "supplier_fee", option)), Decimal(0))
        other = sum((cents(x) for x in items[np.isin(category, ["delivery", "fee"])]), Decimal(0))
        assert cents(at(values, "delivery_cost", option)) == trips + other


@FEW
@given(pooled_jobs())
def test_shares_are_taken_of_the_sums_before_them(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        direct = sum(at(values, key, option) for key in PARTS[:5])
        assert at(values, "tax_cost", option) == pytest.approx(
            (at(values, "material_cost", option) + at(values, "taxed_hire", option))
            * at(values, "tax_share"),
            abs=0.005001,
        )
        assert at(values, "labour_cost", option) == pytest.approx(
            at(values, "work_hours", option) * at(values, "wage_per_h"), abs=0.005001
        )
        for cost, share in (
            ("contingency_cost", "contingency_share"),
            ("overhead_cost", "overhead_share"),
            ("profit_cost", "profit_share"),
        ):
            assert at(values, cost, option) == pytest.approx(
                direct * at(values, share), abs=0.005001
            )
            direct += at(values, cost, option)


@FEW
@given(pooled_jobs())
def test_packs_are_whole_enough_and_never_one_too_many(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    pack = block(values, "item_pack")
    named = block(values, "item_name") != ""
    for option in used(values):
        packs = block(values, "item_packs", option)[named]
        need = block(values, "item_need", option)[named]
        size = pack[named]
        assert (packs == np.round(packs)).all()
        # Both sides forgive binary dust of a billionth of a pack.
        assert (packs * size >= need - 1e-9 * size).all()
        assert ((packs - 1) * size < need - 0.9e-9 * size)[packs > 0].all()
        assert (packs[need == 0] == 0).all()


@FEW
@given(pooled_jobs())
def test_the_buy_list_adds_up_to_the_material_cost_of_the_chosen_option(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    chosen = int(at(values, "chosen_no")) - 1
    lines = block(values, "line_material")
    listed = sum((cents(x) for x in lines), Decimal(0))
    assert listed == cents(at(values, "material_cost", chosen))
    assert cents(at(values, "buy_material")) == listed
    assert at(values, "buy_check") == "ok"
    bought = int(np.sum(block(values, "item_packs", chosen) > 0))
    assert at(values, "buy_lines") == bought == np.sum(block(values, "line_packs") > 0)
    # An order to each supplier: under its heading what is bought of it, and nothing else.
    heads, places = block(values, "line_order"), block(values, "line_place")
    orders: dict[int, list[int]] = {}
    for head, place in zip(heads.astype(int), places.astype(int), strict=True):
        assert not (head and place)
        if head:
            assert head not in orders
            orders[head] = []
        elif place:
            orders[next(reversed(orders))].append(place)
    numbers = block(values, "item_supplier_no")
    for supplier, listed_places in orders.items():
        assert listed_places
        assert all(numbers[place - 1] == supplier for place in listed_places)


@pytest.mark.parametrize("letter", "ABCD")
def test_the_demos_buy_list_agrees_whichever_option_is_chosen(letter: str) -> None:
    values = solved(changed(demo(), chosen_option=letter))
    option = OPTION_KEYS.index(letter)
    listed = sum((cents(x) for x in block(values, "line_material")), Decimal(0))
    assert listed == cents(at(values, "material_cost", option))
    assert at(values, "buy_check") == "ok"
    fees = at(values, "rental_cost", option) + at(values, "delivery_cost", option)
    assert at(values, "buy_fees") + at(values, "buy_delivery") == pytest.approx(fees, abs=1e-9)


@FEW
@given(pooled_jobs())
def test_a_blank_option_stays_quiet_and_disturbs_nothing(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    model = build_model()
    columns = used(values)
    blank = [o for o in range(len(OPTION_KEYS)) if o not in columns]
    for item in model.rows():
        if item.by_option and item.key not in ("option_used", "inputs_ok"):
            array = np.asarray(values[item.key])
            if array.shape[0] < len(OPTION_KEYS):
                continue
            quiet = array[blank] == "" if array.dtype.kind == "U" else np.isnan(array[blank])
            assert quiet.all(), item.key
    passing = [o for o in columns if at(values, "checks_failed", o) == 0]
    if passing:
        assert at(values, "least_total") == min(at(values, "total_cost", o) for o in passing)
        assert at(values, "least_hours") == min(at(values, "work_hours", o) for o in passing)
    assert at(values, "options_used") == len(columns)
    for option in columns:
        assert not math.isnan(at(values, "total_cost", option))


@FEW
@given(pooled_jobs())
def test_what_is_marked_passes_and_is_least_of_those_that_pass(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    passing = [o for o in used(values) if at(values, "checks_failed", o) == 0]
    for word, key in (
        ("cheapest", "total_cost"),
        ("fewest hours", "work_hours"),
        ("soonest", "elapsed_days"),
    ):
        least = min((at(values, key, o) for o in passing), default=0)
        for option in used(values):
            mark = word in at(values, "compare_mark", option)
            assert mark == (option in passing and abs(at(values, key, option) - least) < 1e-9)
    named = at(values, "cheapest_name")
    assert (OPTION_KEYS.index(named[0]) in passing) if passing else named == "no option passes"


@FEW
@given(pooled_jobs())
def test_groups_hold_all_that_is_paid_before_tax_and_contingency(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        paid = sum(
            at(values, key, option)
            for key in ("material_cost", "delivery_cost", "rental_cost", "labour_cost")
        )
        # Labour is rounded to the cent once a trade.
        assert np.sum(block(values, "group_cost", option)) == pytest.approx(paid, abs=0.03)
        hours = np.asarray(values["task_hours"])[option]
        assert np.sum(hours) == pytest.approx(at(values, "work_hours", option))


@FEW
@given(pooled_jobs())
def test_the_estimate_of_whole_jobs_lies_inside_or_it_is_said_why_not(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        estimate = at(values, "before_contingency", option)
        low, high = at(values, "total_low", option), at(values, "total_high", option)
        where = {(True, True): "inside", (False, True): "below low", (True, False): "above high"}
        assert at(values, "range_says", option).startswith(where[low <= estimate, estimate <= high])
        assert at(values, "set_aside", option) == pytest.approx(
            at(values, "total_cost", option) - estimate, abs=1e-9
        )
        assert at(values, "set_aside", option) >= 0


def test_an_option_costs_the_same_in_any_column_and_beside_any_other() -> None:
    cells = {kind: {"option_kind": kind} for kind in KIND_NAMES}
    alone = {kind: solved(with_options(demo(), {0: cells[kind]})) for kind in KIND_NAMES}
    places = dict(zip(KIND_NAMES, (5, 3, 0, 2, 4, 1), strict=False))
    together = solved(with_options(demo(), {place: cells[kind] for kind, place in places.items()}))
    for kind, place in places.items():
        for key in ("total_cost", "work_hours", "material_lb", *PARTS):
            assert at(together, key, place) == pytest.approx(at(alone[kind], key), rel=1e-12), key


def concrete(job: TypedJob, **prices: float) -> Mapping[str, Any]:
    return solved(on_flat(one_option(PIERS, priced(job, **prices), concrete_by="cheapest")))


def test_the_short_load_fee_decides_between_bags_and_ready_mix() -> None:
    # About 0.7 yd3: 35 bags; three quarters of a yard of ready-mix, in quarters. Work is free.
    job = changed(demo(), wage_per_h=0, mixer_bags=1000)
    values = concrete(job, concrete_80=6, ready_mix=40, short_load=120)
    bags = math.ceil(at(values, "concrete_yd3") * 1.05 * 27 / 0.6)
    quarters = math.ceil(at(values, "concrete_yd3") * 1.05 / 0.25)
    assert at(values, "bags_cost") == bags * 6
    assert at(values, "mix_cost") == quarters * 40 + 120
    assert quarters * 40 < bags * 6 < quarters * 40 + 120  # the fee alone turns it
    assert at(values, "concrete_comes") == "bags"
    assert (at(values, "bag_count"), at(values, "ready_mix_yd3")) == (bags, 0)
    free = concrete(job, concrete_80=6, ready_mix=40, short_load=1)
    assert at(free, "concrete_comes") == "ready-mix"
    assert at(free, "bag_count") == 0
    assert at(free, "ready_mix_yd3") == quarters / 4
    assert at(free, "short_need") == 1
    places = {key: row for row, key in enumerate(block(free, "item_key"))}
    assert block(free, "item_cost")[places["short_load"]] == 1
    assert block(free, "item_packs")[places["ready_mix"]] == quarters


def test_a_full_load_of_ready_mix_pays_no_fee() -> None:
    job = changed(demo(), short_load_yd3=0.5)
    values = concrete(job, concrete_80=6, ready_mix=40, short_load=120)
    assert at(values, "short_loads") == 0
    assert at(values, "concrete_comes") == "ready-mix"


def test_bags_sold_by_the_pallet_are_priced_by_the_pallet() -> None:
    places = {str(v): row for (key, row), v in demo().cells.items() if key == "item_key"}
    job = changed(demo(), item_pack={places["concrete_80"]: 42})
    values = concrete(job, concrete_80=200, ready_mix=40, short_load=120)
    assert at(values, "bags_cost") == math.ceil(at(values, "bags_alone") / 42) * 200


@FEW
@given(pooled_jobs())
def test_the_cheaper_way_to_concrete_is_taken(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        if at(values, "option_kind", option) not in CAST:
            assert at(values, "bag_need", option) == at(values, "mix_need", option) == 0
            continue
        bags = at(values, "bag_count", option)
        mixed = at(values, "ready_mix_yd3", option)
        assert (bags > 0) != (mixed > 0)
        if at(values, "concrete_by", option) == "cheapest":
            cheaper = at(values, "bags_way_cost", option) <= at(values, "mix_way_cost", option)
            assert (bags > 0) == cheaper


@FEW
@given(pooled_jobs())
def test_every_need_is_on_the_price_book_and_every_board_is_paid(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        assert at(values, "unpriced", option) == 0
        assert at(values, "unanswered", option) == pytest.approx(0, abs=1e-6)
        boards = float(block(values, "item_boards", option).sum())
        assert boards == at(values, "cut_boards", option)
        lumber = block(values, "item_category") == "lumber"
        paid = float(block(values, "item_cost", option)[lumber].sum())
        assert paid == pytest.approx(at(values, "cut_cost", option), abs=0.001)
        assert at(values, "cut_bound", option) <= at(values, "cut_cost", option) + 1e-9


def test_a_tube_that_nobody_stocks_fails_instead_of_costing_nothing() -> None:
    values = solved(on_flat(one_option(PIERS, pier_diameter_in=14)))
    assert at(values, "tube_need_item") == "tube_14"
    assert at(values, "unanswered") > 0
    assert at(values, "check_prices").startswith("FAIL")


def test_an_item_without_a_price_fails() -> None:
    values = solved(priced(on_flat(one_option(FRAMED)), preservative=0))
    assert at(values, "unpriced") == 1
    assert at(values, "check_prices").startswith("FAIL")


def test_more_than_the_yard_has_in_stock_fails() -> None:
    job = on_flat(one_option(BLOCKS))
    plain = solved(job)
    place = [str(name) for name in block(plain, "item_name")].index(at(plain, "block_item"))
    need = block(plain, "item_need")[place]  # with those under the steps
    assert need >= at(plain, "block_count") > 0
    for stock, verdict in ((need - 1, "FAIL"), (need, "ok"), (0, "ok")):
        values = solved(changed(job, item_limit={place: stock}))
        assert at(values, "check_stock")[:4] == verdict


def test_a_small_truck_comes_more_often_and_each_trip_is_paid() -> None:
    job = on_flat(one_option(OPEN, stone_depth_in=8))
    values = solved(changed(job, truck_yd3=2))
    loads = math.ceil(at(values, "stone_order_yd3") / 2)
    assert at(values, "stone_loads") == loads > 1
    names = list(block(values, "supplier_name"))
    assert block(values, "supplier_trips")[names.index("Stone yard")] == loads
    assert block(values, "supplier_fee")[names.index("Stone yard")] == loads * 85
    assert block(values, "supplier_fee")[names.index("Lumber yard")] == 60


def test_spoil_that_leaves_the_site_is_paid_by_the_whole_loose_yard() -> None:
    job = on_flat(one_option(FRAMED))
    stays, leaves = (solved(changed(job, spoil_leaves=word)) for word in ("no", "yes"))
    fee = math.ceil(at(leaves, "spoil_yd3")) * 22
    assert at(leaves, "delivery_cost") - at(stays, "delivery_cost") == pytest.approx(fee)


def test_hours_are_the_sum_of_every_task() -> None:
    values = solved(demo())
    tasks = (
        "setout_hours", "strip_hours", "cut_hours", "hole_hours", "fill_hours", "trim_hours",
        "spoil_hours", "import_hours", "haul_hours", "spread_hours", "compact_hours",
        "stone_fill_hours", "fabric_hours", "water_hours", "timber_hours", "skid_hours",
        "anchor_hours", "support_hours", "beam_hours", "joist_hours", "sheet_hours",
        "foot_hours", "step_hours", "form_hours", "slab_steel_hours", "pour_hours", "finish_hours",
        "skirt_hours", "trip_hours", "cleanup_hours",
    )  # fmt: skip
    # What a way of doing would take, chosen or not.
    ways = {
        *("dig_hand_hours", "dig_machine_hours", "bags_hours", "mix_hours"),
        *("barrow_hours", "bucket_hours"),
    }
    for option in range(4):
        total = sum(at(values, task, option) for task in tasks)
        assert at(values, "work_hours", option) == pytest.approx(total, rel=1e-12)
    # No task of the model's sheets is left out of the sum, which is over lines that mirror them.
    lines = build_model().stacks["task_hours"]
    assert total == pytest.approx(sum(at(values, line, 3) for line in lines), rel=1e-12)
    known = {*tasks, *lines, *ways, "earth_hours", "work_hours"}
    known |= {"passing_hours", "trade_hours_of"}
    by_trade = np.asarray(values["trade_hours_of"])[3].sum()
    assert total == pytest.approx(by_trade, rel=1e-12)
    hours = {
        item.key
        for item in build_model().rows()
        if item.unit == "h" and item.by_option and item.sheet != "Start"
    }
    assert hours == known


def test_anchors_against_the_wind_take_half_an_hour_each() -> None:
    calm = solved(on_flat(one_option(FRAMED, changed(demo(), wind_mph=0))))
    windy = solved(on_flat(one_option(FRAMED, changed(demo(), wind_mph=160))))
    assert at(calm, "anchor_count") == at(calm, "anchor_hours") == 0
    assert at(windy, "anchor_count") >= 4
    # Common practice, no source: a ground anchor turned in with a bar and strapped, 0.5 h.
    assert at(windy, "anchor_hours") == at(windy, "anchor_count") * 0.5
    more = at(windy, "work_hours") - at(calm, "work_hours")
    assert more == pytest.approx(at(windy, "anchor_hours"))


def test_waiting_for_the_locator_and_for_the_concrete_counts_in_days() -> None:
    """Called on Wednesday, 1 April 2026; notice on Thursday, Friday, Monday: dug from Tuesday on.

    A: 41.1 h after the trips are 2.57 days of two people: done on Thursday. C: 15.1 h with the
    concrete on Tuesday, 7 days of cure to the next Tuesday, 19.8 h more: done on Wednesday.
    """
    values = solved(demo())
    assert at(values, "call_day") == day(dt.date(2026, 4, 1))
    assert at(values, "dig_day") == day(dt.date(2026, 4, 7))
    assert at(values, "ready_day", 0) == day(dt.date(2026, 4, 9))
    assert at(values, "supports_day", 2) == day(dt.date(2026, 4, 7))
    assert at(values, "beams_day", 2) == day(dt.date(2026, 4, 14))
    assert at(values, "ready_day", 2) == day(dt.date(2026, 4, 15))
    assert (at(values, "elapsed_days", 0), at(values, "elapsed_days", 2)) == (8, 14)


@FEW
@given(pooled_jobs())
def test_the_range_is_in_order_and_about_the_total(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        low, middle, high = (
            at(values, f"total_{name}", option) for name in ("low", "middle", "high")
        )
        assert low <= middle <= high
        # Every price lies between 0.9 and 1.2 times its likely value, hours between 0.8 and 1.4;
        # cents of eight rounded lines apart.
        assert 0.8 * at(values, "total_cost", option) - 0.1 <= low
        assert high <= 1.4 * at(values, "total_cost", option) + 0.1
