"""Sheet Cost, second part: money and hours, deliveries, whole packs of every item."""

from __future__ import annotations

import numpy as np

from estimator.measures import ITEM_UNIT
from estimator.model.needs import COST
from estimator.model.options import FRAMED, PIERS
from estimator.model.prices import ITEMS
from estimator.vocabulary import Q, lookup, rounded, sum_if

__all__ = ["COST"]

COST.section("Money")


@COST.row(
    "Material",
    "$",
    fmt="#,##0.00",
    note="Whole boards, sheets, boxes, bags, rolls, {yards|cubic metres}.",
)
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


@COST.row(
    "Boards that it may use without a price",
    "boards",
    fmt="0",
    note="Of the stocks that it is cut from; a stock that serves twice counts twice.",
)
def boards_unpriced(
    item_board_unpriced: Q,
    item_stock: Q,
    joist_stock_used: Q,
    skid_stock: Q,
    skids_count: Q,
    beam_stock: Q,
    beams_count: Q,
    timber_stock: Q,
    option_kind: Q,
) -> Q:
    return (
        sum_if(item_board_unpriced, item_stock, joist_stock_used)
        + np.where(skids_count > 0, sum_if(item_board_unpriced, item_stock, skid_stock), 0)
        + np.where(beams_count > 0, sum_if(item_board_unpriced, item_stock, beam_stock), 0)
        + np.where(option_kind == FRAMED, sum_if(item_board_unpriced, item_stock, timber_stock), 0)
    )


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
    "Needed", ITEM_UNIT, fmt="0.##", by_option=True, note="Boards from the cut plan."
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
