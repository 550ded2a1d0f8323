"""Of the sheet Cost: digging and carrying by hand and barrow or by machine, side by side.

The same work both ways: stripping, the cut, and all that is carried (spoil, soil brought in, stone
that no truck tips into place). Holes and trenches are dug, and stone is spread, by hand either way.
"""

from __future__ import annotations

import numpy as np

from estimator.model.adds import OK, check
from estimator.model.grading import DIGGER_ITEM, SOD_IN, trip_h, trips
from estimator.model.prices import lacks_price, to_hire
from estimator.rows import Chapter
from estimator.vocabulary import Q, lookup, rounded

DIGGING = Chapter()

DIGGING.section("Digging and carrying by hand against a machine")


@DIGGING.row("Strip and dig, by hand", "h", fmt="0.0")
def dig_hand_hours(
    strip_ft2: Q,
    strip_depth_in: Q,
    strip_h_ft2: Q,
    cut_yd3: Q,
    soil: Q,
    soil_name: Q,
    soil_trench_yd3_h: Q,
) -> Q:
    depth = np.where(strip_depth_in > 0, np.maximum(strip_depth_in / SOD_IN, 1), 0)
    cut = cut_yd3 / lookup(soil, soil_name, soil_trench_yd3_h)
    return strip_ft2 * strip_h_ft2 * depth + cut


@DIGGING.row("Strip and dig, by machine", "h", fmt="0.0")
def dig_machine_hours(strip_yd3: Q, cut_yd3: Q, machine_yd3_h: Q) -> Q:
    return (strip_yd3 + cut_yd3) / machine_yd3_h


@DIGGING.row("Carried from where the truck tips", "yd3", fmt="0.0", note="Soil and stone, loose.")
def tipped_yd3(import_yd3: Q, stone_order_yd3: Q, stone_tipped_share: Q) -> Q:
    return import_yd3 + stone_order_yd3 * (1 - stone_tipped_share)


@DIGGING.row("Carry, by barrow", "h", fmt="0.0")
def barrow_hours(
    import_yd3: Q,
    stone_order_yd3: Q,
    stone_tipped_share: Q,
    spoil_yd3: Q,
    barrow_ft3: Q,
    load_min: Q,
    walk_ft_min: Q,
    tip_distance_ft: Q,
    spoil_distance_ft: Q,
) -> Q:
    stone = trips(stone_order_yd3 * (1 - stone_tipped_share), barrow_ft3)
    tipped = (trips(import_yd3, barrow_ft3) + stone) * trip_h(
        load_min, tip_distance_ft, walk_ft_min
    )
    return tipped + trips(spoil_yd3, barrow_ft3) * trip_h(load_min, spoil_distance_ft, walk_ft_min)


@DIGGING.row("Carry, by machine", "h", fmt="0.0")
def bucket_hours(
    import_yd3: Q,
    stone_order_yd3: Q,
    stone_tipped_share: Q,
    spoil_yd3: Q,
    machine_bucket_ft3: Q,
    machine_trip_min: Q,
    walk_ft_min: Q,
    tip_distance_ft: Q,
    spoil_distance_ft: Q,
) -> Q:
    return barrow_hours(
        import_yd3,
        stone_order_yd3,
        stone_tipped_share,
        spoil_yd3,
        machine_bucket_ft3,
        machine_trip_min,
        walk_ft_min,
        tip_distance_ft,
        spoil_distance_ft,
    )


@DIGGING.row("By hand in all", "$", fmt="#,##0.00", note="Work at the wage; before contingency.")
def hand_way_cost(dig_hand_hours: Q, barrow_hours: Q, wage_per_h: Q) -> Q:
    return rounded((dig_hand_hours + barrow_hours) * wage_per_h, 2)


@DIGGING.row("Days of the machine", "days", fmt="0", note="At least the least hire on Factors.")
def machine_way_days(dig_machine_hours: Q, bucket_hours: Q, day_hours: Q, hire_least_days: Q) -> Q:
    hours = dig_machine_hours + bucket_hours
    return np.where(hours > 0, np.maximum(np.ceil(hours / day_hours), hire_least_days), 0)


@DIGGING.row("By machine in all", "$", fmt="#,##0.00", note="Work and hire; before contingency.")
def machine_way_cost(
    dig_machine_hours: Q,
    bucket_hours: Q,
    wage_per_h: Q,
    machine_way_days: Q,
    item_key: Q,
    item_on_hand: Q,
    item_pack: Q,
    item_paid: Q,
    tax_share: Q,
    hire_taxed: Q,
) -> Q:
    yard = (item_key, item_on_hand, item_pack, item_paid)
    hire = to_hire(DIGGER_ITEM, machine_way_days, *yard, tax_share, hire_taxed)
    return rounded((dig_machine_hours + bucket_hours) * wage_per_h + hire, 2)


@DIGGING.row(
    "What a truck saves that tips stone into place",
    "$",
    fmt="#,##0.00",
    note="Work of carrying the stone as it is carried now. Leave one side open for it; blank on Job, it is chosen where the way is wide enough.",
)
def truck_saves(haul_hours: Q, wage_per_h: Q) -> Q:
    return rounded(haul_hours * wage_per_h, 2)


@DIGGING.row(
    "Digging and carrying",
    kind="text",
    note="A way typed on Job wins; a machine without a price is not chosen.",
)
def dig_way(
    dig_method: Q,
    hand_way_cost: Q,
    machine_way_cost: Q,
    machine_way_days: Q,
    access_width_in: Q,
    machine_width_in: Q,
    item_key: Q,
    item_on_hand: Q,
    item_paid: Q,
) -> Q:
    unknown = lacks_price(DIGGER_ITEM, machine_way_days, item_key, item_on_hand, item_paid)
    cheaper = (machine_way_cost < hand_way_cost) & ~unknown
    machine = cheaper & (machine_width_in <= access_width_in)
    return np.where(dig_method == "cheapest", np.where(machine, "machine", "by hand"), dig_method)


@check(DIGGING, "Way in for the machine", mend="access_width_in", hazard="access")
def check_machine_way(dig_way: Q, access_width_in: Q, machine_width_in: Q, digger_days: Q) -> Q:
    stuck = (dig_way == "machine") & (digger_days > 0) & (machine_width_in > access_width_in)
    return np.where(stuck, "FAIL: the machine is wider than the way to the pad", OK)
