"""Sheet Cost: needs turned into whole packs of the price book, then money and hours."""

from __future__ import annotations

import numpy as np

from estimator.model.footings import BAR_COVER_IN
from estimator.model.options import BLOCKS, FRAMED, PIERS
from estimator.model.prices import ITEMS
from estimator.rows import Sheet
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, as_text, join, lookup, rounded, sum_if

COST = Sheet(
    "Cost",
    "Cost: whole packs, money and hours",
    "Every need names an item of the price book; packs are whole; each line is rounded to the cent.",
)
BAG_ITEM = "concrete_80"
MIX_ITEM = "ready_mix"
SHORT_ITEM = "short_load"
BAR_ITEM = "bar_4_20ft"

COST.section("Bags against ready-mix")


@COST.row("Yield of a bag", "ft3", source="Makers' data, 0.60 ft3 for 80 lb")
def bag_ft3(on_pad: Q, bag_yield_ft3: Q) -> Q:
    return bag_yield_ft3 + 0 * on_pad


@COST.row("Bags if mixed by hand", "bags", fmt="0")
def bags_alone(concrete_yd3: Q, bag_ft3: Q, concrete_waste: Q) -> Q:
    return np.ceil(concrete_yd3 * (1 + concrete_waste) * FT3_PER_YD3 / bag_ft3)


@COST.row("Price of the bags", "$", fmt="#,##0.00")
def bags_cost(bags_alone: Q, item_key: Q, item_pack: Q, item_price: Q) -> Q:
    packs = np.ceil(bags_alone / lookup(BAG_ITEM, item_key, item_pack, 1))
    return packs * lookup(BAG_ITEM, item_key, item_price, 0)


@COST.row("Ready-mix to order", "yd3", note="To the plant's increment.")
def mix_order_yd3(concrete_yd3: Q, concrete_waste: Q, item_key: Q, item_pack: Q) -> Q:
    pack = lookup(MIX_ITEM, item_key, item_pack, 1)
    return np.ceil(concrete_yd3 * (1 + concrete_waste) / pack) * pack


@COST.row("Short-load fee", "times", fmt="0", note="Below the plant's least load.")
def short_loads(concrete_yd3: Q, mix_order_yd3: Q, short_load_yd3: Q) -> Q:
    return np.where((concrete_yd3 > 0) & (mix_order_yd3 < short_load_yd3), 1, 0)


@COST.row("Price of ready-mix with its fee", "$", fmt="#,##0.00")
def mix_cost(mix_order_yd3: Q, short_loads: Q, item_key: Q, item_pack: Q, item_price: Q) -> Q:
    each = lookup(MIX_ITEM, item_key, item_price, 0) / lookup(MIX_ITEM, item_key, item_pack, 1)
    return mix_order_yd3 * each + short_loads * lookup(SHORT_ITEM, item_key, item_price, 0)


@COST.row("Concrete comes as", kind="text")
def concrete_comes(option_kind: Q, concrete_by: Q, bags_cost: Q, mix_cost: Q) -> Q:
    cheaper = np.where(bags_cost <= mix_cost, "bags", "ready-mix")
    return np.where(
        option_kind == PIERS, np.where(concrete_by == "cheapest", cheaper, concrete_by), ""
    )


@COST.row("Bags of concrete", "bags", fmt="0")
def bag_count(concrete_comes: Q, bags_alone: Q) -> Q:
    return np.where(concrete_comes == "bags", bags_alone, 0)


@COST.row("Ready-mix", "yd3")
def ready_mix_yd3(concrete_comes: Q, mix_order_yd3: Q) -> Q:
    return np.where(concrete_comes == "ready-mix", mix_order_yd3, 0)


COST.section("Needs: item of the price book", stack="need_item", kind="text")


@COST.row("Stone: item", kind="text")
def stone_need_item(stone_item: Q) -> Q:
    return np.where(stone_item == "", "", stone_item)


@COST.row("Fabric: item", kind="text")
def fabric_need_item(fabric_item: Q) -> Q:
    return np.where(fabric_item == "", "", fabric_item)


@COST.row("Drain pipe: item", kind="text")
def pipe_need_item(on_pad: Q) -> Q:
    return np.where(on_pad == 1, "drain_pipe", "")


@COST.row("Soil brought in: item", kind="text")
def soil_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "fill_soil", "")


@COST.row("Pins: item", kind="text")
def pin_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == FRAMED, "bar_4_2ft", "")


@COST.row("Structural screws: item", kind="text")
def timber_screw_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == FRAMED, "screw_structural", "")


@COST.row("Cut-end preservative: item", kind="text")
def preservative_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "preservative", "")


@COST.row("Anchors: item", kind="text")
def anchor_need_item(on_pad: Q) -> Q:
    return np.where(on_pad == 1, "ground_anchor", "")


@COST.row("Bags of concrete: item", kind="text")
def bag_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == PIERS, BAG_ITEM, "")


@COST.row("Ready-mix: item", kind="text")
def mix_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == PIERS, MIX_ITEM, "")


@COST.row("Short-load fee: item", kind="text")
def short_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == PIERS, SHORT_ITEM, "")


@COST.row("Tube forms: item", kind="text", note="tube_ and the diameter in inches.")
def tube_need_item(option_kind: Q, pier_diameter_in: Q) -> Q:
    return np.where(option_kind == PIERS, join("tube_", as_text(pier_diameter_in, "0")), "")


@COST.row("Steel bars: item", kind="text")
def bar_need_item(option_kind: Q) -> Q:
    return np.where(option_kind == PIERS, BAR_ITEM, "")


@COST.row("Beam bases: item", kind="text")
def base_need_item(option_kind: Q) -> Q:
    return np.where((option_kind == PIERS) | (option_kind == BLOCKS), "beam_base", "")


@COST.row("Blocks: item", kind="text")
def block_need_item(block_item: Q) -> Q:
    return np.where(block_item == "", "", block_item)


@COST.row("Joist ties: item", kind="text")
def tie_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "joist_tie", "")


@COST.row("Framing nails: item", kind="text")
def nail_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "nail_16d_galv", "")


@COST.row("Floor screws: item", kind="text")
def floor_screw_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "screw_floor", "")


@COST.row("Adhesive: item", kind="text")
def adhesive_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "adhesive", "")


@COST.row("Floor sheets: item", kind="text")
def sheet_need_item(sheet_item: Q) -> Q:
    return np.where(sheet_item == "", "", sheet_item)


@COST.row("Excavator: item", kind="text")
def digger_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "excavator_day", "")


@COST.row("Plate compactor: item", kind="text")
def plate_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "compactor_day", "")


@COST.row("Spoil hauled off site: item", kind="text")
def haul_off_need_item(on_pad: Q) -> Q:
    return np.where(on_pad >= 0, "haul_off", "")


COST.section("Needs: quantity", stack="need_quantity")


@COST.row("Stone", "yd3")
def stone_need(stone_order_yd3: Q) -> Q:
    return stone_order_yd3 * 1


@COST.row("Fabric", "rolls", fmt="0")
def fabric_need(fabric_rolls: Q, drain_rolls: Q) -> Q:
    return fabric_rolls + drain_rolls


@COST.row("Drain pipe", "ft", fmt="0.0")
def pipe_need(pipe_ft: Q) -> Q:
    return pipe_ft * 1


@COST.row("Soil brought in, loose", "yd3")
def soil_need(import_yd3: Q) -> Q:
    return import_yd3 * 1


@COST.row("Pins", "pieces", fmt="0")
def pin_need(pin_count: Q) -> Q:
    return pin_count * 1


@COST.row("Structural screws", "pieces", fmt="0")
def timber_screw_need(timber_screws: Q) -> Q:
    return timber_screws * 1


@COST.row(
    "Cut-end preservative",
    "cuts",
    fmt="0",
    note="Both ends of every piece of treated wood; cans do so many.",
)
def preservative_need(
    timber_pieces: Q,
    skid_count_used: Q,
    support_rows_used: Q,
    beam_plies: Q,
    joist_treated: Q,
    joists_in_all: Q,
    rims_count: Q,
    blocking_count: Q,
) -> Q:
    floor = joist_treated * (joists_in_all + rims_count + blocking_count)
    return 2 * (timber_pieces + skid_count_used + support_rows_used * beam_plies + floor)


@COST.row("Anchors", "pieces", fmt="0")
def anchor_need(anchor_count: Q) -> Q:
    return anchor_count * 1


@COST.row("Bags of concrete", "bags", fmt="0")
def bag_need(bag_count: Q) -> Q:
    return bag_count * 1


@COST.row("Ready-mix", "yd3")
def mix_need(ready_mix_yd3: Q) -> Q:
    return ready_mix_yd3 * 1


@COST.row("Short-load fee", "times", fmt="0")
def short_need(concrete_comes: Q, short_loads: Q) -> Q:
    return np.where(concrete_comes == "ready-mix", short_loads, 0)


@COST.row(
    "Tube forms",
    "ft",
    fmt="0.0",
    note="Whole tubes: as many piers from each as the tallest allows; a taller one joins several.",
)
def tube_need(
    support_count: Q, pier_longest_ft: Q, tube_need_item: Q, item_key: Q, item_pack: Q
) -> Q:
    tube = lookup(tube_need_item, item_key, item_pack, 1)
    return _whole(support_count, pier_longest_ft, tube)


@COST.row(
    "Steel bars",
    "ft",
    fmt="0.0",
    note="Whole bars: as many lengths from each as the tallest pier allows.",
)
def bar_need(
    support_count: Q,
    bars_per_pier: Q,
    pier_longest_ft: Q,
    footing_diameter_in: Q,
    footing_thick_in: Q,
    item_key: Q,
    item_pack: Q,
) -> Q:
    footing = np.where(footing_diameter_in > 0, footing_thick_in, 0) / IN_PER_FT
    length = np.maximum(pier_longest_ft + footing - 2 * BAR_COVER_IN / IN_PER_FT, 0)
    bar = lookup(BAR_ITEM, item_key, item_pack, 1)
    return _whole(support_count * bars_per_pier, length, bar)


def _whole(count: Q, length: Q, stock: Q) -> Q:
    """Length to buy, in whole stock lengths, for ``count`` pieces of one length."""
    each = np.floor(stock / (length + np.where(length > 0, 0, stock)))
    several = count * np.ceil(length / stock)
    whole = np.where(each >= 1, np.ceil(count / np.maximum(each, 1)), several)
    return np.where(length > 0, whole * stock, 0)


@COST.row("Beam bases", "pieces", fmt="0")
def base_need(support_count: Q) -> Q:
    return support_count * 1


@COST.row("Blocks", "pieces", fmt="0")
def block_need(block_count: Q) -> Q:
    return block_count * 1


@COST.row("Joist ties", "pieces", fmt="0")
def tie_need(tie_count: Q) -> Q:
    return tie_count * 1


@COST.row("Framing nails", "lb", fmt="0.0")
def nail_need(nail_lb: Q) -> Q:
    return nail_lb * 1


@COST.row("Floor screws", "pieces", fmt="0")
def floor_screw_need(screw_count: Q) -> Q:
    return screw_count * 1


@COST.row("Adhesive", "tubes", fmt="0")
def adhesive_need(adhesive_tubes: Q) -> Q:
    return adhesive_tubes * 1


@COST.row("Floor sheets", "sheets", fmt="0")
def sheet_need(sheet_count: Q) -> Q:
    return sheet_count * 1


@COST.row("Excavator", "days", fmt="0", note="For what the machine digs and carries.")
def digger_need(
    dig_method: Q,
    strip_hours: Q,
    cut_hours: Q,
    spoil_hours: Q,
    import_hours: Q,
    haul_hours: Q,
    day_hours: Q,
) -> Q:
    hours = strip_hours + cut_hours + spoil_hours + import_hours + haul_hours
    return np.where(dig_method == "machine", np.ceil(hours / day_hours), 0)


@COST.row("Plate compactor", "days", fmt="0")
def plate_need(
    on_pad: Q, compact_method: Q, compact_hours: Q, stone_fill_hours: Q, day_hours: Q
) -> Q:
    days = np.maximum(np.ceil((compact_hours + stone_fill_hours) / day_hours), 1)
    return np.where((on_pad == 1) & (compact_method != "by hand"), days, 0)


@COST.row("Spoil hauled off site", "yd3", fmt="0.0", note="Loose; 0 when it stays on the heap.")
def haul_off_need(spoil_leaves: Q, spoil_yd3: Q) -> Q:
    return np.where(spoil_leaves == "yes", spoil_yd3, 0)


COST.section("Money")


@COST.row("Material", "$", fmt="#,##0.00", note="Whole boards, sheets, boxes, bags, rolls, yards.")
def material_cost(item_material: Q, item_cost: Q) -> Q:
    return rounded(np.sum(item_material * item_cost), 2)


@COST.row(
    "Deliveries",
    "trips",
    fmt="0",
    note="Loads of stone, and one trip from each other supplier in use.",
)
def delivery_trips(supplier_trips: Q) -> Q:
    return np.sum(supplier_trips)


@COST.row(
    "Delivery",
    "$",
    fmt="#,##0.00",
    note="Trips, and fees such as a short load or hauling spoil off.",
)
def delivery_cost(supplier_fee: Q, item_category: Q, item_cost: Q) -> Q:
    fees = np.sum(np.where(item_category == "delivery", item_cost, 0))
    return rounded(np.sum(supplier_fee) + fees, 2)


@COST.row("Rental", "$", fmt="#,##0.00")
def rental_cost(item_category: Q, item_cost: Q) -> Q:
    return rounded(np.sum(np.where(item_category == "rental", item_cost, 0)), 2)


@COST.row("Sales tax", "$", fmt="#,##0.00", note="On material.")
def tax_cost(material_cost: Q, tax_share: Q) -> Q:
    return rounded(material_cost * tax_share, 2)


@COST.row("Hours of work", "h", fmt="0.0")
def work_hours(
    earth_hours: Q,
    haul_hours: Q,
    spread_hours: Q,
    compact_hours: Q,
    stone_fill_hours: Q,
    fabric_hours: Q,
    water_hours: Q,
    timber_hours: Q,
    skid_hours: Q,
    anchor_hours: Q,
    support_hours: Q,
    beam_hours: Q,
    joist_hours: Q,
    sheet_hours: Q,
) -> Q:
    return (
        earth_hours
        + haul_hours
        + spread_hours
        + compact_hours
        + stone_fill_hours
        + fabric_hours
        + water_hours
        + timber_hours
        + skid_hours
        + anchor_hours
        + support_hours
        + beam_hours
        + joist_hours
        + sheet_hours
    )


@COST.row("Days for the crew", "days", fmt="0.0")
def work_days(work_hours: Q, crew_size: Q, day_hours: Q) -> Q:
    return work_hours / (crew_size * day_hours)


@COST.row(
    "Days from the call to framing",
    "days",
    fmt="0",
    note="Locating notice, work, and cure of concrete where there is any.",
)
def elapsed_days(notice_days: Q, work_days: Q, option_kind: Q, cure_days: Q) -> Q:
    return notice_days + np.ceil(work_days) + np.where(option_kind == PIERS, cure_days, 0)


@COST.row("Labour", "$", fmt="#,##0.00")
def labour_cost(work_hours: Q, wage_per_h: Q) -> Q:
    return rounded(work_hours * wage_per_h, 2)


@COST.row("Contingency", "$", fmt="#,##0.00")
def contingency_cost(
    material_cost: Q,
    delivery_cost: Q,
    rental_cost: Q,
    tax_cost: Q,
    labour_cost: Q,
    contingency_share: Q,
) -> Q:
    base = material_cost + delivery_cost + rental_cost + tax_cost + labour_cost
    return rounded(base * contingency_share, 2)


@COST.row("Overhead", "$", fmt="#,##0.00")
def overhead_cost(
    material_cost: Q,
    delivery_cost: Q,
    rental_cost: Q,
    tax_cost: Q,
    labour_cost: Q,
    contingency_cost: Q,
    overhead_share: Q,
) -> Q:
    base = material_cost + delivery_cost + rental_cost + tax_cost + labour_cost + contingency_cost
    return rounded(base * overhead_share, 2)


@COST.row("Profit", "$", fmt="#,##0.00")
def profit_cost(
    material_cost: Q,
    delivery_cost: Q,
    rental_cost: Q,
    tax_cost: Q,
    labour_cost: Q,
    contingency_cost: Q,
    overhead_cost: Q,
    profit_share: Q,
) -> Q:
    base = (
        material_cost
        + delivery_cost
        + rental_cost
        + tax_cost
        + labour_cost
        + contingency_cost
        + overhead_cost
    )
    return rounded(base * profit_share, 2)


@COST.row("Total", "$", fmt="#,##0.00")
def total_cost(
    material_cost: Q,
    delivery_cost: Q,
    rental_cost: Q,
    tax_cost: Q,
    labour_cost: Q,
    contingency_cost: Q,
    overhead_cost: Q,
    profit_cost: Q,
) -> Q:
    return rounded(
        material_cost
        + delivery_cost
        + rental_cost
        + tax_cost
        + labour_cost
        + contingency_cost
        + overhead_cost
        + profit_cost,
        2,
    )


@COST.row("Items in use without a price", "items", fmt="0")
def unpriced(item_packs: Q, item_price: Q) -> Q:
    return np.sum(np.where((item_packs > 0) & (item_price <= 0), 1, 0))


@COST.row("Items short in stock", "items", fmt="0", note="More packs than Prices says there are.")
def short_stock(item_packs: Q, item_limit: Q) -> Q:
    return np.sum(np.where((item_limit > 0) & (item_packs > item_limit), 1, 0))


@COST.row("Needs that no item answers", "units", fmt="0.##")
def unanswered(need_quantity: Q, item_need: Q, item_boards: Q) -> Q:
    return np.sum(need_quantity) - np.sum(item_need) + np.sum(item_boards)


@COST.row("Weight of material", "lb", fmt="#,##0")
def material_lb(item_need: Q, item_lb: Q) -> Q:
    return np.sum(item_need * item_lb)


COST.section("Range")
COST.solved(
    "total_low",
    "Low (1 in 10 below)",
    "$",
    solver="range",
    fmt="#,##0",
    note="Simulated over price ranges, hours and quantities, fixed seed.",
)
COST.solved("total_middle", "Middle", "$", solver="range", fmt="#,##0")
COST.solved("total_high", "High (1 in 10 above)", "$", solver="range", fmt="#,##0")

SUPPLY = COST.table("supplier", "Deliveries by supplier", 8)


@SUPPLY.column("Material", "$", fmt="#,##0.00", by_option=True)
def supplier_cost(supplier_no: Q, item_brought_no: Q, item_cost: Q) -> Q:
    return sum_if(item_cost, item_brought_no, supplier_no)


@SUPPLY.column("Stone and soil", "yd3", fmt="0.0", by_option=True)
def supplier_bulk_yd3(supplier_no: Q, item_bulk_no: Q, item_need: Q) -> Q:
    return sum_if(item_need, item_bulk_no, supplier_no)


@SUPPLY.column("Trips", "trips", fmt="0", by_option=True)
def supplier_trips(
    supplier_name: Q, supplier_cost: Q, supplier_bulk_yd3: Q, truck_yd3: Q, supplier_delivery: Q
) -> Q:
    loads = np.maximum(np.ceil(supplier_bulk_yd3 / truck_yd3), 1)
    served = (supplier_name != "") & (supplier_delivery != "") & (supplier_cost > 0)
    return np.where(served, loads, 0)


@SUPPLY.column("Delivery", "$", fmt="#,##0.00", by_option=True)
def supplier_fee(supplier_trips: Q, supplier_delivery: Q, item_key: Q, item_price: Q) -> Q:
    return rounded(supplier_trips * lookup(supplier_delivery, item_key, item_price, 0), 2)


ITEM_TABLE = COST.table("item", "Packs and cost by item", ITEMS, "In the order of the price book.")


@ITEM_TABLE.column(
    "Needed", fmt="0.##", by_option=True, note="In the item's own unit; boards from the cut plan."
)
def item_need(item_key: Q, item_boards: Q, need_item: Q, need_quantity: Q) -> Q:
    return np.where(item_key == "", 0, item_boards + sum_if(need_quantity, need_item, item_key))


@ITEM_TABLE.column("Packs", fmt="0", by_option=True)
def item_packs(item_key: Q, item_need: Q, item_pack: Q) -> Q:
    pack = item_pack + np.where(item_key == "", 1, 0)
    return np.ceil(item_need / pack)


@ITEM_TABLE.column("Cost", "$", fmt="#,##0.00", by_option=True)
def item_cost(item_packs: Q, item_price: Q) -> Q:
    return rounded(item_packs * item_price, 2)
