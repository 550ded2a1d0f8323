"""Of the sheet Footings: forms of a slab, its hours and its days."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import EQUAL_PARTS, FROM_OFFCUTS, Hours, Need, Piece, Step
from estimator.model.footings import FOOTINGS
from estimator.model.grading import CORNERS, trip_h, trips
from estimator.model.kinds import FLOORS
from estimator.model.prices import to_hire
from estimator.model.slab.inputs import BARROW, MESH, PUMP
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

PUMP_ITEM = "concrete_pump"
RATES = "Rates on Factors"

FOOTINGS.section("Forms of the slab")


@FOOTINGS.row("Depth of a form board", "in")
def form_depth_in(form_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(form_stock, stock_name, stock_depth_in, 0)


@FOOTINGS.row("Width of a form board", "in")
def form_width_in(form_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(form_stock, stock_name, stock_width_in, 0)


BOARDS = FOOTINGS.table("slab_corner", "Forms at the corners of the slab", CORNERS)


@BOARDS.column("Boards one above the other", "boards", fmt="0", by_option=True)
def form_high(slab_face_in: Q, form_depth_in: Q) -> Q:
    deep = form_depth_in + np.where(form_depth_in > 0, 0, 1)
    return np.ceil(slab_face_in / deep)


FOOTINGS.section("Boards and stakes of the forms")


@FOOTINGS.row(
    "Form boards on two sides",
    "pieces",
    fmt="0",
    note="On front and back, and as many on the ends.",
)
def form_boards(form_high: Q) -> Q:
    return np.ceil(np.sum(form_high) / 2)


@FOOTINGS.row("Form along front and back", "in", fmt="0.0", note="Past the ends of the others.")
def form_long_in(building_length_ft: Q, form_width_in: Q) -> Q:
    return building_length_ft * IN_PER_FT + 2 * form_width_in


@FOOTINGS.row("Form along the ends", "in", fmt="0.0")
def form_short_in(building_width_ft: Q) -> Q:
    return building_width_ft * IN_PER_FT


@FOOTINGS.row("Stakes", "pieces", fmt="0")
def stake_count(slab_on: Q, building_length_ft: Q, building_width_ft: Q, stake_apart_ft: Q) -> Q:
    each = np.ceil(building_length_ft / stake_apart_ft) + np.ceil(
        building_width_ft / stake_apart_ft
    )
    return slab_on * 2 * (each + 2)


@FOOTINGS.row("Length of a stake", "in", fmt="0.0", note="By the highest face.")
def stake_in(slab_face_in: Q, stake_below_in: Q) -> Q:
    return np.max(slab_face_in) + stake_below_in


@FOOTINGS.row("Face of the forms", "ft2", fmt="0.0")
def form_ft2(building_length_ft: Q, building_width_ft: Q, slab_face_in: Q) -> Q:
    around = 2 * (building_length_ft + building_width_ft)
    return around * np.sum(slab_face_in) / CORNERS / IN_PER_FT


FOOTINGS.section("Hours of the slab")


@FOOTINGS.row("Set and strip forms", "h", fmt="0.0", source=RATES)
def form_hours(form_ft2: Q, edge_form_h_ft2: Q) -> Q:
    return form_ft2 * edge_form_h_ft2


@FOOTINGS.row("Vapour retarder, steel, anchor bolts", "h", fmt="0.0", source=RATES)
def slab_steel_hours(
    retarder_ft2: Q,
    retarder_h_ft2: Q,
    slab_on: Q,
    slab_steel: Q,
    steel_long_ft: Q,
    steel_wide_ft: Q,
    mesh_h_ft2: Q,
    slab_bar_run_ft: Q,
    bar_lb_ft: Q,
    steel_h_lb: Q,
    bolt_count: Q,
    bolt_h: Q,
) -> Q:
    mesh = np.where(slab_steel == MESH, steel_long_ft * steel_wide_ft * mesh_h_ft2, 0)
    bars = slab_bar_run_ft * bar_lb_ft * steel_h_lb
    return retarder_ft2 * retarder_h_ft2 + slab_on * mesh + bars + bolt_count * bolt_h


@FOOTINGS.row(
    "Barrow trips with ready-mix",
    "trips",
    fmt="0",
    note="If it comes so, from where the truck stops; bags are mixed beside the slab.",
)
def pour_trips(slab_on: Q, slab_placed_by: Q, mix_order_yd3: Q, barrow_ft3: Q) -> Q:
    return slab_on * np.where(slab_placed_by == BARROW, trips(mix_order_yd3, barrow_ft3), 0)


@FOOTINGS.row("Strike off, float, trowel, joints", "h", fmt="0.0", source=RATES)
def finish_hours(
    slab_on: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    finish_h_ft2: Q,
    joint_ft: Q,
    joint_h_ft: Q,
) -> Q:
    area = building_length_ft * building_width_ft
    return slab_on * area * finish_h_ft2 + joint_ft * joint_h_ft


@FOOTINGS.row("Barrow the concrete", "h", fmt="0.0", source=RATES)
def pour_hours(
    concrete_comes: Q, pour_trips: Q, load_min: Q, tip_distance_ft: Q, walk_ft_min: Q
) -> Q:
    hours = pour_trips * trip_h(load_min, tip_distance_ft, walk_ft_min)
    return np.where(concrete_comes == "ready-mix", hours, 0)


@FOOTINGS.row("Slab cures", "days", fmt="0", note="Kept wet, before anything stands on it.")
def slab_wait_days(slab_on: Q, curing_days: Q) -> Q:
    return slab_on * curing_days


@FOOTINGS.row("Slab is held for an inspection", "days", fmt="0", note="Before the pour.")
def slab_hold_days(slab_on: Q, inspection_wait_days: Q) -> Q:
    return slab_on * inspection_wait_days


@FOOTINGS.row("Concrete pump", "times", fmt="0", note="For one pour, where it places ready-mix.")
def pump_count(slab_on: Q, slab_placed_by: Q, ready_mix_yd3: Q) -> Q:
    return slab_on * np.where((slab_placed_by == PUMP) & (ready_mix_yd3 > 0), 1, 0)


@FOOTINGS.row(
    "Barrow or pump for ready-mix",
    "$",
    fmt="#,##0.00",
    note="If it comes so: work of the barrow, or hire with its tax.",
)
def slab_placing_cost(
    slab_placed_by: Q,
    mix_order_yd3: Q,
    pour_trips: Q,
    load_min: Q,
    tip_distance_ft: Q,
    walk_ft_min: Q,
    wage_per_h: Q,
    item_key: Q,
    item_on_hand: Q,
    item_pack: Q,
    item_paid: Q,
    tax_share: Q,
    hire_taxed: Q,
) -> Q:
    hours = pour_trips * trip_h(load_min, tip_distance_ft, walk_ft_min)
    once = np.where((slab_placed_by == PUMP) & (mix_order_yd3 > 0), 1, 0)
    yard = (item_key, item_on_hand, item_pack, item_paid)
    return hours * wage_per_h + to_hire(PUMP_ITEM, once, *yard, tax_share, hire_taxed)


FOOTINGS.adds(
    Step(
        key="slab",
        label="Slab",
        text="Edges dug, forms level with the strings, retarder, steel; hold for inspection; one pour, cured wet; frame.",
        after=("open_stone",),
        kinds=FLOORS,
    ),
    Piece(
        key="form_long",
        label="Forms along front and back",
        stock="form_stock",
        length="form_long_in",
        count="form_boards",
        joined=EQUAL_PARTS,
        mark="form",
    ),
    Piece(
        key="form_short",
        label="Forms along the ends",
        stock="form_stock",
        length="form_short_in",
        count="form_boards",
        joined=EQUAL_PARTS,
        mark="end form",
    ),
    Piece(
        key="form_stake",
        label="Stakes of the forms",
        stock="stake_stock",
        length="stake_in",
        count="stake_count",
        joined=FROM_OFFCUTS,
        mark="stake",
        letters="SK",
    ),
    Need(
        key="pump",
        label="Concrete pump",
        item=Fixed(PUMP_ITEM),
        quantity="pump_count",
    ),
    Hours(
        key="forms",
        label="Forms of the slab",
        quantity="form_hours",
        trade="concrete",
        after=("compact",),
    ),
    Hours(
        key="slab_steel",
        label="Retarder, steel, bolts of the slab",
        quantity="slab_steel_hours",
        trade="concrete",
        after=("forms",),
        before=("supports",),
        hold="slab_hold_days",
    ),
    Hours(
        key="pour",
        label="Barrow concrete to the slab",
        quantity="pour_hours",
        trade="concrete",
        after=("slab_steel",),
    ),
    Hours(
        key="finish",
        label="Finish the slab",
        quantity="finish_hours",
        trade="concrete",
        after=("pour", "supports"),
        wait="slab_wait_days",
    ),
)
